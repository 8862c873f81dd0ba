"""What a dose may not be rounded above or below, and which doses are too small to weigh."""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from math import ceil, floor

import numpy as np

from optiform.batch.apportion import EXACT
from optiform.brief.brief import Brief, Range
from optiform.brief.usual import advised
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import DOSED
from optiform.properties.base import Mix, Vector, fractions
from optiform.reading.frozen import frozen
from optiform.rules.certificates import certificate_terms
from optiform.rules.law import HARD, applying

#: House rule: a dose has at least this many steps of the scale, so that rounding it is at most 2.5 % of it (half a step
#: of 20). The principle of a smallest weight below which a balance is not used is that of pharmacopoeias (recalled).
FEWEST_STEPS = 20

SCALES = (1.0, 0.1, 0.01, 0.001)  # g: what scales that can be bought show
LARGEST = 5  # times as large a batch that is still worth naming
WEAKEST = 20  # a premix of 1 in 20; beyond, a finer scale is the better help
CAPS = (*HARD, "guidance")  # kinds of rules that a dose is not rounded above
#: What is stirred into what, before it goes in: the functions of a small line, those of its carrier, best first, and
#: how many times its own mass it needs of that. Gums and powders lump in less than 5 (common practice, no source).
CARRIERS = (
    (("thickener", "clay", "powder"), ("humectant",), 5),
    (("antioxidant", "fragrance"), ("oil", "ester"), 1),
    (("chelator", "ph adjuster", "active", "colourant"), ("humectant", "water"), 1),
)


def highest(formula: Formula, brief: Brief) -> Vector:
    """The mass fraction that each line may be rounded up to; the line's own where it is at or above a limit.

    It is the least of: its maximum use; for preservatives, fragrance, actives and colourants the brief's own range of
    the line, else the top of its usual use; and its share of the room that the law, a panel's advice and
    the fragrance certificates leave. A line at x of a sum c that may be L gets x L / c, so that all lines of the sum
    together keep L; the lines of one ingredient in several phases are such a sum too.
    """
    mix, x = Mix.of(formula), fractions(formula)
    of_all = [line.fraction / (formula.fraction(line.ingredient.name) or 1.0) for line in formula.lines]
    own = np.array([part * _own(line, brief) for part, line in zip(of_all, formula.lines, strict=True)])
    room: Vector = np.min([np.full(len(x), np.inf), *_room(mix, x, brief)], axis=0)
    most: Vector = np.maximum(x, np.minimum(own, x * room))
    return most


def _own(line: Line, brief: Brief) -> float:
    """The brief's own range binds what is dosed. Another line may go a part of a step beyond it: some line has to."""
    stated = _stated(line, brief)
    advice = advised(line.ingredient, brief.kind)
    known = advice if advice.source == "advice" else Range()  # what is usual otherwise holds in the formula, not here
    if stated is None or (line.ingredient.functions[0] in DOSED and not (stated.pinned and _preserves(line))):
        return (stated or known).high
    return max(stated.high, known.high)


def lowest(formula: Formula, brief: Brief) -> Vector:
    """The mass fraction that each line may be rounded down to: nothing, but for preservatives.

    A preservative keeps the low end of the brief's own range, else that of its usual use; its own dose where that is
    less. A pin leaves no whole step, so that its usual use says between what it is rounded, at both ends. Lines of one
    ingredient in several phases keep it together.
    """
    return np.array([line.fraction * _kept_share(formula, line, brief) for line in formula.lines])


def _kept_share(formula: Formula, line: Line, brief: Brief) -> float:
    """What share of a line rounding has to leave."""
    if not _preserves(line):
        return 0.0
    stated, usual = _stated(line, brief), line.ingredient.value("usual use")
    low = (usual.low or 0.0) / 100 if usual else 0.0
    if stated is not None and stated.low > 0 and not stated.pinned:
        low = stated.low
    return min(1.0, low / (formula.fraction(line.ingredient.name) or 1.0))


def _preserves(line: Line) -> bool:
    return line.ingredient.functions[0] == "preservative"


def _stated(line: Line, brief: Brief) -> Range | None:
    """The brief's own range of a line."""
    ranges = zip(brief.mix.ingredients, brief.ranges, strict=True)
    return next((own for item, own in ranges if item.name == line.ingredient.name and own.source == "brief"), None)


def _room(mix: Mix, x: Vector, brief: Brief) -> Iterator[Vector]:
    """How many times as much of each line every limit on constituents would allow."""
    limits = [
        (rule.terms(mix).numerator, rule.reach)
        for rule in applying(brief.scope, mix.ingredients)
        if rule.kind in CAPS and rule.limit is not None
    ]
    for content, limit in [*limits, (certificate_terms(mix, brief.scope).numerator, 100.0)]:
        if content @ x > 0:
            yield np.where(content > 0, limit / (content @ x), np.inf)


