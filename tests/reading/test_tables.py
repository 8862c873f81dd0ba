"""CSV tables as makers save them."""

import csv
import os
import re
from io import StringIO
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from optiform.reading.faults import BadInput, Fault, printable
from optiform.reading.tables import LARGEST, RUNS, Record, csv_text, guarded, read_records, restored
from tests.cells import CELLS
from tests.every import every


def table(folder: Path, content: str | bytes) -> Path:
    path = folder / "table.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def faults(path: Path, *required: str) -> list[str]:
    with pytest.raises(BadInput) as caught:
        read_records(path, required)
    assert all(fault.file == printable(str(path)) for fault in caught.value.faults)
    return [f"{fault.place}: read {fault.read}, expected {fault.expected}" for fault in caught.value.faults]


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_the_usual_separators_line_ends_and_byte_order_mark(
    tmp_path: Path, separator: str, end: str, mark: str
) -> None:
    lines = [separator.join(cells) for cells in (["Ingredient ", "PERCENT"], ["water", " 60 "], ["glycerin", "40"])]
    records = read_records(table(tmp_path, mark + end.join(lines)))
    assert [record.cells for record in records] == [
        {"ingredient": "water", "percent": "60"},
        {"ingredient": "glycerin", "percent": "40"},
    ]
    assert [record.line for record in records] == [2, 3]


def test_a_decimal_comma_beside_semicolons_stays_in_its_cell(tmp_path: Path) -> None:
    records = read_records(table(tmp_path, "ingredient;percent\nwater;60,5\n"))
    assert records[0].get("percent") == "60,5"


def test_quoted_cells_hold_separators_quotes_and_line_breaks(tmp_path: Path) -> None:
    text = 'ingredient,note\n"shea butter, refined","says ""soft""\nand white"\nwater,\n'
    first, second = read_records(table(tmp_path, text))
    assert first.cells == {"ingredient": "shea butter, refined", "note": 'says "soft"\nand white'}
    assert second.line == 4, "the row number is the line of the file"


def test_empty_rows_are_passed_over_and_short_rows_filled(tmp_path: Path) -> None:
    records = read_records(table(tmp_path, "\na,b,c\n\n1\n,,\n2,3,4\n"))
    assert [record.cells for record in records] == [{"a": "1", "b": "", "c": ""}, {"a": "2", "b": "3", "c": "4"}]
    assert records[0].line == 4


def test_a_record_knows_its_place_and_what_it_lacks() -> None:
    record = Record(7, {"percent": "3"})
    assert record.place("percent") == "row 7, column percent"
    assert record.get("phase") == ""


def test_every_fault_of_the_header_and_the_rows_is_told_at_once(tmp_path: Path) -> None:
    told = faults(table(tmp_path, "price,price,note,note\n1,2,3,4\n1,2,3,4,5\n1\n1,2,3,4,5,6\n"), "ingredient", "pack")
    assert told == [
        "header: read 'note', expected each column once",
        "header: read 'price', expected each column once",
        "header: read 'price, price, note, note', expected a column 'ingredient'",
        "header: read 'price, price, note, note', expected a column 'pack'",
        "row 3: read '5 cells', expected at most 4, as in the header",
        "row 5: read '6 cells', expected at most 4, as in the header",
    ]


@pytest.mark.parametrize(("text", "helps"), [("a,b\n1,2,3\n", True), ("a;b\n1;2;3\n", False)])
def test_a_row_with_a_comma_too_many_says_that_a_name_with_one_stands_in_quotes(
    tmp_path: Path, text: str, helps: bool
) -> None:
    with pytest.raises(BadInput) as caught:
        read_records(table(tmp_path, text))
    (fault,) = caught.value.faults
    told = str(fault).split(": ", 1)[1]
    assert told.startswith("row 2: 3 cells is too much. It must be at most 2, as in the header.")
    assert ('A name with a comma in it stands in quotes: "sunflower oil, high oleic".' in told) == helps


def test_damaged_utf8_is_refused_with_the_byte(tmp_path: Path) -> None:
    (told,) = faults(table(tmp_path, "ingredient\nbeurre de karité\n".encode() + b"\xe9t\xc3\xa9"))
    assert told == "byte 29: read byte 0xe9, expected text in UTF-8"


def test_a_nul_character_is_refused(tmp_path: Path) -> None:
    told = faults(table(tmp_path, "a,b\n1,\x002\n"))
    assert told == ["line 2: read the character U+0000, expected plain text"]


@pytest.mark.parametrize("text", ["", "\n \n", "\ufeff", ",,\n,,\n"])
def test_an_empty_file_is_refused(tmp_path: Path, text: str) -> None:
    assert faults(table(tmp_path, text)) == ["file: read 'an empty table', expected a header and rows"]


def test_a_quote_that_never_closes_is_refused_with_its_row(tmp_path: Path) -> None:
    path = table(tmp_path, 'a,b\n1,2\n"3,4\n')
    (told,) = faults(path)
    assert told.startswith("row 3: read ")
    with pytest.raises(BadInput, match=r'row 3: a quotation mark \("\) is not closed'):
        read_records(path)


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"none\.csv: there is no such file\. Look at its name and its folder\.$"):
        read_records(tmp_path / "none.csv")
    (told,) = faults(tmp_path)
    assert told.startswith("file: read ")
    assert told.endswith("expected a readable file")
    (told,) = faults(tmp_path / "a\x00b.csv")
    assert told.endswith("expected a readable file")


