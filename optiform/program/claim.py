"""An optimum or the verdict that there is none, each with its proof: for the many small programs of a search."""

from optiform.program.arrays import Claim, SolverName, claim_of
from optiform.program.elastic import least_breach
from optiform.program.linear import Program, Vector
from optiform.program.solver import solve


def claim(program: Program, solver: SolverName = "highs") -> Claim:
    """Solve a program without whole columns.

    Raises:
        SolverFailed: when the solver stops without a verdict.
    """
    if solver == "highs":
        claimed = claim_of(program)
        if claimed is not None and claimed.certificate.holds:
            return claimed
    solved = solve(program, solver)
    weights = solved.y if solved.feasible else _breaching(program, solver)
    return Claim.of(program, solved.feasible, solved.x, weights)


def _breaching(program: Program, solver: SolverName) -> Vector:
    return least_breach(program, {i: 1.0 for i, row in enumerate(program.rows) if row.key is not None}, solver).y
