"""Out as plain CSV and in again: nothing changed, nothing half done, nothing hostile taken in."""

import contextlib
import csv
import datetime
import io
import stat
import warnings
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from optiform.reading.faults import BadInput
from optiform.reading.tables import HIDDEN, RUNS
from optiform.workshop import archive
from optiform.workshop.archive import LARGEST
from optiform.workshop.csvtables import as_csv
from optiform.workshop.exchange import export_to, import_from
from optiform.workshop.kinds import KINDS
from optiform.workshop.records import RECORDS, Lot, Movement, OwnCell, Record
from optiform.workshop.store import Workshop
from tests.cells import CELLS
from tests.sweeps import is_long
from tests.workshop.samples import CAME, EVERY, LOT, OWN

LOTS = "number,ingredient,received,price\r\nG-1,glycerin,2026-11-02,4.2\r\n"


def there_and_back(folder: Path, *records: Record) -> tuple[dict[type, tuple[Record, ...]], ...]:
    """What is kept in one workshop, and in another that took in its export."""
    with Workshop.open(folder / "one") as one, Workshop.open(folder / "two") as two:
        one.add(*records)
        export_to(one, folder / "all.zip")
        import_from(two, folder / "all.zip")
        return one.read_all(), two.read_all()


def faults(folder: Path, source: Path) -> list[str]:
    """Why a source is refused; nothing of it may be kept."""
    with Workshop.open(folder / "refusing") as workshop:
        before = workshop.read_all()
        with pytest.raises(BadInput) as caught:
            import_from(workshop, source)
        assert workshop.read_all() == before
    return [
        f"{fault.file.removeprefix(str(source))} {fault.place}: read {fault.read}, expected {fault.expected}"
        for fault in caught.value.faults
    ]


def zipped(folder: Path, files: dict[str, str | bytes], how: int = zipfile.ZIP_DEFLATED) -> Path:
    path = folder / "given.zip"
    with zipfile.ZipFile(path, "w", how) as packed:
        for name, content in files.items():
            packed.writestr(name, content)
    return path


def test_every_kind_goes_there_and_back(tmp_path: Path) -> None:
    one, two = there_and_back(tmp_path, *EVERY)
    assert one == two
    assert all(one[kind] for kind in RECORDS)


TEXT = st.text(st.characters(exclude_categories=["Cs"]).filter(lambda letter: not HIDDEN.match(letter)), max_size=12)
START = st.sampled_from(["", *RUNS, "'", "''", "'=", "é", '"', ",", "\n", "\r\n", "\r", " ", "\ufeff", ";", "ß→漢"])
HARD = st.builds("".join, st.tuples(START, TEXT, START))
NUMBER = st.floats(-1e12, 1e12, allow_nan=False)
MOMENT = st.datetimes(datetime.datetime(1, 1, 1), datetime.datetime(9999, 12, 31))


@pytest.mark.sweep
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=15 if is_long() else 5)
@given(
    cells=st.lists(HARD, max_size=5),
    notes=st.lists(st.tuples(HARD, st.none() | NUMBER.map(abs), st.none() | st.dates()), max_size=4),
    moves=st.lists(st.tuples(HARD.filter(str.strip), NUMBER.filter(bool), MOMENT), max_size=4),
)
def test_any_text_number_and_date_goes_there_and_back(
    tmp_path_factory: pytest.TempPathFactory,
    cells: list[str],
    notes: list[tuple[str, float | None, datetime.date | None]],
    moves: list[tuple[str, float, datetime.datetime]],
) -> None:
    one, two = there_and_back(
        tmp_path_factory.mktemp("shop"),
        LOT,
        *(OwnCell(ingredient="balm", column=f"own {k}", text=text) for k, text in enumerate(cells)),
        *(
            Lot(number=f"L{k}", ingredient="balm", note=note, price=price, expiry=expiry)
            for k, (note, price, expiry) in enumerate(notes)
        ),
        *(Movement(lot="G-1", reason=reason, kg=kg, when=when) for reason, kg, when in moves),
    )
    assert one == two
    assert [cell.text for cell in one[OwnCell] if isinstance(cell, OwnCell)] == cells


