"""Whole steps of a scale in place of shares, so that they sum to the whole exactly."""

from collections.abc import Sequence
from math import ceil, floor, inf

EXACT = 1e-9  # steps: what floating point leaves of a whole number


class NoRoom(ValueError):
    """Every line is at the most or the least it may have, and steps are left over or lacking."""


def apportion(
    shares: Sequence[float], total: int, most: Sequence[float] | None = None, least: Sequence[float] | None = None
) -> tuple[int, ...]:
    """`total` steps dealt out in proportion to `shares` by largest remainder (the method of Hamilton).

    Every line gets the whole part of its quota; the steps that are left go one each to the largest remainders. `most`
    caps a line, in steps; what a capped line does not take goes to the next. `least` is what a line has in any case,
    up to its cap; where that takes more than there is, the lines that were dealt most above their quota give it.

    Raises:
        NoRoom: when no line can take a step that is left over, or give one that is lacking.

    >>> apportion([0.335, 0.333, 0.332], 10)
    (4, 3, 3)
    >>> apportion([0.335, 0.333, 0.332], 10, least=[0, 0, 3.1])
    (3, 3, 4)
    """
    quotas = [total * share / sum(shares) for share in shares]
    rooms = [inf] * len(quotas) if most is None else [whole(cap) for cap in most]
    floors = [min(ceil(low - EXACT), room) for low, room in zip(least or [0.0] * len(quotas), rooms, strict=True)]
    steps = [max(min(whole(quota), room), low) for quota, room, low in zip(quotas, rooms, floors, strict=True)]
    for _ in range(int(sum(steps)) - total):
        giving = [i for i, low in enumerate(floors) if steps[i] > max(low, 0)]
        if not giving:
            raise NoRoom
        steps[max(giving, key=lambda i: steps[i] - quotas[i])] -= 1
    for _ in range(total - int(sum(steps))):
        open_lines = [i for i, room in enumerate(rooms) if steps[i] + 1 <= room]
        if not open_lines:
            raise NoRoom
        steps[max(open_lines, key=lambda i: quotas[i] - steps[i])] += 1
    return tuple(int(step) for step in steps)


def whole(steps: float) -> float:
    """The whole part, where what floating point left of a whole number counts as that number."""
    return steps if steps == inf else floor(steps + EXACT)
