"""Formulas ranked by what they are of: each does without something that every better one has.

After the best formula, of the ingredients S_1, the next is the best of all that lack at least one of S_1, and so on:

    x_j <= high_j u_j,   u_j 0 or 1,   sum_{j in S_k} u_j <= |S_k| - 1      for every formula k before

(no-good cuts: Balas and Jeroslow, SIAM Journal on Applied Mathematics 23:61, 1972). So the order is proven, and where
no more can be cut off there is no other.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from optiform.brief.brief import Brief
from optiform.design.answer import NoFormula
from optiform.design.design import Best, best
from optiform.design.fewer import closed_to_best
from optiform.ingredients.formula import Formula
from optiform.program.certificate import NotCertified
from optiform.program.linear import Program, Row, Sense
from optiform.program.solver import SolverName
from optiform.program.tolerances import UNUSED
from optiform.program.usual import requirements
from optiform.reading.answer import Ranked
from optiform.reading.faults import Unsettled
from optiform.reading.frozen import frozen

SAME = 1e-5  # relative: by how much a formula may be better than one before it, which is rounding


@frozen
class Unlike:
    """A formula of its own ingredients, what the goal is there, and how it differs in them from the best."""

    formula: Formula
    value: float
    without: tuple[str, ...]
    instead: tuple[str, ...]


@frozen
class Unlikes(Ranked[Unlike]):
    """The best formula and those that follow it, each of other ingredients.

    `all_there_are`: it is proven that none follows the last.
    """

    brief: Brief
    unit: str
    options: tuple[Unlike, ...]
    all_there_are: bool

    def ranked(self) -> tuple[Unlike, ...]:
        """The best first."""
        return self.options


def unlike(brief: Brief, count: int, solver: SolverName = "highs") -> Unlikes | NoFormula:
    """The best formula, and after it those that do without something of each before, to `count` of them.

    Raises:
        NotCertified: when a claim of a solver does not stand up to recomputation, or the order does not.
    """
    first = best(brief, solver)
    if isinstance(first, NoFormula):
        return first
    answers = [first]
    try:
        while len(answers) < count and (following := _next(brief, answers, solver)) is not None:
            answers.append(following)
    except Unsettled as unsettled:
        return NoFormula(brief, (), (), None, str(unsettled), decided=False)
    values = [brief.goal.sign * answer.value for answer in answers]
    if any(later < before - SAME * (1 + abs(before)) for before, later in pairwise(values)):
        raise NotCertified(f"formulas out of order: {', '.join(f'{value:.6g}' for value in values)}")
    return Unlikes(brief, brief.goal.unit, tuple(_compared(answers)), len(answers) < count)


def _next(brief: Brief, answers: Sequence[Best], solver: SolverName) -> Best | None:
    """The best of all formulas that lack something of each before; None where there is none."""
    cuts = [_columns(brief, answer) for answer in answers]
    free = replace(brief, most_ingredients=None)
    closed = closed_to_best(
        free, requirements(free), lambda program, count: without_all(program, count, cuts), solver,
        most=brief.most_ingredients,
    )  # fmt: skip
    answer = None if closed is None else best(closed, solver, why=False)
    return answer if isinstance(answer, Best) else None


def _columns(brief: Brief, answer: Best) -> list[int]:
    x = brief.mix.vector(answer.formula)
    return [int(j) for j in np.flatnonzero(x > UNUSED)]


def without_all(program: Program, count: int, sets: Sequence[Sequence[int]]) -> Program:
    """The program, its used-or-not columns being the last `count`, with no point that uses all of any set."""
    width = len(program.columns)
    rows = [
        Row.of("not all of these", width, {width - count + j: 1.0 for j in columns}, Sense.AT_MOST, len(columns) - 1.0)
        for columns in sets
    ]
    return program.with_rows([*program.rows, *rows])


def _compared(answers: Sequence[Best]) -> Iterator[Unlike]:
    names = [line.ingredient.name for line in answers[0].formula.lines]
    for answer in answers:
        own = [line.ingredient.name for line in answer.formula.lines]
        without = tuple(name for name in names if name not in own)
        yield Unlike(answer.formula, answer.value, without, tuple(name for name in own if name not in names))
