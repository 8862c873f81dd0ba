"""A program handed to HiGHS as arrays, solved once: for the many small programs of a search.

What comes back is a claim, as from `solver.py`; `certificate.py` judges it.
"""

from dataclasses import dataclass

import highspy
import numpy as np

from optiform.program.certificate import certify_infeasible
from optiform.program.elastic import least_breach
from optiform.program.linear import Program, Vector
from optiform.program.solver import SolverName, silence_banner, solve

FINE = 1e-9  # the solver's tolerance, below what any certificate lets pass


@dataclass(frozen=True)
class Claim:
    """What a solver claims: an optimum and its row duals, or, not `feasible`, weights that prove that there is none.

    x has shape (columns,), y shape (rows,).
    """

    feasible: bool
    x: Vector
    y: Vector


def claim(program: Program, solver: SolverName = "highs") -> Claim:
    """Solve a program without whole columns.

    Raises:
        SolverFailed: when the solver stops without a verdict.
    """
    if solver == "highs":
        highs = _loaded(program)
        highs.run()
        status = highs.getModelStatus()
        if status == highspy.HighsModelStatus.kOptimal:
            solution = highs.getSolution()
            x = np.clip(np.array(solution.col_value), program.low, program.high)
            return Claim(True, x, np.array(solution.row_dual))
        if status == highspy.HighsModelStatus.kInfeasible:
            return Claim(False, np.full(len(program.columns), np.nan), _ray(highs, program))
    found = solve(program, solver)
    return Claim(found.feasible, found.x, found.y if found.feasible else _breaching(program, solver))


def _loaded(program: Program) -> highspy.Highs:
    silence_banner()
    highs = highspy.Highs()
    for option, value in (("output_flag", False), ("threads", 1), ("presolve", "off")):
        highs.setOptionValue(option, value)
    for option in ("primal_feasibility_tolerance", "dual_feasibility_tolerance"):
        highs.setOptionValue(option, FINE)
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = len(program.columns), len(program.rows)
    model.col_cost_, model.col_lower_, model.col_upper_ = program.cost, program.low, program.high
    model.row_lower_ = np.where(program.at_least, program.rhs, -np.inf)
    model.row_upper_ = np.where(program.at_most, program.rhs, np.inf)
    used = program.matrix != 0
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.concatenate([[0], np.cumsum(used.sum(axis=1))]).astype(np.int32)
    model.a_matrix_.index_ = np.nonzero(used)[1].astype(np.int32)
    model.a_matrix_.value_ = program.matrix[used]
    highs.passModel(model)
    return highs


def _ray(highs: highspy.Highs, program: Program) -> Vector:
    """Farkas weights: the solver's own if they prove it, else the duals of the least breach."""
    _, there, ray = highs.getDualRay()
    weights = np.array(ray) if there else np.zeros(len(program.rows))
    for signed in (weights, -weights):
        if weights.any() and certify_infeasible(program, signed).holds:
            return signed
    return _breaching(program, "highs")


def _breaching(program: Program, solver: SolverName) -> Vector:
    return least_breach(program, {i: 1.0 for i, row in enumerate(program.rows) if row.key is not None}, solver).y
