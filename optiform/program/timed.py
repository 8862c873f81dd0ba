"""A program with whole columns solved within a time, and stopped by whoever waits for it.

HiGHS works in a thread of its own; the caller's looks in from time to time. Stopped, by the time or by the keyboard,
the best point so far is handed on with the bound that the branch and bound had come to.
"""

from collections.abc import Callable

import highspy
import numpy as np

from optiform.program.arrays import handed, hold_whole, no_verdict, verdict
from optiform.program.integer import STRICT, WholeSolution, at_whole_values, second_opinion
from optiform.program.linear import Program
from optiform.reading.faults import Unsettled
from optiform.reading.frozen import frozen

LOOK = 0.1  # s between two looks
STOPPED = highspy.HighsModelStatus.kTimeLimit, highspy.HighsModelStatus.kInterrupt
Watch = Callable[[], None]  #: called while HiGHS works; what it raises ends the work


@frozen
class Timed:
    """The best point there is, None where it is proven that there is none.

    `finished`: nothing is better; else it was stopped, by the keyboard where `stopped` says so.
    """

    best: WholeSolution | None
    finished: bool
    stopped: bool = False


def solve_within(program: Program, seconds: float, watch: Watch | None = None, checked: bool = True) -> Timed:
    """The best point of a program with whole columns, as far as so many seconds allow.

    `KeyboardInterrupt` stops as the time does.

    Args:
        program: what is solved.
        seconds: how long it may take, the second opinion aside.
        watch: called ten times a second.
        checked: whether a finished answer has a second opinion (see integer.py).

    Raises:
        Unsettled: when it was stopped before there was any point.
        SolverFailed: when the solver stops without a verdict.
        NotCertified: when its point does not stand up to checking.
        BaseException: whatever else `watch` raises.
    """
    highs = _handed(program, seconds)
    stopped = _run(highs, watch)
    optimum, info = verdict(highs), highs.getInfo()
    if optimum is False:
        return Timed(second_opinion(program, None, "highs") if checked else None, finished=True)
    finished = optimum is True
    if not finished and highs.getModelStatus() not in STOPPED:
        raise no_verdict(highs)
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        raise Unsettled("it was stopped before there was any answer")
    best = at_whole_values(program, np.array(highs.getSolution().col_value), float(info.mip_dual_bound))
    return Timed(second_opinion(program, best, "highs") if finished and checked else best, finished, stopped)


def _handed(program: Program, seconds: float) -> highspy.Highs:
    highs = handed(program)
    hold_whole(highs, program)
    options: dict[str, float | str] = {
        "presolve": "choose", "time_limit": seconds, "mip_rel_gap": 0.0, "mip_abs_gap": 1e-9,
        "mip_feasibility_tolerance": STRICT,
    }  # fmt: skip
    for option, value in options.items():
        highs.setOptionValue(option, value)
    return highs


def _run(highs: highspy.Highs, watch: Watch | None) -> bool:
    """Let it work until it is done, or the keyboard or `watch` stop it; whether the keyboard did."""
    highs.HandleUserInterrupt = True
    highs.startSolve()
    try:
        while not highs.wait(LOOK)[0]:
            if watch is not None:
                watch()
    except BaseException as stop:
        highs.cancelSolve()
        highs.wait()
        if not isinstance(stop, KeyboardInterrupt):
            raise
        return True
    return False
