"""What a scale of firmness, or the middle of lists that disagree, rests on, as facts; words: telling/measured.py."""

from collections.abc import Hashable
from enum import Enum, auto

from optiform.reading.frozen import frozen


class Assumption(Enum):
    """What the exponents rest on where no readings are fitted."""

    ALL = auto()  #: every figure is assumed
    WEIGHED = auto()  #: how the grains pack is weighed


@frozen
class Readings:
    """What a fit rests on: how many trials and readings, at which degC, how many hours old."""

    trials: int
    readings: int
    temperatures: tuple[float, ...]
    ages: tuple[float, ...]


@frozen
class FittedTo:
    """Exponents that are fitted to readings."""

    readings: Readings


@frozen
class Relative:
    """What there is to know of a firmness: it counts today's formula as 100, and this is what its scale rests on."""

    rests_on: Assumption | FittedTo


@frozen
class Traces:
    """Lines without a density, so few that the figure is as good with them counted at 1 g/mL; and its own note."""

    names: tuple[str, ...]
    note: Hashable = ""


@frozen
class ListsDisagree:
    """Ingredients of which lists give unlike figures: name, least, most. The middle counts, which no list has."""

    spans: tuple[tuple[str, float, float], ...]
