"""A program handed to HiGHS as arrays: what it claims carries its proof, recomputed.

Where the proof does not hold, the program goes the longer way of `solver.py`, which begins with `cold`.
"""

import os
import threading
from dataclasses import replace
from functools import cache
from typing import Literal

import highspy
import numpy as np
from numpy.typing import NDArray

from optiform.program.certificate import Certificate, certify_infeasible, certify_optimal
from optiform.program.linear import Program, Vector
from optiform.reading.faults import Unproven
from optiform.reading.frozen import frozen

SolverName = Literal["highs", "cbc"]

_ROWWISE, _MINIMISE = int(highspy.MatrixFormat.kRowwise), int(highspy.ObjSense.kMinimize)
FINE = 1e-9  # the solver's tolerance, below what any certificate lets pass
#: Whether there is an optimum, by the status of HiGHS; others are no verdict, such as a limit that was reached.
_VERDICTS = {
    highspy.HighsModelStatus.kOptimal: True,
    highspy.HighsModelStatus.kInfeasible: False,
    highspy.HighsModelStatus.kUnboundedOrInfeasible: False,
}


class SolverFailed(Unproven):
    """The solver gave neither an optimum nor a statement that there is none."""


@frozen
class Solution:
    """What a solver claims: the point and the row duals of an optimum, or that no point exists.

    x has shape (columns,), y shape (rows,): the change of the objective per unit of right-hand side.
    """

    feasible: bool
    x: Vector
    y: Vector
    program: Program

    @property
    def value(self) -> float:
        """The objective at x."""
        return float(self.program.cost @ self.x)

    @staticmethod
    def none(program: Program) -> "Solution":
        """That no point exists."""
        return Solution(False, np.full(len(program.columns), np.nan), np.zeros(len(program.rows)), program)


@frozen
class Claim:
    """What a solver claims: an optimum and its row duals, or, not `feasible`, weights that prove that there is none.

    x has shape (columns,), y shape (rows,). `certificate` is the proof of either, recomputed.
    """

    feasible: bool
    x: Vector
    y: Vector
    certificate: Certificate

    @staticmethod
    def of(program: Program, feasible: bool, x: Vector, y: Vector) -> "Claim":
        """What is claimed, with its proof."""
        proof = certify_optimal(program, x, y) if feasible else certify_infeasible(program, y)
        return Claim(feasible, x, y, proof)


def claim_of(program: Program) -> Claim | None:
    """What HiGHS claims of a program without whole columns; None where it has no verdict, or none that can be checked.

    The claim is unproven only where its certificate does not hold.
    """
    return _Arrays.of(program).claim()


def lean(program: Program) -> Program:
    """The same points with less to say: rows over one column are bounds, and rows that no bounds can miss are gone.

    Whatever bound is proven of it is one of the program, which asks no less.

    Args:
        program: without whole columns.
    """
    bounded = _Arrays.of(program)
    if np.any(bounded.low > bounded.high):
        return program
    ends = program.matrix * bounded.low, program.matrix * bounded.high
    least, most = np.minimum(*ends).sum(axis=1), np.maximum(*ends).sum(axis=1)
    missed = program.at_least & (least < program.rhs) | program.at_most & (most > program.rhs)
    rows = tuple(program.rows[i] for i in bounded.rows if missed[i])
    return replace(program, low=bounded.low, high=bounded.high, rows=rows) if rows else program


def cold(program: Program) -> Solution:
    """What HiGHS says of a program without whole columns, from scratch and in its own way. Unproven.

    Raises:
        SolverFailed: when it stops without a verdict.
    """
    highs = ran(program)
    return Solution(True, *point(highs, program), program) if highs else Solution.none(program)


def ran(program: Program, **options: float | str) -> highspy.Highs | None:
    """HiGHS where it stopped at what it calls the optimum of a program, None where it says that nothing fits.

    Args:
        program: with or without whole columns.
        options: of HiGHS.

    Raises:
        SolverFailed: when it stops without a verdict.
    """
    highs = _silent()
    for option, value in options.items():
        highs.setOptionValue(option, value)
    hand(highs, program, np.arange(len(program.rows)), program.low, program.high)
    hold_whole(highs, program)
    highs.run()
    optimum = verdict(highs)
    if optimum is None:
        raise no_verdict(highs)
    return highs if optimum else None


def verdict(highs: highspy.Highs) -> bool | None:
    """What HiGHS said last, unproven: whether there is an optimum, or nothing fits; None where it has no verdict."""
    return _VERDICTS.get(highs.getModelStatus())


def no_verdict(highs: highspy.Highs) -> SolverFailed:
    """The error that tells so."""
    return SolverFailed(f"highs ended with status {highs.modelStatusToString(highs.getModelStatus())}")


def hold_whole(highs: highspy.Highs, program: Program) -> None:
    """Have the whole columns of a program that was handed over held whole."""
    whole = np.array(sorted(program.whole), dtype=np.int32)
    if len(whole):
        highs.changeColsIntegrality(len(whole), whole, np.full(len(whole), highspy.HighsVarType.kInteger))


def point(highs: highspy.Highs, program: Program) -> tuple[Vector, Vector]:
    """Columns, within their bounds, and the duals of the rows that were handed over."""
    solution = highs.getSolution()
    return np.clip(np.array(solution.col_value), program.low, program.high), np.array(solution.row_dual)


