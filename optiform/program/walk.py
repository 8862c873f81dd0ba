"""From basis to basis along the target of one row: the parametric simplex method, for a row that moves as a whole.

Along one basis the optimum is known in closed form (the text of prices.py). At its end either a basic variable meets
its bound, and a dual simplex step says what enters instead or that nothing fits beyond; or, for a ratio, a reduced
cost comes to zero, and a primal step says what leaves. Gass and Saaty (1955) for right-hand sides; here the
coefficients of the row may move too. Where several limits meet, steps of length zero come between. Should they go
round in a circle, the solver names a basis just beyond. It is also asked where a ratio has come to its end: there may
be formulas beyond with nothing of the group in them, and of those a limit on the ratio asks nothing.
"""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from optiform.program.linear import Program, Vector
from optiform.program.live import Live, inverse_of
from optiform.program.prices import Segment
from optiform.program.solver import SolverFailed
from optiform.program.tolerances import NUDGE, TINY
from optiform.reading.frozen import frozen

ROOM = 1e-11  # distance to a bound that is rounding
SIGN = 1e-10  # reduced cost that is rounding
PIVOT = 1e-9  # smallest number to divide by
WITHIN = 1e-8  # of a bound: a breach that the solver may call rounding at such a corner
IDLE = 200  # steps of length zero taken for a circle
HOPS = 100  # corners at which the solver may have to help in one walk


@frozen
class Piece:
    """The optimum while one basis lasts, between two targets.

    Attributes:
        segment: in closed form; its changes count from the target of the program's row.
        start, end: targets, start <= end.
        duals: row duals at both ends of the segment. Both prove optimality there; in between point and reduced costs
            run straight from one to the other, so the two ends prove the whole piece.
    """

    segment: Segment
    start: float
    end: float
    duals: tuple[Vector, Vector]


def moved_program(program: Program, row: int, change: float) -> Program:
    """The program with the target of one row moved by `change`."""
    rows = list(program.rows)
    rows[row] = rows[row].moved(change)
    return program.with_rows(rows)


class _Event(NamedTuple):
    """What ends a basis, s from its origin: the basic variable in `place` meets a bound, or `column` gets free."""

    s: float
    place: int = -1
    column: int = -1


@frozen
class _Here:
    """One basis at one place of the target; s counts from here in the direction of the walk.

    Attributes:
        inverse: of the basic columns. Shape (rows, rows).
        z, reduced: the point and the reduced costs. Shape (columns + rows,).
        y: row duals. Shape (rows,).
        step: movement of z per s. Shape (columns + rows,).
        rate: movement of the basic variables against their bounds, per s. Shape (rows,).
        turn: movement of the reduced costs per s; `lift` that of the row duals.
        slope: movement of the objective per s.
        bend: d = s / (1 + s bend).
    """

    inverse: Vector
    z: Vector
    reduced: Vector
    y: Vector
    step: Vector
    rate: Vector
    turn: Vector
    lift: Vector
    slope: float
    bend: float

    def change(self, s: float) -> float:
        """The change of the target, in the direction of the walk, that belongs to s."""
        return s / (1 + s * self.bend)

    def s(self, change: float) -> float:
        """The s that belongs to a change of the target; infinite where the group has run out before it."""
        stretch = 1 - change * self.bend
        return change / stretch if stretch > TINY else np.inf


