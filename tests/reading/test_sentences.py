"""A fault is a sentence with what to do, and keeps its place, reading and expectation for programs."""

import re
from itertools import product
from pathlib import Path

import pytest

from optiform.brief.file import read_brief
from optiform.reading.cells import Cells
from optiform.reading.demo import copy_demo
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault, Inspection
from optiform.reading.sentences import sentence
from tests.dates import ANY_DAY
from tests.every import every

CASES = [
    ("[limits] oil phase", "'22 kilos'", "a quantity in %", "“22 kilos” is not a share. Write a share such as 22 %."),
    ("row 3, column price", "'x'", "a quantity in EUR/kg", "“x” is not a price. Write a price such as 4.20 EUR/kg."),
    (
        "[lines] watr",
        "'watr'",
        "a known ingredient; near: water",
        "“watr” is not a known ingredient. Did you mean water?",
    ),
    (
        "row 18",
        "'shea butter'",
        "a known ingredient; near: shea butter, refined; shea butter, unrefined",
        "“shea butter” is not a known ingredient. Did you mean shea butter, refined or shea butter, unrefined?",
    ),
    (
        "row 27",
        "'sea salt'",
        "a known ingredient; near: sea salt, fine; sea salt, coarse; a new ingredient also needs the columns phase",
        "“sea salt” is not a known ingredient. Did you mean sea salt, fine or sea salt, coarse? A new ingredient also "
        "needs the columns phase.",
    ),
    (
        "row 34",
        "'vitamin E'",
        "mixed tocopherols once; also in row 33",
        "“vitamin E” is mixed tocopherols, which is in row 33 already. Give each ingredient one row.",
    ),
    (
        "row 3",
        "'Glycerin'",
        "glycerin once; also in row 2",
        "“Glycerin” is in row 2 already. Give each ingredient one row.",
    ),
    (
        "reference",
        "nothing",
        "a formula of today: this job starts from today's formula",
        "this job starts from today's formula, and the brief names none. Add the name of its file to the brief: "
        'reference = "today.csv".',
    ),
    ("markets", "'MARS'", "any of: EU, GB, US", "“MARS” is not known here. Write any of: EU, GB, US."),
    ("batch", "'-1 kg'", "more than nothing", "“-1 kg” is not allowed here. It must be more than nothing."),
    (
        "row 5",
        "'6 cells'",
        "at most 4, as in the header",
        "6 cells is too much. It must be at most 4, as in the header.",
    ),
    (
        "date",
        "12",
        "a date such as 2026-11-25, without quotes",
        "12 is not a date. Write a date such as 2026-11-25, without quotes.",
    ),
    (
        "row 4",
        "'water'",
        "each ingredient once; also in row 3",
        "“water” comes more than once (also in row 3). Write each ingredient once.",
    ),
    ("lot", "'G-9'", "a saved lot; there is no lot G-9", "“G-9” is not a saved lot. There is no lot G-9."),
    ("PIECES", "'1.5'", "a whole number of pieces", "“1.5” does not go here. Write a whole number of pieces."),
    ("reason", "''", "some words", "nothing is written here. Write some words."),
    ("--market", "'nothing'", "one of: EU, GB, US", "“nothing” is not known here. Write one of: EU, GB, US."),
    (
        "row 2, column price",
        "'none'",
        "a quantity in EUR/kg",
        "“none” is not a price. Write a price such as 4.20 EUR/kg.",
    ),
    (
        "[lines] glycerin",
        "fixed at 3 %, but exclude names Glycerol",
        "this line taken out, or Glycerol taken off exclude",
        "fixed at 3 %, but exclude names Glycerol. Take one of the two out.",
    ),
    (
        "kg",
        "4800 kg",
        "something like the 5 kg of the records; if it is right, --yes",
        "4800 kg is far from the 5 kg of the records. If it is right, --yes.",
    ),
    (
        "--kind",
        "'lip balm'",
        "one of: balm, stick and lip balm",
        "“lip balm” is not known here. Did you mean stick and lip balm?",
    ),
    ("at", "'-400'", "-273.15 degC or more", "“-400” is not allowed here. It must be -273.15 °C or more."),
    ("hot", "300", "20 to 100 degC", "300 is not allowed here. It must be 20 to 100 °C."),
]
WHOLE = [
    (
        "limts",
        "{}",
        "limits? one of the keys: limits, lines",
        "There is no key limts. Did you mean limits?",
    ),
    (
        "header",
        "'a, b'",
        "a column 'ingredient'",
        "There is no column ingredient. Add it to the header, or call one of these so: a, b.",
    ),
    ("file", "nothing", "a zip of this name", "There is no file of this name. Name a zip of this name."),
    ("file", "a folder", "a readable file", "this is a folder. It must be a readable file."),
    ("--made", "'2026-11-02'", "--records PLACE beside it", "--made goes only with --records PLACE."),
]


