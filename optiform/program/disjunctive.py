"""A brief's demands as one program with whole columns: what can be kept in several ways, by a switch for each way.

    a x >= b - M (1 - u_k),   sum_k u_k >= 1,   u_k 0 or 1

for each row a x >= b of way k (Raman and Grossmann, Computers and Chemical Engineering 18:563, 1994). M is the most
that any point of the program's own bounds and balance misses the row by, so that a way not taken asks nothing.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from optiform.program.build import Branch, Requirements, program_at
from optiform.program.linear import Program, Row, Sense, Vector


def with_ways(
    frame: Program,
    needed: Requirements,
    at: Vector,
    bent: bool = True,
    asked: Mapping[int, Sequence[Branch]] | None = None,
) -> Program:
    """The program of a brief's fractions with every demand, and a switch for each way of what has several.

    Args:
        frame: the fractions, `build.frame`; perhaps with narrower bounds.
        needed: what is asked.
        at: where limits that bend are taken; shape (candidates,).
        bent: whether those are asked at all.
        asked: what is asked of what has several ways, by its place in `needed.limits`; all of it where none is said.
    """
    program = program_at(frame, needed.branch({}), at, bent)
    every = {place: needed.limits[place] for place in needed.disjunctions}
    for ways in (every if asked is None else asked).values():
        program = _with_either(program, frame, ways, at, bent) if len(ways) > 1 else _with(program, ways[0], at, bent)
    return program


def _with(program: Program, way: Branch, at: Vector, bent: bool) -> Program:
    """The program with the rows of the only way there is."""
    rows = (demand.row(at, -1) for demand in way if bent or not demand.bends)
    more = len(program.columns) - len(at)
    return program.with_rows([*program.rows, *(replace(row.widened(more), key=None) for row in rows)])


def _with_either(program: Program, frame: Program, ways: Sequence[Branch], at: Vector, bent: bool) -> Program:
    first, count = len(program.columns), len(ways)
    words = ways[0][0].words if ways[0] else "nothing more"
    names = [f"way {k + 1} of {words}" for k in range(count)]
    wide = program.widened(names, np.zeros(count), np.zeros(count), np.ones(count), whole=True)
    width, rows = len(wide.columns), list(wide.rows)
    for k, way in enumerate(ways):
        for row in (demand.row(at, -1) for demand in way if bent or not demand.bends):
            rows.append(_switched(row, frame, width, first + k))
    switches = dict.fromkeys(range(first, width), 1.0)
    return wide.with_rows([*rows, Row.of(f"some way of {words}", width, switches, Sense.AT_LEAST, 1.0)])


def _switched(row: Row, frame: Program, width: int, switch: int) -> Row:
    """The row, which asks nothing where its switch is 0."""
    sign = 1.0 if row.sense is Sense.AT_LEAST else -1.0
    least = _least(frame, sign * row.coefficients)
    coefficients = np.zeros(width)
    coefficients[: len(row.coefficients)] = row.coefficients
    most = max(0.0, sign * row.rhs - least)
    coefficients[switch] = -sign * most
    return Row(row.words, coefficients, row.sense, row.rhs - sign * most)


def _least(frame: Program, weights: Vector) -> float:
    """The least of a weighted sum over fractions between their bounds that sum to one."""
    low, high = frame.low[: len(weights)], frame.high[: len(weights)]
    order = np.argsort(weights, kind="stable")
    room = (high - low)[order]
    taken = np.clip(1.0 - float(low.sum()) - (np.cumsum(room) - room), 0.0, room)
    return float(weights @ low + weights[order] @ taken)
