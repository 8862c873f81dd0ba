"""A formula in whole steps of the scale, with the proof of how good it is; or why there is none."""

from collections.abc import Hashable
from decimal import Decimal

from optiform.brief.brief import Brief
from optiform.design.facts import Note
from optiform.ingredients.formula import Formula
from optiform.program.build import Demand
from optiform.program.certificate import Certificate
from optiform.reading.answer import Answer
from optiform.reading.frozen import frozen
from optiform.review.answer import Report, Reported


@frozen
class Weighing:
    """One line as it is weighed: `steps` times `step` grams, exactly.

    Attributes:
        drift: g more (or, below 0, less) than in the formula that was rounded.
        points: the same in percentage points of the whole.
    """

    ingredient: str
    phase: str
    steps: int
    step: Decimal
    drift: float
    points: float

    @property
    def grams(self) -> Decimal:
        """What the scale shows, g; exact."""
        return self.steps * self.step


@frozen
class Proof:
    """How far the answer can be from the best weighable one, in the goal's unit.

    Attributes:
        value: the goal's value.
        bound: no weighable formula is better than this; where limits bend, none that keeps their terms as they hold
            near this one.
        gap: distance of the two, relative; 0 is proven best.
        certificate: of the linear program that is left with the steps fixed.
        open_lines: candidates that had to be looked at; the others cannot pay, by their reduced cost.
    """

    value: float
    bound: float
    gap: float
    certificate: Certificate
    open_lines: int


@frozen
class Weighed(Reported):
    """A formula that the scale can show and that keeps every limit.

    Attributes:
        lines: what to weigh; also lines of the rounded formula that got nothing.
        batch: what the lines sum to, g, exactly.
        rounded: the formula that was rounded: the brief's optimum, or the one given.
        unit: of the goal's values, here and in `proof`.
        unrounded: the goal's value without steps and counts: no weighable formula can beat it.
        cost, cost_unrounded: currency per kg of this formula and of `rounded`; None where a price is missing.
    """

    brief: Brief
    lines: tuple[Weighing, ...]
    batch: Decimal
    report: Report
    rounded: Formula
    unit: str
    proof: Proof
    unrounded: float
    cost: float | None
    cost_unrounded: float | None
    notes: tuple[Note, ...] = ()


@frozen
class Miss:
    """A demand that the nearest weighable formula does not keep, its value there, and by how much it misses."""

    demand: Demand
    value: float
    by: float


@frozen
class Unweighable(Answer):
    """Limits that can hold, but not in whole steps or not with so few ingredients.

    `nearest` has every step and count right and breaks the brief's own limits least, each counted relative to the
    largest figure in its row; law and advice are kept. It is empty, with a `reason`, where there is no such formula.
    Not `decided`: it is not even known whether one can be weighed. `fewest` ingredients are needed at least to keep
    every limit, the steps of the scale apart; None where their number was not asked about, or where a limit bends or
    can be kept in several ways.
    """

    brief: Brief
    reason: Hashable
    misses: tuple[Miss, ...] = ()
    nearest: tuple[Weighing, ...] = ()
    batch: Decimal = Decimal(0)
    report: Report | None = None
    notes: tuple[Note, ...] = ()
    decided: bool = True
    fewest: int | None = None