@every("place, read, expected, told", CASES, ids=[case[2] for case in CASES])
def test_a_fault_is_a_sentence_at_its_place(place: str, read: str, expected: str, told: str) -> None:
    assert sentence(place, read, expected) == f"{place}: {told}"


@pytest.mark.parametrize(("place", "read", "expected", "told"), WHOLE, ids=[case[2] for case in WHOLE])
def test_a_fault_of_the_whole_is_a_sentence(place: str, read: str, expected: str, told: str) -> None:
    assert sentence(place, read, expected) == told


def test_a_key_that_is_not_there_is_not_quoted() -> None:
    inspection = Inspection("costs.toml")
    Cells({}, inspection).lacks("loss", "its figures; write 0 where something costs nothing")
    said = "loss: nothing is written here. Write its figures; write 0 where something costs nothing."
    assert str(inspection.faults[0]) == f"costs.toml: {said}"


def test_the_file_stands_before_it_but_the_command_line_does_not() -> None:
    assert str(Fault("brief.toml", "batch", "0", "more than nothing")).startswith("brief.toml: batch: 0 is not allowed")
    assert str(Fault(COMMAND_LINE, "--jars", "0", "1 or more")).startswith("--jars: 0 is not allowed here.")


def test_a_missing_price_says_the_three_ways_out(tmp_path: Path) -> None:
    copy_demo(tmp_path / "demo", ANY_DAY)
    path = tmp_path / "demo" / "brief.toml"
    text = path.read_text().replace('candidates = "in stock"', 'candidates = ["water", "jojoba oil", "candelilla wax"]')
    path.write_text(text)
    with pytest.raises(BadInput) as caught:
        read_brief(path)
    (priced,) = (fault for fault in caught.value.faults if "cost" in fault.place)
    assert str(priced) == (
        f"{path}: No price for jojoba oil; candelilla wax. Add their prices to your price table, or list them under "
        'exclude, or write missing = "leave out".'
    )
    assert (priced.place, priced.read) == ("[limits] or [goal] cost", "'no figure for jojoba oil; candelilla wax'")


@pytest.mark.parametrize(
    ("wanted", "told"),
    [
        ("iodine value", "No iodine value for myoil. Add the figure, in a column iodine value, to your price table"),
        ("hlb difference", "No required hlb for myoil, and without it no hlb difference. Add the figure, in a column "
         "required hlb, to your price table"),
        ("mean grain size", "No grain size for myoil, and without it no mean grain size. Add the figure, in a column "
         "grain size, to your price table"),
        ("structuring solids at 20 degC", "No solid fat at 20 °C for myoil, and without it no structuring solids at "
         "20 °C. Add the figure, in a column solid fat at 20 °C, to your price table"),
        ("polyunsaturated share", "No polyunsaturated share for myoil. Name a known ingredient that it resembles, in a "
         "column like of your price table"),
    ],
)  # fmt: skip
def test_a_missing_figure_names_a_column_that_can_be_filled(wanted: str, told: str) -> None:
    fault = Fault("brief.toml", f"[limits] or [goal] {wanted}", "no figure for myoil", NO_FIGURE)
    assert str(fault) == f'brief.toml: {told}, or list it under exclude, or write missing = "leave out".'


NO_FIGURE = 'the figure in an own file, the ingredient under exclude, or missing = "leave out"'


READ = ("'x'", "nothing", "3", "no price", "a pipe", "''", "file is not a database")


@every("read, expected", list(product(READ, sorted({case[2] for case in CASES + WHOLE}))))
def test_whatever_was_read_it_ends_as_a_sentence_and_names_no_reader(read: str, expected: str) -> None:
    told = sentence("somewhere", read, expected)
    assert told.endswith((".", "?"))
    assert not re.search(r"\bread\b.*\bexpected\b", told)
    assert "  " not in told
    assert ".." not in told
