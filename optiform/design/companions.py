"""What an ingredient needs beside it by a rule, and brings along where it takes the place of another.

A glucoside wants an acid, a benzoate too, carbomer an alkali, a polysorbate its partner, phenoxyethanol something
against mould. Without it the formula would draw a warning, so it comes from the shelf, at the least that keeps the rule
and is usual of it.
"""

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from optiform.brief.brief import Range
from optiform.design.function import family_of
from optiform.design.task import Task
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.reading.frozen import frozen
from optiform.review.answer import FormulaWarning
from optiform.rules.chemistry import chemistry, eithers
from optiform.rules.forms import Bound, Rule
from optiform.rules.usual import ADDITIVES, rank, usual_use

MOST = 3  # companions of one ingredient: what needs more is no substitute. No source.
STEP = 1e-4  # mass fraction: a dose is rounded up to it
NEVER = ("water", "grain")  # what makes another product of it comes along with nothing

Against = Callable[[Formula], FormulaWarning | None]


@frozen
class Companion:
    """An ingredient that comes along with another.

    Attributes:
        item: what comes along.
        share: how much there has to be of it, mass fraction.
        of: the ingredient that needs it.
        rule: that asks for it.
    """

    item: Ingredient
    share: float
    of: str
    rule: Rule

    @property
    def percent(self) -> float:
        """How much there has to be of it, % of the whole."""
        return 100 * self.share


def companions(
    task: Task, item: Ingredient, formula: Formula, against: Against
) -> tuple[tuple[Companion, ...], FormulaWarning | None]:
    """What from the shelf comes along with an ingredient, and what is still against the formula with it.

    Nothing comes along where that does not keep the rules.

    Args:
        task: whose shelf and whose today's formula count.
        item: that takes the place of what goes.
        formula: with it in that place, and nothing else changed but what makes room.
        against: what the tool would warn of in a formula and not in today's.
    """
    first = grave = against(formula)
    chosen: tuple[Companion, ...] = ()
    while grave is not None and len(chosen) < MOST:
        step = next(_steps(task, item, formula, grave, against), None)
        if step is None:
            return (), first
        companion, formula, grave = step
        chosen = (*chosen, companion)
    return (chosen, None) if grave is None else ((), first)


def _steps(
    task: Task, item: Ingredient, formula: Formula, grave: FormulaWarning, against: Against
) -> Iterator[tuple[Companion, Formula, FormulaWarning | None]]:
    """Companions that end a warning, each with the formula and what is against that; those that end all come first."""
    steps = []
    for companion in _serving(task, item, formula, grave.rule):
        made = _with(task, formula, companion)
        left = against(made) if made else grave
        if made and left is None:
            yield companion, made, None
            return
        if made and left is not None and left.rule != grave.rule:
            steps.append((companion, made, left))
    yield from steps


def _serving(task: Task, item: Ingredient, formula: Formula, rule: str) -> Iterator[Companion]:
    """What of the shelf keeps a rule that asks for something, at its dose: today's lines first, then as makers take."""
    if not any(row.rule.id == rule and row.form == "need" for row in chemistry()):
        return
    brief = task.brief
    shelf = [other for other in brief.mix.ingredients if _may_come(task, item, other)]
    shelf.sort(key=lambda x: (formula.fraction(x.name) == 0, rank(brief.kind, x), x.name))
    items = tuple(dict.fromkeys((*(line.ingredient for line in formula.lines), *shelf)))
    rules = eithers(items, brief.kind, brief.ph, brief.overrule, exposure=brief.exposure, area=brief.scope.area)
    for either in (x for x in rules if x.rule.id == rule):
        for other in shelf:
            doses = [dose for way in either.ways if (dose := _dose(way, formula, other)) is not None]
            if doses and (share := _usual(min(doses), task, other, formula)) <= _most(task, other):
                yield Companion(other, share, item.name, either.rule)


def _may_come(task: Task, item: Ingredient, other: Ingredient) -> bool:
    """Whether it may stand beside an ingredient: of its own kin only where one takes the place of one."""
    kin = other.functions[0] in family_of(item).functions
    return not (
        other == item
        or other in task.gone
        or other.functions[0] in NEVER
        or (kin and not family_of(item).alone)
        or task.gaps(other)
        or _fixed(task, other)
    )


def _fixed(task: Task, other: Ingredient) -> bool:
    """Whether the brief says itself how much there is of it."""
    return any(span.pinned for span in _spans(task, other))


def _most(task: Task, other: Ingredient) -> float:
    """The most of it that the brief itself allows, mass fraction."""
    return min((span.high for span in _spans(task, other)), default=1.0)


def _spans(task: Task, other: Ingredient) -> list[Range]:
    """What the brief itself says of how much there is of it."""
    spans = zip(task.brief.mix.ingredients, task.brief.ranges, strict=True)
    return [span for line, span in spans if line == other and span.source == "brief"]


def _dose(way: Sequence[Bound], formula: Formula, other: Ingredient) -> float | None:
    """How much of it there has to be so that all bounds of a way hold, mass fraction; None where it does not help."""
    missed = [bound for bound in way if not bound.met(formula)]
    shares = [dict(bound.weights).get(other.name, 0.0) for bound in missed]
    if not missed or any(bound.side == "high" for bound in missed) or min(shares) <= 0:
        return None
    gaps = [(bound.target - bound.value(formula)) / share for bound, share in zip(missed, shares, strict=True)]
    return formula.fraction(other.name) + max(gaps)


def _usual(dose: float, task: Task, other: Ingredient, formula: Formula) -> float:
    """A dose, or the least that is usual and that the brief allows where that is more, rounded up."""
    if formula.fraction(other.name) == 0:
        usual = usual_use(task.brief.kind, other)
        least = max(usual.low if usual and usual.low else 0.0, ADDITIVES.get(other.functions[0], 0.0)) / 100
        dose = max(dose, min(least, _most(task, other)))
    return float(np.ceil(dose / STEP - 1e-6)) * STEP


def _with(task: Task, formula: Formula, companion: Companion) -> Formula | None:
    """The formula with a companion; None where nothing can make room.

    Room makes what makes it for what it comes along with, else the largest other line that is no grain and not fixed.
    """
    more, first = companion.share - formula.fraction(companion.item.name), task.makes_room
    free = [
        line for line in formula.lines
        if line.ingredient != companion.item and line.phase != "grains" and not _fixed(task, line.ingredient)
    ]  # fmt: skip
    ranks = {
        line: (line.ingredient.name in first, line.ingredient.functions[0] == "water", line.fraction) for line in free
    }
    room = max(free, key=lambda line: ranks[line], default=None)
    if room is None or room.fraction <= more:
        return None
    lines = [Line(x.ingredient, x.fraction - more if x is room else x.fraction, x.phase) for x in formula.lines]
    there = next((k for k, line in enumerate(lines) if line.ingredient == companion.item), None)
    if there is None:
        return Formula(formula.name, (*lines, Line(companion.item, more, companion.item.phase)))
    old = lines[there]
    lines[there] = Line(old.ingredient, old.fraction + more, old.phase)
    return Formula(formula.name, tuple(lines))
