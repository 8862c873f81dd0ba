"""A limit of several pieces as one row, so that it has one target to move, one price and one range.

A property that is the largest of several straight ones is at most U where all of them are. With a helper column v for
its value, over the group g that all its pieces share,

    p_1 x - v <= 0,   p_2 x - v <= 0, ...,   v - U g x <= 0

says the same, and only the last row knows the target. At least is the same with the signs turned.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from optiform.program.build import Demand
from optiform.program.linear import Program, Row, Vector


def joined(program: Program, asked: Sequence[Demand]) -> Program:
    """The program with the rows of every limit of several pieces made one; the rest of it as it was.

    A joined limit keeps the key of its first piece. Its helper column stands behind the program's own.

    Args:
        program: with rows whose keys are places in `asked`.
        asked: the demands.
    """
    limits = _several(program, asked)
    return _joined(program, asked, limits) if limits else program


def same_limit(one: Demand, other: Demand) -> bool:
    """Whether two demands are pieces of one side of one limit, in whatever way it is kept."""
    return limit_of(one) == limit_of(other)


def limit_of(demand: Demand) -> tuple[str, str, str, float]:
    """What the pieces of one side of one limit have in common."""
    return demand.kind, demand.name, demand.side, demand.target


def _several(program: Program, asked: Sequence[Demand]) -> list[list[int]]:
    """The row numbers of each limit that has more than one row, all over one group."""
    limits: dict[tuple[str, str, str, float], list[int]] = {}
    for i, row in enumerate(program.rows):
        if row.key is not None and _plain(row, asked[row.key], row.key):
            limits.setdefault(limit_of(asked[row.key]), []).append(i)
    return [rows for rows in limits.values() if len(rows) > 1]


def _plain(row: Row, demand: Demand, key: int) -> bool:
    """Whether a row is that of a straight limit as it stands, not one that was reshaped since (robust.py)."""
    if demand.kind != "limit" or demand.bends:
        return False
    own = demand.row(np.zeros(0), key)
    return own is row or bool(np.array_equal(own.coefficients, row.coefficients[: len(own.coefficients)]))


def _joined(program: Program, asked: Sequence[Demand], limits: Sequence[Sequence[int]]) -> Program:
    first = [program.rows[rows[0]] for rows in limits]
    terms = [
        [asked[key].terms(np.zeros(0)) for i in rows if (key := program.rows[i].key) is not None] for rows in limits
    ]
    most = np.array([1.0 + max(float(np.abs(piece.numerator).max()) for piece in pieces) for pieces in terms])
    wide = program.widened([f"value of {row.words}" for row in first], np.zeros(len(most)), -most, most)
    rows, width = list(wide.rows), len(wide.columns)
    for place, (limit, pieces, row) in enumerate(zip(limits, terms, first, strict=True), len(program.columns)):
        value = np.zeros(width)
        value[place] = 1.0
        for i, piece in zip(limit, pieces, strict=True):
            rows[i] = Row(f"a piece of {row.words}", _padded(piece.numerator, width) - value, row.sense, 0.0)
        if row.group is None:
            rows.append(replace(row, coefficients=value, rhs=row.target, per_target=1.0))
        else:
            group = _padded(pieces[0].denominator, width)
            rows.append(replace(row, coefficients=value - row.target * group, group=group))
    return wide.with_rows(rows)


def _padded(vector: Vector, width: int) -> Vector:
    return np.concatenate([vector, np.zeros(width - len(vector))])
