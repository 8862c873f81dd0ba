"""Limits that hold although the figures behind them are only known within ranges.

A limit is a row  sum(p_i x_i) - L sum(g_i x_i) >= 0  with p_i between its low and high end. As x >= 0, the worst that
one line can do to it is d_i x_i, d_i the distance from the typical figure to the worse end. If every figure may be at
its worst, the row loses sum(d_i x_i): it takes the worse ends and stays linear. If at most G figures of a limit are
wrong at once, it loses the sum of the G largest d_i x_i, which by duality is the least  G z + sum(q_i)  over

    z + q_i >= d_i x_i,   z >= 0,   q_i >= 0

so the row with  - G z - sum(q_i)  says the same exactly (Bertsimas and Sim, The price of robustness, 2004). Each limit
is protected by itself. Only numerators vary, no group does. Laws take the upper ends already.
"""

from collections.abc import Container, Sequence
from dataclasses import replace

import numpy as np

from optiform.program.build import Demand
from optiform.program.chance import Lots, kept_by_cuts
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.properties.base import Terms, possible


def doubts(demand: Demand, at: Vector) -> Vector:
    """d: how much a unit of each line can bring less (or more) than its typical figure, against the limit.

    In the property's unit, shape (lines,). Zero for what is no limit of the brief.
    """
    terms = demand.terms(at)
    if demand.kind != "limit":
        return np.zeros_like(terms.numerator)
    if demand.side == "low":
        return terms.numerator - np.minimum(terms.numerator, np.minimum(terms.low, terms.high))
    return np.maximum(terms.numerator, np.maximum(terms.low, terms.high)) - terms.numerator


#: What limits are kept against: so many figures at their worse ends at once, all of them (None), or a chance.
Against = int | None | Lots


def worst_value(demand: Demand, x: Vector, budget: Against = None, limits: int = 1) -> float | None:
    """The value at x with those `budget` figures at their worse end that matter most; all of them without a budget.

    With a chance, the value that is missed in one lot too many; `limits` is the number of limits that it is of, if of
    all together. None where the group is empty.
    """
    if isinstance(budget, Lots):
        worst = budget.worst_value(demand, x, limits)
        return None if worst is None else possible(worst, demand.unit)
    terms = demand.terms(x)
    lost = np.sort(doubts(demand, x) * x)[::-1][:budget].sum()
    value, group = terms.at(x), float(terms.denominator @ x)
    if value is None:
        return None
    return possible(value + float(lost) / group * (-1.0 if demand.side == "low" else 1.0), demand.unit)


def wrong(budget: Against) -> str:
    """How many figures of a limit are at their worse end, or in how many lots it holds, in words."""
    if isinstance(budget, Lots):
        return f"lots as they vary: {budget.chance}"
    if budget is None:
        return "every figure at the worse end of its range"
    return (
        "any one figure at the worse end of its range" if budget == 1 else f"any {budget} figures at their worse ends"
    )


def guarded(demand: Demand, budget: Against) -> Demand:
    """A limit in words that say what it is protected against."""
    return replace(demand, reason=f"with {wrong(budget)}")


def protected(
    program: Program,
    asked: Sequence[Demand],
    at: Vector,
    budget: Against = None,
    only: Container[int] | None = None,
) -> Program:
    """The program near the fractions `at` with every limit protected against `budget` figures at once, None for all.

    `only`: the places in `asked` of the limits to protect; all without it. New columns, two kinds per protected row,
    follow the program's own; new rows have no key. With a chance: see chance.py.
    """
    if isinstance(budget, Lots):
        return kept_by_cuts(program, asked, at, budget, only)
    every = [
        (i, doubts(asked[row.key], at))
        for i, row in enumerate(program.rows)
        if row.key is not None and (only is None or row.key in only)
    ]
    doubtful = [(i, d * _unit(program.rows[i], asked, at)) for i, d in every if d.any()]
    rows = list(program.rows)
    fully = [(i, d) for i, d in doubtful if budget is None or budget >= np.count_nonzero(d)]
    for i, d in fully:
        rows[i] = _lowered(rows[i], np.concatenate([d, np.zeros(len(program.columns) - len(d))]))
    program = program.with_rows(rows)
    settled = {i for i, _ in fully}
    for i, d in doubtful:
        if i not in settled and budget:
            program = _budgeted(program, i, d, budget)
    return program


def _unit(row: Row, asked: Sequence[Demand], at: Vector) -> float:
    """What one unit of the property counts in the row, which may be scaled."""
    if row.group is None:
        return row.per_target
    assert row.key is not None
    terms: Terms = asked[row.key].terms(at)
    return float(row.group.max() / terms.denominator.max())


def _lowered(row: Row, loss: Vector) -> Row:
    """The row that still holds when its activity is worse by `loss` x."""
    sign = -1.0 if row.sense is Sense.AT_LEAST else 1.0
    return replace(row, coefficients=row.coefficients + sign * loss)


def _budgeted(program: Program, index: int, d: Vector, budget: int) -> Program:
    """One row protected by columns z and q, one q for each line in doubt. Both are at most d, as x is at most 1."""
    lines = np.flatnonzero(d)
    width, words = len(program.columns), program.rows[index].words
    names = [f"doubt of {words}", *(f"doubt of {words}: {program.columns[j]}" for j in lines)]
    most = np.concatenate([[d.max()], d[lines]])
    wide = program.widened(names, np.zeros(len(names)), np.zeros(len(names)), most)
    loss = np.zeros(width + len(names))
    loss[width], loss[width + 1 :] = budget, 1.0
    rows = [_lowered(row, loss) if i == index else row for i, row in enumerate(wide.rows)]
    for k, j in enumerate(lines):
        covered = np.zeros(width + len(names))
        covered[[width, width + 1 + k]], covered[j] = 1.0, -d[j]
        rows.append(Row(names[1 + k], covered, Sense.AT_LEAST, 0.0))
    return wide.with_rows(rows)
