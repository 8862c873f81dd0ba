"""Why no formula fits, in the brief's own words, and the least that would make one fit."""

from collections.abc import Callable, Sequence
from functools import partial

import numpy as np

from optiform.program.build import OWN_KINDS, Demand
from optiform.program.certificate import Certificate, NotCertified, certify_infeasible
from optiform.program.elastic import Breach, least_breach
from optiform.program.linear import Program
from optiform.program.pieces import joined
from optiform.program.search import Infeasible
from optiform.program.solver import SolverName, solve
from optiform.reading.frozen import frozen

TRACE = 1e-6  # of the unit of a limit, in % 10 parts per 1e9: what rounding leaves of nothing
MARGIN = 1e-7  # a repair is put this far (relative) beyond the exact edge, so that rounding cannot undo it


@frozen
class Repair:
    """A change of targets that makes the brief possible: the number of each demand, with its new target."""

    changes: tuple[tuple[int, float], ...]


@frozen
class Conflict:
    """Demands that cannot hold together, though without any one of them the others can.

    Not `minimal` where rounding or a solver that fails its checks leaves that unproven for one of them: then they still
    cannot hold together, but it may not need all of them.

    `repairs` has the smallest change of each single demand that is the maker's to move, then, if more than one can
    share the change, the best combined one.
    """

    demands: tuple[Demand, ...]
    repairs: tuple[Repair, ...]
    certificate: Certificate
    minimal: bool = True


def explain(nothing: Infeasible, asked: Sequence[Demand], solver: SolverName = "highs") -> Conflict:
    """The conflict and the repairs of a brief that nothing fits.

    Raises:
        NotCertified: when the proof that no point exists does not stand up to recomputation.
    """
    program = joined(nothing.program, asked)
    rows = {row.key: i for i, row in enumerate(program.rows) if row.key is not None}
    breach, certificate = proof(program, solver)
    suspects = [key for key, i in rows.items() if abs(breach.y[i]) > 1e-9]
    core, minimal = _minimal(program, suspects if _impossible(program, suspects, solver) else list(rows), solver)
    repairs = _repairs(program, asked, core, solver)
    return Conflict(tuple(asked[key] for key in core), repairs, certificate, minimal)


def proof(program: Program, solver: SolverName = "highs") -> tuple[Breach, Certificate]:
    """That nothing fits a program, checked: its least breach, whose duals say so, and their certificate.

    Raises:
        NotCertified: when it does not stand up to recomputation.
    """
    breach = least_breach(program, {i: 1.0 for i, row in enumerate(program.rows) if row.key is not None}, solver)
    certificate = certify_infeasible(program, breach.y)
    if not certificate.holds:
        raise NotCertified(f"the proof that no formula fits does not check: {certificate}")
    return breach, certificate


def _minimal(program: Program, suspects: Sequence[int], solver: SolverName) -> tuple[list[int], bool]:
    """Deletion filter: drop each suspect in turn, and for good if the rest still cannot hold.

    Returns:
        Those that are left, and whether each of them is proven to be needed.
    """
    core, minimal = list(suspects), True
    for key in suspects:
        rest = [other for other in core if other != key]
        impossible = _impossible(program, rest, solver)
        if impossible:
            core = rest
        minimal = minimal and impossible is not None
    return core, minimal


def _impossible(program: Program, keys: Sequence[int], solver: SolverName) -> bool | None:
    """Whether these demands cannot hold together; None where neither is proven: a solver's word is not enough."""
    rows = program.with_rows([row for row in program.rows if row.key is None or row.key in keys])
    try:
        return not solve(rows.with_cost(np.zeros(len(program.columns))), solver).feasible
    except NotCertified:  # so near to fitting that rounding decides
        return None


def _repairs(program: Program, asked: Sequence[Demand], core: Sequence[int], solver: SolverName) -> tuple[Repair, ...]:
    own = [key for key in core if asked[key].kind in OWN_KINDS]
    single = [repair for key in own if (repair := _proven(partial(_single, program, asked, key, solver)))]
    combined = _proven(partial(_combined, program, asked, solver))
    return (*single, *([combined] if combined and len(combined.changes) > 1 else []))


def _proven(repair: Callable[[], Repair | None]) -> Repair | None:
    """A repair; None also where rounding leaves it unproven: it is then not offered."""
    try:
        return repair()
    except NotCertified:
        return None


def _single(program: Program, asked: Sequence[Demand], key: int, solver: SolverName) -> Repair | None:
    """The nearest target at which this demand alone gives way enough: the best value the others leave it.

    That value is a ratio in general, found by Dinkelbach (1967): reach for (p - v g) x with v the last value, until
    nothing better is found.
    """
    demand, row = asked[key], next(row for row in program.rows if row.key == key)
    others = program.with_rows([row for row in program.rows if row.key != key])
    sign = 1.0 if demand.side == "high" else -1.0
    best: float | None = None
    for _ in range(50):
        reach = row.moved((0.0 if best is None else best) - row.target).coefficients
        solution = solve(others.with_cost(sign * reach), solver)
        value = row.value(solution.x) if solution.feasible else None
        if value is None or (best is not None and sign * (best - value) <= 1e-12 * (1 + abs(best))):
            break
        best = value
    return None if best is None else Repair(((key, beyond(demand, best)),))


def _combined(program: Program, asked: Sequence[Demand], solver: SolverName) -> Repair | None:
    """The least total change over all demands of the maker's own, each counted relative to its target."""
    index = {row.key: i for i, row in enumerate(program.rows) if row.key is not None}
    own = {key: i for key, i in index.items() if asked[key].kind in OWN_KINDS}
    prices = {i: 1.0 / max(abs(asked[key].target), 1.0) for key, i in own.items()}
    breach = least_breach(program, prices, solver)
    if not breach.feasible:
        return None
    reached = {key: program.rows[i].value(breach.x) for key, i in own.items() if breach.rows[i] > 1e-9}
    changes = [(key, beyond(asked[key], value)) for key, value in reached.items() if value is not None]
    return Repair(tuple(changes)) if len(changes) == len(reached) and changes else None


def beyond(demand: Demand, reached: float) -> float:
    """Just past the exact edge; not below 0, where a property that was asked for at least something starts.

    At least a trace is at least nothing.
    """
    margin = MARGIN * (1 + abs(reached))
    if demand.side == "high":
        return reached + margin
    return 0.0 if 0 <= reached <= margin + TRACE else reached - margin
