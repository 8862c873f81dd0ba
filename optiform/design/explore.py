"""What a limit does to the goal from one target to another, over every branch of the brief."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.limits import Amount
from optiform.design.answer import NoFormula
from optiform.design.design import formula_of
from optiform.design.doses import too_little
from optiform.design.facts import Fact, NothingBetween, NothingFits
from optiform.design.missing_parts import wanting
from optiform.design.stepped import WAYS, Corner, Stepped, Way, stepped, target_in
from optiform.program.build import OWN_KINDS, Branch, Demand, Requirements, constant, frame, limited, near, program_at
from optiform.program.build import alternatives as alternatives_of
from optiform.program.curve import Curve, per_group, residual, trade_off
from optiform.program.envelope import Envelope
from optiform.program.linear import Program, Sense, Vector
from optiform.program.optimum import best_formula
from optiform.program.parametric import lowest
from optiform.program.search import BestFormula, straight_goal
from optiform.program.tolerances import LEAST_GROUP
from optiform.program.usual import requirements
from optiform.properties.base import Piecewise, Property, Side, Terms, of_what
from optiform.properties.registry import find_property
from optiform.properties.solubility import OutOfRange
from optiform.reading.answer import Answer
from optiform.reading.faults import BadInput, Fault, Unsettled
from optiform.reading.frozen import frozen
from optiform.reading.progress import Progress
from optiform.reading.units import one_of

_SENSES = {"low": Sense.AT_LEAST, "high": Sense.AT_MOST, "exactly": Sense.EQUAL}


@frozen
class Stretch:
    """Targets between which the same ingredients and limits are in charge, and the price of one unit at both ends.

    A price is the rise of the goal's value as the target rises by one, so it is negative where a larger target helps.
    """

    start: float
    end: float
    prices: tuple[float, float]


@frozen
class Scale:
    """How a point of the program is read: the goal's sign and shift, and whether it is a ratio's (see per_group)."""

    count: int
    sign: float
    shift: float
    ratio: bool

    def fractions(self, point: Vector) -> Vector:
        """The candidates' mass fractions at a point of the program."""
        return point[: self.count] / point[-1] if self.ratio else point[: self.count]


@frozen
class TradeOff(Answer):
    """The goal's best value against the target of one limit. Exact, see program/curve.py; no solver is kept.

    Attributes:
        words: what is asked, without the target.
        unit: of the targets; `value_unit` that of the goal, `price_unit` that of the prices.
        today: the brief's own target, None where it sets none.
        fits: the least and greatest target asked for at which something fits; None where nothing does.
        residual: the worst residual of the proofs along the curve.
        little: what stands below its least dose somewhere on the curve. It is over fractions of any size: with a least
            dose of every line there are too many ways to follow.
    """

    brief: Brief
    words: str
    unit: str
    value_unit: str
    price_unit: str
    today: float | None
    asked: tuple[float, float]
    fits: tuple[float, float] | None
    stretches: tuple[Stretch, ...]
    corners: tuple[Corner, ...]
    residual: float
    notes: tuple[Fact, ...]
    curve: Curve
    scale: Scale
    little: tuple[str, ...] = ()

    def value_at(self, target: Amount) -> float:
        """The goal's best value at a target: text, or a number in the unit of the targets.

        Raises:
            BadInput: a target in another unit.
            Absent: where nothing fits, or outside what was asked for.
        """
        return self.scale.sign * self.curve.objective_at(target_in(self.unit, target)) + self.scale.shift

    def at(self, target: Amount) -> Corner:
        """The goal's best value at a target, and a formula that has it. Target and errors as of `value_at`."""
        target = target_in(self.unit, target)
        x = self.scale.fractions(self.curve.point_at(target))
        return Corner(target, self.value_at(target), formula_of(self.brief, x, f"{self.words} {target:g}"))


def explore_limit(
    brief: Brief,
    wanted: str,
    way: Way,
    start: float,
    end: float,
    progress: Progress = lambda done, total: None,
) -> TradeOff | Stepped | NoFormula:
    """The best the goal can be as one limit's target runs from `start` to `end`, and where nothing fits any more.

    Where nothing bends, the whole curve (`TradeOff`); else designs at steps over the range (`Stepped`).

    Args:
        brief: whatever it asks on that side of that limit gives way to the moving target; the rest of it holds.
        wanted: a property's or a candidate's name; the brief need not limit it.
        way: `low` for at least, `high` for at most, `exactly` for both sides at once.
        start: the lowest target, in the property's unit, for a candidate in %.
        end: the highest target.
        progress: of the steps; see `stepped`.

    Raises:
        BadInput: when the name is not known, the range is not one, or a candidate lacks a figure that it needs.
        Unsettled: when a ratio is over what may be nothing, or there are too many ways to keep the brief.
        NotCertified: when a proof does not check.
    """
    moving, extra = _asked(brief, wanted, way, start, end)
    bends = moving.bends or any(demand.bends for demand in requirements(brief).demands) or not straight_goal(brief)
    if not bends:
        return _traded_off(brief, moving, extra, way, (start, end))
    if lacking := _lacking(brief, moving):
        return lacking
    return stepped(brief, moving, way, _today(brief, moving, way), (start, end), progress)


