"""What a batch sheet says beside grams and steps, as facts; warned.py and method.py of telling/ have their words."""

import datetime
from decimal import Decimal
from enum import Enum, auto

from optiform.ingredients.ingredient import Value
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
class Flashes:
    """What has its flash point at or below the degC of the mass that it goes into."""

    ingredient: str
    flash: Value
    mass: float


@frozen
class NeverCools:
    """A room, degC, in which the mass never cools by itself to what an addition bears."""

    room: float
    addition: float


@frozen
class NoLot:
    """Ingredients of which no lot that may be used has enough, each with the grams that are missing."""

    missing: tuple[tuple[str, Decimal], ...]


@frozen
class LotAside:
    """A lot that is not used, what is left of it in kg, and the day: it expires before the making or comes in after."""

    lot: str
    ingredient: str
    left: float
    day: datetime.date
    expired: bool


# -- who says how a step is made ---------------------------------------------------------------------------------------


class Origin(Enum):
    """Who says so, where it is no figure of an ingredient."""

    PRACTICE = auto()  #: common practice, no source
    FILE = auto()  #: the maker's making file
    OBSERVED = auto()  #: worked out from the point of cooling that the maker observed


@frozen
class ReadIn:
    """A step that was read: the id of its source."""

    source: str


@frozen
class OwnHeat:
    """A heat limit below the temperature otherwise wanted; `poured` degC where the mass is poured hotter than that."""

    ingredient: str
    limit: Value
    poured: float | None = None


Source = Origin | ReadIn | OwnHeat

# -- what to mind with a line ------------------------------------------------------------------------------------------


@frozen
class Wetted:
    """Lumps: what wets it first, empty where nothing here does; `held_back` for a later phase; `gum`: takes much."""

    by: str
    held_back: bool = False
    gum: bool = False


@frozen
class Melts:
    """It has to be melted: its melting range, degC."""

    range: Value


@frozen
class Bears:
    """Its heat limit, degC, None where no figure is known; `added` degC where it goes into a cooling mass."""

    limit: Value | None
    added: float | None = None


Mind = Wetted | Melts | Bears
