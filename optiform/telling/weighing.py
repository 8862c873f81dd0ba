"""A batch one thing at a time, for a phone beside the scale: each line to weigh, then the step that uses it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256

from optiform.batch.batch import BatchSheet, SheetLine, SheetPhase
from optiform.batch.pots import Step
from optiform.telling.parts import readable

UNTIL_DAYS = 24 * 60.0  # minutes: a longer wait is no timer's


@dataclass(frozen=True, slots=True)
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
        (['Clean and dr', 'water', 'sorbitol, 70 %'], '968')
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
    place = ", ".join(filter(None, (phase.phase, phase.part)))
    return Screen(line.ingredient, place, f"{line.grams:f}", readable(line.mind), line.lot)


def _step(step: Step) -> Screen:
    heat = "" if step.temperature is None else f"{step.temperature:g} °C"
    counted = step.minutes is not None and step.minutes < UNTIL_DAYS
    return Screen("", step.part, "", readable(step.words), "", heat, step.minutes if counted else None)


def weighed(shown: Sequence[Screen], done: dict[str, dict[str, str]]) -> Iterator[tuple[str, str, str, str, str]]:
    """What was ticked: ingredient, grams due, grams on the scale, lot, and when; in the order of the work.

    Args:
        shown: the screens.
        done: by the number of a screen what was said of it: `grams`, `lot`, `when`.
    """
    for number, screen in enumerate(shown):
        said = done.get(str(number))
        if screen.name and said is not None:
            yield (
                screen.name,
                screen.grams,
                said.get("grams") or screen.grams,
                said.get("lot", ""),
                said.get("when", ""),
            )


def named(shown: Sequence[Screen], title: str) -> str:
    """A word that is another one for every other batch: what was ticked of one is not taken for another's."""
    return sha256(repr((title, shown)).encode()).hexdigest()[:16]