def test_every_cell_goes_there_and_back_also_one_that_a_spreadsheet_would_run(tmp_path: Path) -> None:
    lots = [replace(LOT, number=f"G-{number}", note=cell) for number, cell in enumerate(CELLS)]
    kept, again = there_and_back(tmp_path, *lots)
    assert [lot.note for lot in again[Lot] if isinstance(lot, Lot)] == [*CELLS]
    assert again == kept


def test_an_export_is_plain_csv_that_no_spreadsheet_runs(tmp_path: Path) -> None:
    with Workshop.open(tmp_path) as workshop:
        workshop.add(replace(LOT, note="=1+1"), replace(OWN, text="+49 30"))
        counts = export_to(workshop, tmp_path / "all.zip")
    with zipfile.ZipFile(tmp_path / "all.zip") as packed:
        assert packed.namelist() == [f"{kind.file}.csv" for kind in KINDS.values()]
        (row,) = csv.DictReader(io.StringIO(packed.read("lots.csv").decode(), newline=""))
    assert (counts["lots"], counts["own_cells"], counts["trials"]) == (1, 1, 0)
    assert row["note"] == "'=1+1"
    assert (row["received"], row["price"], row["supplier"]) == ("2026-11-02", "4.2", "")


def test_the_same_records_give_the_same_bytes(tmp_path: Path) -> None:
    with Workshop.open(tmp_path) as workshop:
        workshop.add(*EVERY)
        export_to(workshop, tmp_path / "a.zip")
        export_to(workshop, tmp_path / "b.zip")
    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "b.zip").read_bytes()


