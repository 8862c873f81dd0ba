"""What a limit does to the goal from one target to another where something bends: a design of its own at each step.

No straight program holds over a whole range there, so none is followed. The targets of a range are taken in steps and
the brief is designed anew at each, by the search and with the proof that `design` has. Steps are halved where the best
value jumps and where formulas end. Between two steps nothing is said but a straight line.
"""

from collections.abc import Hashable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Literal

from optiform.brief.brief import Brief
from optiform.brief.limits import Amount, no_value
from optiform.design.answer import NoFormula
from optiform.design.design import Best, best
from optiform.design.facts import Fact, NothingBetween
from optiform.ingredients.formula import Formula
from optiform.program.build import Demand
from optiform.program.certificate import NotCertified
from optiform.properties.base import of_what
from optiform.properties.registry import find_property
from optiform.reading.answer import Answer
from optiform.reading.faults import Absent, BadInput, Fault, Unsettled
from optiform.reading.frozen import frozen
from optiform.reading.progress import Progress
from optiform.reading.units import one_of, parse_quantity

Way = Literal["low", "high", "exactly"]
WAYS = {"low": "at least", "high": "at most", "exactly": "exactly"}
#: `proven`: best of all, but for its gap; `near`: best near itself only; `nothing`: proven that nothing fits; `none
#: found`: by searches from several starts, which prove nothing; `undecided`: a search was given up.
Status = Literal["proven", "near", "nothing", "none found", "undecided"]

STEPS = 10  # over the range
MOST = 32  # targets, with the halved steps
FINEST = 1 / 400  # of the range: no step is halved below it
JUMP = 0.25  # of the rise over the whole range: a step that rises by more is halved


def target_in(unit: str, given: Amount) -> float:
    """A target, from a text or a number in this unit.

    Raises:
        BadInput: it is neither.

    Example:
        >>> target_in("%", "3.1 %"), target_in("%", 3.1)
        (3.1, 3.1)
    """
    try:
        return parse_quantity(given, unit)
    except ValueError as error:
        raise BadInput([Fault("curve", "target", repr(given), str(error))]) from None


@frozen
class Corner:
    """A target at which the curve bends or ends, the goal's best value there and a formula that reaches it."""

    target: float
    value: float
    formula: Formula


@frozen
class Step:
    """The design at one target.

    Attributes:
        target: of the limit, in its unit.
        status: what is known there; see `Status`.
        corner: the best value and its formula; None where there is none.
        gap: no formula is better by more, in the goal's unit; None where that is not known.
        residual: of the proof, the worst.
        gave: usual ranges that could not be kept, in words.
        reason: why it is undecided, or why nothing fits if that is not by the limits alone.
    """

    target: float
    status: Status
    corner: Corner | None = None
    gap: float | None = None
    residual: float = 0.0
    gave: tuple[str, ...] = ()
    reason: Hashable = ""


@frozen
class Stepped(Answer):
    """The goal's best value at some targets of one limit, each by a design of its own; see `TradeOff` for the others.

    Attributes:
        name: of what moves.
        way: which of its ends does.
        unit: of the targets; `value_unit` that of the goal, `price_unit` that of a price.
        today: the brief's own target, None where it sets none.
        steps: by their targets.
    """

    brief: Brief
    name: str
    way: Way
    unit: str
    today: float | None
    asked: tuple[float, float]
    steps: tuple[Step, ...]

    @property
    def words(self) -> str:
        """What is asked, without the target."""
        return f"{self.name} {WAYS[self.way]}"

    @property
    def value_unit(self) -> str:
        """The unit of the goal."""
        return self.brief.goal.unit

    @property
    def price_unit(self) -> str:
        """The unit that a price would have."""
        return f"{self.value_unit} per {one_of(self.unit)}"

    @cached_property
    def corners(self) -> tuple[Corner, ...]:
        """The targets that have a formula."""
        return tuple(step.corner for step in self.steps if step.corner)

    @property
    def fits(self) -> tuple[float, float]:
        """The least and greatest of these targets."""
        return self.corners[0].target, self.corners[-1].target

    @property
    def residual(self) -> float:
        """The worst residual of the proofs."""
        return max(step.residual for step in self.steps)

    def at(self, target: Amount) -> Corner:
        """The goal's best value at a target, and a formula that has it: of its step, or designed now if it is none.

        Args:
            target: text, or a number in the unit of the targets.

        Raises:
            BadInput: a target in another unit.
            Absent: where no formula is known, or outside what was asked for.
            Unsettled: where it is not decided whether there is one.
        """
        target = target_in(self.unit, target)
        if not self.asked[0] <= target <= self.asked[1]:
            raise Absent.on_curve(target, self.fits)
        known = next((step for step in self.steps if step.target == target), None)
        step = known or step_at(self.brief, self.name, self.way, target)
        if step.status == "undecided":
            raise Unsettled(step.reason)
        if step.corner is None:
            raise Absent.on_curve(target, self.fits)
        return step.corner

    def value_at(self, target: Amount) -> float:
        """The goal's best value at a target. Raises as `at` does."""
        return self.at(target).value


