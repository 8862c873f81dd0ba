"""How long a mass takes to cool, from one observed point.

Newton's law of cooling: T(t) = T_room + (T_start - T_room) exp(-k t), with T in degC, t in min and k in 1/min.
It holds for one pot, one batch size and one room: the surface, lid, stirring and draught make k, and a thick mass that
is not stirred is warmer in the middle than the law says. Source: any textbook of heat transfer or of differential
equations (recalled).
"""

from math import exp, isfinite, log

from optiform.batch.making import Observed


def rate(seen: Observed) -> float:
    """The constant k in 1/min of the mass that was observed: ln((T_start - T_room) / (T_later - T_room)) / t.

    >>> round(rate(Observed(room=70, start=300, later=200, after=3)), 5)  # degF serve as well
    0.19018
    """
    return log((seen.start - seen.room) / (seen.later - seen.room)) / seen.after


def temperature(room: float, start: float, k: float, minutes: float) -> float:
    """What the mass has cooled to after so many minutes, degC."""
    return room + (start - room) * exp(-k * minutes)


def minutes_to(room: float, start: float, k: float, end: float) -> float | None:
    """Minutes until the mass has cooled from `start` to `end` degC; 0 where it is there, None where it never is.

    >>> round(minutes_to(room=70, start=300, k=0.19018, end=75), 1)
    20.1
    """
    if end >= start:
        return 0.0
    if end <= room:
        return None
    minutes = log((start - room) / (end - room)) / k
    return minutes if isfinite(minutes) else None
