"""The lower envelope of exact trade-off curves: the best of several branches at each target, and where they cross."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np

from optiform.program.crossings import below, crossings
from optiform.program.curve import Curve
from optiform.program.linear import Vector
from optiform.program.tolerances import SAME_LINE
from optiform.program.walk import Piece
from optiform.reading.frozen import frozen

Part = tuple[Piece | None, Piece | None, float, float]  # of either curve, between two targets


@frozen
class Envelope:
    """A curve whose pieces may be of several branches, and the worst residual of their proofs.

    All branches share the limit that moves, so that the pieces of all count from the same first target.
    """

    curve: Curve
    residual: float

    def promise(self, best: "Envelope | None") -> Vector | None:
        """Its point where it lies below another by most, or has a formula and the other none; None where nowhere."""
        most, place = 0.0, None
        for own, rival, start, end in self._parts(best):
            change = (start + end) / 2 - self.curve.first
            if own is None or (rival is not None and not below(rival.segment, own.segment, change)):
                continue
            level = np.inf if rival is None else rival.segment.objective_at(change)
            gain = level - own.segment.objective_at(change)
            if gain > most:
                most, place = gain, own.segment.point_at(change)
        return place

    def lower(self, other: "Envelope") -> "Envelope":
        """The lower of two at each target, itself where they are even; where one has no formula, the other."""
        pieces = []
        for own, rival, start, end in self._parts(other):
            change = (start + end) / 2 - self.curve.first
            better = own is None or (rival is not None and below(own.segment, rival.segment, change))
            chosen = rival if better else own
            if chosen is not None:
                pieces.append(replace(chosen, start=start, end=end))
        return Envelope(replace(self.curve, pieces=tuple(pieces)), max(self.residual, other.residual))

    def _parts(self, other: "Envelope | None") -> Iterator[Part]:
        """Both curves between neighbouring targets where neither ends or bends and they do not cross."""
        mine, theirs = self.curve.pieces, other.curve.pieces if other else ()
        ends = sorted({end for piece in (*mine, *theirs) for end in (piece.start, piece.end)})
        for start, end in pairwise(ends) if len(ends) > 1 else [(end, end) for end in ends]:
            own, rival = _over(mine, start, end), _over(theirs, start, end)
            first, stops = self.curve.first, [start, end]
            if own is not None and rival is not None:
                span = start - first, end - first
                crossed = {*crossings(own.segment, rival.segment, *span), *crossings(rival.segment, own.segment, *span)}
                inside = SAME_LINE * (1 + abs(end))  # a crossing at an end is the end, whatever its last digit
                stops[1:1] = sorted(x for change in crossed if start + inside < (x := first + change) < end - inside)
            yield from ((own, rival, low, high) for low, high in pairwise(stops))


def _over(pieces: tuple[Piece, ...], start: float, end: float) -> Piece | None:
    """The piece that covers all between two targets."""
    return next((piece for piece in pieces if piece.start <= start and end <= piece.end), None)
