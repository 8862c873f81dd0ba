"""Numbers and quantities as people write them, turned into plain floats in one stated unit.

Inside the program everything is a float in documented base units: mass fraction, degC, currency per kg.
Text becomes a float here and nowhere else.
"""

import math
import re
from functools import cache, lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pint

PARTS = "parts"  #: per 100 parts of something else, not a share of the whole
LONGEST = 100  #: characters of a quantity; patterns that look for spaces take their time on long texts
_NUMBER = r"[-+]?(?:\d{1,3}(?: \d{3})+(?:[.,]\d+)?(?!\d)|\d+(?:[.,]\d+)*|[.,]\d+)(?:[eE][-+]?\d+)?"
_QUANTITY = re.compile(rf"^\s*({_NUMBER})\s*(.*?)\s*$", re.DOTALL)
_PLAIN = re.compile(r"^[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?$")
_UNIT = re.compile(r"^(?=.{1,40}$)[A-Za-z%°µ_]+(?:\^[23])?(?:(?: ?[/*] ?| )[A-Za-z%°µ_]+(?:\^[23])?)*$")
_SHARE = re.compile(r"^(?:%|percent|ppm|[kmµ]?g ?/ ?[kmµ]?g)$")  # not an angle, a level in dB or a volume share
_GROUPED = re.compile(r"^[-+]?\d{1,3}(?: \d{3})+(?![\d ])")
_PER_HUNDRED = re.compile(
    r"^(?:parts|g)?\s*per\s+100(?:\s+g)?$|^parts$|^per ?cent$|^(?:% ?)?\(?w/w\)?(?: ?%)?$|^wt ?%$", re.IGNORECASE
)
#: Units as makers write them, in any case, and what each means here. By its symbols alone the library of units would
#: read gr as a grain, ML as a megalitre and Mg as a megagram.
_SPELT = {
    **dict.fromkeys(("g", "gr", "grs", "gm", "gms", "gramm", "gramme", "grammes"), "g"),
    **dict.fromkeys(("kg", "kgs", "kgr", "kilo", "kilos"), "kg"),
    "mg": "mg", "ml": "mL", "cl": "cL", "dl": "dL", "l": "L", "lb": "lb", "lbs": "lb", "oz": "oz", "min": "min",
    "ppm": "ppm", "degc": "degC", "°c": "degC", "c": "degC", "celsius": "degC", "degf": "degF", "°f": "degF",
}  # fmt: skip
_WORD = re.compile(r"[A-Za-z°]+")
_SIGNS = {"€": "EUR", "£": "GBP", "¥": "JPY", "₹": "INR", "zł": "PLN", "Kč": "CZK", "kč": "CZK"}
_MONEY_FIRST = re.compile(rf"^([A-Za-z]{{3}})\s*({_NUMBER})\s*(.*)$", re.DOTALL)
#: Lines of `_line` for what nearly every file writes, known without the registry, which takes long to load.
_METRIC = {("g", "kg"): (0.0, 0.001), ("kg", "g"): (0.0, 1000.0)}
_CURRENCIES = ("EUR", "GBP", "USD", "CAD", "AUD", "NZD", "CHF", "SEK", "NOK", "DKK", "PLN", "CZK", "INR", "ZAR", "JPY")
_PER = re.compile(rf"\b({'|'.join(_CURRENCIES)}) per (?=[A-Za-z])", re.IGNORECASE)


def parse_number(text: str) -> float:
    """Read a finite number. A decimal comma is read where it can mean nothing else.

    `12,5` is 12.5 and `1.234,5` is 1234.5, but `1,234` could be either and is refused.

    Raises:
        ValueError: with words a user can act on.

    Example:
        >>> parse_number("12,5")
        12.5
    """
    if len(text) > LONGEST:
        raise ValueError("a number")
    cleaned = text.strip().replace("\u00a0", " ")
    if _GROUPED.match(cleaned):
        cleaned = cleaned.replace(" ", "")
    commas, points = cleaned.count(","), cleaned.count(".")
    if commas and points:
        cleaned = _drop_thousands(cleaned, decimal="," if cleaned.rfind(",") > cleaned.rfind(".") else ".")
    elif commas:
        if commas > 1 or (re.search(r",\d{3}(?!\d)", cleaned) and not re.match(r"[-+]?0,", cleaned)):
            raise ValueError("a number whose comma can only be a decimal comma (12,5) or a decimal point")
        cleaned = cleaned.replace(",", ".")
    if not _PLAIN.match(cleaned):
        raise ValueError("a number")
    return ordinary(float(cleaned))


def with_article(noun: str) -> str:
    """A noun with its article.

    Example:
        >>> with_article("lotion"), with_article("emulsified body butter")
        ('a lotion', 'an emulsified body butter')
    """
    return f"{'an' if noun[:1] in 'aeio' else 'a'} {noun}"


def count_of(number: int, one: str, many: str = "") -> str:
    """A count with its noun.

    Example:
        >>> count_of(1, "lot"), count_of(3, "lot"), count_of(2, "batch", "batches")
        ('1 lot', '3 lots', '2 batches')
    """
    return f"{number} {one if abs(number) == 1 else many or one + 's'}"


def one_of(unit: str) -> str:
    """What one of a unit is called, in a price per unit."""
    return {"-": "1", PARTS: "part"}.get(unit, unit)


def ordinary(value: float) -> float:
    """The number, if it is one that a maker's figure can be.

    Raises:
        ValueError: no number, infinite, or beyond 1e12 (a million tonnes in grams).
    """
    if not math.isfinite(value) or abs(value) > 1e12:
        raise ValueError("a number of ordinary size")
    return value


