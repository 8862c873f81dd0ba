"""Evidence travels: a figure that was worked out is known no better than the least certain figure it rests on.

What each derived row of the tables rests on is looked up again here, by its source and by the words of its note.
"""

import csv
import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.properties.base import Mix
from optiform.properties.oil_phase import iodine_value, saponification_value
from optiform.properties.registry import find_property
from optiform.reading.paths import DATABASE
from tests.charge_by_name import COLUMNS, by_name
from tests.how_sure import counts, share, total

Row = dict[str, str]
FROM_ACIDS = ("F-DERIVED-ACIDS", "F-DERIVED-ESTIMATE", "F-DERIVED-ANCHORED")
WORKED_OUT = (
    *FROM_ACIDS,
    "F-DERIVED-LIQUID",
    "F-DERIVED-MOLTEN",
    "F-DERIVED-MELTED",
    "F-DERIVED-LAURIC",
    "W-COMPOSITION",
    "W-DERIVED-DENSITY",
    "W-DERIVED-LUND",
)


@cache
def table(name: str) -> tuple[Row, ...]:
    with (DATABASE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


def values(**wanted: str) -> list[Row]:
    return [row for row in table("values") if all(row[key] == word for key, word in wanted.items())]


def known(rows: Iterable[Row]) -> Iterator[Evidence]:
    yield from (Evidence(row["evidence"]) for row in rows)


def inputs(row: Row) -> Iterator[Evidence]:
    """How the figures are known that a derived row of values.csv was worked out from."""
    name, source = row["ingredient"], row["source"]
    if source == "F-DERIVED-MOLTEN":
        yield from known(values(ingredient=name, property="melting range"))
    if source in (*FROM_ACIDS, "F-DERIVED-LIQUID"):
        acids = [acid for acid in table("fatty_acids") if acid["ingredient"] == name]
        yield from known(acids or (table("fatty_acid_constants") if "pure acid" in row["note"] else ()))
    if source == "F-DERIVED-ANCHORED":
        yield from known(values(ingredient=name, property="solid fat", temperature="20"))
    if source == "F-DERIVED-MELTED":
        (at,) = re.findall(r"(\d+) degC", row["note"])
        yield from known(values(ingredient=name, property="solid fat", temperature=at))
    if source == "F-DERIVED-LAURIC":
        for fat in ("coconut oil", "palm kernel oil"):
            yield from known(values(ingredient=fat, property="solid fat", temperature=row["temperature"]))
        for fat in (name, "coconut oil", "palm kernel oil"):
            yield from known(values(ingredient=fat, property="iodine value"))
    if source == "W-COMPOSITION":
        yield from known(r for r in table("constituents") if r["ingredient"] == name and r["inci"] == "Aqua")
    if source == "W-DERIVED-DENSITY":
        yield from mixed(row["note"])
    if source == "W-DERIVED-LUND":
        for figure in ("saponification value", "iodine value"):
            yield from known(values(ingredient=name, property=figure))


def mixed(note: str) -> Iterator[Evidence]:
    """Of a density: its parts. A part's own figure `at 1.2` is from memory."""
    if re.search(r" at \d", note):
        yield Evidence.RECALLED
    parts = re.findall(r"[\d.]+ % ([^;]+?)(?: at \d\.\d+)?(?:;|\. |$)", note.removeprefix("ideal mix by mass: "))
    for part in parts:
        yield from known(values(ingredient=part, property="density"))


@pytest.mark.parametrize("source", WORKED_OUT)
def test_a_derived_figure_is_known_no_better_than_what_it_rests_on(source: str) -> None:
    rows = values(source=source)
    assert rows
    for row in rows:
        given = [*inputs(row)]
        assert given, f"nothing found that this rests on: {row}"
        assert row["evidence"] == Evidence.weakest([Evidence.DERIVED, *given]), row


def test_what_is_bought_as_one_substance_is_all_that_substance_by_its_number() -> None:
    """Worked out from a record that holds name and number: nothing is left to recall."""
    records = [row for row in table("constituents") if row["source"] in ("N-INV", "N-PUBCHEM", "N-COSING", "N-HPE")]
    assert len(records) > 90
    for row in records:
        others = [part for part in table("constituents") if part["ingredient"] == row["ingredient"]]
        assert (len(others), row["typical"], row["evidence"]) == (1, "100", "derived"), row
        assert row["cas"], row


def test_only_a_solution_made_by_weight_is_known_by_its_name() -> None:
    """Goods that are sold by their strength stray from it, and how far is from memory."""
    rows = [row for row in table("constituents") if row["source"] == "W-COMPOSITION-NAME"]
    assert {row["ingredient"] for row in rows} == {"citric acid, 50 % solution", "sodium hydroxide, 10 % solution"}
    for row in rows:
        (strength,) = [float(at) for at in re.findall(r"(\d+) %", row["ingredient"])]
        parts = [float(part["typical"]) for part in table("constituents") if part["ingredient"] == row["ingredient"]]
        assert float(row["typical"]) in (strength, 100 - strength), row
        assert (sum(parts), row["evidence"], row["low"], row["high"]) == (100, "derived", "", "")
    assert not values(source="W-COMPOSITION-NAME")


def test_nothing_is_solid_only_above_the_point_where_an_oil_was_read_to_set() -> None:
    rows = [row for row in values(property="solid fat") if row["source"].startswith("F-SET-")]
    assert len({row["ingredient"] for row in rows}) == 3
    for row in rows:
        (sets,) = [float(at) for at in re.findall(r"(-?\d+) degC", row["note"])] or [0.0]  # in ice and water
        assert float(row["temperature"]) > sets, row
        assert (row["typical"], row["evidence"]) == ("0", "derived"), row


@pytest.mark.parametrize("name", ["values", "solubility", "water_activity", "fatty_acids", "eutectics", "constituents"])
def test_no_note_owns_up_to_a_memory_that_the_evidence_hides(name: str) -> None:
    """The ends of a range are told apart from the figure: where only they are from memory, the note says so."""
    for row in table(name):
        note = re.sub(r"(?:range|end of the range): [\w-]+(?: \(from memory\)| from memory)", "", row["note"])
        note = note.replace("trade curves from memory lie near the low end", "")
        if row["evidence"] == "derived":
            assert not re.search("recalled|memory", note), row


@pytest.mark.parametrize("evidence", [Evidence.PUBLISHED, Evidence.RECALLED])
@pytest.mark.parametrize("name", ["iodine value", "saponification value"])
def test_what_the_program_calculates_from_recalled_acids_is_recalled(name: str, evidence: Evidence) -> None:
    """For an ingredient that has its acids and no figure of its own."""
    published = Value(None, 50.0, None, "%", "a book", Evidence.PUBLISHED)
    acids = {"C18:1": published, "C18:2": replace(published, evidence=evidence)}
    fat = Ingredient("fat", ("oil",), "oil phase", fatty_acids=acids)
    terms = find_property(name, "EUR").terms(Mix((fat,), ("oil phase",)), np.ones(1))
    assert terms.evidence_at(np.ones(1)) == Evidence.weakest([Evidence.DERIVED, evidence])


@pytest.mark.parametrize("name", ["iodine value", "saponification value"])
def test_a_range_worked_out_from_the_acids_is_all_that_their_own_ranges_allow(name: str) -> None:
    """Both are one way in a sum over the acids: the end is where the acids that raise it most take all the room."""
    of_acids = {"iodine value": iodine_value, "saponification value": saponification_value}[name]
    rows = [row for row in values(property=name) if "allow within their own ranges" in row["note"]]
    assert rows
    for row in rows:
        acids = {r["fatty acid"]: r for r in table("fatty_acids") if r["ingredient"] == row["ingredient"]}
        rising = sorted(acids, key=lambda acid: of_acids({acid: 100}))
        least, most = (of_acids(filled(acids, order)) for order in (rising, rising[::-1]))
        assert (float(row["low"]), float(row["high"])) == (math.floor(least), math.ceil(most)), row


def filled(acids: dict[str, Row], order: list[str]) -> dict[str, float]:
    """Each acid at the low end of its range, and what is left of the 100 % given to them in `order`."""
    shares = {acid: float(row["low"]) for acid, row in acids.items()}
    for acid in order:
        shares[acid] += min(100 - sum(shares.values()), float(acids[acid]["high"]) - shares[acid])
    return shares


@pytest.mark.parametrize("name", ["values", "fatty_acids"])
def test_no_figure_lies_at_an_end_of_its_own_range(name: str) -> None:
    """A range of solid fat may end at its figure: none can be less than nothing."""
    for row in table(name):
        if row["typical"] and row.get("property") != "solid fat" and row["low"] != row["high"]:
            assert float(row["typical"]) not in [float(row[end]) for end in ("low", "high") if row[end]], row


def test_the_middle_of_a_range_is_no_measurement() -> None:
    for row in table("fatty_acids"):
        if "middle of the range" in row["note"]:
            assert row["evidence"] in ("assumed", "recalled"), row


def test_a_measured_mean_says_how_many_samples_it_is_of() -> None:
    means = [row for row in table("fatty_acids") if row["standard error"]]
    assert len(means) > 90
    assert all(int(row["samples"]) > 1 for row in means)


def test_a_ph_window_that_was_read_is_the_same_in_both_tables() -> None:
    """An end that only one of values.csv and acidity.csv has is not compared."""
    read = [window for window in table("acidity") if window["evidence"] == window["bounds"] == "published"]
    both = 0
    for row in values(property="ph window", evidence="published"):
        name = row["ingredient"]
        substances = [part["inci"] for part in table("constituents") if part["ingredient"] == name]
        own = [window for window in read if window["of"] == name]
        for window in own or [window for window in read if window["of"] in substances]:
            for end in ("low", "high"):
                assert not row[end] or not window[end] or float(row[end]) == float(window[end]), (row, window)
            both += 1
    assert both >= 10


def test_a_charge_worked_out_from_a_name_is_what_the_name_says() -> None:
    """Those that were read are the blind check: no ending says otherwise of them."""
    named = [row for row in table("charge") if row["source"] == "CH-NAME"]
    read = [row for row in table("charge") if row["evidence"] == "published" and by_name(row["inci"])]
    assert len(named) > 90
    assert len(read) >= 20
    for row in [*named, *read]:
        assert by_name(row["inci"]) == {column: row[column] for column in COLUMNS}, row
    assert {row["evidence"] for row in named} == {"derived"}
    assert [by_name(x) for x in ("Sodium Benzoate", "Glyceryl Stearate SE", "Citric Acid")] == [None] * 3


def test_a_charge_worked_out_from_a_systematic_name_has_one_that_was_read() -> None:
    rows = [row for row in table("charge") if row["source"] == "CH-SYST"]
    assert len(rows) > 10
    for row in rows:
        spellings = [x for x in table("names") if x["inci"] == row["inci"] and x["kind"] == "systematic"]
        assert "published" in {spelling["evidence"] for spelling in spellings}, row
        assert row["evidence"] == "derived"


def test_the_readme_promises_no_more_than_the_tables_hold() -> None:
    text = " ".join((DATABASE / "README.md").read_text(encoding="utf-8").split())
    words = r"at least (\d+) % .*?(\d+) % of fatty_acids.csv and (\d+) % .* it is at least (\d+) % of all\."
    (told,) = re.findall(words, text)
    tallies = counts()
    held = (tallies["values"], tallies["fatty_acids"], total(tallies), total(counts(figures_too=True)))
    assert [share(tally) for tally, promised in zip(held, told, strict=True) if share(tally) < int(promised)] == []


def test_a_window_from_memory_is_no_reading_of_what_happens_outside_it() -> None:
    strict, of_what_happens = counts(figures_too=True), counts()
    assert {name for name, tally in strict.items() if tally != of_what_happens[name]} == {"acidity", "chemistry"}
    assert share(strict["acidity"]) < share(of_what_happens["acidity"]) / 3
