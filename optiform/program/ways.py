"""What can be kept in several ways, or has many pieces, asked of a program only as far as its answers have missed it.

Of a brief's thirty such limits and rules an answer hangs on a few; and of a limit with hundreds of ways, such as to be
firm by any of nine waxes, on a few of these. So nothing is asked of a limit before an answer misses it, and then one of
some sets of its ways: of each set the row that every formula keeps which keeps any of it (many_pieces.py). Sets that an
answer still passes are parted until it passes none, so that a limit of two hundred ways takes some ten switches. Of a
limit that all of many pieces have to keep, a piece is asked once an answer misses it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from optiform.program.build import Branch, Demand, Requirements
from optiform.program.linear import Vector
from optiform.program.many_pieces import MANY, AnyPiece, Pieces, any_of
from optiform.program.pieces import limit_of
from optiform.program.tree import SATISFIED

Numbers = tuple[int, ...]
Limit = tuple[str, int]  #: the words of its first way, which rules may share, and how many ways it has


@dataclass
class Ways:
    """What is asked so far, of limits of whatever is needed then: numbers of ways mean the same in all of it.

    Attributes:
        sets: of one that can be kept in several ways, the sets of ways that are told apart, by the ways' numbers.
        pieces: by its words, of one with many pieces that are all to be kept, the numbers of those that were missed.
    """

    sets: dict[Limit, tuple[Numbers, ...]] = field(default_factory=dict)
    pieces: dict[str, Numbers] = field(default_factory=dict)

    def few(self, needed: Requirements) -> Requirements:
        """What is needed, without pieces that were not missed."""
        return replace(needed, limits=tuple(map(self._few, needed.limits)))

    def _few(self, ways: tuple[Branch, ...]) -> tuple[Branch, ...]:
        if not _many(ways):
            return ways
        return (tuple(ways[0][number] for number in self.pieces.get(ways[0][0].words, ())),)

    def asked(self, needed: Requirements) -> Mapping[int, Sequence[Branch]]:
        """What is asked of each of the limits, by its place: any one of these."""
        known = ((place, self.sets.get(_limit(needed, place))) for place in needed.disjunctions)
        return {place: [_branch(needed.limits[place], of) for of in sets] for place, sets in known if sets}

    def part(self, needed: Requirements, x: Vector) -> bool:
        """Ask what x misses, and part sets of ways that it passes; whether anything more is asked by that."""
        before = dict(self.sets), dict(self.pieces)
        for place in needed.disjunctions:
            if needed.missed(place, x) > SATISFIED:
                ways, limit = needed.limits[place], _limit(needed, place)
                sets = self.sets.get(limit) or _first(ways)
                self.sets[limit] = tuple(part for of in sets for part in _parted(ways, of, x))
        for ways in filter(_many, needed.limits):
            self._ask_pieces(ways[0], x)
        return (self.sets, self.pieces) != before

    def _ask_pieces(self, all_of: Branch, x: Vector) -> None:
        """Ask of many pieces the one that x misses most, if it does."""
        misses = [demand.miss(x) for demand in all_of]
        worst, known = int(np.argmax(misses)), self.pieces.get(all_of[0].words, ())
        if misses[worst] > SATISFIED and worst not in known:
            self.pieces[all_of[0].words] = (*known, worst)


def _many(ways: tuple[Branch, ...]) -> bool:
    """Whether it is one way in which many pieces of one limit are to be kept."""
    if len(ways) != 1 or len(ways[0]) < MANY:
        return False
    return not any(demand.bends for demand in ways[0]) and len(set(map(limit_of, ways[0]))) == 1


def _limit(needed: Requirements, place: int) -> Limit:
    ways = needed.limits[place]
    return next(branch[0].words for branch in ways if branch), len(ways)


def _first(ways: tuple[Branch, ...]) -> tuple[Numbers, ...]:
    """All ways in one set where one row is kept by all that keep any of them; else each by itself."""
    every = range(len(ways))
    return (tuple(every),) if isinstance(any_of(ways), AnyPiece) else tuple((number,) for number in every)


def _branch(ways: tuple[Branch, ...], of: Numbers) -> Branch:
    return ways[of[0]] if len(of) == 1 else (Pieces(_demands(ways, of)).loosest,)


def _demands(ways: tuple[Branch, ...], of: Numbers) -> tuple[Demand, ...]:
    return tuple(ways[number][0] for number in of)


def _parted(ways: tuple[Branch, ...], of: Numbers, x: Vector) -> Iterator[Numbers]:
    """Sets of these ways that x passes none of but for single ones."""
    pieces = Pieces(_demands(ways, of)) if len(of) > 1 else None
    if pieces is None or not pieces.loosest.met(x):
        yield of
        return
    numbers = {id(demand): number for demand, number in zip(pieces.demands, of, strict=True)}
    for half in pieces.halves(x):
        yield from _parted(ways, tuple(numbers[id(demand)] for demand in half.demands), x)