def _drop_thousands(text: str, decimal: str) -> str:
    thousands = "." if decimal == "," else ","
    grouped = rf"[-+]?\d{{1,3}}(?:{re.escape(thousands)}\d{{3}})*{re.escape(decimal)}\d+"
    if not re.fullmatch(grouped, text):
        raise ValueError("a number with one decimal sign")
    return text.replace(thousands, "").replace(decimal, ".")


def parse_quantity(given: object, unit: str) -> float:
    """Read a number or a text such as `2 kg`, `4.20 EUR/kg`, `10 degC`, `15 %` into `unit`.

    A bare number is taken to be in `unit` already. `15 parts per 100` reads as `15 %`, and `PARTS` as `%`.

    Raises:
        ValueError: when it is no quantity or of another kind (a mass where a temperature is wanted).

    Example:
        >>> parse_quantity("250 g", "kg")
        0.25
    """
    if isinstance(given, bool):
        raise ValueError(_expected(unit))
    if isinstance(given, float):
        return parse_number(repr(float(given)))  # numpy writes its own with their type
    if isinstance(given, int):
        return parse_number(repr(given))
    if unit == PARTS:
        return parse_quantity(given, "%")
    written = with_codes(" ".join(str(given).split()))
    match = _QUANTITY.match(written) if len(written) <= LONGEST else None
    if not match:
        raise ValueError(_expected(unit))
    value, written = parse_number(match[1]), match[2]
    if unit == "%" and _PER_HUNDRED.match(written):
        written = "%"
    if not written or _same(written, unit):
        return value
    meant = _WORD.sub(_meant, written)
    return value if _same(meant, unit) else _convert(value, meant, unit)


def _meant(word: "re.Match[str]") -> str:
    """A unit, or a currency, by the symbol that is calculated with."""
    code = word[0].upper()
    return code if code in _CURRENCIES else _SPELT.get(word[0].casefold(), word[0])


def with_codes(text: str) -> str:
    """A price or its unit with the currency's code behind the number, where a sign or a code before it stands.

    Raises:
        ValueError: a sign that several currencies share.

    Example:
        >>> with_codes("€4.20/kg"), with_codes("4,20 € per kg"), with_codes("€/kg")
        ('4.20 EUR/kg', '4,20 EUR/kg', 'EUR/kg')
    """
    if "$" in text:
        raise ValueError("the letters of a currency, such as USD, CAD or AUD: several have the sign $")
    for sign, code in _SIGNS.items():
        if sign in text:
            text = " ".join(text.replace(sign, f" {code} ").split()).replace(" /", "/")
    first = _MONEY_FIRST.match(text)
    if first and first[1].upper() in _CURRENCIES:
        text = f"{first[2]} {first[1]}{first[3] if first[3].startswith('/') else f' {first[3]}'.rstrip()}"
    return _PER.sub(r"\1/", text)


def _expected(unit: str) -> str:
    return f"a quantity in {unit}" if unit else "a number"


def _same(written: str, unit: str) -> bool:
    aliases = {"°C": "degC", "C": "degC", "l": "L", "g/100g": "%"}
    return aliases.get(written, written) == unit


def _convert(value: float, written: str, unit: str) -> float:
    if not _UNIT.match(written):
        raise ValueError(_expected(unit))
    if unit in ("%", "", "-") and not _SHARE.match(written):
        raise ValueError(f"{_expected(unit)}, not in {written!r}")
    if unit not in ("%", "", "-") and not _UNIT.match(unit):  # of a column's header, where anything may stand
        raise ValueError(f"{_expected(unit)}, not in {written!r}")
    zero, one = _METRIC.get((written, unit)) or _checked_line(written, unit)
    magnitude = zero + (one - zero) * value
    # Scales with an offset leave a last digit behind that would fall beyond the end of a table: 212 degF is 100 degC.
    return ordinary(round(magnitude, 9) if unit == "degC" else magnitude)


def _checked_line(written: str, unit: str) -> tuple[float, float]:
    import pint

    try:
        return _line(written, unit)
    except (pint.PintError, AttributeError, TypeError, ValueError, AssertionError, ArithmeticError):
        weighed = ": a volume does not say what it weighs" if _volume(written, unit) else ""
        raise ValueError(f"{_expected(unit)}, not in {written!r}{weighed}") from None


def _volume(written: str, unit: str) -> bool:
    """Whether a volume stands where a mass is wanted."""
    import pint

    try:
        return unit in ("kg", "g") and bool(_registry().Quantity(1.0, written).check("[length] ** 3"))
    except (pint.PintError, AttributeError, TypeError, ValueError, AssertionError, ArithmeticError):
        return False


@lru_cache(maxsize=1000)
def _line(written: str, unit: str) -> tuple[float, float]:
    """What 0 and 1 of a unit are in another: every scale that people use is a straight line in another."""
    registry = _registry()
    target = unit.replace("%", "percent") if unit not in ("", "-") else "dimensionless"
    zero, one = (registry.Quantity(number, written.replace("%", "percent")).to(target) for number in (0.0, 1.0))
    return float(zero.magnitude), float(one.magnitude)


@cache
def _registry() -> "pint.UnitRegistry[float]":
    """The one registry. Each currency is a dimension of its own, so one is never taken for another."""
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(cache_folder=None)
    for currency in _CURRENCIES:
        registry.define(f"{currency} = [money_{currency}]")
    return registry
