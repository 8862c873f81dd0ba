"""The net content in the units of a market, and how far packs may fall short of it."""

from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from functools import cache
from typing import Literal

from optiform.brief.brief import Brief
from optiform.ingredients.ingredient import Evidence
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.reading.plausible import bare
from optiform.reading.tables import shipped
from optiform.reading.units import parse_quantity
from optiform.rules.markets import country

#: Exact by definition: the international avoirdupois pound of 1959, and the US gallon of 231 cubic inches.
GRAMS_PER_OUNCE = Decimal("28.349523125")
ML_PER_FLUID_OUNCE = Decimal("29.5735295625")


@frozen
class Tolerance:
    """What the law allows a pack to fall short (Directive 76/211/EEC, Annex I), in the unit of the nominal content.

    Attributes:
        error: tolerable negative error of a pack.
        first: T1 = nominal - error; about 2.5 % of packs may lie below.
        second: T2 = nominal - 2 error; no pack may lie below. The mean must reach the nominal content.
    """

    error: Decimal
    first: Decimal
    second: Decimal
    source: str
    evidence: Evidence


@frozen
class NetContent:
    """The net content: metric in g or mL, and in the US also in ounces, which are rounded down so as not to promise
    more than is there.
    """

    metric: Decimal
    unit: Literal["g", "mL"]
    ounces: Decimal | None
    tolerance: Tolerance | None

    @property
    def words(self) -> str:
        """The content as it is written, the customary unit first where the market has one."""
        metric = f"{figure(self.metric)} {self.unit}"
        if self.ounces is None:
            return metric
        return f"{figure(self.ounces)} {'oz' if self.unit == 'g' else 'fl oz'} ({metric})"


def figure(amount: Decimal) -> str:
    """A number without the zeros that its rounding left behind."""
    return f"{amount.normalize():f}"


def net_content(amount: Decimal, unit: Literal["g", "mL"], market: str) -> NetContent:
    """Net content of a pack of `amount` g or mL in a market; metric figures are rounded down to tenths."""
    metric = amount.quantize(Decimal("0.1"), ROUND_FLOOR)
    if country(market) == "US":
        factor = GRAMS_PER_OUNCE if unit == "g" else ML_PER_FLUID_OUNCE
        ounces = (amount / factor).quantize(Decimal("0.01"), ROUND_FLOOR)
        return NetContent(metric, unit, ounces, None)
    return NetContent(metric, unit, None, tolerance(metric))


def net_mass(jar: float, market: str) -> NetContent:
    """Net content of a jar of so many kg in a market."""
    return net_content(tidy(1000 * jar), "g", market)


def stated_or_jar(
    stated: str | None, brief: Brief | None, market: str, at: tuple[str, str] = ("", "net content")
) -> NetContent | None:
    """The net content that is stated, else that of the brief's jar; None where there is neither.

    Args:
        stated: a mass or a volume with its unit.
        brief: with the jar, if it has one.
        market: in whose units.
        at: the file and the place of the statement, for a fault.

    Raises:
        BadInput: with what was expected of the statement.
    """
    if stated is not None:
        try:
            return read_content(stated, market)
        except ValueError as error:
            raise BadInput([Fault(*at, repr(stated), str(error))]) from None
    return net_mass(brief.jar, market) if brief is not None and brief.jar else None


def read_content(text: str, market: str) -> NetContent:
    """The net content that a text states, by mass or by volume.

    Raises:
        ValueError: with what was expected.

    Example:
        >>> read_content("200 mL", "US").words
        '6.76 fl oz (200 mL)'
    """
    units: tuple[Literal["g", "mL"], ...] = ("g", "mL")
    for unit in () if bare(text) else units:
        if (amount := _amount(text, unit)) > 0:
            return net_content(tidy(amount), unit, market)
    raise ValueError("a mass or a volume above nothing, with its unit: 250 g, 200 mL")


def _amount(text: str, unit: str) -> float:
    """The quantity in this unit; 0 where it is of another kind."""
    try:
        return parse_quantity(text, unit)
    except ValueError:
        return 0.0


def tidy(amount: float) -> Decimal:
    """A content without the last digits of binary arithmetic, to a millionth of a gram or millilitre."""
    return Decimal(f"{amount:.6f}").normalize()


def tolerance(nominal: Decimal) -> Tolerance | None:
    """Tolerable negative error for a nominal content in g or mL; None below 5, where the table begins.

    An error given in per cent is rounded up to the next tenth of a gram or millilitre.

    Example:
        >>> tolerance(Decimal(250)).error
        Decimal('9')
    """
    for above, up_to, figure, per_cent, source, evidence in _tolerances():
        if above <= nominal <= up_to:
            error = (nominal * figure / 100).quantize(Decimal("0.1"), ROUND_CEILING) if per_cent else figure
            return Tolerance(error, nominal - error, nominal - 2 * error, source, evidence)
    return None


@cache
def _tolerances() -> tuple[tuple[Decimal, Decimal, Decimal, bool, str, Evidence], ...]:
    return tuple(
        (Decimal(row["above"]), Decimal(row["up to"] or "Infinity"), Decimal(row["error"]), row["unit"] == "%",
         row["source"], Evidence(row["evidence"]))
        for row in shipped("package_tolerances")
    )  # fmt: skip
