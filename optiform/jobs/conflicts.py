"""Why nothing fits a brief that can be kept in several ways, or whose limits bend; and the repairs that are tried.

Each way has a conflict of its own. What is told is one set of the brief's demands that cannot hold together in any way
and of which none can be left out: found by leaving out each in turn and searching again.
"""

from collections.abc import Sequence

from optiform.brief import Brief
from optiform.jobs.answer import Change, Impossible
from optiform.program.build import Demand
from optiform.program.certificate import NotCertified
from optiform.program.conflict import Conflict, explain
from optiform.program.search import Found, NothingFits, Unsettled, search
from optiform.program.solver import SolverName

Way = tuple[Demand, ...]
Element = tuple[str, str, str, float]
FEW_STARTS = 4  # of a search that only asks whether there is anything


def impossible(brief: Brief, ways: Sequence[tuple[Way, NothingFits]], solver: SolverName = "highs") -> Impossible:
    """The conflict of a brief that nothing fits in any way, with the repairs that were tried and work.

    Raises:
        NotCertified: when a proof does not stand up to recomputation.
    """
    explained = [(way, explain(nothing, way, solver)) for way, nothing in ways]
    proven = all(nothing.proven for _, nothing in ways)
    if proven and len(ways) == 1:
        clash: Sequence[Demand] = explained[0][1].demands
    else:
        clash = _shortest(brief, explained, solver)
    repairs = _repairs(brief, explained, solver)
    certificate = explained[0][1].certificate if proven else None
    reason = "" if proven else "limits that bend were tried from several starts, which is no proof that nothing fits"
    return Impossible(brief, tuple(clash), repairs, certificate, reason)


def _element(demand: Demand) -> Element:
    return demand.kind, demand.name, demand.side, demand.target


def _shortest(brief: Brief, explained: Sequence[tuple[Way, Conflict]], solver: SolverName) -> list[Demand]:
    """A set of demands that cannot hold together in any way, and could without any one of them."""
    ways = [way for way, _ in explained]
    every = {_element(demand): demand for way in ways for demand in way}
    core = {_element(demand): demand for _, conflict in explained for demand in conflict.demands}
    core |= {key: demand for key, demand in every.items() if demand.bends}
    if _possible(brief, ways, set(core), solver):
        core = dict(every)
    for key in list(core):
        rest = set(core) - {key}
        if not _possible(brief, ways, rest, solver):
            del core[key]
    return list(core.values())


def _possible(brief: Brief, ways: Sequence[Way], keys: set[Element], solver: SolverName) -> bool:
    """Whether these demands can hold together in some way; a search that does not come to rest leaves it open."""
    return any(_fits(brief, [demand for demand in way if _element(demand) in keys], solver) for way in ways)


def _fits(brief: Brief, asked: Sequence[Demand], solver: SolverName) -> bool:
    try:
        return isinstance(search(brief, asked, solver, starts=FEW_STARTS), Found)
    except Unsettled:
        return True
    except NotCertified:
        return False


def _repairs(
    brief: Brief, explained: Sequence[tuple[Way, Conflict]], solver: SolverName
) -> tuple[tuple[Change, ...], ...]:
    """Repairs of any way that make some way possible, tried and not assumed; of several for one demand the least."""
    ways = [way for way, _ in explained]
    found: dict[tuple[tuple[str, str, str], ...], tuple[Change, ...]] = {}
    for way, conflict in explained:
        for repair in conflict.repairs:
            changes = tuple(Change(way[key], target) for key, target in repair.changes)
            same = tuple((c.demand.kind, c.demand.name, c.demand.side) for c in changes)
            if same in found and _size(found[same]) <= _size(changes):
                continue
            if _works(brief, ways, changes, solver):
                found[same] = changes
    return tuple(sorted(found.values(), key=len))


def _size(changes: Sequence[Change]) -> float:
    return sum(abs(change.target - change.demand.target) / max(1.0, abs(change.demand.target)) for change in changes)


def _works(brief: Brief, ways: Sequence[Way], changes: Sequence[Change], solver: SolverName) -> bool:
    moved = {_element(change.demand): change.target for change in changes}
    trials = ([demand.moved(moved.get(_element(demand), demand.target)) for demand in way] for way in ways)
    return any(_found(brief, trial, solver) for trial in trials)


def _found(brief: Brief, asked: Sequence[Demand], solver: SolverName) -> bool:
    try:
        return isinstance(search(brief, asked, solver), Found)
    except (Unsettled, NotCertified):
        return False
