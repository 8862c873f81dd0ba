"""What was tried to break the storage and did, or nearly: one test each."""

import os
import platform
import signal
import sqlite3
import subprocess
import sys
import threading
import zipfile
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import Connection, Engine, event, inspect

from optiform.cli import main
from optiform.reading.faults import MOST, BadInput, Inspection
from optiform.workshop import engine, migrations
from optiform.workshop.archive import LARGEST
from optiform.workshop.csvtables import as_csv, read_csv
from optiform.workshop.exchange import CELLS, export_to, import_from
from optiform.workshop.records import Lot, Movement, PackagingCount, Reading
from optiform.workshop.stock import left
from optiform.workshop.store import Reader, Workshop
from tests.sweeps import is_long
from tests.workshop.samples import BOUGHT, CAME, EVERY, FIRST, GLYCERIN, JAR, LOT, TRIAL, WATER
from tests.workshop.test_migrations import make_1, within


def forked(work: Callable[[], int]) -> int:
    """A process that does this and ends with what it gives; its id."""
    child = os.fork()
    if child == 0:
        code = 1
        try:
            code = work()
        finally:
            os._exit(code)
    return child


def ended(child: int) -> int:
    """The exit code of a process, or minus the signal that ended it."""
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


# -- two at once -------------------------------------------------------------------------------------------------------


def test_two_people_do_not_both_take_the_last_of_a_lot(place: str) -> None:
    with Workshop.open(place) as workshop:
        workshop.add(LOT, replace(CAME, kg=2.0))
    line = ["stock", "use", "G-1", "2 kg", "--reason", "made", "--records", place]
    children = [forked(lambda: main(line)) for _ in range(3)]
    assert sorted(ended(child) for child in children) == [0, 2, 2]
    with Workshop.open(place) as workshop:
        assert left("G-1", workshop.read(Movement)) == 0


def test_readings_of_two_people_at_once_are_all_kept(place: str) -> None:
    with Workshop.open(place) as workshop:
        workshop.add(FIRST, WATER, GLYCERIN, TRIAL)
    line = ["trial", "read", TRIAL.name, "200 g", "210 g", "--age", "24 h", "--at", "20 degC"]
    line += ["--instrument", "push on a scale", "--records", place]
    children = [forked(lambda: main(line)) for _ in range(3)]
    assert [ended(child) for child in children] == [0, 0, 0]
    with Workshop.open(place) as workshop:
        assert [reading.number for reading in workshop.read(Reading)] == [1, 2, 3, 4, 5, 6]


def test_a_decision_and_its_keeping_are_one(place: str) -> None:
    """A second writer, started in the middle of the first one's decision, sees what that has kept."""
    seen: list[int] = []

    def second() -> None:
        def look(kept: Reader) -> list[Lot]:
            seen.append(len(kept.read(Lot)))
            return []

        with Workshop.open(place) as other:
            other.decide(look)

    thread = threading.Thread(target=second)

    def first(kept: Reader) -> list[Lot]:
        assert kept.read(Lot) == ()
        thread.start()
        thread.join(0.2)
        assert seen == [], "it waits"
        return [LOT]

    with Workshop.open(place) as workshop:
        assert workshop.decide(first) == (LOT,)
    thread.join()
    assert seen == [1]


def test_the_same_events_brought_in_by_two_at_once_count_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    source = tmp_path / "csv"
    source.mkdir()
    (source / "packaging_counts.csv").write_text("packaging,when,pieces,reason\njar,2026-11-02T09:30,5,bought\n")
    with Workshop.open(tmp_path) as one, Workshop.open(tmp_path) as two:
        one.add(JAR)

        def meanwhile(*_: object) -> list[object]:
            monkeypatch.undo()
            import_from(two, source)
            return []

        monkeypatch.setattr(Workshop, "faults", meanwhile)
        with pytest.raises(BadInput, match="It would count twice"):
            import_from(one, source)
        assert len(one.read(PackagingCount)) == 1