def test_an_export_that_fails_leaves_the_one_before(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with Workshop.open(tmp_path) as workshop:
        export_to(workshop, tmp_path / "all.zip")
        before, names = (tmp_path / "all.zip").read_bytes(), set(tmp_path.iterdir())

        def full(_: int) -> None:
            raise OSError(28, "No space left on device")

        workshop.add(LOT)
        monkeypatch.setattr("os.fsync", full)
        with pytest.raises(BadInput, match="No space left"):
            export_to(workshop, tmp_path / "all.zip", force=True)
        assert (tmp_path / "all.zip").read_bytes() == before
        assert set(tmp_path.iterdir()) == names, "and nothing beside it"
        with pytest.raises(BadInput, match="there is no folder"):
            export_to(workshop, tmp_path / "nowhere" / "all.zip")


def test_an_export_may_be_read_by_whom_other_new_files_may(tmp_path: Path) -> None:
    with Workshop.open(tmp_path) as workshop:
        export_to(workshop, tmp_path / "all.zip")
    (tmp_path / "other").touch()
    modes = {stat.S_IMODE((tmp_path / name).stat().st_mode) for name in ("all.zip", "other")}
    assert len(modes) == 1


def test_a_folder_with_some_of_the_files_is_enough(tmp_path: Path) -> None:
    source = tmp_path / "csv"
    source.mkdir()
    (source / "lots.csv").write_text("\ufeffPrice;Number;Ingredient\n4,2;G-1;glycerin\n;G-2;sorbitol\n")
    (source / "notes.txt").write_text("not ours")
    with Workshop.open(tmp_path) as workshop:
        assert import_from(workshop, source)["lots"] == 2
        assert workshop.read(Lot) == (
            Lot(number="G-1", ingredient="glycerin", price=4.2),
            Lot(number="G-2", ingredient="sorbitol"),
        )


def test_every_fault_is_told_with_file_row_and_column(tmp_path: Path) -> None:
    source = tmp_path / "csv"
    source.mkdir()
    (source / "lots.csv").write_text(
        "number,ingredient,received,price,colour\nG-1,glycerin,02.11.2026,4.2,blue\n", encoding="utf-8"
    )
    (source / "movements.csv").write_text(
        "lot,when,kg,reason\nG-1,2026-11-02T09:30,nan,a\nG-7,2026-02-30T09:30,1,b\nG-8,2026-11-02,inf,c\n"
        "G-9,2026-11-02 09:30:00,1e308,d\nG-1,2026-11-02T09:30,0,e\nG-1,2026-11-02T09:30,1,f,g,h,i,j\n"
    )
    (source / "offers.csv").write_text("ingredient,supplier,pack,price\nglycerin,x,5,3\n")
    (source / "packaging.csv").write_text("name,kind\njar,jar\njar,lid\n")
    (source / "packaging_counts.csv").write_text("packaging,when,pieces,reason\njar,2026-11-02T09:30,1.5,bought\n")
    (source / "birds.csv").write_text("name\n")
    (source / "trials.csv").write_bytes("name,aim\nT-1,beurre de karité\n".encode() + b"\xe9")
    (source / "versions.csv").write_text("")
    found = faults(tmp_path, source)
    assert [line.partition(", expected")[0] for line in found] == [
        " files: read 'birds.csv'",
        "/lots.csv header: read 'colour'",
        "/movements.csv row 2, column kg: read 'nan'",
        "/movements.csv row 3, column when: read '2026-02-30T09:30'",
        "/movements.csv row 4, column when: read '2026-11-02'",
        "/movements.csv row 4, column kg: read 'inf'",
        "/movements.csv row 5, column kg: read '1e308'",
        "/movements.csv row 7: read '8 cells'",
        "/movements.csv row 6, column kg: read 0.0",
        "/offers.csv header: read 'ingredient, supplier, pack, price'",
        "/offers.csv header: read 'ingredient, supplier, pack, price'",
        "/packaging_counts.csv row 2, column pieces: read '1.5'",
        "/trials.csv byte 31: read byte 0xe9",
        "/versions.csv file: read 'an empty table'",
        "/packaging.csv row 3, column name: read 'jar'",
    ], "and nothing on references to lots, which could not be read"
    assert "one of: own_cells.csv, offers.csv" in found[0]
    assert found[3].endswith("expected a date and time such as 2026-11-25T09:30:00, of a day that is in the calendar")


def test_references_between_files_are_looked_at(tmp_path: Path) -> None:
    files: dict[str, str | bytes] = {
        "lots.csv": LOTS,
        "movements.csv": "lot,when,kg,reason\nG-2,2026-11-02T09:30,1,x\n",
    }
    (told,) = faults(tmp_path, zipped(tmp_path, files))
    assert told == "/movements.csv row 2, column lot: read 'G-2', expected a saved lot; `optiform stock` lists them"


def test_nothing_is_said_on_references_to_a_file_that_could_not_be_read(tmp_path: Path) -> None:
    moves = "lot,when,kg,reason\nG-2,2026-11-02T09:30,1,x\n"
    (told,) = faults(tmp_path, zipped(tmp_path, {"lots.csv": b"number\nkarit\xc3\xa9\xff\n", "movements.csv": moves}))
    assert told == "/lots.csv byte 14: read byte 0xff, expected text in UTF-8"


def test_nothing_is_taken_in_twice(tmp_path: Path) -> None:
    with Workshop.open(tmp_path) as workshop:
        workshop.add(LOT, CAME, replace(CAME, kg=2.0))
        source = zipped(tmp_path, {"movements.csv": as_csv(Movement, [CAME, replace(CAME, kg=3.0)])})
        with pytest.raises(BadInput) as caught:
            import_from(workshop, source)
        (fault,) = caught.value.faults
        assert (fault.place, fault.expected) == ("row 2", "a movement that is not saved yet; it would count twice")
        assert len(workshop.read(Movement)) == 2


# -- hostile zips ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name", ["../lots.csv", "/lots.csv", "..\\lots.csv", "C:\\lots.csv", "shop/lots.csv", "lots.csv/", "lots.exe"]
)
def test_a_name_that_is_not_one_of_the_files_is_refused(tmp_path: Path, name: str) -> None:
    before = set(tmp_path.parent.iterdir())
    assert "lots.csv" in faults(tmp_path, zipped(tmp_path, {name: LOTS}))[0]
    assert set(tmp_path.parent.iterdir()) == before


def test_a_file_that_comes_twice_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "given.zip"
    with warnings.catch_warnings(), zipfile.ZipFile(path, "w") as packed:
        warnings.simplefilter("ignore")
        packed.writestr("lots.csv", LOTS)
        packed.writestr("lots.csv", LOTS.replace("G-1", "G-2"))
    assert faults(tmp_path, path) == [" files: read 'lots.csv', expected each file once"]