def curve_near(brief: Brief, wanted: str, way: Way, start: float, end: float) -> TradeOff | NoFormula:
    """As `explore_limit`, in one curve: with limits that bend held as they are at the best formula, right near it only.

    Raises as `explore_limit` does; Unsettled also when limits that bend do not let the search come to rest.
    """
    moving, extra = _asked(brief, wanted, way, start, end)
    return _traded_off(brief, moving, extra, way, (start, end))


def _asked(brief: Brief, wanted: str, way: Way, start: float, end: float) -> tuple[Demand, Branch]:
    """The demand that is to move and what its model needs, if the range is one."""
    if not (np.isfinite([start, end]).all() and start <= end):
        read = f"{start:g} to {end:g}"
        raise BadInput([Fault(brief.title, f"explore {wanted}", read, "a range of targets, the lowest first")])
    return _moving(brief, wanted, way, end)


def _lacking(brief: Brief, moving: Demand) -> NoFormula | None:
    """That a part which the brief's product must have is not there, other than what moves."""
    parts = tuple(part for part in wanting(brief) if part.part != moving.name)
    return NoFormula(brief, (), (), None, lacking=parts) if parts else None


def _today(brief: Brief, moving: Demand, way: Way) -> float | None:
    """The brief's own target."""
    makers = [demand for demand in requirements(brief).demands if demand.kind in OWN_KINDS]
    targets = {demand.target for demand in makers if _gives_way(demand, moving, way)}
    return targets.pop() if len(targets) == 1 else None


def _traded_off(
    brief: Brief, moving: Demand, extra: Branch, way: Way, asked: tuple[float, float]
) -> TradeOff | NoFormula:  # fmt: skip
    """The whole curve."""
    if lacking := _lacking(brief, moving):
        return lacking
    (start, end), needed = asked, requirements(brief)
    others = needed.each(lambda demand: None if _gives_way(demand, moving, way) else demand)
    best = _own_best(brief) or _best(brief, others)
    if best is None:
        return NoFormula(brief, (), (), None, NothingFits(moving.name))
    branch, solution = best

    def solve(demands: Sequence[Demand]) -> tuple[Envelope | None, Scale]:
        return _traded(brief, solution, [*demands, *extra, moving], way, (start, end))

    own, scale = solve([demand for demand in branch if not _gives_way(demand, moving, way)])
    several = bool(needed.disjunctions) and way != "exactly"
    whole = lowest(others, lambda demands: solve(demands)[0], scale.fractions) if several else own
    if whole is None:
        unit = of_what(moving.unit, moving.basis)
        return NoFormula(brief, (), (), None, NothingBetween(moving.name, way, start, end, unit))
    curve = whole.curve
    unit = brief.goal.unit
    corners = tuple(_corners(brief, curve, scale, f"{moving.name} {WAYS[way]}"))
    return TradeOff(
        brief=brief,
        words=f"{moving.name} {WAYS[way]}",
        unit=moving.unit,
        value_unit=unit,
        price_unit=f"{unit} per {one_of(moving.unit)}",
        today=_today(brief, moving, way),
        asked=asked,
        fits=curve.fits,
        stretches=tuple(_stretches(curve, scale)),
        corners=corners,
        residual=whole.residual,
        notes=(Fact.ONE_WAY,) if needed.disjunctions and not several else (),
        curve=curve,
        scale=scale,
        little=tuple(too_little(brief, [corner.formula for corner in corners])),
    )


def _traded(
    brief: Brief, solution: BestFormula, demands: Sequence[Demand], way: Way, ends: tuple[float, float]
) -> tuple[Envelope | None, Scale]:
    """The curve of one set of demands, the moving one last, with limits that bend held as they are at the best formula.

    None where nothing fits them.
    """
    program, row, scale = _program(brief, solution, [demand.held(solution.x) for demand in demands], way)
    curve = trade_off(program, row, *ends)
    if scale.ratio and any(0.99 / point.x[-1] <= LEAST_GROUP for point in curve.points):
        raise Unsettled(f"{brief.goal.words} is a mean over something that goes to nothing here: ask for some of it")
    return (Envelope(curve, residual(program, curve)) if curve.pieces else None), scale