def test_another_process_that_has_the_file_for_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engine, "PATIENCE", 0.05)
    with Workshop.open(tmp_path) as workshop:
        workshop.add(LOT)
    script = """if True:
        import sqlite3, sys
        other = sqlite3.connect(sys.argv[1], isolation_level=None)
        other.execute("PRAGMA locking_mode = EXCLUSIVE")
        other.execute("PRAGMA journal_mode = DELETE")
        other.execute("BEGIN EXCLUSIVE")
        print("has it", flush=True)
        sys.stdin.read()
    """
    line = [sys.executable, "-c", script, str(tmp_path / "records.db")]
    with subprocess.Popen(line, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "has it\n"
        with pytest.raises(BadInput, match="Try again when it has finished"):
            Workshop.open(tmp_path)
        other.communicate("")
    with Workshop.open(tmp_path) as workshop:
        assert workshop.read(Lot) == (LOT,)


# -- what is refused leaves nothing behind -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "line",
    [
        ["import", "nothing.zip"],
        ["receive", "unheard of", "5 kg"],
        ["receive", "glycerin", "5 kg", "--lot", " blank"],
        ["packaging", "jar", "48", "--reason", "bought"],
    ],
)
def test_a_place_is_made_with_its_first_record_only(
    place: str, line: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["stock", *line, "--records", place]) == 2
    assert capsys.readouterr().err.endswith(".\n"), "in a sentence"
    if "://" in place:
        assert within(place, lambda connection: inspect(connection).get_table_names()) == []
    else:
        assert not Path(place).exists()
    assert main(["stock", "receive", "glycerin", "5 kg", "--records", place]) == 0


# -- files that are not what they should be ----------------------------------------------------------------------------


def test_a_workshop_that_disappears_while_it_is_open(tmp_path: Path) -> None:
    """Its file would have lived on without a name, and what was kept with it, until the program ended."""
    with Workshop.open(tmp_path / "shop") as workshop:
        workshop.add(LOT)
        (tmp_path / "shop").rename(tmp_path / "moved")
        for work in (lambda: workshop.add(CAME), lambda: workshop.read(Lot)):
            with pytest.raises(BadInput, match="it was moved, renamed or deleted; nothing was saved"):
                work()
        assert not (tmp_path / "shop").exists()
        (tmp_path / "moved").rename(tmp_path / "shop")
        workshop.add(CAME)
        assert workshop.read(Movement) == (CAME,)


def test_a_file_that_is_replaced_while_it_is_open(tmp_path: Path) -> None:
    """As when a backup is put back."""
    with Workshop.open(tmp_path / "old") as old:
        old.add(LOT)
    with Workshop.open(tmp_path / "shop") as workshop:
        workshop.add(replace(LOT, number="G-2"))
        (tmp_path / "old" / "records.db").replace(tmp_path / "shop" / "records.db")
        workshop.add(CAME)
        assert workshop.read(Lot) == (LOT,)


def test_what_is_no_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "a" / "records.db").mkdir(parents=True)
    (tmp_path / "b").mkdir()
    os.mkfifo(tmp_path / "b" / "records.db")
    (tmp_path / "c").write_text("x")
    for name, words in (
        ("a", "this is a folder"),
        ("b", "this is a device or a pipe"),
        ("c", "this is a file. Needed: a folder"),
    ):
        with pytest.raises(BadInput, match=words):
            Workshop.open(tmp_path / name)
    (tmp_path / "d").mkdir()
    (tmp_path / "d" / "records.db").symlink_to("records.db")
    with pytest.raises(BadInput, match=r"records\.db"):
        Workshop.open(tmp_path / "d")


def test_a_link_to_a_workshop_is_that_workshop(tmp_path: Path) -> None:
    with Workshop.open(tmp_path / "real") as workshop:
        workshop.add(LOT)
    (tmp_path / "linked").mkdir()
    (tmp_path / "linked" / "records.db").symlink_to(tmp_path / "real" / "records.db")
    with Workshop.open(tmp_path / "linked") as linked:
        linked.add(CAME)
    with Workshop.open(tmp_path / "real") as workshop:
        assert workshop.read(Movement) == (CAME,)