@frozen
class _Arrays:
    """A program whose rows over one column are bounds of that column, which is what most lines of a brief ask.

    `low` and `high` are the bounds so made, `low_row` and `high_row` the row each comes from, -1 where it is the
    column's own.
    """

    program: Program
    rows: NDArray[np.intp]
    low: Vector
    high: Vector
    low_row: NDArray[np.intp]
    high_row: NDArray[np.intp]

    @staticmethod
    def of(program: Program) -> "_Arrays":
        used, none = program.matrix != 0, np.full(len(program.low), -1)
        single = used.sum(axis=1) == 1
        rows = single.nonzero()[0]
        if not len(rows):
            return _Arrays(program, np.arange(len(single)), program.low, program.high, none, none)
        low, high, low_row, high_row = program.low.copy(), program.high.copy(), none, none.copy()
        columns = used[rows].argmax(axis=1)
        factors = program.matrix[rows, columns]
        ends = program.rhs[rows] / factors
        raises = np.where(factors > 0, program.at_least[rows], program.at_most[rows])
        lowers = np.where(factors > 0, program.at_most[rows], program.at_least[rows])
        for row, column, end, least, most in zip(rows, columns, ends.tolist(), raises, lowers, strict=True):
            if least and end > low[column]:
                low[column], low_row[column] = end, row
            if most and end < high[column]:
                high[column], high_row[column] = end, row
        return _Arrays(program, np.flatnonzero(~single), low, high, low_row, high_row)

    def claim(self) -> Claim | None:
        """What HiGHS claims; None where it has no verdict, or none that can be checked."""
        program = self.program
        if np.any(self.low > self.high):
            return None
        highs = _own_solver()
        hand(highs, program, self.rows, self.low, self.high)
        highs.run()
        optimum = verdict(highs)
        if optimum:
            x, duals = point(highs, program)
            return Claim.of(program, True, x, self._whole(duals, program.cost))
        if optimum is False:
            _, there, ray = highs.getDualRay()  # type: ignore[attr-defined]
            for sign in (1.0, -1.0) if there else ():
                weights = self._whole(sign * np.array(ray), np.zeros(len(program.cost)))
                claimed = Claim.of(program, False, np.full(len(program.columns), np.nan), weights)
                if weights.any() and claimed.certificate.holds:
                    return claimed
        return None

    def _whole(self, duals: Vector, cost: Vector) -> Vector:
        """Duals of all rows: a bound that a row has made takes over the reduced cost of its column."""
        program, whole = self.program, np.zeros(len(self.program.rows))
        whole[self.rows] = duals
        if len(duals) == len(whole):  # no row is a bound
            return whole
        reduced = cost - program.matrix.T @ whole
        rows = np.where(reduced > 0, self.low_row, self.high_row)
        columns = np.flatnonzero((rows >= 0) & (reduced != 0))
        whole[rows[columns]] = reduced[columns] / program.matrix[rows[columns], columns]
        return whole


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


@cache
def _on_one_thread() -> None:
    """HiGHS keeps its threads for all of a process: who solved with more before us would have ours refused.

    A solver that has no program runs on what is there, or is refused; then the threads are given back.
    """
    highs = _told(highspy.Highs())
    if highs.run() == highspy.HighsStatus.kError:
        highspy.Highs.resetGlobalScheduler(True)
        highs.run()


class _Own(threading.local):
    """One solver for each thread, for programs that nobody asks about twice: making one takes longer than they do."""

    def __init__(self) -> None:
        self.highs = _fresh()


def _silent() -> highspy.Highs:
    """HiGHS without a program, silent and on one thread."""
    silence_banner()
    _on_one_thread()
    return _told(highspy.Highs())


def _told(highs: highspy.Highs) -> highspy.Highs:
    highs.setOptionValue("output_flag", False)
    highs.setOptionValue("threads", 1)
    return highs


def _fresh() -> highspy.Highs:
    """The same, fine and without presolve: what it gives is near to what any certificate asks."""
    highs = _silent()
    highs.setOptionValue("presolve", "off")
    for option in ("primal_feasibility_tolerance", "dual_feasibility_tolerance"):
        highs.setOptionValue(option, FINE)
    return highs


@cache
def _own() -> _Own:
    return _Own()


def _own_solver() -> highspy.Highs:
    """That of this thread, with whatever was last in it."""
    return _own().highs


def handed(program: Program) -> highspy.Highs:
    """A solver of its own with a program in it, as arrays, not yet run.

    Args:
        program: without whole columns.
    """
    highs = _fresh()
    hand(highs, program, np.arange(len(program.rows)), program.low, program.high)
    return highs


def hand(highs: highspy.Highs, program: Program, rows: NDArray[np.intp], low: Vector, high: Vector) -> None:
    """Put a program into a solver, in place of what it had and knew.

    Args:
        highs: the solver.
        program: without whole columns.
        rows: numbers of those of its rows that are handed over.
        low: bounds of the columns from below, `high` from above.
        high: see `low`.
    """
    matrix, at_least, at_most, rhs = (a[rows] for a in (program.matrix, program.at_least, program.at_most, program.rhs))
    used, starts = matrix != 0, np.zeros(len(rows) + 1, dtype=np.int32)
    used.sum(axis=1).cumsum(out=starts[1:])
    index, lower, upper = used.nonzero()[1], np.where(at_least, rhs, -np.inf), np.where(at_most, rhs, np.inf)
    sizes, continuous = (len(low), len(rows), len(index)), np.zeros(len(low), dtype=np.int32)
    highs.passModel(  # which takes arrays as they are; those of a HighsLp are gone through number by number
        *sizes, _ROWWISE, _MINIMISE, 0.0, program.cost, low, high, lower, upper,
        starts, index.astype(np.int32), matrix[used], continuous,
    )  # fmt: skip
