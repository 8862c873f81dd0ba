"""Whole steps of a scale in place of shares, so that they sum to the whole exactly."""

from collections.abc import Sequence
from math import floor, inf

EXACT = 1e-9  # steps: what floating point leaves of a whole number


class NoRoom(ValueError):
    """Every line is at the most it may have, and steps are left over."""


def apportion(shares: Sequence[float], total: int, most: Sequence[float] | None = None) -> tuple[int, ...]:
    """`total` steps dealt out in proportion to `shares` by largest remainder (the method of Hamilton).

    Every line gets the whole part of its quota; the steps that are left go one each to the largest remainders. `most`
    caps a line, in steps; what a capped line does not take goes to the next.

    Raises:
        NoRoom: when caps leave no line that can take a step.

    >>> apportion([0.335, 0.333, 0.332], 10)
    (4, 3, 3)
    """
    quotas = [total * share / sum(shares) for share in shares]
    rooms = [inf] * len(quotas) if most is None else [whole(cap) for cap in most]
    steps = [min(whole(quota), room) for quota, room in zip(quotas, rooms, strict=True)]
    for _ in range(total - int(sum(steps))):
        open_lines = [i for i, room in enumerate(rooms) if steps[i] + 1 <= room]
        if not open_lines:
            raise NoRoom
        steps[max(open_lines, key=lambda i: quotas[i] - steps[i])] += 1
    return tuple(int(step) for step in steps)


def whole(steps: float) -> float:
    """The whole part, where what floating point left of a whole number counts as that number."""
    return steps if steps == inf else floor(steps + EXACT)
