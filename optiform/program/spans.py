"""Between which values each column of a program stays, whatever its goal: two programs a column, from a warm start."""

import numpy as np

from optiform.program.linear import NoPoint, Program, Vector
from optiform.program.live import Live
from optiform.reading.faults import Unproven

ROOM = 1e-9  # beyond the proven bound, so that rounding shuts nothing out


def spans(program: Program) -> tuple[Vector, Vector]:
    """The least and the greatest value of each column, by bounds that are proven; its own bounds where none is.

    Example:
        >>> from optiform.program.linear import Row, Sense
        >>> whole = Row("whole", np.ones(2), Sense.EQUAL, 1.0)
        >>> some = Row("some", np.array([1.0, 0.0]), Sense.AT_LEAST, 0.25)
        >>> low, high = spans(Program(("a", "b"), np.zeros(2), np.zeros(2), np.ones(2), (whole, some)))
        >>> low.round(3).tolist(), high.round(3).tolist()
        ([0.25, 0.0], [1.0, 0.75])
    """
    low, high = program.low.copy(), program.high.copy()
    try:
        live = Live(program)
    except (NoPoint, Unproven):
        return low, high
    for column in range(len(low)):
        low[column] = max(low[column], _least(live, column, 1.0) - ROOM)
        high[column] = min(high[column], ROOM - _least(live, column, -1.0))
    return low, high


def _least(live: Live, column: int, sign: float) -> float:
    """What nothing goes below of a column times `sign`; minus infinity where that is not proven."""
    cost = np.zeros(live.width)
    cost[column] = sign
    live.recost(cost)
    try:
        live.solve()
    except Unproven:
        return -np.inf
    return -np.inf if live.optimum is None else live.optimum.bound
