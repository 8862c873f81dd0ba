"""A batch one thing at a time, for a phone beside the scale: each line to weigh, then the step that uses it."""

from collections.abc import Iterator, Sequence

from optiform.batch.batch import BatchSheet, SheetLine, SheetPhase
from optiform.batch.pots import Step
from optiform.batch.ticks import Run, place_of, said
from optiform.reading.frozen import frozen
from optiform.telling.method import done, minded
from optiform.telling.parts import Sentence, readable
from optiform.workshop.records import Tick

UNTIL_DAYS = 24 * 60.0  # minutes: a longer wait is no timer's


@frozen
class Screen:
    """One screen: a line to weigh, with its grams as the scale shows them, or a step of the work.

    Attributes:
        name: of the ingredient; empty for a step.
        place: phase and part it belongs to.
        grams: to weigh; empty for a step.
        words: what to mind of the line, or what to do.
        lot: it is to be taken from, where that is known.
        temperature: of the mass in a step, with its unit; empty where it is the maker's to find.
        minutes: a step takes and a timer counts; None where there is nothing to count.
    """

    name: str
    place: str
    grams: str
    words: str
    lot: str = ""
    temperature: str = ""
    minutes: float | None = None


def screens(sheet: BatchSheet) -> tuple[Screen, ...]:
    """Every line and step of a sheet in the order of the work: a line before the first step that uses it.

    Example:
        >>> from optiform.batch.batch import batch_sheet
        >>> from optiform.brief.file import read_brief
        >>> from optiform.reading.paths import DEMO
        >>> brief = read_brief(DEMO / "brief.toml")
        >>> shown = screens(batch_sheet(brief.reference, brief))
        >>> [screen.name or screen.words[:12] for screen in shown[:3]], shown[1].grams
        (['Clean and dr', 'water', 'tetrasodium glutamate diacetate, 40 %'], '968')
    """
    rows = [(phase, line) for phase in sheet.phases for line in phase.lines]
    first, *others = sheet.steps
    told = [_step(first), *(screen for row in _never_used(rows, sheet.steps) for screen in [_line(*row)])]
    waiting = [row for row in rows if row not in _never_used(rows, sheet.steps)]
    for step in others:
        used = [row for row in waiting if _uses(step, *row)]
        waiting = [row for row in waiting if row not in used]
        told += [*(_line(*row) for row in used), _step(step)]
    return tuple(told)


def _never_used(
    rows: Sequence[tuple[SheetPhase, SheetLine]], steps: Sequence[Step]
) -> list[tuple[SheetPhase, SheetLine]]:
    """Lines that no step names: they are weighed first."""
    return [row for row in rows if not any(_uses(step, *row) for step in steps[1:])]


def _uses(step: Step, phase: SheetPhase, line: SheetLine) -> bool:
    return line.ingredient in step.uses and step.part == phase.part


def _line(phase: SheetPhase, line: SheetLine) -> Screen:
    place = place_of(phase.phase, phase.part)
    return Screen(line.ingredient, place, f"{line.grams:f}", readable(minded(line)), line.lot)


def _step(step: Step) -> Screen:
    heat = "" if step.temperature is None else f"{step.temperature:g} °C"
    counted = step.minutes is not None and step.minutes < UNTIL_DAYS
    return Screen("", step.part, "", readable(done(step)), "", heat, step.minutes if counted else None)


def weighed(run: Run) -> Iterator[Sentence]:
    """What was ticked, in the order of the work: grams, lot and time, and what was due where the scale showed another.

    Example:
        >>> from datetime import datetime
        >>> tick = Tick(sheet="s", run=1, screen=0, number=1, over=0, word="w", ingredient="beeswax", place="oil phase",
        ...             planned=20.0, grams=21.0, lot="L-7", when=datetime(2026, 11, 27, 14, 5))
        >>> [told] = weighed(Run(1, {0: (tick,)}))
        >>> told.text
        'beeswax: 21 g (20 g due), lot L-7, at 14:05'
    """
    for screen, tick in run.last.items():
        if tick.ingredient and screen not in run.clashes:
            yield Sentence(f"{tick.ingredient}: {in_words(tick)}", bullet=True)


def in_words(tick: Tick) -> str:
    """Grams, lot and time of a line that was weighed."""
    grams, _ = said(tick)
    due = "" if tick.grams in (None, tick.planned) else f" ({tick.planned:g} g due)"
    lot = f", lot {tick.lot}" if tick.lot else ""
    return f"{grams:g} g{due}{lot}, at {tick.when:%H:%M}"
