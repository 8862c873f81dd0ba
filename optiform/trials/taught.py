"""What one trial taught: each range of the scale as it is, and as it would be had that trial not been made."""

from enum import Enum, auto
from math import inf

from optiform.properties.firmness import Band
from optiform.reading.frozen import frozen


class Figure(Enum):
    """A figure of the scale: its own, or of how an instrument answers."""

    POWER = auto()  #: n, of the solids
    JAMMING = auto()  #: phi_m, the volume at which grains jam
    BATCHES = auto()  #: scatter from batch to batch of one formula
    JARS = auto()  #: scatter from jar to jar of one batch
    AGING = auto()  #: firmer each time the age doubles
    AT_100 = auto()  #: what an instrument reads at firmness 100
    ANSWER = auto()  #: its power of firmness
    SCORES = auto()  #: its scores where 2.7 times as firm


@frozen
class Taught:
    """One figure of the scale, fitted with a trial and without it; both hold as often as every range of the fit.

    Example:
        >>> row = Taught(Figure.POWER, "", Band(2.0, 2.5, 3.0), Band(1.8, 2.5, 3.3))
        >>> f"{row.wider:.0f} % wider without the trial"
        '50 % wider without the trial'
    """

    figure: Figure
    unit: str
    fitted: Band
    without: Band
    gauge: str = ""

    @property
    def wider(self) -> float:
        """By how much the range would be wider without the trial, in %; below 0 where the trial itself widens it."""
        with_it, without = (band.high - band.low for band in (self.fitted, self.without))
        if with_it > 0:
            return 100 * (without / with_it - 1)
        return inf if without > 0 else 0.0
