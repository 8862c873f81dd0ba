"""No committed record is lost: writers killed at any moment, and several writers at once.

OPTIFORM_KILLS=1000 kills as often (default 20).
"""

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from optiform.workshop.records import Lot, Movement
from optiform.workshop.store import Workshop

ROOT = Path(__file__).resolve().parents[2]
ROUNDS = int(os.environ.get("OPTIFORM_KILLS", "20"))
LATEST = 0.05  # seconds that a writer is left alone at the most


class Writers:
    """The process that starts writers, and what they have said since the last time all had ended."""

    def __init__(self, process: "subprocess.Popen[str]") -> None:
        self._process = process
        self._said: list[str] = []

    def start(self, place: str, prefix: str, count: int = 0) -> int:
        """A new writer's process id."""
        line = self._order("start", place, prefix, str(count))
        return int(line.removeprefix("pid "))

    def first_word(self) -> None:
        """Wait until a writer has said something."""
        self._said.append(self._line())

    def ended(self) -> list[str]:
        """What was said until every writer had ended."""
        assert self._process.stdin is not None
        self._process.stdin.write("wait\n")
        self._process.stdin.flush()
        return self._until("ended")

    def _order(self, *words: str) -> str:
        assert self._process.stdin is not None
        self._process.stdin.write("\t".join(words) + "\n")
        self._process.stdin.flush()
        while not (line := self._line()).startswith("pid "):
            self._said.append(line)
        return line

    def _until(self, last: str) -> list[str]:
        lines, self._said = self._said, []
        while (line := self._line()) != last:
            lines.append(line)
        return lines

    def _line(self) -> str:
        assert self._process.stdout is not None
        line = self._process.stdout.readline()
        assert line, "the writers' process has gone"
        return line.rstrip("\n")


@pytest.fixture(scope="module")
def writers() -> Iterator[Writers]:
    line = [sys.executable, "-m", "tests.workshop.writer"]
    with subprocess.Popen(line, cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        yield Writers(process)
        assert process.stdin is not None
        process.stdin.close()


def check(place: str, said: list[str]) -> int:
    """Everything said is kept, whole; how much is kept in all."""
    with Workshop.open(place) as workshop:
        lots = [lot.number for lot in workshop.read(Lot)]
        moved = Counter(movement.lot for movement in workshop.read(Movement))
    assert set(said) <= set(lots)
    assert len(set(lots)) == len(lots)
    assert moved == dict.fromkeys(lots, 2), "an addition is kept as a whole"
    return len(lots)


def sound(file: Path) -> None:
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []


def killed(writers: Writers, place: str, rounds: int) -> None:
    """Start writers and kill them: every other one a while after its start, the rest a while after its first word."""
    chance, said = random.Random(26), list[str]()
    for number in range(rounds):
        child = writers.start(place, f"R{number}")
        if number % 2:
            writers.first_word()
        time.sleep(chance.uniform(0, LATEST))
        os.kill(child, signal.SIGKILL)
        said += writers.ended()
        assert not [line for line in said if line.startswith("failed")]
        assert check(place, said) <= len(said) + number + 1, "at most one record of each writer was kept and not said"
    assert len(said) >= rounds // 2


def test_a_writer_killed_at_any_moment_loses_nothing_in_a_file(tmp_path: Path, writers: Writers) -> None:
    killed(writers, str(tmp_path), ROUNDS)
    sound(tmp_path / "records.db")


def test_a_writer_killed_at_any_moment_loses_nothing_on_a_server(database: str, writers: Writers) -> None:
    killed(writers, database, max(4, ROUNDS // 5))


def test_several_writers_at_once_lose_nothing(place: str, writers: Writers) -> None:
    """They also make the workshop at once, since none is there."""
    for prefix in "ABCD":
        writers.start(place, prefix, 15)
    said = writers.ended()
    assert sorted(said) == sorted(f"{prefix}-{number}" for prefix in "ABCD" for number in range(1, 16))
    assert check(place, said) == 60
    if "://" not in place:
        sound(Path(place) / "records.db")
