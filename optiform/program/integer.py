"""Programs in which something is used or not, or comes in whole steps.

Solved to a gap of zero by branch and bound, so the solver's own bound is part of the claim. What is checked here from
the program's numbers: the point keeps every row and is whole where it must be, and with its whole values fixed the rest
is a linear program whose optimum is proven as any other (certificate.py). The bound itself is the solver's; small cases
are checked against full enumeration in the tests, and CBC is the second opinion.
"""

from dataclasses import dataclass, replace

import numpy as np
import pulp

from optiform.program.certificate import Certificate, NotCertified, certify_optimal
from optiform.program.linear import Program, Vector
from optiform.program.solver import Model, SolverFailed, SolverName, silence_banner, solve

ROUNDING = 1e-6
#: The tolerance of the branch and bound, on rows and on what is whole: far below that of the linear program that is
#: left (1e-7), so that whole values it takes for possible are possible there too.
STRICT = 1e-9


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
        NotCertified: when its point does not stand up to checking.
    """
    model = Model.of(program)
    bound = _branch_and_bound(model, solver)
    if bound is None:
        return None
    claimed = np.array([column.varValue for column in model.columns], dtype=float)
    fixed = _fixed(program, claimed)
    left = solve(fixed, solver)
    if not left.feasible:
        raise NotCertified("the whole values the solver gave leave no feasible point")
    certificate = certify_optimal(fixed, left.x, left.y)
    if not certificate.holds:
        raise NotCertified(f"the solver's point does not check: {certificate}")
    return WholeSolution(left.x, float(program.cost @ left.x), bound, certificate)


def _branch_and_bound(model: Model, solver: SolverName) -> float | None:
    silence_banner()
    if solver == "highs":
        command = pulp.HiGHS(msg=False, threads=1, gapRel=0.0, gapAbs=1e-9, mip_feasibility_tolerance=STRICT)
    else:
        strict = [f"primalTolerance {STRICT}", f"integerTolerance {STRICT}", "preprocess off"]  # which has its own
        command = pulp.COIN_CMD(path=pulp.PULP_CBC_CMD.pulp_cbc_path, msg=False, gapRel=0.0, options=strict)
    model.problem.solve(command)
    if model.problem.status == pulp.LpStatusInfeasible:
        return None
    if model.problem.status != pulp.LpStatusOptimal or model.problem.sol_status != pulp.LpSolutionOptimal:
        raise SolverFailed(f"{solver} ended with status {pulp.LpStatus[model.problem.status]}")
    if solver == "highs":
        return float(model.problem.solverModel.getInfo().mip_dual_bound)
    return float(pulp.value(model.problem.objective))


def _fixed(program: Program, claimed: Vector) -> Program:
    """The linear program left when every whole column stands at its nearest whole value."""
    whole = np.array(sorted(program.whole), dtype=int)
    nearest = np.round(claimed[whole])
    if np.abs(nearest - claimed[whole]).max(initial=0.0) > ROUNDING:
        raise NotCertified("a column that must be whole is not")
    low, high = program.low.copy(), program.high.copy()
    low[whole] = high[whole] = nearest
    return replace(program, low=low, high=high, whole=frozenset())
