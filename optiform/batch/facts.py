"""What a batch sheet warns of, as facts; their words stand in telling/warned.py."""

import datetime
from decimal import Decimal
from enum import Enum, auto

from optiform.reading.frozen import frozen


class Cooling(Enum):
    """What holds of the minutes of cooling, without a figure."""

    OBSERVED_ONCE = auto()


@frozen
class VesselFull:
    """Grams that do not fit a vessel of so many, and in how many goes they are made."""

    weighed: Decimal
    vessel: float
    goes: int


@frozen
class ScaleCoarse:
    """Doses that a scale of this step, g, cannot weigh: of what, in which part, and how far off, %."""

    step: Decimal
    doses: tuple[tuple[str, str, float], ...]


@frozen
class MeltsHigher:
    """What melts up to so many degC, above those that the phases are heated to."""

    ingredient: str
    melts: float
    hot: float


@frozen
class NeverCools:
    """A room, degC, in which the mass never cools by itself to what an addition bears."""

    room: float
    addition: float


@frozen
class NoLot:
    """Grams of an ingredient that no lot that may be used has."""

    ingredient: str
    grams: Decimal


@frozen
class LotAside:
    """A lot that is not used, what is left of it in kg, and the day: it expires before the making or comes in after."""

    lot: str
    ingredient: str
    left: float
    day: datetime.date
    expired: bool
