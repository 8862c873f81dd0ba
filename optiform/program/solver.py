"""Solving through PuLP: HiGHS in this process, or CBC as a second opinion.

PuLP reads a time limit as optimal and drops unused columns, so what a solver says is only a claim, and `Model.solve`
hands it on as such. `solve` proves it from the program's own numbers, an optimum by its duals and that nothing fits by
Farkas weights; where the proof fails the other solver is asked, and where that fails too there is no answer.
"""

import os
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

import highspy
import numpy as np
import pulp

from optiform.program.certificate import NotCertified, certify_infeasible, certify_optimal
from optiform.program.linear import Program, Row, Sense, Vector, softened
from optiform.reading.faults import Unproven

SolverName = Literal["highs", "cbc"]
_SENSES = {Sense.AT_LEAST: pulp.LpConstraintGE, Sense.AT_MOST: pulp.LpConstraintLE, Sense.EQUAL: pulp.LpConstraintEQ}


class SolverFailed(Unproven):
    """The solver gave neither an optimum nor a statement that there is none."""


@dataclass(frozen=True)
class Solution:
    """What a solver claims: the point and the row duals of an optimum, or that no point exists.

    x has shape (columns,), y shape (rows,): the change of the objective per unit of right-hand side.
    """

    feasible: bool
    x: Vector
    y: Vector
    model: "Model"

    @property
    def value(self) -> float:
        """The objective at x."""
        return float(self.model.program.cost @ self.x)


@dataclass(frozen=True)
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
        if not self.feasible(solver):
            return Solution(False, np.full(len(self.program.columns), np.nan), np.zeros(len(self.program.rows)), self)
        x = self.point
        y = np.array([constraint.pi or 0.0 for constraint in self.problem.constraints()], dtype=float)
        return Solution(True, np.clip(x, self.program.low, self.program.high), y, self)

    def feasible(self, solver: SolverName) -> bool:
        """The verdict of the last solve: whether there is an optimum, or nothing fits.

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


@cache
def silence_banner() -> None:
    """The first HiGHS object of a process prints a banner before it can be told not to; standard output is ours.

    The banner comes from compiled code, so the file descriptor itself is turned away for that moment.
    """
    kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        highspy.Highs()
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)


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


def claimed(program: Program, solver: SolverName = "highs") -> Solution:
    """What a solver says of a program, unproven: for a step on the way to what is proven at its end.

    Raises:
        SolverFailed: when the solver stops without a verdict.
    """
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
            claim = claimed(program, name)
        except SolverFailed as failed:
            last = failed
            continue
        if _proven(program, claim, name):
            return claim
        words = "optimum" if claim.feasible else "verdict that nothing fits"
        last = NotCertified(f"the solver's {words} does not check")
    raise last


def _first(solver: SolverName) -> tuple[SolverName, SolverName]:
    return ("highs", "cbc") if solver == "highs" else ("cbc", "highs")


def _proven(program: Program, claim: Solution, solver: SolverName) -> bool:
    if claim.feasible:
        return certify_optimal(program, claim.x, claim.y).holds
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
