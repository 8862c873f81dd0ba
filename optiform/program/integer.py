"""Programs in which something is used or not, or comes in whole steps.

Solved to a gap of zero by branch and bound, so the solver's own bound is part of the claim. What is checked here from
the program's numbers: the point keeps every row and is whole where it must be, and with its whole values fixed the rest
is a linear program whose optimum is proven as any other (certificate.py). That no other whole values are better is
proven likewise where a branch and bound of few nodes does it, each node pruned by a bound or a proof of emptiness that
is recomputed (`_none_better`). Where that takes more, it is the word of two solvers that share no code: the second may
not have a verified point that is better, or any where the first has none; it has as long as `PATIENCE` says, and where
it comes to no verdict by then the word is that of the first alone. Small cases are checked against full enumeration in
the tests.
"""

from dataclasses import dataclass, replace

import numpy as np
import pulp

from optiform.program.arrays import SolverFailed, SolverName, silence_banner
from optiform.program.certificate import Certificate, NotCertified, certify_optimal
from optiform.program.linear import NoPoint, Program, Vector
from optiform.program.live import Live
from optiform.program.solver import solve
from optiform.program.stated import Model, command
from optiform.reading.faults import Unproven

ROUNDING = 1e-6
#: The tolerance of the branch and bound, on rows and on what is whole: far below that of the linear program that is
#: left (1e-7), so that whole values it takes for possible are possible there too.
STRICT = 1e-9
NODES = 100  # of the branch and bound that is a proof: together about as dear as starting a second solver
PATIENCE = 10.0  # seconds for the second opinion


@dataclass(frozen=True)
class WholeSolution:
    """The best point with whole values where asked.

    Attributes:
        x: shape (columns,); the whole columns are exactly whole.
        value: the objective at x.
        bound: no point is better than this, by the solver's branch and bound.
        certificate: of the linear program that is left when the whole columns are fixed.
    """

    x: Vector
    value: float
    bound: float
    certificate: Certificate

    @property
    def gap(self) -> float:
        """Objective less bound, relative; 0 is proven best."""
        return (self.value - self.bound) / (1 + abs(self.value))


def solve_whole(program: Program, solver: SolverName = "highs") -> WholeSolution | None:
    """The best point of a program with whole columns; None if there is none.

    Raises:
        SolverFailed: when the solver stops without a verdict.
        NotCertified: when its point does not stand up to checking, or the second opinion has a better one.
    """
    return second_opinion(program, _claimed(program, solver), solver)


def second_opinion(program: Program, incumbent: WholeSolution | None, solver: SolverName) -> WholeSolution | None:
    """The incumbent that `solver` calls best, where neither a proof nor the other solver speaks against it.

    Raises:
        NotCertified: when the other solver has a better one.
    """
    if _none_better(program, np.inf if incumbent is None else _cutoff(incumbent)):
        return incumbent
    try:
        second = _claimed(program, "cbc" if solver == "highs" else "highs", PATIENCE)
    except Unproven:
        return incumbent
    if second is not None and (incumbent is None or second.value < _cutoff(incumbent)):
        raise NotCertified("two solvers do not agree on what is best in whole numbers")
    return incumbent


def _cutoff(incumbent: WholeSolution) -> float:
    """What a point must cost less than to be better by more than rounding."""
    return incumbent.value - ROUNDING * (1 + abs(incumbent.value))


def _none_better(program: Program, cutoff: float) -> bool:
    """Whether it is proven that no whole point costs less than `cutoff`; False where `NODES` nodes do not prove it."""
    whole = np.array(sorted(program.whole), dtype=int)
    nodes = [(program.low, program.high)]
    try:
        live = Live(replace(program, whole=frozenset()))
        for _ in range(NODES):
            if not nodes:
                return True
            low, high = nodes.pop()
            live.enclose(low, high)
            if not live.solve() or live.optimum is None or live.optimum.bound >= cutoff:
                continue
            x = live.optimum.x
            broken = np.abs(x[whole] - np.round(x[whole]))
            if broken.max(initial=0.0) <= ROUNDING:
                return False
            nodes += _branches(low, high, int(whole[np.argmax(broken)]), x)
    except NoPoint:
        return True
    except Unproven:
        return False
    return not nodes


def _branches(low: Vector, high: Vector, column: int, x: Vector) -> list[tuple[Vector, Vector]]:
    """Bounds with a column no greater than the whole number below x, and with one no less than that above it."""
    below, above = high.copy(), low.copy()
    below[column], above[column] = np.floor(x[column]), np.ceil(x[column])
    return [(low, below), (above, high)]


def _claimed(program: Program, solver: SolverName, seconds: float | None = None) -> WholeSolution | None:
    """What a solver calls best, its point verified and its bound believed; None where it says that there is none."""
    model = Model.of(program)
    bound = _branch_and_bound(model, solver, seconds)
    if bound is None:
        return None
    best = at_whole_values(program, model.point, bound, solver)
    if not program.whole:
        return replace(best, bound=best.value)  # nothing to branch on: the linear program's own proof is the bound
    if abs(best.gap) > ROUNDING:
        raise NotCertified(f"the solver's point is not at its bound: {best.gap:.2g}")
    return best


def at_whole_values(program: Program, claimed: Vector, bound: float, solver: SolverName = "highs") -> WholeSolution:
    """The best point with the whole values that a solver claims, proven; its bound is taken at its word.

    Raises:
        NotCertified: when a column that must be whole is not, or the proof does not close.
    """
    fixed = _fixed(program, claimed)
    left = solve(fixed, solver)
    if not left.feasible:
        raise NotCertified("the whole values the solver gave leave no feasible point")
    certificate = certify_optimal(fixed, left.x, left.y)
    if not certificate.holds:
        raise NotCertified(f"the solver's point does not check: {certificate}")
    return WholeSolution(left.x, float(program.cost @ left.x), bound, certificate)


def _branch_and_bound(model: Model, solver: SolverName, seconds: float | None) -> float | None:
    silence_banner()
    if solver == "highs":
        exact = {"gapRel": 0.0, "gapAbs": 1e-9, "mip_feasibility_tolerance": STRICT}
        model.problem.solve(command("highs", timeLimit=seconds, **exact))
    else:
        _solve_by_cbc(model, seconds)
    if not model.feasible(solver):
        return None
    if solver == "highs":
        return float(model.problem.solverModel.getInfo().mip_dual_bound)
    return float(pulp.value(model.problem.objective))


def _solve_by_cbc(model: Model, seconds: float | None) -> None:
    """Solve without CBC's preprocessing, which has a tolerance of its own; with it where CBC crashes without."""
    strict = [f"primalTolerance {STRICT}", f"integerTolerance {STRICT}"]
    for options in ([*strict, "preprocess off"], strict):
        try:
            model.problem.solve(command("cbc", gapRel=0.0, timeLimit=seconds, options=options))
            return
        except pulp.PulpSolverError as crash:
            last = crash
    raise SolverFailed("cbc stopped without a word") from last


def _fixed(program: Program, claimed: Vector) -> Program:
    """The linear program left when every whole column stands at its nearest whole value."""
    whole = np.array(sorted(program.whole), dtype=int)
    nearest = np.round(claimed[whole])
    if np.abs(nearest - claimed[whole]).max(initial=0.0) > ROUNDING:
        raise NotCertified("a column that must be whole is not")
    low, high = program.low.copy(), program.high.copy()
    low[whole] = high[whole] = nearest
    return replace(program, low=low, high=high, whole=frozenset())
