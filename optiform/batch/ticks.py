"""What is weighed one thing at a time, as the records keep it: ticks of several devices, brought together.

A tick is only added. Who adds one says which tick of its screen they knew as the last: where another device has said
something else meanwhile, both stand in the records, nothing counts of that line, and the maker is asked.
"""

import datetime
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from hashlib import sha256

from optiform.batch.batch import BatchSheet
from optiform.reading.frozen import frozen
from optiform.workshop.decisions import Kept
from optiform.workshop.records import Record, Tick, Weighing
from optiform.workshop.store import Reader, Revision

Line = tuple[str, str]  # an ingredient, and the phase and part it is weighed in


@frozen
class Late:
    """So many ticks came when their batch had ended: kept with it, and no lot is changed."""

    ticks: int


@frozen
class Run:
    """One time that a sheet is weighed: `number` counts them, `screens` has the ticks of each screen in their order."""

    number: int
    screens: Mapping[int, tuple[Tick, ...]]

    @property
    def last(self) -> dict[int, Tick]:
        """The last tick of each screen."""
        return {screen: ticks[-1] for screen, ticks in self.screens.items()}

    @property
    def clashes(self) -> dict[int, tuple[Tick, ...]]:
        """Of each line that two devices say different things of: what they say."""
        return {screen: told for screen, ticks in self.screens.items() if (told := _unlike(ticks))}

    @property
    def lines(self) -> dict[Line, Tick]:
        """What counts of each line that was weighed; nothing of one that is in a clash."""
        counts = {screen: tick for screen, tick in self.last.items() if screen not in self.clashes}
        return {(tick.ingredient, tick.place): tick for tick in counts.values() if tick.ingredient}


def _unlike(ticks: Sequence[Tick]) -> tuple[Tick, ...]:
    """The last tick, and before it those that its device did not know, where they say something else."""
    last = ticks[-1]
    unknown = [tick for tick in ticks[:-1] if tick.number > last.over]
    return (*unknown, last) if any(said(tick) != said(last) for tick in unknown) else ()


def said(tick: Tick) -> tuple[float | None, str]:
    """Grams and lot: what two ticks of a line have to agree on. Of a step there is nothing to differ in."""
    grams = tick.planned if tick.grams is None else tick.grams
    return (grams, tick.lot) if tick.ingredient else (None, "")


def place_of(phase: str, part: str) -> str:
    """Phase and part in words: with the ingredient they name a line of a sheet."""
    return ", ".join(filter(None, (phase, part)))


def word_of(sheet: BatchSheet) -> str:
    """A word that is another one for every other batch: what was ticked of one is not taken for another's.

    Lots are not in it: they change while it is weighed.
    """
    lines = [(phase.phase, phase.part, x.ingredient, x.grams) for phase in sheet.phases for x in phase.lines]
    return sha256(repr((sheet.title, lines, [step.what for step in sheet.steps])).encode()).hexdigest()[:16]


def run_of(kept: Reader, sheet: str) -> Run:
    """The run that a sheet is in: the first that has not ended."""
    runs = kept.read(Weighing, sheet=sheet)
    number = next((each.run for each in runs if each.ended is None), max((each.run for each in runs), default=0) + 1)
    screens: dict[int, list[Tick]] = defaultdict(list)
    for tick in kept.read(Tick, sheet=sheet, run=number):
        screens[tick.screen].append(tick)
    return Run(number, {screen: tuple(ticks) for screen, ticks in sorted(screens.items())})


def ticked(kept: Reader, title: str, ticks: Sequence[Tick], now: datetime.datetime) -> Kept:
    """Ticks that came from a device, added behind those that are there; one that came before is not added again.

    Args:
        kept: the records.
        title: of what is weighed.
        ticks: of one sheet, as the device has them; their numbers are given here.
        now: when they came.
    """
    new: list[Record] = []
    runs = {(each.sheet, each.run): each for tick in ticks for each in kept.read(Weighing, sheet=tick.sheet)}
    there = [each for tick in ticks for each in kept.read(Tick, sheet=tick.sheet, run=tick.run)]
    known = {each.word for each in there}
    numbers: dict[tuple[int, int], int] = defaultdict(int)
    for each in there:
        numbers[each.run, each.screen] = max(numbers[each.run, each.screen], each.number)
    late = 0
    for tick in ticks:
        if tick.word in known:
            continue
        if (tick.sheet, tick.run) not in runs:
            runs[tick.sheet, tick.run] = begun = Weighing(sheet=tick.sheet, run=tick.run, title=title, begun=now)
            new.append(begun)
        known.add(tick.word)
        late += runs[tick.sheet, tick.run].ended is not None
        numbers[tick.run, tick.screen] += 1
        new.append(replace(tick, number=numbers[tick.run, tick.screen]))
    return Kept(tuple(new), Late(late))


def settled(kept: Reader, tick: Tick, word: str, now: datetime.datetime) -> Kept:
    """A clash decided: what this tick says counts, and is said over all others of its screen."""
    ticks = kept.read(Tick, sheet=tick.sheet, run=tick.run, screen=tick.screen)
    last = max(each.number for each in ticks)
    return Kept((replace(tick, number=last + 1, over=last, word=word, when=now),), "")


def ended(kept: Reader, sheet: str, now: datetime.datetime, batch: str = "") -> tuple[Revision, ...]:
    """The end of the run that a sheet is in, with the batch that it was kept as; nothing where none was begun."""
    runs = [each for each in kept.read(Weighing, sheet=sheet) if each.ended is None]
    return tuple(Revision(replace(each, ended=now, batch=batch)) for each in runs)