def test_a_file_too_large_for_a_makers_table_is_refused_unread(tmp_path: Path) -> None:
    path = tmp_path / "large.csv"
    path.touch()
    os.truncate(path, LARGEST + 1)  # sparse: takes no room
    assert faults(path) == [f"file: read {LARGEST + 1} bytes, expected at most {LARGEST} bytes"]


ANY = st.one_of(
    st.text(max_size=80).map(lambda text: text.encode("utf-8", "surrogatepass")),
    st.text(',;\t"\n\r ab1\x00\ufeff', max_size=80).map(str.encode),
    st.binary(max_size=60),
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(content=ANY)
def test_any_bytes_whatever_give_records_or_faults(tmp_path: Path, content: bytes) -> None:
    records, told = outcome(table(tmp_path, content))
    assert bool(told) == (records is None)
    assert len({tuple(record.cells) for record in records or []}) <= 1, "every record has the same columns"


def outcome(path: Path) -> tuple[list[Record] | None, tuple[Fault, ...]]:
    """The records, or the faults; anything else is a crash."""
    try:
        return read_records(path), ()
    except BadInput as bad:
        return None, bad.faults


CELL = st.text(st.characters(blacklist_categories=["Cs", "Cc"]), max_size=12).map(str.strip)
#: As a spreadsheet writes it; an apostrophe before what it would run is our guard and no part of the cell.
PLAIN = CELL.filter(lambda cell: not re.match(r"'+[=+@-].", cell))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@example(rows=[("", "'="), ("=1", "''-")], separator=",")
@given(rows=st.lists(st.tuples(PLAIN, PLAIN), min_size=1, max_size=6), separator=st.sampled_from(",;\t"))
def test_what_a_spreadsheet_writes_is_what_is_read(tmp_path: Path, rows: list[tuple[str, str]], separator: str) -> None:
    out = StringIO()
    csv.writer(out, delimiter=separator).writerows([("name", "note"), *rows])
    records = read_records(table(tmp_path, out.getvalue()))
    kept = [row for row in rows if any(row)]
    assert [(record.get("name"), record.get("note")) for record in records] == kept


# -- cells that a spreadsheet would run --------------------------------------------------------------------------------

RISKY = st.builds(
    "".join, st.tuples(st.text("'", max_size=3), st.sampled_from(["", *RUNS]), st.text(max_size=6))
)  # fmt: skip


def test_every_cell_survives_writing_and_reading(tmp_path: Path) -> None:
    """All cells of no to three apostrophes, each character that a spreadsheet runs, and what may follow."""
    rows = [(f"row {number}", cell) for number, cell in enumerate(CELLS)]
    assert len(CELLS) > 300
    records = read_records(table(tmp_path, csv_text([("name", "note"), *rows])))
    assert [(record.get("name"), record.get("note")) for record in records] == [
        (name, cell.strip()) for name, cell in rows
    ]


@pytest.mark.parametrize("cell", ["=", "'=", "'=1", "''=1", "-", "@x"])
def test_a_column_may_be_called_so_too(tmp_path: Path, cell: str) -> None:
    assert read_records(table(tmp_path, csv_text([("a", cell), ("b", "c")])))[0].get(cell) == "c"


@every("cell", CELLS)
def test_the_guard_and_its_removal_are_inverse_both_ways(cell: str) -> None:
    assert restored(guarded(cell)) == cell
    if cell.startswith("'"):
        assert guarded(restored(cell)) == cell, "what begins with an apostrophe is read as one text, by no other cell"


@given(text=RISKY)
def test_any_text_guarded_and_restored_is_the_text(text: str) -> None:
    assert restored(guarded(text)) == text


@given(text=RISKY)
def test_no_guarded_cell_begins_as_a_formula(text: str) -> None:
    cell = guarded(text)
    assert not (cell.startswith(RUNS) and len(cell) > 1)


@pytest.mark.parametrize("text", ["=1+1", "+49 30", "-x", "@home", "\tx", "\rx", "'=1", "''-x"])
def test_what_a_spreadsheet_would_run_or_looks_guarded_gets_one_apostrophe(text: str) -> None:
    assert guarded(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", "-", "=", "'=", "''-", "shea butter", "it's", "'tis", "1+1", "5", "é=1", "'"])
def test_other_text_is_left_alone(text: str) -> None:
    assert guarded(text) == text
    assert restored(text) == text


def test_csv_text_guards_texts_and_rounds_numbers() -> None:
    rows: list[list[object]] = [["name", "EUR", "count"], ["=SUM(A1)", 1 / 3, 4], ['say "x", y', -2.0, None]]
    assert csv_text(rows) == 'name,EUR,count\n\'=SUM(A1),0.3333333333,4\n"say ""x"", y",-2,\n'
    assert [[restored(cell) for cell in row] for row in csv.reader(StringIO(csv_text(rows)))] == [
        ["name", "EUR", "count"],
        ["=SUM(A1)", "0.3333333333", "4"],
        ['say "x", y', "-2", ""],
    ]
