"""What one trial taught: each range of the scale as it is, and as it would be had that trial not been made."""

from dataclasses import dataclass
from math import inf

from optiform.properties.firmness import Band


@dataclass(frozen=True)
class Taught:
    """One figure of the scale, fitted with a trial and without it; both hold as often as every range of the fit.

    Example:
        >>> row = Taught("n, power of the solids", "", Band(2.0, 2.5, 3.0), Band(1.8, 2.5, 3.3))
        >>> f"{row.wider:.0f} % wider without the trial"
        '50 % wider without the trial'
    """

    name: str
    unit: str
    fitted: Band
    without: Band

    @property
    def wider(self) -> float:
        """By how much the range would be wider without the trial, in %; below 0 where the trial itself widens it."""
        with_it, without = (band.high - band.low for band in (self.fitted, self.without))
        if with_it > 0:
            return 100 * (without / with_it - 1)
        return inf if without > 0 else 0.0