class Walk:
    """One walk along a row's target. Changes count from the target the program's row has."""

    def __init__(self, program: Program, row: int, first: float, last: float) -> None:
        """Solve the program at the change `first`; the walk goes from there to the change `last`.

        Raises:
            ValueError: when nothing fits at the first.
        """
        self._program, self._moving, self._row = program, program.rows[row], row
        self._width, self._own = len(program.columns), len(program.columns) + row
        self._sign = 1.0 if last >= first else -1.0
        self._live = Live(moved_program(program, row, first))
        self._first = self._at = self._since = self._proven = first
        self._last, self._hops = last, 0
        self._group = np.zeros(self._width + len(program.rows))
        if self._moving.group is not None:
            self._group[: self._width] = self._moving.group
        self._take()

    def pieces(self) -> Iterator[Piece]:
        """Every piece up to the last target, or up to where nothing fits beyond. Always at least one.

        Raises:
            SolverFailed: when the walk cannot get past a corner.
        """
        any_piece, idle, going = False, 0, True
        while going:
            here = self._here()
            event = self._event(here)
            goal = (self._last - self._at) * self._sign
            done = event.s >= here.s(goal)
            change = self._last if done else self._at + self._sign * here.change(event.s)
            if abs(change - self._since) > TINY * (1 + abs(self._moving.target)):
                yield self._piece(here, change)
                any_piece, idle = True, 0
                self._since = self._proven = change
            idle += 1
            going = not done and (self._pass(here, event, change) if idle < IDLE else self._hop(change))
        if not any_piece:  # it fits at the first target only
            yield self._piece(here, self._first)

    def _take(self) -> None:
        """Start from the solver's last basis."""
        basis = self._live.basis()
        self._matrix, self._basic, self._cost = basis.matrix, basis.basic.copy(), basis.cost
        self._low, self._high = basis.low, basis.high
        self._at_high = basis.at_high | ~np.isfinite(basis.low)
        self._open = basis.low < basis.high  # what may enter: not fixed, not basic, not the row itself
        self._open[self._basic] = False
        self._open[self._own] = False
        self._settle()

    def _settle(self) -> None:
        self._inverse = inverse_of(self._matrix, self._basic)

    def _here(self) -> _Here:
        inverse, basic = self._inverse, self._basic
        z = np.where(self._at_high, self._high, self._low)
        z[basic] = 0.0
        z[basic] = -inverse @ (self._matrix @ z)
        gone = np.flatnonzero(np.abs(z - self._low)[: self._width] < ROOM)
        z[gone] = self._low[gone]  # so that an empty group is empty, and not rounding
        y = self._cost[basic] @ inverse
        reduced = self._cost - y @ self._matrix
        reduced[basic] = 0.0
        size = float(self._group @ z) + self._moving.per_target
        step, turn, rate, lift = np.zeros_like(z), np.zeros_like(z), np.zeros_like(y), np.zeros_like(y)
        if self._own in basic or abs(size) <= TINY:
            # It does not bind, so only its own distance moves; or its group is empty and it asks nothing any more.
            rate[basic == self._own] = -self._sign * size
            return _Here(inverse, z, reduced, y, step, rate, turn, lift, 0.0, 0.0)
        w = inverse[:, self._row]
        rate = self._sign * size * w
        step[basic] = rate
        if self._moving.group is not None:
            along = self._group[basic] @ inverse
            lift = self._sign * y[self._row] * along
            turn = self._sign * y[self._row] * self._group - lift @ self._matrix
        bend = self._sign * float(self._group[basic] @ w)
        return _Here(inverse, z, reduced, y, step, rate, turn, lift, float(self._cost[basic] @ rate), bend)

    def _event(self, here: _Here) -> _Event:
        """The first thing that ends this basis; at infinity if nothing does."""
        s, place = self._blocked(here.z[self._basic], here.rate)
        if self._moving.group is None:
            return _Event(s, place)
        towards = np.where(self._at_high, here.turn, -here.turn)  # how fast the reduced cost loses its sign
        among = np.flatnonzero(self._open & (towards > TINY))
        if not len(among):
            return _Event(s, place)
        ends = np.maximum(np.where(self._at_high, -here.reduced, here.reduced)[among], 0.0) / towards[among]
        first = int(np.argmin(ends))
        return _Event(float(ends[first]), column=int(among[first])) if ends[first] < s else _Event(s, place)

    def _blocked(self, at: Vector, rate: Vector) -> tuple[float, int]:
        """How far the basic variables can move at these rates, and which one is in the way.

        Of those in the way within rounding the fastest, because it is the one to divide by (Harris 1973).
        """
        among = np.flatnonzero(np.abs(rate) > TINY)
        room = np.where(rate > 0, self._high[self._basic] - at, at - self._low[self._basic])[among]
        speed = np.abs(rate[among])
        ends = np.maximum(room, 0.0) / speed
        if not np.isfinite(ends).any():
            return np.inf, -1
        near = ends <= float(((np.maximum(room, 0.0) + ROOM) / speed).min())
        chosen = int(np.argmax(np.where(near, speed, -1.0)))
        return float(ends[chosen]), int(among[chosen])

    def _piece(self, here: _Here, change: float) -> Piece:
        """The piece from where the last one ended to `change`."""
        sign, target = self._sign, self._moving.target
        ends, span = sorted((self._proven, change)), sorted((self._since, change))
        duals = [here.y + here.s((end - self._at) * sign) * here.lift for end in ends]
        segment = Segment(
            origin=self._at,
            start=ends[0],
            end=ends[1],
            objective=float(self._cost @ here.z),
            slope=sign * here.slope,
            x=here.z[: self._width],
            step=sign * here.step[: self._width],
            bend=sign * here.bend,
        )
        return Piece(segment, target + span[0], target + span[1], (duals[0], duals[1]))

    def _pass(self, here: _Here, event: _Event, change: float) -> bool:
        """Go to the end of this basis and change to the next; False where nothing fits beyond."""
        reduced, z = here.reduced + event.s * here.turn, here.z + event.s * here.step
        self._go(change)
        if event.column < 0:
            up = here.rate[event.place] > 0
            column = self._entering(self._inverse[event.place] @ self._matrix, reduced, up)
            if column < 0:
                return self._moving.group is not None and self._hop(change)
            return self._exchange(event.place, column, up)
        down = -1.0 if self._at_high[event.column] else 1.0
        rate = -down * (self._inverse @ self._matrix[:, event.column])
        s, place = self._blocked(z[self._basic], rate)
        if s > self._high[event.column] - self._low[event.column]:
            self._at_high[event.column] ^= True
            return True
        return self._exchange(place, event.column, rate[place] > 0)

    def _go(self, change: float) -> None:
        moved = self._moving.moved(change)
        self._at = change
        if moved.group is not None:
            self._matrix[self._row, : self._width] = moved.coefficients
            self._settle()
        self._low[self._own] = moved.rhs if np.isfinite(self._low[self._own]) else -np.inf
        self._high[self._own] = moved.rhs if np.isfinite(self._high[self._own]) else np.inf

    def _entering(self, alpha: Vector, reduced: Vector, up: bool) -> int:
        """What enters for a variable that would go past its upper (or else lower) bound; -1 if nothing can."""
        useful = np.where(self._at_high == up, -alpha, alpha)
        among = np.flatnonzero(self._open & (useful > PIVOT))
        if not len(among):
            return -1
        worth, size = np.abs(reduced[among]), useful[among]
        near = worth / size <= float(((worth + SIGN) / size).min())
        return int(among[np.argmax(np.where(near, size, -1.0))])

    def _exchange(self, place: int, column: int, up: bool) -> bool:
        leaving = int(self._basic[place])
        self._basic[place] = column
        self._at_high[leaving] = up
        self._open[leaving] = leaving != self._own and bool(self._low[leaving] < self._high[leaving])
        self._open[column] = False
        self._settle()
        return True

    def _hop(self, change: float) -> bool:
        """Let the solver name a basis just beyond; False where nothing fits there.

        Raises:
            SolverFailed: when the walk does not get on in spite of its help.
            NotCertified: when what it says does not check.
        """
        self._hops += 1
        if self._hops > HOPS:
            raise SolverFailed(f"the trade-off of {self._moving.words} does not get on")
        nudge = NUDGE * (1 + abs(self._moving.target + change))
        beyond = change + self._sign * min(nudge, abs(self._last - change))
        self._live.move(self._row, beyond - self._first)
        if not self._live.solve():
            return False
        self._at = self._proven = beyond
        self._take()
        z = self._here().z  # recomputed: the solver may have called a breach rounding
        return bool((np.maximum(self._low - z, z - self._high) <= WITHIN * (1 + np.abs(z))).all())
