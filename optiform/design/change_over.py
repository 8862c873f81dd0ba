"""How firm a formula is by temperature, and in which rooms to change from a winter version to a summer one."""

from collections.abc import Sequence

from optiform.ingredients.formula import Formula
from optiform.properties.firmness import Band, Exponents, firmness_band


def change_over(
    winter: Formula, summer: Formula, today: Formula, most: float, least: float, known: Exponents
) -> tuple[int, int]:
    """Whole degC from which the summer version is at most `most` firm, and up to which the winter one is `least`.

    Firmness is that of today's formula at 20 degC as 100, at its typical figures, and falls as the room gets warmer.
    The first is above the second where there is a room too warm for the one and too cold for the other.

    Raises:
        ValueError: when the grains of a version jam.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> from optiform.properties.firmness import ASSUMED
        >>> today = mixed({"shea butter, refined": 80, "beeswax": 20})
        >>> softer = mixed({"shea butter, refined": 85, "beeswax": 15})
        >>> harder = mixed({"shea butter, refined": 70, "beeswax": 30})
        >>> change_over(softer, harder, today, 200, 40, ASSUMED)
        (19, 28)
    """
    rooms = range(10, 36)
    soft = [at for at in rooms if _firmness(summer, today, at, known) <= most]
    firm = [at for at in rooms if _firmness(winter, today, at, known) >= least]
    return min(soft, default=rooms[-1]), max(firm, default=rooms[0])


def _firmness(formula: Formula, today: Formula, at: int, known: Exponents) -> float:
    band = firmness_band(formula, today, at, known)
    return band.typical if band else 0.0


def bands_at(
    formula: Formula, today: Formula, temperatures: Sequence[float], known: Exponents
) -> dict[float, Band] | None:
    """Firmness at each temperature in order; None where it is not known at one of them, or the grains jam."""
    firm: dict[float, Band] = {}
    for at in temperatures:
        try:
            band = firmness_band(formula, today, at, known)
        except ValueError:
            return None
        if band is None:
            return None
        firm[at] = band
    return dict(sorted(firm.items()))
