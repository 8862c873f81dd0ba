"""Repairs of a brief that nothing fits: each is tried, and leaves room for what a product of the kind has.

The least change that lets anything fit lets only that fit: a lotion whose phases fill the jar to the brim, without a
preservative. So what a repair moves is first let go, what is usual gives by its least sum beside the rest
(program/usual.py), and the repair goes as far as what is then usual asks.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.goal import Highest, Lowest
from optiform.design.answer import Change
from optiform.program.build import Branch, Demand, Requirements, kept_rules
from optiform.program.certificate import NotCertified
from optiform.program.conflict import MARGIN, Conflict, beyond
from optiform.program.objective import NOTHING
from optiform.program.optimum import best_formula
from optiform.program.reachable import rules_of
from optiform.program.search import straight_goal
from optiform.program.solver import SolverName
from optiform.program.usual import Usual, least_breaches, usual_beside
from optiform.properties.base import Mix, Property, Ratio, Terms
from optiform.reading.faults import Unsettled
from optiform.reading.rounded import TOLD

Element = tuple[str, str, str, float]
Repair = tuple[Change, ...]


def element(demand: Demand) -> Element:
    """What tells a demand from every other of a brief."""
    return demand.kind, demand.name, demand.side, demand.target


def anything(brief: Brief) -> Brief:
    """The brief with no goal but to fit: its first answer ends the search."""
    return replace(brief, goal=Lowest(NOTHING))


def repairs_of(
    brief: Brief, needed: Requirements, explained: Sequence[tuple[Branch, Conflict]], solver: SolverName
) -> tuple[Repair, ...]:
    """Repairs of any way that make some way possible, tried and not assumed; of several for one demand the least.

    Args:
        brief: that nothing fits.
        needed: what it asks for.
        explained: the conflict of each way to keep it that was looked into.
        solver: see `program.solver`.
    """
    least: dict[tuple[tuple[str, str, str], ...], Repair] = {}
    for way, conflict in explained:
        for repair in conflict.repairs:
            changes = tuple(Change(way[key], max(target, way[key].floor)) for key, target in repair.changes)
            same = _named(changes)
            if same in least and _size(least[same]) <= _size(changes):
                continue
            working = _working(brief, needed, changes, solver)
            if working and (name := _named(working)) and (name not in least or _size(working) < _size(least[name])):
                least[name] = working
    roomy = (_with_room(brief, needed, changes, solver) for changes in least.values())
    roomiest = sorted(roomy, key=_size, reverse=True)  # of two that turn out to move the same the least stands
    written = {_named(changes): _as_written(brief, needed, changes, solver) for changes in roomiest}
    return tuple(sorted(written.values(), key=len))


def _named(changes: Repair) -> tuple[tuple[str, str, str], ...]:
    """What a repair moves, whatever it moves it to."""
    return tuple((change.demand.kind, change.demand.name, change.demand.side) for change in changes)


def _as_written(brief: Brief, needed: Requirements, changes: Repair, solver: SolverName) -> Repair:
    """A repair whose edge is a round figure goes just there, where that works too; else beyond it by rounding."""
    near = tuple(replace(change, target=_round(change.target)) for change in changes)
    return near if near != changes and _works(brief, _moved_by(brief, needed, near), solver) else changes


def _round(target: float) -> float:
    """A figure of the digits that a repair is told in, where it is no farther than the margin beyond an edge.

    Example:
        >>> _round(4.0000005), _round(4.0004)
        (4.0, 4.0004)
    """
    figure = float(f"{target:.{TOLD}g}")
    return figure if abs(figure - target) <= 2 * MARGIN * (1 + abs(target)) else target


def _size(changes: Repair) -> float:
    return sum(abs(change.target - change.demand.target) / max(1.0, abs(change.demand.target)) for change in changes)


def _moved(demand: Demand, target: float) -> Demand | None:
    """The demand with another target; nothing where no formula has less."""
    return None if demand.side == "low" and target <= demand.floor else demand.moved(target)


def _moved_by(brief: Brief, needed: Requirements, changes: Repair) -> Requirements:
    """What the repaired brief asks for."""
    targets = {element(change.demand): change.target for change in changes}
    moved = needed.each(lambda demand: _moved(demand, targets.get(element(demand), demand.target)))
    if not any(change.demand.kind == "line" for change in changes):
        return moved
    opened = _opened(brief, changes)  # its line's new end may leave a rule open that the old one had settled
    return replace(moved, limits=(*moved.limits, *kept_rules(opened, rules_of(opened))))


def _opened(brief: Brief, changes: Repair) -> Brief:
    """The brief with the changed ends of its lines."""
    ends = {(change.demand.name, change.demand.side): change.target / 100 for change in changes}
    ranges = (
        replace(each, low=ends.get((item.name, "low"), each.low), high=ends.get((item.name, "high"), each.high))
        for item, each in zip(brief.mix.ingredients, brief.ranges, strict=True)
    )
    return replace(brief, ranges=tuple(ranges))


def _working(brief: Brief, needed: Requirements, changes: Repair, solver: SolverName) -> Repair | None:
    """Changes that end the conflict of one way, where they work; else going on until all the rest can be kept too.

    Phases that fill the jar to the brim end their conflict, and leave no room for the preservative that rules ask for.
    Of what bends the way on would be searched from several starts, which takes minutes and proves nothing.
    """
    if _works(brief, _moved_by(brief, needed, changes), solver):
        return changes
    if not all(straight_goal(_aimed_at(brief, change.demand)) for change in changes):
        return None
    gone = {element(change.demand) for change in changes}
    try:
        free = needed.each(lambda demand: None if element(demand) in gone else demand)
        farther = _farther(brief, free, changes, solver)
    except (Unsettled, NotCertified):
        return None
    return farther if farther and _works(brief, _moved_by(brief, needed, farther), solver) else None


def _works(brief: Brief, moved: Requirements, solver: SolverName) -> bool:
    try:
        return best_formula(anything(brief), moved, solver).best is not None
    except (Unsettled, NotCertified):
        return False


# -- room for what is usual --------------------------------------------------------------------------------------------


def _with_room(brief: Brief, needed: Requirements, changes: Repair, solver: SolverName) -> Repair:
    """A repair that goes on until what is usual holds as it does without the limits it moves; itself where it does."""
    repaired = _moved_by(brief, needed, changes)
    gone = {element(change.demand.moved(change.target)) for change in changes}
    free = repaired.each(lambda demand: None if element(demand) in gone else demand)
    usual = usual_beside(brief, free)
    if not usual.demands or _works(brief, _beside(repaired, usual), solver):
        return changes
    try:
        farther = _farther(brief, _beside(free, usual), changes, solver)
    except (Unsettled, NotCertified):
        return changes
    return farther if farther and _works(brief, _beside(_moved_by(brief, needed, farther), usual), solver) else changes


def _beside(needed: Requirements, usual: Usual) -> Requirements:
    return replace(needed, rest=(*needed.rest, *usual.demands))


def _farther(brief: Brief, within: Requirements, changes: Repair, solver: SolverName) -> Repair | None:
    """The least that these targets move within what is needed otherwise; one alone, or several by their least sum."""
    demands = [change.demand for change in changes]
    if len(demands) == 1:
        value = _best_of(brief, within, demands[0], solver)
        values = [value]
    else:
        x = least_breaches(brief, within, [(demand, 1 / max(abs(demand.target), 1.0)) for demand in demands])
        values = [None if x is None else demand.value(x) for demand in demands]
    if None in values:
        return None
    reached = [(demand, value) for demand, value in zip(demands, values, strict=True) if value is not None]
    return tuple(Change(demand, beyond(demand, value)) for demand, value in reached if not _holds(demand, value))


def _holds(demand: Demand, value: float) -> bool:
    """Whether a value is one that the demand allows as it stands, so that nothing has to move."""
    return value >= demand.target if demand.side == "low" else value <= demand.target


def _best_of(brief: Brief, within: Requirements, demand: Demand, solver: SolverName) -> float | None:
    """The value nearest to what one demand asks that the others leave it."""
    outcome = best_formula(_aimed_at(brief, demand), within, solver)
    return None if outcome.best is None else outcome.best[1].value


def _aimed_at(brief: Brief, demand: Demand) -> Brief:
    """The brief with no goal but what one demand asks."""
    goal = Lowest if demand.side == "high" else Highest
    return replace(brief, goal=goal(_property(brief, demand)))


def _property(brief: Brief, demand: Demand) -> Property:
    """What a demand limits: the limit's property, or how much there is of a line."""
    limited = (limit.property for limit in brief.limits if limit.property.name == demand.name)
    line = Ratio(demand.name, demand.unit, "whole", lambda mix: _line(demand, mix))
    return line if demand.kind == "line" else next(limited)


def _line(demand: Demand, mix: Mix) -> Terms:
    return demand.terms(np.zeros(len(mix.ingredients)))
