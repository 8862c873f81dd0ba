"""What a jar of so many mL holds: without air, with the air of its kind, and by the maker's own cup."""

from optiform.ingredients.formula import Formula
from optiform.properties.volume import density
from optiform.reading.frozen import frozen
from optiform.rules.fill_density import FillDensity, fill_densities

CUP = 100.0  # mL


@frozen
class JarContent:
    """A jar's volume and what it holds.

    Attributes:
        volume: mL.
        density: without air, g/mL; None where that of a line is not known.
        airy: the states of its kind with what a mL of them weighs.
        cup: what a level cup of 100 mL weighs, g, as the maker found it; it goes before everything else.
    """

    volume: float
    density: float | None
    airy: tuple[FillDensity, ...]
    cup: float | None = None

    @property
    def without_air(self) -> float | None:
        """What the jar holds without air, g."""
        return None if self.density is None else self.volume * self.density

    @property
    def by_cup(self) -> float | None:
        """What the jar holds by the maker's own cup, g.

        Example:
            >>> JarContent(250.0, 1.23, (), cup=97.7).by_cup
            244.25
        """
        return None if self.cup is None else self.volume * self.cup / CUP

    @property
    def overrun(self) -> float | None:
        """Air by the maker's cup, % of the volume without it: 100 (rho - rho whipped) / rho whipped.

        Example:
            >>> whipped = JarContent(250.0, 1.090, (), cup=56.0)  # check value: 1,090 to 560 g/L is 94.6 %
            >>> round(whipped.overrun, 1)
            94.6
        """
        if self.density is None or not self.cup:
            return None
        return 100 * (self.density * CUP - self.cup) / self.cup


def jar_content(formula: Formula, kind: str, volume: float, cup: float | None = None) -> JarContent:
    """What a jar of `volume` mL holds of a formula; `cup`: g of a level cup of 100 mL of the finished product."""
    return JarContent(volume, density().of(formula), fill_densities(kind), cup)
