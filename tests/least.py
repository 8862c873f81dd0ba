"""The least of a small linear program, handed to HiGHS as arrays: sweeps of briefs ask for it many thousands of times.

Scipy's linprog looks at what it is given, and at what it gives back, for five times as long as HiGHS solves. That both
say the same `published/test_against_linprog.py` holds. Nothing of optiform takes part.
"""

from functools import cache

import highspy
import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]
Least = tuple[float, Vector] | None

TOLERANCES, FINE = ("primal_feasibility_tolerance", "dual_feasibility_tolerance"), 1e-10
_ROWWISE, _MINIMISE = int(highspy.MatrixFormat.kRowwise), int(highspy.ObjSense.kMinimize)
_NOTHING_FITS = (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible)


def least(cost: Vector, rows: Vector, most: Vector, low: Vector, high: Vector) -> Least:
    """The least of cost x over shares x that sum to one, with rows x <= most and low <= x <= high, and where it is.

    None where nothing fits. `rows` has shape (rows, shares), `most` (rows,), the others (shares,).

    >>> least(np.array([1.0, 3.0]), np.array([[1.0, 0.0]]), np.array([0.25]), np.zeros(2), np.ones(2))
    (2.5, array([0.25, 0.75]))
    """
    if np.any(low > high):
        return None
    matrix = np.vstack([np.ones_like(cost), rows])  # one row after the other, as the solver takes it
    cost, low, high = (np.ascontiguousarray(row, dtype=float) for row in (cost, low, high))
    count, columns = matrix.shape
    highs = _solver()
    highs.passModel(
        columns, count, matrix.size, _ROWWISE, _MINIMISE, 0.0, cost, low, high,
        np.concatenate([[1.0], np.full(len(rows), -np.inf)]), np.concatenate([[1.0], most]),
        np.arange(0, matrix.size + 1, columns, dtype=np.int32), np.tile(np.arange(columns, dtype=np.int32), count),
        matrix.ravel(), np.zeros(columns, dtype=np.int32),
    )  # fmt: skip
    highs.run()
    status = highs.getModelStatus()
    if status in _NOTHING_FITS:
        return None
    assert status == highspy.HighsModelStatus.kOptimal, highs.modelStatusToString(status)
    return highs.getObjectiveValue(), np.array(highs.getSolution().col_value)


@cache
def _solver() -> highspy.Highs:
    highs = highspy.Highs()
    highs.setOptionValue("output_flag", False)
    highs.setOptionValue("threads", 1)
    for option in TOLERANCES:
        highs.setOptionValue(option, FINE)
    return highs


def least_by_linprog(cost: Vector, rows: Vector, most: Vector, low: Vector, high: Vector) -> Least:
    """The same by scipy's linprog, which carries its own build of HiGHS."""
    from scipy.optimize import linprog  # type: ignore[import-untyped, unused-ignore]

    within, ones = (rows, most) if len(rows) else (None, None), np.ones((1, len(cost)))
    bounds, fine = np.array([low, high]).T, dict.fromkeys(TOLERANCES, FINE)
    found = linprog(cost, *within, ones, [1.0], bounds, method="highs", options=fine)
    assert found.status in (0, 2), found.message
    return (float(found.fun), np.asarray(found.x)) if found.status == 0 else None