@frozen
class Premix:
    """A small line diluted in another line of the formula, so that both can be weighed. Steps of the scale.

    `dose` and `carrier` are stirred together; `taken` of it holds the dose asked for, and `less` of the carrier's own
    line is then left out, so that the batch weighs what it did.
    """

    into: str
    dose: int
    carrier: int
    taken: int
    less: int


def premix(line: Line, exact: float, steps: int, others: Mapping[str, int], lines: Sequence[Line]) -> Premix | None:
    """How to dilute a line in another of the `lines`, 1 in r; None where there is none to do it in, or r is above 20.

    Args:
        line: the small one.
        exact: its dose in steps, not rounded.
        steps: its dose as it is weighed without a premix.
        others: steps of the other lines by name.
        lines: where a carrier is looked for.

    At least 20 steps are weighed and taken, so that rounding is off by 2.5 % at most. What is dosed is never rounded
    up, so twice as many are taken.
    """
    dosed = line.ingredient.functions[0] in DOSED
    wanted, least = _carried(line)
    r = max(1 + least, ceil((2 if dosed else 1) * FEWEST_STEPS / exact))
    taken = floor(r * exact + EXACT) if dosed else round(r * exact)
    for carrier in _carriers(line, lines, wanted):
        if r <= WEAKEST and others.get(carrier, 0) >= taken - steps:
            return Premix(carrier, FEWEST_STEPS, FEWEST_STEPS * (r - 1), taken, taken - steps)
    return None


def _carried(line: Line) -> tuple[tuple[str, ...], int]:
    """Functions of what a line can be diluted in, and how many times its own mass it needs of that."""
    bought = line.ingredient.functions[0]
    return next(((into, least) for small, into, least in CARRIERS if bought in small), ((), 1))


def _carriers(line: Line, lines: Sequence[Line], wanted: tuple[str, ...]) -> list[str]:
    carriers = [(wanted.index(f), -x.fraction, x.ingredient.name) for x in lines for f in _served(x, wanted)]
    return [name for _, _, name in sorted(carriers) if name != line.ingredient.name]


def _served(line: Line, wanted: tuple[str, ...]) -> list[str]:
    return [word for word in wanted if line.ingredient.functions[0] == word]


# -- doses that the scale distorts -------------------------------------------------------------------------------------


@frozen
class SmallDose:
    """A line of fewer than 20 steps of the scale.

    Attributes:
        due, weighed: g.
        off: by how much what is weighed differs from what is due, %.
        finer: a step that scales have, g, at which it is 20 steps or more; None where none is that fine.
        larger: how many times as large a batch makes it 20 steps.
        step: of the scale, g; a premix is told in such steps.
    """

    ingredient: str
    due: float
    weighed: Decimal
    off: float
    finer: float | None
    larger: float
    premix: Premix | None
    step: Decimal

    @property
    def told(self) -> bool:
        """Whether it is further off than a dose of 20 steps can be."""
        return abs(self.off) > 50 / FEWEST_STEPS


def scale_for(grams: float) -> float | None:
    """The coarsest scale there is that shows so many g in 20 steps or more; None where none does."""
    return next((step for step in SCALES if grams / step >= FEWEST_STEPS - EXACT), None)


def small_doses(counted: Sequence[tuple[Line, int]], whole: float, step: Decimal) -> Iterator[tuple[Line, SmallDose]]:
    """The small ones among lines that are fractions of `whole` steps, each with what helps.

    Args:
        counted: lines that are weighed into one pot, with their steps.
        whole: what the fractions are fractions of, in steps.
        step: of the scale, g.
    """
    others, lines = {line.ingredient.name: steps for line, steps in counted}, [line for line, _ in counted]
    for line, steps in counted:
        exact = max(round(whole * line.fraction, 9), 1e-9)
        if exact < FEWEST_STEPS - EXACT:
            mixed = premix(line, exact, steps, others, lines)
            yield line, _small(line, exact, steps, step, mixed)


def _small(line: Line, exact: float, steps: int, step: Decimal, mixed: Premix | None) -> SmallDose:
    due, larger = exact * float(step), ceil(10 * FEWEST_STEPS / exact) / 10
    finer = scale_for(due)
    return SmallDose(
        ingredient=line.ingredient.name,
        due=due,
        weighed=steps * step,
        off=round(100 * (steps / exact - 1), 1),
        finer=finer,
        larger=larger,
        premix=mixed,
        step=step,
    )
