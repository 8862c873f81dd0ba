"""Why nothing fits a brief that can be kept in several ways, or whose limits bend; the repairs are in repairs.py.

Each dead end has a conflict of its own. What is told is one set of the brief's demands that cannot hold together in any
way and of which none can be left out: found by leaving out each in turn and searching again.
"""

from collections.abc import Sequence

import numpy as np

from optiform.brief.brief import Brief
from optiform.design.answer import NoFormula
from optiform.design.facts import Fact
from optiform.design.repairs import Element, anything, element, repairs_of
from optiform.program.build import Branch, Demand, Requirements
from optiform.program.certificate import NotCertified
from optiform.program.conflict import Conflict, explain, proof
from optiform.program.optimum import best_formula
from optiform.program.search import Infeasible
from optiform.program.solver import SolverName
from optiform.reading.faults import Unsettled

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
    repairs = repairs_of(brief, needed, explained, solver)
    certificate = explained[0][1].certificate if proven else None
    reason = "" if proven else Fact.NOT_PROVEN
    return NoFormula(brief, tuple(clash), repairs, certificate, reason, minimal=minimal)


def _shortest(
    brief: Brief, needed: Requirements, explained: Sequence[tuple[Branch, Conflict]], solver: SolverName
) -> tuple[list[Demand], bool]:
    """A set of demands that cannot hold together in any way, and could without any one of them.

    Returns:
        The demands, and whether it is known of each that it is needed.
    """
    every = {element(demand): demand for demand in needed.demands}
    core = {element(demand): demand for _, conflict in explained for demand in conflict.demands}
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
    kept = needed.each(lambda demand: demand if element(demand) in keys else None)
    try:
        outcome = best_formula(anything(brief), kept, solver, FEW_STARTS)
    except (Unsettled, NotCertified):
        return None
    return True if outcome.best is not None else None if outcome.undecided else False