@lru_cache(maxsize=8)
def _own_best(brief: Brief) -> tuple[Sequence[Demand], BestFormula] | None:
    """That of the brief as it stands, of which one limit after another is asked."""
    return _best(brief, requirements(brief))


def _best(brief: Brief, needed: Requirements) -> tuple[Sequence[Demand], BestFormula] | None:
    """The way with the best answer, None where nothing fits."""
    outcome = best_formula(brief, needed)
    if outcome.best is None and outcome.undecided:
        raise Unsettled(outcome.undecided)
    return outcome.best


def _moving(brief: Brief, wanted: str, way: Way, target: float) -> tuple[Demand, Branch]:
    """The demand that is to move, and what has to hold for its model to hold."""
    side: Side = "high" if way == "high" else "low"
    names = [item.name for item in brief.mix.ingredients]
    if wanted in names:
        single = Terms.exact(np.array([100.0 * (name == wanted) for name in names]))
        return Demand(wanted, "%", side, target, "line", constant(single)), ()
    moved = _limited(brief, wanted)
    options = alternatives_of(brief, moved, side, target)
    if (
        len(options) == 1
        and options[0]
        and (not isinstance(moved, Piecewise) or (len(options[0]) == 1 and way != "exactly"))
    ):
        return options[0][0], options[0][1:]
    return limited(moved, side, target, near(moved, brief.mix), bends=True), ()


def _limited(brief: Brief, wanted: str) -> Property:
    """The property of this name, if every candidate has the figures for it."""
    place, names = f"explore {wanted}", [item.name for item in brief.mix.ingredients]
    try:
        moved = find_property(wanted, brief.currency, brief.mix.ingredients, brief.reference)
    except ValueError as error:
        raise BadInput([Fault(brief.title, place, repr(wanted), str(error))]) from None
    try:
        lacking = moved.everywhere(brief.mix).missing
    except OutOfRange as error:
        raise BadInput([Fault(brief.title, place, str(error), "a condition the tables cover")]) from None
    if lacking.any():
        whose = "; ".join(names[j] for j in np.flatnonzero(lacking))
        expected = "the figure in an own file, or the ingredient under exclude"
        raise BadInput([Fault(brief.title, place, f"no figure for {whose}", expected)])
    return moved


def _gives_way(demand: Demand, moving: Demand, way: Way) -> bool:
    sides = ("low", "high") if way == "exactly" else (way,)
    return demand.name == moving.name and demand.side in sides and demand.kind in (*OWN_KINDS, "advice", "usual")


def _program(brief: Brief, solution: BestFormula, demands: Sequence[Demand], way: Way) -> tuple[Program, int, Scale]:
    """The linear program with the moving demand last of the demands, its row's number, and how to read it."""
    count = len(solution.x)
    sign = brief.goal.sign
    terms = brief.goal.wanted.terms(brief.mix, solution.x) if brief.goal.wanted else None
    ratio = terms is not None and not terms.whole
    base = solution.program.with_rows([row for row in solution.program.rows if row.key is None])
    if terms is not None:
        base = frame(brief, sign * terms.numerator)
    program = program_at(base, demands, solution.x)
    row = len(program.rows) - 1
    last = replace(program.rows[row], sense=_SENSES[way])
    program = program.with_rows([*program.rows[:row], last])
    if terms is not None and ratio:
        return per_group(program, terms.denominator, row), row, Scale(count, sign, 0.0, True)
    shift = 0.0 if terms is not None else solution.value - float(base.cost @ solution.point)
    return program, row, Scale(count, sign, shift, False)


def _stretches(curve: Curve, scale: Scale) -> Iterator[Stretch]:
    targets = [point.target for point in curve.points]
    for (start, end), (first, last) in zip(pairwise(targets), curve.prices, strict=True):
        yield Stretch(start, end, (scale.sign * first + 0.0, scale.sign * last + 0.0))  # no -0.0


def _corners(brief: Brief, curve: Curve, scale: Scale, words: str) -> Iterator[Corner]:
    for point in curve.points:
        formula = formula_of(brief, scale.fractions(point.x), f"{words} {point.target:.6g}")
        yield Corner(point.target, scale.sign * point.objective + scale.shift, formula)
