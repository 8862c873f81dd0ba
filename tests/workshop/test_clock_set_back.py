"""The clock of the machine is set back between two commands: nothing is lost, numbered twice or in another order."""

import datetime
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from optiform.cli import main
from optiform.reading.clock import CLOCK_VARIABLE
from optiform.reading.faults import BadInput
from optiform.workshop.records import Batch, Lot, Movement, PackagingCount, Reading, Trial, Version
from optiform.workshop.store import Workshop
from tests.workshop.samples import BATCH, CAME, FIRST, GLYCERIN, LOT, TRIAL, WATER
from tests.workshop.test_migrations import make_1

LATER = datetime.datetime(2026, 11, 25, 10, 0)
BACK = datetime.datetime(2026, 11, 20, 9, 0)
At = Callable[..., str]


@pytest.fixture
def at(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], place: str) -> At:
    """A command at a time, on one workshop: what it says on standard output, the note on the clock seen to."""

    def run(now: datetime.datetime, *line: str, code: int = 0, told: bool = False) -> str:
        monkeypatch.setenv(CLOCK_VARIABLE, now.isoformat())
        assert main([*line, "--records", place]) == code
        out, errors = capsys.readouterr()
        assert ("The clock of this machine says" in errors) is told, errors
        return errors if code else out

    return run


def test_lots_and_what_is_taken(at: At, place: str) -> None:
    receive = ("stock", "receive", "glycerin", "5 kg")
    assert "lot 20261125-1," in at(LATER, *receive, "--expiry", "2026-11-22")
    assert "lot 20261120-1," in at(BACK, *receive, told=True)
    assert "lot 20261120-2," in at(BACK, *receive, told=True)
    assert "lot 20261125-2," in at(LATER, *receive, "--expiry", "2026-12-01")
    assert "1 kg of lot 20261125-2" in at(LATER, "stock", "use", "glycerin", "1 kg", "--reason", "made")
    used = at(BACK, "stock", "use", "glycerin", "2 kg", "--reason", "made", told=True)
    assert "2 kg of lot 20261120-1" in used, "by that clock the other lots are yet to come in, the expired one too"
    with Workshop.open(place) as workshop:
        numbers = [lot.number for lot in workshop.read(Lot)]
        assert numbers == ["20261125-1", "20261120-1", "20261120-2", "20261125-2"], "in the order kept"
        assert [(move.kg, move.when) for move in workshop.read(Movement)] == [
            (5, LATER), (5, BACK), (5, BACK), (5, LATER), (-1, LATER), (-2, BACK),
        ]  # fmt: skip


def test_packaging(at: At, place: str) -> None:
    at(LATER, "stock", "packaging", "jar", "48", "--reason", "bought", "--kind", "jar")
    assert "40 pieces" in at(BACK, "stock", "packaging", "jar", "-8", "--reason", "broken", told=True)
    with Workshop.open(place) as workshop:
        assert [count.pieces for count in workshop.read(PackagingCount)] == [48, -8]


def test_versions(at: At, place: str, tmp_path: Path) -> None:
    (tmp_path / "f.csv").write_text("ingredient,percent\nwater,70\nglycerin,30\n")
    keep = ("stock", "save", str(tmp_path / "f.csv"), "--product", "polish", "--reason", "why")
    at(LATER, *keep, "--name", "first")
    at(BACK, *keep, "--name", "second", "--parent", "first", told=True)
    assert "first is saved already" in at(BACK, *keep, "--name", "first", "--parent", "second", code=2, told=True)
    with Workshop.open(place) as workshop:
        found = [(each.name, each.parent, each.created) for each in workshop.read(Version)]
    assert found == [("first", "", LATER), ("second", "first", BACK)]


def test_trials_and_readings(at: At, place: str) -> None:
    with Workshop.open(place) as workshop:
        workshop.add(replace(FIRST, created=LATER), WATER, GLYCERIN)
    log = ("--product", "polish", "--version", "first", "--aim", "x")
    read = ("--age", "24 h", "--at", "20 degC", "--instrument", "push on a scale")
    at(LATER, "trial", "log", "T1", *log)
    at(BACK, "trial", "log", "T2", *log, told=True)
    at(LATER, "trial", "read", "T1", "200 g", "210 g", *read)
    at(BACK, "trial", "read", "T1", "190 g", *read, told=True)
    assert json.loads(at(BACK, "trial", "show", "--json", told=True))["status"] == "shown"
    with Workshop.open(place) as workshop:
        assert [(trial.name, trial.made) for trial in workshop.read(Trial)] == [
            ("T1", LATER.date()), ("T2", BACK.date()),
        ]  # fmt: skip
        assert [(each.number, each.value) for each in workshop.read(Reading)] == [(1, 200), (2, 210), (3, 190)]


def test_a_batch_number_is_never_given_twice(workshop: Workshop) -> None:
    workshop.add(FIRST, WATER, GLYCERIN, BATCH)
    with pytest.raises(BadInput, match="B-1 is saved already"):
        workshop.add(replace(BATCH, made=BATCH.made - datetime.timedelta(days=30)))
    assert workshop.read(Batch) == (BATCH,)


def test_a_migration_at_the_same_second_replaces_no_copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An older file is put back, and the clock with it; a copy of it that was broken off is in the way."""
    monkeypatch.setenv(CLOCK_VARIABLE, BACK.isoformat())
    shop = tmp_path / "shop"
    for _ in range(3):
        make_1(str(tmp_path / "old"))
        shop.mkdir(exist_ok=True)
        (tmp_path / "old" / "records.db").replace(shop / "records.db")
        (tmp_path / "old").rmdir()
        (shop / "copies").mkdir(exist_ok=True)
        (shop / "copies" / "records-schema-1.part").write_text("broken off")
        Workshop.open(shop).close()
    names = ["", "-2", "-3"]
    assert {each.name for each in (shop / "copies").glob("records-*")} == {
        f"records-schema-1-20261120-090000{name}.db" for name in names
    }


def test_what_the_clock_is_held_against(workshop: Workshop) -> None:
    assert workshop.latest() is None
    workshop.add(LOT, CAME, replace(FIRST, created=LATER), WATER, GLYCERIN, TRIAL)
    assert workshop.latest() == LATER
