"""Which pH a product with water can have, told: the window of each ingredient, and where they meet."""

from collections.abc import Iterator, Sequence

from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Ingredient
from optiform.review.measures import Setting
from optiform.rules.acidity import ENDS, WATERY, Window, meeting, solution_ph, windows_of
from optiform.rules.quantities import amount
from optiform.telling.measured import SURE
from optiform.telling.parts import Cell, Column, Section, Sentence, Table

MEASURE = "Nothing here works out the pH of the product: measure it, set it, and measure again after a day."


def acidity(formula: Formula, setting: Setting) -> Section:
    """The windows of a formula with water, and the stretch that suits all of it; no parts for one without."""
    used = _wet(formula)
    rows: list[tuple[Cell, ...]] = []
    for item in used:
        solution = solution_ph(item)
        words = f"{solution[0]} ({solution[1]})".removesuffix(" ()") if solution else ""
        for window in windows_of(item):
            low, high = (None if end in ENDS else end for end in (window.low, window.high))
            rows.append((item.name, low, high, words, SURE[window.bounds]))
    if not rows:
        return Section("acidity", "Acidity", (), short=False)
    columns = Column("ingredient"), Column("pH from"), Column("to"), Column("its own solution"), Column("how sure")
    parts = (Sentence(_suits(used, setting)), Table(columns, tuple(rows)), Sentence(MEASURE))
    return Section("acidity", "Acidity", parts, short=False)


def window_words(window: Window) -> str:
    """From which pH to which an ingredient works or keeps.

    Example:
        >>> from optiform.rules.acidity import windows
        >>> [window_words(window) for window in windows() if window.of == "Carbomer"]
        ['Carbomer pH 5 to 9']
    """
    if window.low <= ENDS[0]:
        return f"{window.of} pH up to {window.high:g}"
    high = f"{window.low:g} to {window.high:g}" if window.high < ENDS[1] else f"from {window.low:g}"
    return f"{window.of} pH {high}"


def ph_line(formula: Formula, setting: Setting) -> Iterator[Sentence]:
    """Which pH a formula with water is to be set to, in one sentence; none where no window is known."""
    used = _wet(formula)
    if any(map(windows_of, used)):
        yield Sentence(f"{_suits(used, setting)} Measure it and set it.")


def _wet(formula: Formula) -> list[Ingredient]:
    """The ingredients of a formula that has a pH; none of one without water."""
    used = list(dict.fromkeys(line.ingredient for line in formula.lines if line.fraction > 0))
    return used if sum(formula.fraction(item.name) * amount(item, "water") for item in used) >= WATERY else []


def _suits(used: Sequence[Ingredient], setting: Setting) -> str:
    aim = f"The brief sets pH {setting.ph:g}. " if setting.ph is not None else ""
    return f"{aim}{_meet(meeting(used))}"


def _meet(stretch: tuple[float, float] | None) -> str:
    if stretch is None:
        return "The windows do not meet: no one pH suits all of it."
    low, high = stretch
    if low <= ENDS[0]:
        return f"A pH up to {high:g} suits all of it, as far as the windows are known."
    return f"A pH from {low:g} to {high:g} suits all of it, as far as the windows are known."