def stepped(
    brief: Brief,
    moving: Demand,
    way: Way,
    today: float | None,
    asked: tuple[float, float],
    progress: Progress = lambda done, total: None,
) -> Stepped | NoFormula:
    """The best the goal can be at steps over a range of targets of one limit.

    Args:
        brief: what else is asked.
        moving: a demand of the property or candidate whose target moves.
        way: which end of it.
        today: the brief's own target, told as a step too.
        asked: the lowest and the highest target.
        progress: is called with how many targets were tried, and how many it will be at most.

    Raises:
        BadInput: when no formula can have such a value.
    """
    _judge(brief, moving, asked)
    walk = _Walk(brief, moving.name, way, asked, progress)
    walk.along(today)
    walk.refine()
    steps = tuple(walk.steps[target] for target in sorted(walk.steps))
    if any(step.corner for step in steps):
        return Stepped(brief, moving.name, way, moving.unit, today, asked, steps)
    return _none(brief, NothingBetween(moving.name, way, *asked, of_what(moving.unit, moving.basis)), steps)


def _judge(brief: Brief, moving: Demand, asked: tuple[float, float]) -> None:
    """Refuse targets that no formula can have."""
    names = [item.name for item in brief.mix.ingredients]
    if moving.name in names:
        expected = "" if asked[0] >= 0 and asked[1] <= 100 else "0 to 100 %"
    else:
        wanted = find_property(moving.name, brief.currency, brief.mix.ingredients, brief.reference)
        expected = no_value(wanted, *asked)
    if expected:
        raise BadInput([Fault(brief.title, f"explore {moving.name}", f"{asked[0]:g} to {asked[1]:g}", expected)])


def _none(brief: Brief, nothing: NothingBetween, steps: tuple[Step, ...]) -> NoFormula:
    undecided = next((step for step in steps if step.status == "undecided"), None)
    if undecided is not None:
        return NoFormula(brief, (), (), None, undecided.reason, decided=False)
    searched = any(step.status == "none found" for step in steps)
    return NoFormula(brief, (), (), None, Fact.NOT_PROVEN if searched else nothing)


def step_at(brief: Brief, name: str, way: Way, target: float) -> Step:
    """The design of a brief with one limit at a target; undecided where the search is given up or its proof fails."""
    low, high = (None if way == other else target for other in ("high", "low"))
    asked = brief.with_limit(name, low=low, high=high)
    try:
        return _designed(best(asked, why=False), target, f"{name} {WAYS[way]} {target:.6g}")
    except (Unsettled, NotCertified) as unproven:
        return Step(target, "undecided", reason=str(unproven))


def _designed(answer: Best | NoFormula, target: float, name: str) -> Step:
    if isinstance(answer, NoFormula):
        if answer.reason == Fact.NOT_PROVEN:
            return Step(target, "none found")
        return Step(target, "nothing" if answer.decided else "undecided", reason=answer.reason)
    return Step(
        target,
        "near" if answer.solution.local else "proven",
        Corner(target, answer.value, replace(answer.formula, name=name)),
        answer.solution.gap,
        answer.certificate.worst,
        tuple(end.demand.words for end in answer.gave),
    )


@dataclass
class _Walk:
    """The steps of one range, so far."""

    brief: Brief
    name: str
    way: Way
    asked: tuple[float, float]
    progress: Progress

    def __post_init__(self) -> None:
        self.steps: dict[float, Step] = {}

    @property
    def width(self) -> float:
        return self.asked[1] - self.asked[0]

    def along(self, today: float | None) -> None:
        """Over the range from its looser end, as far as it is not proven that nothing fits."""
        start, end = self.asked
        targets = {float(f"{start + self.width * k / STEPS:.12g}") for k in range(1, STEPS)} | {start, end}
        if today is not None and start < today < end:
            targets.add(today)
        for target in sorted(targets, reverse=self.way == "high"):
            self._try(target)
            if self.way != "exactly" and self.steps[target].status == "nothing":
                break

    def refine(self) -> None:
        """Halve steps where formulas end, then those that rise most."""
        while len(self.steps) < MOST and (places := list(self._rough())):
            _, low, high = max(places)
            self._try(round_between(low, high))

    def _try(self, target: float) -> None:
        self.steps[target] = step_at(self.brief, self.name, self.way, target)
        self.progress(len(self.steps), MOST)

    def _rough(self) -> Iterator[tuple[float, float, float]]:
        """Each pair of neighbours to look between, with how much that is worth."""
        ordered = [self.steps[target] for target in sorted(self.steps)]
        values = [step.corner.value for step in ordered if step.corner]
        rise = max(values, default=0.0) - min(values, default=0.0)
        for one, other in pairwise(ordered):
            if other.target - one.target <= FINEST * self.width or "undecided" in (one.status, other.status):
                continue
            if (one.corner is None) != (other.corner is None):
                yield 2.0 + (other.target - one.target) / self.width, one.target, other.target
            elif one.corner and other.corner and rise > 0:
                part = abs(other.corner.value - one.corner.value) / rise
                if part > JUMP:
                    yield part, one.target, other.target


def round_between(low: float, high: float) -> float:
    """The number of fewest figures in the middle half of an interval.

    Example:
        >>> round_between(0.74, 0.75), round_between(0.7, 0.8), round_between(-1.0, 1.0)
        (0.745, 0.75, 0.0)
    """
    middle, room = (low + high) / 2, (high - low) / 4
    rounded = (float(f"{middle:.{figures}g}") for figures in range(1, 16))
    return next((number for number in rounded if low + room <= number <= high - room), middle)
