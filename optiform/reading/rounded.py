"""Targets in digits that carry, rounded to the side on which they say nothing that is not so."""

from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import Literal

Side = Literal["low", "high"]
SMALLEST = -9  # last decimal of a target: below that nothing is told apart
DIGITS = 4  #: of a target that was worked out
TOLD = 3  #: of a repaired target


def target(side: Side, value: float) -> str:
    """A target as a limit tells it: a maker's own as it was written, one that was worked out in four digits.

    The latter is rounded into the limit: what meets the figure that is shown meets the limit. 12 digits of what
    floating point leaves are no part of it.

    Example:
        >>> target("high", 16.0), target("low", 2.423759812), target("high", 2.423759812)
        ('16', '2.424', '2.423')
    """
    written = f"{value:.{DIGITS}g}" if abs(value) < 1e4 else f"{value:.12g}"
    if abs(float(written) - value) <= 1e-12 * abs(value):
        return written
    if len(f"{value:.12g}".replace(".", "").strip("-0")) <= DIGITS + 1:  # five digits are written by hand too
        return f"{value:.12g}"
    return rounded(value, up=side == "low", digits=DIGITS)


def outward(side: str, value: float, digits: int = TOLD) -> str:
    """A repaired target to significant digits, rounded to the side on which it still suffices.

    Example:
        >>> outward("low", 26.34567), outward("high", 0.000430012), outward("low", 3210987.6)
        ('26.3', '0.000431', '3210987')
    """
    return rounded(value, up=side == "high", digits=digits)


def rounded(value: float, up: bool, digits: int) -> str:
    """A number to so many significant digits, none of them zeros at its end, rounded up or down.

    Example:
        >>> rounded(0.12349, up=True, digits=3), rounded(-7.0, up=True, digits=3)
        ('0.124', '-7')
    """
    exact = Decimal(repr(float(value)))
    last = min(0, max(SMALLEST, exact.adjusted() - digits + 1)) if exact else 0
    shown = f"{exact.quantize(Decimal(1).scaleb(last), ROUND_CEILING if up else ROUND_FLOOR) + 0:f}"
    return shown.rstrip("0").rstrip(".") if "." in shown else shown
