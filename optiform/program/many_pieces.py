"""A limit that any one of many pieces keeps: parted by the pieces that still may be the one, not piece by piece.

Of pieces p_1 ... p_K over one group g, with coefficients p_kj,

    max_k p_k x >= t g x   only where   sum_j (max_k p_kj) x_j >= t g x,

which is straight, and for one piece is the piece. So a set of pieces has a row that every formula keeps which keeps any
of them. A set is parted in two by one column, those with more of it and those with less, so that the answer at hand has
least left in the larger half: what is solid of nine waxes has 232 pieces, of which an answer with two waxes in it needs
four. At most is the same with the signs turned. (The row is the term-wise bound of a maximum of straight functions;
Nemhauser and Wolsey, Integer and Combinatorial Optimization, 1988, section II.1, on relaxing unions.)
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from optiform.program.build import Branch, Demand, constant
from optiform.program.linear import Vector
from optiform.program.pieces import limit_of
from optiform.program.tree import SATISFIED, Disjunction, OneOf, Settled
from optiform.properties.base import Terms

MANY = 8  # pieces: fewer are looked at one by one, in fewer programs than halves of them take

Change = Callable[[Demand], Demand]


def any_of(branches: tuple[Branch, ...]) -> Disjunction:
    """Any one of several sets of demands, as the disjunction that is parted soonest."""
    pieces = tuple(branch[0] for branch in branches if len(branch) == 1 and not branch[0].bends)
    if len(branches) < MANY or len(pieces) < len(branches) or len(set(map(limit_of, pieces))) > 1:
        return OneOf(branches)
    groups = [piece.terms(np.zeros(0)).denominator for piece in pieces]
    return AnyPiece(Pieces(pieces)) if all(np.array_equal(group, groups[0]) for group in groups) else OneOf(branches)


@dataclass(frozen=True, eq=False)
class Pieces:
    """Pieces of one end of one limit, over one group."""

    demands: tuple[Demand, ...]
    _halves: dict[int, tuple["Pieces", "Pieces"]] = field(default_factory=dict)

    @property
    def _sign(self) -> float:
        return 1.0 if self.demands[0].side == "low" else -1.0

    @cached_property
    def _terms(self) -> tuple[Terms, ...]:
        return tuple(demand.terms(np.zeros(0)) for demand in self.demands)

    @cached_property
    def _signed(self) -> Vector:
        """The numerators with which more is nearer to keeping the limit. Shape (pieces, columns)."""
        return self._sign * np.array([terms.numerator for terms in self._terms])

    @cached_property
    def loosest(self) -> Demand:
        """What every formula keeps that keeps any of the pieces; the piece itself where there is one."""
        if len(self.demands) == 1:
            return self.demands[0]
        numerator = self._sign * self._signed.max(axis=0)
        return replace(self.demands[0], terms=constant(Terms.exact(numerator, self._terms[0].denominator)))

    def nearest(self, x: Vector) -> int:
        """The number of the piece that x keeps with most room, or misses least."""
        return int(np.argmax(self._signed @ x))

    def halves(self, x: Vector) -> tuple["Pieces", "Pieces"]:
        """The pieces with more of one column and those with less: of that which leaves x least in the larger half."""
        spread = np.ptp(self._signed, axis=0)
        used = np.flatnonzero((x > 0) & (spread > 0)) if len(x) else np.zeros(0, dtype=int)
        columns = used if len(used) else np.flatnonzero(spread > 0)
        at = x if len(used) else np.ones(len(spread))
        return self._parted(int(min(columns, key=lambda j: self._left(int(j), at))))

    def _more(self, column: int) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        of = self._signed[:, column]
        return np.asarray(of > (of.min() + of.max()) / 2)

    def _left(self, column: int, x: Vector) -> tuple[float, float]:
        """What the looser half, and then the other, still allows x."""
        more = self._more(column)
        allowed = sorted(float(self._signed[half].max(axis=0) @ x) for half in (more, ~more))
        return allowed[1], allowed[0]

    def _parted(self, column: int) -> tuple["Pieces", "Pieces"]:
        if column not in self._halves:
            more = self._more(column)
            first, second = (tuple(self.demands[k] for k in np.flatnonzero(half)) for half in (more, ~more))
            self._halves[column] = Pieces(first), Pieces(second)
        return self._halves[column]


@dataclass(frozen=True, eq=False)
class AnyPiece:
    """Any one of these pieces is enough, each of them changed in one way, such as with its target moved."""

    of: Pieces
    change: Change = lambda demand: demand
    missed: bool = False  # before an answer misses it, nothing is asked for it
    settled: bool = False
    continuous: bool = False
    case: object = None

    @property
    def words(self) -> str:
        """The limit."""
        return self.of.demands[0].words

    @property
    def disjuncts(self) -> tuple[Branch, ...]:
        """Each piece."""
        return tuple((self.change(demand),) for demand in self.of.demands)

    def relaxation(self) -> Branch:
        """What keeps any of them keeps, once it was missed."""
        return (self.change(self.of.loosest),) if self.missed else ()

    def restriction(self, x: Vector, part: float | None = None) -> Branch:  # noqa: ARG002
        """The piece that x keeps with most room, or misses least."""
        return (self._nearest(x),)

    def _nearest(self, x: Vector) -> Demand:
        return self.change(self.of.demands[self.of.nearest(x)])

    def miss(self, x: Vector) -> float:
        """That of the best piece."""
        return self._nearest(x).miss(x)

    def score(self, x: Vector, prices: Mapping[str, float]) -> float:  # noqa: ARG002
        """Its miss."""
        return self.miss(x)

    def split(self, x: Vector, best: Vector | None = None) -> Sequence[Disjunction]:  # noqa: ARG002
        """What keeps any of them, if x does not; else two sets of the pieces."""
        if not self.missed and len(x) and self.change(self.of.loosest).miss(x) > SATISFIED:
            return [replace(self, missed=True)]
        return [
            Settled((self.change(half.demands[0]),)) if len(half.demands) == 1 else replace(self, of=half, missed=True)
            for half in self.of.halves(x)
        ]
