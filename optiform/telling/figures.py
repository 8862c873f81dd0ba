"""Figures and short words as they are shown."""

from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

SMALLEST = -9  # last decimal of a target: below that nothing is told apart


def significant(value: float, digits: int) -> float:
    """A number to so many significant digits; what floating point leaves of nothing is nothing.

    Example:
        >>> significant(0.14444586, 3), significant(4e-17, 3)
        (0.144, 0.0)
    """
    return 0.0 if abs(value) < 1e-9 else float(f"{value:.{digits}g}")


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


def shorten(text: str, most: int = 60) -> str:
    """The text, cut with dots where it is longer than `most`."""
    return text if len(text) <= most else text[: most - 3].rstrip() + "..."


def outward(side: str, target: float, digits: int = 5) -> str:
    """A repaired target to significant digits, rounded to the side on which it still suffices.

    Example:
        >>> outward("low", 26.34567), outward("high", 0.000430012), outward("low", 3210987.6)
        ('26.345', '0.00043002', '3210987')
    """
    exact = Decimal(repr(float(target)))
    last = min(0, max(SMALLEST, exact.adjusted() - digits + 1)) if exact else 0
    rounded = exact.quantize(Decimal(1).scaleb(last), ROUND_FLOOR if side == "low" else ROUND_CEILING)
    shown = f"{rounded + 0:f}"
    return shown.rstrip("0").rstrip(".") if "." in shown else shown


def capital(text: str) -> str:
    """The text with a capital letter at its beginning.

    Example:
        >>> capital("mango butter goes")
        'Mango butter goes'
    """
    return f"{text[:1].upper()}{text[1:]}"
