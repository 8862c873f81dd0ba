"""Why nothing fits a brief that can be kept in several ways, or whose limits bend; and the repairs that are tried.

Each dead end has a conflict of its own. What is told is one set of the brief's demands that cannot hold together in any
way and of which none can be left out: found by leaving out each in turn and searching again.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.goal import Lowest
from optiform.design.answer import Change, NoFormula
from optiform.program.build import Branch, Demand, Requirements, kept_rules
from optiform.program.certificate import NotCertified
from optiform.program.conflict import Conflict, explain, proof
from optiform.program.objective import NOTHING
from optiform.program.optimum import best_formula
from optiform.program.reachable import rules_of
from optiform.program.search import Infeasible
from optiform.program.solver import SolverName
from optiform.reading.faults import Unsettled

Element = tuple[str, str, str, float]
End = tuple[Branch, Infeasible]
FEW_STARTS = 4  # of a search that only asks whether there is anything
EXPLAINED = 6  # dead ends whose repairs are tried, those nearest to fitting


def impossible(brief: Brief, needed: Requirements, ends: Sequence[End], solver: SolverName = "highs") -> NoFormula:
    """The conflict of a brief that nothing fits in any way, with the repairs that were tried and work.

    Args:
        brief: for its candidates and its goal.
        needed: what it asks for.
        ends: where every way to keep it ends, with the program that says so.
        solver: see `program.solver`.

    Raises:
        NotCertified: when a proof does not stand up to recomputation.
    """
    proofs = [proof(nothing.program, solver) for _, nothing in ends]
    nearest = [ends[k] for k in np.argsort([breach.total for breach, _ in proofs], kind="stable")[:EXPLAINED]]
    explained = [(branch, explain(nothing, branch, solver)) for branch, nothing in nearest]
    proven = all(nothing.proven for _, nothing in ends)
    if proven and len(ends) == 1:
        clash: Sequence[Demand] = explained[0][1].demands
        minimal = explained[0][1].minimal
    else:
        clash, minimal = _shortest(brief, needed, explained, solver)
    repairs = _repairs(brief, needed, explained, solver)
    certificate = explained[0][1].certificate if proven else None
    reason = "" if proven else "limits that bend were tried from several starts, which is no proof that nothing fits"
    return NoFormula(brief, tuple(clash), repairs, certificate, reason, minimal=minimal)


def _element(demand: Demand) -> Element:
    return demand.kind, demand.name, demand.side, demand.target


def _shortest(
    brief: Brief, needed: Requirements, explained: Sequence[tuple[Branch, Conflict]], solver: SolverName
) -> tuple[list[Demand], bool]:
    """A set of demands that cannot hold together in any way, and could without any one of them.

    Returns:
        The demands, and whether it is known of each that it is needed.
    """
    every = {_element(demand): demand for demand in needed.demands}
    core = {_element(demand): demand for _, conflict in explained for demand in conflict.demands}
    core |= {key: demand for key, demand in every.items() if demand.bends}
    if _possible(brief, needed, set(core), solver) is not False:
        core = dict(every)
    minimal = True
    for key in list(core):
        possible = _possible(brief, needed, set(core) - {key}, solver)
        if possible is False:
            del core[key]
        minimal = minimal and possible is not None
    return list(core.values()), minimal


def _possible(brief: Brief, needed: Requirements, keys: set[Element], solver: SolverName) -> bool | None:
    """Whether these demands can hold together in some way; None where that is neither found nor proven."""
    kept = needed.each(lambda demand: demand if _element(demand) in keys else None)
    try:
        outcome = best_formula(_anything(brief), kept, solver, FEW_STARTS)
    except (Unsettled, NotCertified):
        return None
    return True if outcome.best is not None else None if outcome.undecided else False


def _anything(brief: Brief) -> Brief:
    """The brief with no goal but to fit: its first answer ends the search."""
    return replace(brief, goal=Lowest(NOTHING))


def _repairs(
    brief: Brief, needed: Requirements, explained: Sequence[tuple[Branch, Conflict]], solver: SolverName
) -> tuple[tuple[Change, ...], ...]:
    """Repairs of any way that make some way possible, tried and not assumed; of several for one demand the least."""
    repairs: dict[tuple[tuple[str, str, str], ...], tuple[Change, ...]] = {}
    for way, conflict in explained:
        for repair in conflict.repairs:
            changes = tuple(Change(way[key], max(target, way[key].floor)) for key, target in repair.changes)
            same = tuple((c.demand.kind, c.demand.name, c.demand.side) for c in changes)
            if same in repairs and _size(repairs[same]) <= _size(changes):
                continue
            if _works(brief, needed, changes, solver):
                repairs[same] = changes
    return tuple(sorted(repairs.values(), key=len))


def _size(changes: Sequence[Change]) -> float:
    return sum(abs(change.target - change.demand.target) / max(1.0, abs(change.demand.target)) for change in changes)


def _moved(demand: Demand, target: float) -> Demand | None:
    """The demand with another target; nothing where no formula has less."""
    return None if demand.side == "low" and target <= demand.floor else demand.moved(target)


def _works(brief: Brief, needed: Requirements, changes: Sequence[Change], solver: SolverName) -> bool:
    targets = {_element(change.demand): change.target for change in changes}
    moved = needed.each(lambda demand: _moved(demand, targets.get(_element(demand), demand.target)))
    if any(change.demand.kind == "line" for change in changes):  # its new end may leave a rule open that it had settled
        opened = _opened(brief, changes)
        moved = replace(moved, limits=(*moved.limits, *kept_rules(opened, rules_of(opened))))
    try:
        return best_formula(_anything(brief), moved, solver).best is not None
    except (Unsettled, NotCertified):
        return False


def _opened(brief: Brief, changes: Sequence[Change]) -> Brief:
    """The brief with the changed ends of its lines."""
    ends = {(change.demand.name, change.demand.side): change.target / 100 for change in changes}
    ranges = (
        replace(each, low=ends.get((item.name, "low"), each.low), high=ends.get((item.name, "high"), each.high))
        for item, each in zip(brief.mix.ingredients, brief.ranges, strict=True)
    )
    return replace(brief, ranges=tuple(ranges))