@pytest.mark.parametrize("value", ["'2026-11-\x16'", "NULL", "x'ff'", "9e999", "'=1'"])
def test_a_cell_that_this_program_never_writes(tmp_path: Path, value: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A broken disk, or another program: the commands say so and go on to no traceback."""
    with Workshop.open(tmp_path) as workshop:
        workshop.add(LOT, JAR)
    table, column = ("lots", "received") if "2026" in value else ("packaging", "price" if "9" in value else "name")
    with closing(sqlite3.connect(tmp_path / "records.db")) as connection:
        connection.execute("PRAGMA writable_schema = ON")
        connection.execute("UPDATE sqlite_schema SET sql = replace(sql, 'NOT NULL', '')")
        connection.commit()
    with closing(sqlite3.connect(tmp_path / "records.db")) as connection:
        connection.execute(f"UPDATE {table} SET {column} = {value}")
        connection.commit()
    line = ["stock", "export", str(tmp_path / "all.zip"), "--records", str(tmp_path)]
    sound = value == "'=1'"
    assert main(line) == (0 if sound else 2)
    assert sound or "Take the last export or backup" in capsys.readouterr().err


def test_a_workshop_cut_short(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with Workshop.open(tmp_path / "whole") as workshop:
        workshop.add(*EVERY)
    content = (tmp_path / "whole" / "records.db").read_bytes()
    (tmp_path / "cut").mkdir()
    for size in (17, 100, 4095, 4096, 4097, len(content) // 2, len(content) - 4096):
        (tmp_path / "cut" / "records.db").write_bytes(content[:size])
        assert main(["stock", "--records", str(tmp_path / "cut")]) == 2
        assert "It must be a w" in capsys.readouterr().err
        assert (tmp_path / "cut" / "records.db").read_bytes() == content[:size], "left for whoever can mend it"


# -- interrupted -------------------------------------------------------------------------------------------------------


def kill_at(place: str, statement: int) -> int:
    """Open a workshop and be killed before a statement."""
    count = 0

    def counted(*_: object) -> None:
        nonlocal count
        count += 1
        if count == statement:
            os.kill(os.getpid(), signal.SIGKILL)

    event.listen(Engine, "before_cursor_execute", counted)
    Workshop.open(place).close()
    return 0


@pytest.mark.sweep
def test_a_migration_killed_at_any_statement_can_be_made_again(tmp_path: Path) -> None:
    """Every statement of it in turn, or every ninth, until none is left to be killed at."""
    for statement in range(1, 200, 1 if is_long() else 9):
        place = str(tmp_path / str(statement))
        make_1(place)
        code = ended(forked(lambda place=place, at=statement: kill_at(place, at)))  # type: ignore[misc]
        whole = range(1, migrations.SCHEMA) if code else (migrations.SCHEMA,)  # each step whole or not at all
        assert within(place, migrations.version_of) in whole
        with Workshop.open(place) as workshop:
            assert workshop.read(Movement) == (CAME,)
        if code == 0:
            break
        assert code == -signal.SIGKILL
    assert 20 < statement < 199


def keep_first(place: str, statement: int) -> int:
    """Keep the first records of a workshop and be killed before a statement on its own database."""
    count = 0

    def counted(connection: Connection, *_: object) -> None:
        nonlocal count
        count += connection.engine.url.database is not None  # not the one in memory, where the records are tried
        if count == statement:
            os.kill(os.getpid(), signal.SIGKILL)

    event.listen(Engine, "before_cursor_execute", counted)
    with Workshop.open(place, late=True) as workshop:
        workshop.add(LOT, CAME)
    return 0


@pytest.mark.sweep
def test_a_first_keeping_killed_at_any_statement_leaves_nothing(place: str) -> None:
    """Not even an empty workshop. The same place is tried again and again, and taken as new each time."""
    for statement in range(1, 300, 6 if is_long() else 18):
        code = ended(forked(lambda at=statement: keep_first(place, at)))  # type: ignore[misc]
        if code == 0:
            break
        assert code == -signal.SIGKILL
        with pytest.raises(BadInput, match="It must be a workshop"):
            Workshop.open(place, create=False)
    assert 30 < statement < 299
    with Workshop.open(place, create=False) as workshop:
        assert workshop.read(Movement) == (CAME,)


def test_an_export_that_is_killed_leaves_the_one_before(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And what it had begun goes with the next export to the same name; what is not known to be its own stays."""
    monkeypatch.setattr("os.fsync", lambda _: os.kill(os.getpid(), signal.SIGKILL))
    there = tmp_path / "there"
    there.mkdir()
    begun = f".all.zip.{platform.node()}"
    others = {".all.zip.part", f"{begun}.{os.getppid()}.part.zip", f"{begun}.x.part.zip", ".all.zip.other.99999.part"}
    for name in others:
        (there / name).touch()
    with Workshop.open(tmp_path / "shop", late=True) as workshop:
        child = forked(lambda: len(export_to(workshop, there / "all.zip")))
        assert ended(child) == -signal.SIGKILL
        assert {each.name for each in there.iterdir()} == {*others, f"{begun}.{child}.part.zip"}
        monkeypatch.undo()
        export_to(workshop, there / "all.zip")
    assert {each.name for each in there.iterdir()} == {*others, "all.zip"}
    assert zipfile.is_zipfile(there / "all.zip")


def test_an_export_replaces_nothing_but_a_zip(tmp_path: Path) -> None:
    with Workshop.open(tmp_path) as workshop:
        workshop.add(LOT)
        (tmp_path / "formula.csv").write_text("ingredient,percent\n")
        (tmp_path / "pipe").symlink_to("/dev/null")
        for name in ("records.db", "formula.csv", ".", "pipe"):
            words = r"a new name|must end in \.zip|a file name|a database is never"
            with pytest.raises(BadInput, match=words):
                export_to(workshop, tmp_path / name, force=True)
        assert workshop.read(Lot) == (LOT,)


def test_a_clock_that_goes_back_reorders_nothing(workshop: Workshop) -> None:
    moves = [replace(CAME, when=CAME.when - timedelta(days=400 * back), kg=1.0 + back) for back in range(4)]
    workshop.add(LOT)
    for move in moves:
        workshop.add(move)
    assert workshop.read(Movement) == tuple(moves), "in the order kept"
    assert left("G-1", workshop.read(Movement)) == 10


# -- exchange ----------------------------------------------------------------------------------------------------------


def test_the_records_of_many_years_come_back() -> None:
    """What is written can be read: the bounds of a maker's table would have refused more than 25,000 counts."""
    counts = [replace(BOUGHT, pieces=1 + k) for k in range(25_001)]
    inspection = Inspection("packaging_counts.csv")
    text = as_csv(PackagingCount, counts)
    assert [count for _, count in read_csv(PackagingCount, text, inspection, CELLS)] == counts
    assert inspection.faults == []
    assert len(text) < LARGEST
    read_csv(PackagingCount, text, inspection, 100_000)
    assert "at most 500 columns and 100000 cells in all" in inspection.faults[0].expected


def test_of_many_faults_the_first_are_told(tmp_path: Path) -> None:
    source = tmp_path / "csv"
    source.mkdir()
    rows = "X,2026-11-02T09:30,1,x\n" * 3000
    (source / "movements.csv").write_text(f"lot,when,kg,reason\n{rows}")
    with Workshop.open(tmp_path / "shop") as workshop, pytest.raises(BadInput) as caught:
        import_from(workshop, source)
    assert len(caught.value.faults) == MOST
    assert caught.value.faults[-1].read == f"{3000 - MOST + 1} more faults"


def test_what_a_terminal_would_act_on_is_not_brought_in(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "given.zip", "w") as packed:
        packed.writestr("lots.csv", "number,ingredient,note\nG-1,glycerin,\x1b[2Jgone\n")
    with Workshop.open(tmp_path / "shop") as workshop, pytest.raises(BadInput, match=r"row 2, column note.*plain text"):
        import_from(workshop, tmp_path / "given.zip")
