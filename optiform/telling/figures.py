"""Figures and short words as they are shown."""

from collections.abc import Iterable, Sequence
from decimal import ROUND_FLOOR, Decimal


def significant(value: float, digits: int) -> float:
    """A number to so many significant digits; what floating point leaves of nothing is nothing.

    Example:
        >>> significant(0.14444586, 3), significant(4e-17, 3)
        (0.144, 0.0)
    """
    return 0.0 if abs(value) < 1e-9 else float(f"{value:.{digits}g}")


def carried(values: Iterable[float | None]) -> int:
    """Significant digits of figures side by side: three, as none is known better; more where two would look alike.

    Example:
        >>> carried([9.657, 9.396]), carried([31.24, 31.18]), carried([31.24, None, 31.24])
        (3, 4, 3)
    """
    known = {value for value in values if value is not None}
    return next((digits for digits in (3, 4, 5) if len({significant(x, digits) for x in known}) == len(known)), 3)


def amount(value: float, decimals: int = 2, capped: bool = False) -> str:
    """A share or a mass to so many decimals. One that has a most is cut off, never rounded up, within 1 % of it.

    What floating point leaves, 1e-6, is not cut.

    Example:
        >>> amount(27.416), amount(1.2199, capped=True), amount(0.0015, capped=True), amount(0.0015)
        ('27.42', '1.21', '0.0015', '0.00')
    """
    if not capped:
        return f"{value:.{decimals}f}"
    exact = Decimal(repr(value + 1e-6))
    cut = [exact.quantize(Decimal(1).scaleb(-digits), ROUND_FLOOR) for digits in range(decimals, 6)]
    return f"{next((shown for shown in cut if float(shown) >= 0.99 * value), cut[-1]):f}"


def mass(kg: float) -> str:
    """A mass as a maker says it: below a kilogram in grams.

    Example:
        >>> mass(2.5), mass(0.01)
        ('2.5 kg', '10 g')
    """
    return f"{kg:.6g} kg" if kg >= 1 else f"{1000 * kg:.6g} g"


def shorten(text: str, most: int = 60) -> str:
    """The text, cut with dots where it is longer than `most`."""
    return text if len(text) <= most else text[: most - 3].rstrip() + "..."


def listed(words: Sequence[str]) -> str:
    """Words as a sentence lists them.

    Example:
        >>> listed(["EU"]), listed(["EU", "GB"]), listed(["EU", "GB", "US"])
        ('EU', 'EU and GB', 'EU, GB and US')
    """
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def capital(text: str) -> str:
    """The text with a capital letter at its beginning.

    Example:
        >>> capital("mango butter goes")
        'Mango butter goes'
    """
    return f"{text[:1].upper()}{text[1:]}"
