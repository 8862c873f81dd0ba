"""Money as it is shown. Inside it is a float in the currency's unit; it is rounded only here, half to even."""

from decimal import ROUND_HALF_EVEN, Decimal


def rounded(value: float, places: int = 2) -> Decimal:
    """The amount with so many decimals, half to even, of the number as it prints (2.675 is halfway, not below).

    Example:
        >>> str(rounded(2.675)), str(rounded(2.665))
        ('2.68', '2.66')
    """
    return Decimal(repr(float(value))).quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN)


def shown(value: float | None, places: int = 2) -> str:
    """The amount as text; what is not known says so."""
    return "not known" if value is None else f"{rounded(value, places) + 0:f}"
