"""A program stated for PuLP: for CBC, and for .lp and .mps files; HiGHS gets the same model as arrays (arrays.py).

PuLP reads a time limit as optimal and drops unused columns, so what a solver says is only a claim, and `Model.solve`
hands it on as such; solver.py proves it.
"""

import re
from pathlib import Path

import numpy as np
import pulp

from optiform.program.arrays import Solution, SolverFailed, SolverName, silence_banner
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.reading.frozen import frozen

_SENSES = {Sense.AT_LEAST: pulp.LpConstraintGE, Sense.AT_MOST: pulp.LpConstraintLE, Sense.EQUAL: pulp.LpConstraintEQ}


@frozen
class Model:
    """A program as a PuLP problem. Words stay in the program; its columns and rows go by number.

    PuLP hands columns to the solver in the order of their names, so the numbers have a fixed width, and every column
    stands in the objective, if only with 0, because a column that is nowhere used is dropped.
    """

    program: Program
    problem: pulp.LpProblem
    columns: tuple[pulp.LpVariable, ...]

    @staticmethod
    def of(program: Program, labels: bool = False) -> "Model":
        """Build the PuLP problem; with `labels`, columns and rows also carry their words, for a person to read."""
        problem = pulp.LpProblem("formula", pulp.LpMinimize)
        bounds = zip(program.low.tolist(), program.high.tolist(), strict=True)
        tags = [_slug(name) for name in program.columns] if labels else [""] * len(program.columns)
        kinds = ["Integer" if j in program.whole else "Continuous" for j in range(len(tags))]
        columns = [
            problem.add_variable(f"x{j:06}{tags[j]}", low, high, kinds[j]) for j, (low, high) in enumerate(bounds)
        ]
        cost = program.cost.tolist()
        problem.setObjective(pulp.LpAffineExpression(dict(zip(columns, cost, strict=True))))
        for i, row in enumerate(program.rows):
            problem.addConstraint(_constraint(row, columns), f"r{i:06}{_slug(row.words) if labels else ''}")
        return Model(program, problem, tuple(columns))

    def solve(self, solver: SolverName = "highs") -> Solution:
        """What the solver claims, from scratch. Unproven; see `optiform.program.solver.solve`.

        Raises:
            SolverFailed: when the solver stops without a verdict.
        """
        silence_banner()
        self.problem.solve(command(solver))
        if not self.verdict(solver):
            return Solution.none(self.program)
        x = self.point
        y = np.array([constraint.pi or 0.0 for constraint in self.problem.constraints()], dtype=float)
        return Solution(True, np.clip(x, self.program.low, self.program.high), y, self.program)

    def verdict(self, solver: SolverName) -> bool:
        """What the solver said last, unproven: whether there is an optimum, or nothing fits.

        Raises:
            SolverFailed: when the solver stopped without a verdict.
        """
        if self.problem.status == pulp.LpStatusInfeasible:
            return False
        if self.problem.status != pulp.LpStatusOptimal or self.problem.sol_status != pulp.LpSolutionOptimal:
            raise SolverFailed(f"{solver} ended with status {pulp.LpStatus[self.problem.status]}")
        return True

    @property
    def point(self) -> Vector:
        """The value of every column after the last solve. Shape (columns,)."""
        return np.array([column.varValue for column in self.columns], dtype=float)


def command(solver: SolverName, **options: object) -> pulp.LpSolver:
    """How PuLP calls a solver: in this process and thread, or as the program that PuLP brings along."""
    if solver == "highs":
        return pulp.HiGHS(msg=False, threads=1, **options)
    return pulp.COIN_CMD(path=pulp.PULP_CBC_CMD.pulp_cbc_path, msg=False, **options)


def by_cbc(program: Program, tolerance: float, seconds: float | None) -> tuple[Vector, float] | None:
    """What CBC's branch and bound calls best, and its value; None where it says that there is none. Unproven.

    Without its preprocessing, which has a tolerance of its own; with it where it crashes without.

    Raises:
        SolverFailed: when it stops without a verdict.
    """
    model, strict = Model.of(program), [f"primalTolerance {tolerance}", f"integerTolerance {tolerance}"]
    for options in ([*strict, "preprocess off"], strict):
        try:
            model.problem.solve(command("cbc", gapRel=0.0, timeLimit=seconds, options=options))
            break
        except pulp.PulpSolverError as crash:
            last = crash
    else:
        raise SolverFailed("cbc stopped without a word") from last
    return (model.point, float(pulp.value(model.problem.objective))) if model.verdict("cbc") else None


def _constraint(row: Row, columns: list[pulp.LpVariable]) -> pulp.LpConstraint:
    used = np.flatnonzero(row.coefficients)
    coefficients = row.coefficients[used].tolist()
    terms = {columns[j]: a for j, a in zip(used.tolist(), coefficients, strict=True)}
    return pulp.LpConstraint(pulp.LpAffineExpression(terms), _SENSES[row.sense], rhs=row.rhs)


def _slug(words: str) -> str:
    return "_" + re.sub(r"[^A-Za-z0-9]+", "_", words)[:60].strip("_")


def write_model(program: Program, path: Path) -> None:
    """Save a program for other solvers, as .mps or else as .lp. Fractions as variables, words in the names.

    Raises:
        OSError: when the file cannot be written.
    """
    problem = Model.of(program, labels=True).problem
    problem.writeMPS(str(path)) if path.suffix == ".mps" else problem.writeLP(str(path))
