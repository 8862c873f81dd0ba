"""What the tellings of the jobs around today's formula share: lines that change, warnings, what is not used."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from optiform.brief.brief import Brief
from optiform.brief.leftout import NoFigure
from optiform.design.around import NotHeld
from optiform.design.cheaper import Move
from optiform.ingredients.formula import Formula
from optiform.properties.registry import find_property
from optiform.telling.facts import in_words
from optiform.telling.measured import of_what
from optiform.telling.parts import Cell, Column, Level, Section, Sentence, Table, number, sentences
from optiform.telling.report import NOT_A_RELEASE, PROCESS
from optiform.telling.unused import left_out

SHOWN = 5e-3  # % of the jar: less is no change that two decimals show
TRIAL = "Make a trial first, and look at it cold and warm, after a day and after a week."


def moved(moves: Iterable[Move]) -> str:
    """Lines that change, each with its share of the jar before and after.

    Example:
        >>> moved([Move("water", 24.2, 24.3), Move("mango butter", 4.0, 0.0)])
        'water from 24.20 to 24.30 %; mango butter from 4.00 to 0.00 %'
    """
    return "; ".join(f"{move.ingredient} from {move.before:.2f} to {move.after:.2f} %" for move in moves)


def moves_between(before: Formula, after: Formula) -> list[Move]:
    """Lines of which one formula has another share than the other, the largest change first."""
    names = dict.fromkeys(line.ingredient.name for line in (*before.lines, *after.lines))
    moves = [Move(name, 100 * before.fraction(name), 100 * after.fraction(name)) for name in names]
    return sorted((move for move in moves if abs(move.points) > SHOWN), key=lambda move: -abs(move.points))


def enters(before: Mapping[str, float], now: Mapping[str, float]) -> str:
    """Which ingredients come in and go out from one formula to the next, each as its fractions by name.

    Example:
        >>> enters({"water": 0.6, "wax": 0.4}, {"water": 0.6, "salt": 0.4}), enters({}, {"water": 1.0})
        ('salt comes in; wax goes', 'starts here')
    """
    if not before:
        return "starts here"
    comes = [f"{name} comes in" for name in now if name not in before]
    goes = [f"{name} goes" for name in before if name not in now]
    return "; ".join([*comes, *goes]) or ("only the shares" if before != now else "nothing")


def moves_table(moves: Iterable[Move], before: str, after: str) -> Table:
    """Lines that change, with their shares before and after under these heads."""
    columns = (
        Column("% of the jar"), Column(before, "", 2), Column(after, "", 2), Column("% points", "", 2, sign=True)
    )  # fmt: skip
    return Table(columns, tuple((move.ingredient, move.before, move.after, move.points) for move in moves))


def shares_table(formulas: Sequence[Formula], names: Sequence[str], differing: bool) -> Table:
    """Formulas side by side, % of the jar; with `differing` only the lines of which they have different shares."""
    lines = dict.fromkeys(line.ingredient.name for formula in formulas for line in formula.lines)
    shares = {line: [100 * formula.fraction(line) for formula in formulas] for line in lines}
    rows: list[tuple[Cell, ...]] = [
        (line, *row) for line, row in shares.items() if not differing or max(row) - min(row) > SHOWN
    ]
    return Table((Column("% of the jar"), *(Column(name, "", 2) for name in names)), tuple(rows))


def still(brief: Brief, today: Formula) -> Iterator[Sentence]:
    """Lines of today's formula that the brief leaves out, where the job keeps what it does not change."""
    reasons = dict(brief.left_out)
    names = [f"{name} ({in_words(reasons[name])})" for line in today.lines if (name := line.ingredient.name) in reasons]
    if names:
        yield Sentence(f"Still in it, as in today's formula: {'; '.join(names)}.", Level.MIND)


def lacking(not_held: Iterable[NotHeld], words: str) -> Iterator[Sentence]:
    """What customers may notice and nothing here looks at, as a figure of today's formula is missing.

    Example:
        >>> print(next(lacking([NotHeld("iodine value", ("tallow",))], "Not in the distance")).text)
        Not in the distance: iodine value (no figure for tallow). Try it by hand.
    """
    properties = list(not_held)
    if properties:
        names = ", ".join(dict.fromkeys(name for each in properties for name in each.lacking))
        text = f"{words}: {', '.join(each.name for each in properties)} (no figure for {names}). Try it by hand."
        yield Sentence(text, Level.MIND)


def unjudged(brief: Brief) -> Iterator[Sentence]:
    """Candidates that the job leaves out because it has no figure to judge them by."""
    names = [f"{name} ({in_words(why)})" for name, why in brief.left_out if isinstance(why, NoFigure)]
    if names:
        yield Sentence(f"Left out, because a figure is missing: {'; '.join(names)}.", Level.NOTE)


def unused(brief: Brief, more: Iterable[str] = ()) -> Section:
    """Candidates that are not used, and why."""
    return Section("unused", "Not used", (*sentences(more, bullet=False), *left_out(brief).parts), short=False)


def caveats() -> Section:
    """What no calculation settles."""
    return Section("trial", "Before you sell it", sentences((PROCESS, NOT_A_RELEASE)), short=False)


def amount(value: float, unit: str) -> str:
    """A figure with its unit, if it has one.

    Example:
        >>> amount(4.0, "%"), amount(8.3214, "-")
        ('4 %', '8.321')
    """
    return f"{number(value)} {unit}" if unit.strip("-") else number(value)


def unit_of(name: str, unit: str, brief: Brief) -> str:
    """The unit of a property or of a candidate's share; a percentage with what it is of.

    Args:
        name: of the property or the candidate.
        unit: as the answer has it.
        brief: whose answer it is.
    """
    if unit != "%" or brief.catalogue.called(name) is not None:
        return of_what(unit)
    try:
        return of_what(unit, find_property(name, brief.currency, brief.mix.ingredients, brief.reference).basis)
    except ValueError:  # one that only the job knows
        return unit
