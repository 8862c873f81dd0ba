"""Which tests ask what day it is: noted in one run, so that runs on other days take no others.

`OPTIFORM_NOTE=FILE` notes them: a line each, what was asked and the test. `OPTIFORM_NOTED=FILE` takes only these, and
with `OPTIFORM_ASKS=day` only those that ask for more than the day whose law counts and what comes before what. .ci/run
does one after the other.

A test asks also where what it stands on does: a fixture that others share, a module as it is loaded, a program that it
starts and whose clock is not seen here.
"""

import datetime
import os
import sys
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType
from typing import NamedTuple

import pytest

from optiform.reading import clock

NOTE, NOTED, ASKS = "OPTIFORM_NOTE", "OPTIFORM_NOTED", "OPTIFORM_ASKS"
#: Who asks for nothing but the day whose law counts: a brief and a command that name none; and who asks only what comes
#: first: whether a copy was made on this day, and whether a record lies after this moment.
LAW = ("reading/cells.py", "commands/common.py", "workshop/store.py", "commands/place.py")
TESTS = Path(__file__).parent
CLOCK = Path(clock.__file__)


class Who(NamedTuple):
    """Somebody that asks: a test, a fixture that tests below a place share, or a module as it is loaded."""

    place: str = ""
    fixture: str = ""

    def serves(self, item: pytest.Item) -> bool:
        """Whether a test stands on it."""
        return item.nodeid.startswith(self.place) and self.fixture in ("", *getattr(item, "fixturenames", ()))


class Asking:
    """What was asked by whom."""

    def __init__(self) -> None:
        self.asked: defaultdict[Who, set[str]] = defaultdict(set)
        self._now: list[Who] = []

    @contextmanager
    def by(self, who: Who) -> Iterator[None]:
        """While it lasts, who asks."""
        self._now.append(who)
        try:
            yield
        finally:
            self._now.pop()

    def watch(self) -> None:
        """Note who asks the clock, from now on."""
        moment = clock._moment

        def seen(told: str) -> datetime.datetime:
            self.note(sys._getframe(1))
            return moment(told)

        clock._moment = seen

    def note(self, frame: FrameType | None) -> None:
        """Somebody asks the clock from here."""
        while frame and Path(frame.f_code.co_filename) == CLOCK:
            frame = frame.f_back
        law = frame is not None and frame.f_code.co_filename.endswith(LAW)
        self.asked[self._now[-1] if self._now else _loaded(frame)].add("law" if law else "day")

    def started(self, event: str, arguments: tuple[object, ...]) -> None:
        """Something that the interpreter tells of: if it is a program of ours that is started, it may ask anything."""
        if self._now and (event == "os.fork" or (event == "subprocess.Popen" and "python" in str(arguments[:2]))):
            self.asked[self._now[-1]].add("day")

    def of(self, item: pytest.Item) -> set[str]:
        """What a test asked, by itself or by what it stands on."""
        shared = (kinds for who, kinds in self.asked.items() if "::" not in who.place and who.serves(item))
        return self.asked.get(Who(item.nodeid), set()).union(*shared)


def _loaded(frame: FrameType | None) -> Who:
    """The module of tests that is being loaded, else all tests."""
    while frame:
        path = Path(frame.f_code.co_filename)
        if path.name.startswith("test_") and path.is_relative_to(TESTS):
            return Who(path.relative_to(TESTS.parent).as_posix())
        frame = frame.f_back
    return Who()


def kept(asking: Asking, items: list[pytest.Item]) -> None:
    """Write down what each test asked; processes that run tests side by side write to one file."""
    lines = [f"{kind}\t{item.nodeid}\n" for item in items for kind in sorted(asking.of(item))]
    with Path(os.environ[NOTE]).open("a", encoding="utf-8") as file:
        file.write("".join(lines))


def chosen(items: list[pytest.Item]) -> list[pytest.Item]:
    """Those that were noted in the run before, all where none was."""
    if NOTED not in os.environ:
        return items
    lines = [line.split("\t", 1) for line in Path(os.environ[NOTED]).read_text(encoding="utf-8").splitlines()]
    names = {name for kind, name in lines if kind in ("day", os.environ.get(ASKS, "law"))}
    return [item for item in items if item.nodeid in names]
