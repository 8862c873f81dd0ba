"""A brief's goal as the objective of a program: what is minimised, with helper columns and rows where it needs them."""

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.goal import Goal, Lowest, Nearest, NearestUsual
from optiform.program.build import frame
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.properties.base import Bent, Mix, Ratio, Terms
from optiform.reading.frozen import frozen


def _nothing(mix: Mix) -> Terms:
    return Terms.exact(np.zeros(len(mix.ingredients)))


#: A goal that every formula meets alike.
NOTHING = Ratio("nothing", "", "whole", _nothing)


@frozen
class Objective:
    """The goal as terms to minimise, with helper columns and rows where it needs them."""

    brief: Brief
    goal: Goal

    @staticmethod
    def of(brief: Brief) -> "Objective":
        """The brief's own goal."""
        return Objective(brief, brief.goal)

    def base(self, x: Vector) -> Program:
        """The program without demands that holds near x. Shape of x: (candidates,)."""
        return self._everywhere if self.fixed else self._near(x)

    @cached_property
    def _everywhere(self) -> Program:
        """The frame of a goal that is the same everywhere."""
        return self._near(np.zeros(len(self.brief.mix.ingredients)))

    def _near(self, x: Vector) -> Program:
        if isinstance(self.goal, Nearest):
            return _nearest(self.brief, self.goal)
        if isinstance(self.goal, NearestUsual):
            return _nearest_usual(self.brief, self.goal)
        wanted = self.goal.wanted
        if isinstance(self.goal, Lowest) and isinstance(wanted, Bent) and wanted.pieces:
            return _least_of_largest(self.brief, [piece(x) for piece in wanted.pieces(self.brief.mix)])
        terms = self.terms(x)
        ratio = terms.at(x) or 0.0
        at = 0.0 if terms.whole else ratio
        return frame(self.brief, self.goal.sign * (terms.numerator - at * terms.denominator))

    def terms(self, x: Vector) -> Terms:
        """Those of what is wanted near x."""
        assert self.goal.wanted is not None
        return self._straight if self.linear else self.goal.wanted.terms(self.brief.mix, x)

    @cached_property
    def _straight(self) -> Terms:
        """The terms of a goal that does not bend."""
        assert self.goal.wanted is not None
        return self.goal.wanted.everywhere(self.brief.mix)

    def scale(self, x: Vector) -> float:
        """What carries the program's objective near x to the goal's unit: the size of the group a ratio is over."""
        return 1.0 if self.goal.wanted is None else float(self.terms(x).denominator @ x)

    def value(self, x: Vector) -> float:
        """The goal's value in its unit; no number where it has none."""
        if isinstance(self.goal, Nearest | NearestUsual):
            return self.goal.value_at(self.brief.mix, x)
        value = self.terms(x).at(x)
        return float("nan") if value is None else value

    def free(self) -> "Objective":
        """No goal but to fit, where the goal bends; else the goal itself."""
        return self if self.linear else Objective(self.brief, Lowest(NOTHING))

    @property
    def linear(self) -> bool:
        """Whether the goal does not bend: a ratio is as good as linear, its best value is the best of all."""
        return self.goal.wanted is None or not self.goal.wanted.bends

    @cached_property
    def fixed(self) -> bool:
        """Whether the objective is the same linear function everywhere."""
        return self.goal.wanted is None or (self.linear and self._straight.whole)


def _nearest(brief: Brief, goal: Nearest) -> Program:
    """Least sum of |x_i - r_i| in percentage points, halved: the points that change hands. Two helpers per line."""
    count = len(brief.mix.ingredients)
    wanted = brief.mix.vector(goal.formula)
    base = frame(brief, np.concatenate([np.zeros(count), np.full(2 * count, 50.0)]))
    rows: list[Row] = list(base.rows)
    for j in range(count):
        coefficients = np.zeros(3 * count)
        coefficients[[j, count + j, 2 * count + j]] = 1.0, -1.0, 1.0
        rows.append(Row(f"change of {base.columns[j]}", coefficients, Sense.EQUAL, float(wanted[j])))
    return base.with_rows(rows)


def _nearest_usual(brief: Brief, goal: NearestUsual) -> Program:
    """Least sum of |a_k x|, the half ranges off each aim k, and of the ranks. Two helpers per aim.

    A helper is a share of the most that any formula can be off, so that all of them lie between 0 and 1.
    """
    count, aims = len(brief.mix.ingredients), [aim.away(brief.mix) for aim in goal.aims]
    most = [float(np.abs(away).max(initial=0.0)) or 1.0 for away in aims]
    base = frame(brief, np.concatenate([goal.ranked(brief.mix), np.repeat(most, 2)]))
    rows: list[Row] = list(base.rows)
    for k, (aim, away) in enumerate(zip(goal.aims, aims, strict=True)):
        coefficients = np.zeros(count + 2 * len(aims))
        coefficients[:count] = away / most[k]
        coefficients[[count + 2 * k, count + 2 * k + 1]] = -1.0, 1.0
        rows.append(Row(f"off the usual {aim.wanted.name}", coefficients, Sense.EQUAL, 0.0))
    return base.with_rows(rows)


def _least_of_largest(brief: Brief, pieces: Sequence[Terms]) -> Program:
    """Least t with p_k x <= t for every piece; a helper has t as a share of the most that any formula can have."""
    planes = np.array([piece.numerator for piece in pieces])
    most = float(planes.max()) or 1.0
    base = frame(brief, np.append(np.zeros(planes.shape[1]), most))
    rows = (
        Row(f"piece {k} of {brief.goal.words}", np.append(plane / most, -1.0), Sense.AT_MOST, 0.0)
        for k, plane in enumerate(planes)
    )
    return base.with_rows([*base.rows, *rows])
