"""Solving with proof: HiGHS, and CBC as a second opinion.

What a solver says is only a claim. `solve` proves it from the program's own numbers, an optimum by its duals and that
nothing fits by Farkas weights; where the proof fails the next way is asked, and where all fail there is no answer.
"""

from optiform.program.arrays import Solution, claim_of, cold
from optiform.program.arrays import SolverFailed as SolverFailed
from optiform.program.arrays import SolverName as SolverName
from optiform.program.certificate import NotCertified, certify_infeasible, certify_optimal
from optiform.program.linear import Program, Vector, softened
from optiform.reading.faults import Unproven


def claimed(program: Program, solver: SolverName = "highs") -> Solution:
    """What a solver says of a program, unproven: for a step on the way to what is proven at its end.

    HiGHS gets arrays; stated for CBC, through PuLP, the same program takes twice as long to write down as to solve.

    Raises:
        SolverFailed: when the solver stops without a verdict.
    """
    if solver == "highs":
        return cold(program)
    from optiform.program.stated import Model

    return Model.of(program).solve(solver)


def solve(program: Program, solver: SolverName = "highs") -> Solution:
    """The proven optimum of a program without whole columns, or the proven verdict that it has no point.

    Raises:
        NotCertified: when no solver's claim stands up to recomputation.
        SolverFailed: when no solver comes to a verdict.
    """
    last: Unproven = NotCertified("no solver was asked")
    for name in _first(solver):
        try:
            solution = claimed(program, name)
        except SolverFailed as failed:
            last = failed
            continue
        if _proven(program, solution, name):
            return solution
        words = "optimum" if solution.feasible else "verdict that nothing fits"
        last = NotCertified(f"the solver's {words} does not check")
    raise last


def solve_near(program: Program, solver: SolverName = "highs") -> Solution:
    """As `solve`, sooner: without presolve, by a solver that is at hand. Zeros may be a last digit off.

    Raises:
        NotCertified: as `solve`.
        SolverFailed: as `solve`.
    """
    if solver == "highs" and (claim := claim_of(program)) is not None and claim.certificate.holds:
        return Solution(claim.feasible, claim.x, claim.y, program)
    return solve(program, solver)


def _first(solver: SolverName) -> tuple[SolverName, SolverName]:
    return ("highs", "cbc") if solver == "highs" else ("cbc", "highs")


def _proven(program: Program, solution: Solution, solver: SolverName) -> bool:
    if solution.feasible:
        return certify_optimal(program, solution.x, solution.y).holds
    weights = farkas_weights(program, solver)
    return weights is not None and certify_infeasible(program, weights).holds


def farkas_weights(program: Program, solver: SolverName = "highs") -> Vector | None:
    """Row weights that should prove that nothing fits: the duals of the least breach. Unproven; None without any."""
    soft, _ = softened(program, dict.fromkeys(range(len(program.rows)), 1.0))
    try:
        least = claimed(soft, solver)
    except SolverFailed:
        return None
    return least.y if least.feasible else None