def test_a_bomb_that_tells_its_size_is_refused_unpacked(tmp_path: Path) -> None:
    path = zipped(tmp_path, {"lots.csv": b"\0" * (LARGEST + 1)})
    assert path.stat().st_size < 30_000
    assert faults(tmp_path, path) == [
        f" lots.csv: read '{LARGEST + 1} bytes unpacked', expected at most {LARGEST} bytes"
    ]


def test_many_files_that_are_a_bomb_together_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert LARGEST < archive.MOST < len(KINDS) * LARGEST
    monkeypatch.setattr(archive, "MOST", 700)
    path = zipped(tmp_path, {f"{kind.file}.csv": b"\0" * 100 for kind in list(KINDS.values())[:8]})
    assert faults(tmp_path, path) == [" files: read '800 bytes unpacked', expected at most 700 bytes together"]


def test_a_bomb_that_lies_about_its_size_is_refused(tmp_path: Path) -> None:
    size = 3_000_000
    path = zipped(tmp_path, {"lots.csv": b"\0" * size})
    content = path.read_bytes()
    assert content.count(size.to_bytes(4, "little")) == 2
    path.write_bytes(content.replace(size.to_bytes(4, "little"), (100).to_bytes(4, "little")))
    (told,) = faults(tmp_path, path)
    assert told.endswith("expected a whole file")


@pytest.mark.parametrize("how", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_packing_whose_size_cannot_be_bounded_is_refused(tmp_path: Path, how: int) -> None:
    (told,) = faults(tmp_path, zipped(tmp_path, {"lots.csv": LOTS}, how))
    assert told.endswith("a zip packed the usual way (deflate)")


def test_an_encrypted_file_is_refused(tmp_path: Path) -> None:
    path = zipped(tmp_path, {"lots.csv": LOTS})
    content = bytearray(path.read_bytes())
    content[6] |= 1
    content[content.index(b"PK\x01\x02") + 8] |= 1
    path.write_bytes(content)
    assert faults(tmp_path, path)[0].endswith("expected a zip without a password")


def cut(content: bytes) -> bytes:
    return content[: len(content) // 2]


def flipped(content: bytes) -> bytes:
    """The packed bytes spoilt."""
    return content[:45] + bytes(byte ^ 0xFF for byte in content[45:60]) + content[60:]


@pytest.mark.parametrize("spoil", [cut, flipped, lambda _: b"", lambda _: b"number,ingredient\n"])
def test_a_broken_zip_is_refused(tmp_path: Path, spoil: Callable[[bytes], bytes]) -> None:
    path = zipped(tmp_path, {"lots.csv": LOTS})
    path.write_bytes(spoil(path.read_bytes()))
    (told,) = faults(tmp_path, path)
    assert "expected a " in told


def test_a_source_that_is_not_there_or_holds_nothing_is_refused(tmp_path: Path) -> None:
    assert faults(tmp_path, tmp_path / "none.zip") == [" file: read nothing, expected a zip or a folder of this name"]
    (tmp_path / "empty").mkdir()
    (told,) = faults(tmp_path, tmp_path / "empty")
    assert told.startswith(" files: read none, expected files named own_cells.csv")
    assert faults(tmp_path, zipped(tmp_path, {}))[0].startswith(" files: read none")


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=25)
@given(at=st.integers(0, 400), byte=st.integers(0, 255))
def test_a_zip_with_any_byte_changed_is_read_or_refused(tmp_path: Path, at: int, byte: int) -> None:
    content = bytearray(zipped(tmp_path, {"lots.csv": LOTS, "own_cells.csv": "ingredient,column,text\n"}).read_bytes())
    content[at % len(content)] = byte
    (tmp_path / "given.zip").write_bytes(content)
    with Workshop.open(tmp_path / "any") as workshop:
        with contextlib.suppress(BadInput):
            import_from(workshop, tmp_path / "given.zip")
        assert len(workshop.read(Lot)) <= 25
