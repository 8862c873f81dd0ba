"""What is bought and weighed, what it declares, and how well each of its figures is known."""

from collections.abc import Iterable, Mapping
from dataclasses import field
from enum import StrEnum

from optiform.ingredients.names import canonical
from optiform.ingredients.phases import PHASES as PHASES
from optiform.reading.frozen import frozen
from optiform.reading.values import Comparable

FUNCTIONS = (
    "water", "solid surfactant", "liquid surfactant", "humectant", "thickener", "emulsifier", "fatty alcohol",
    "fatty acid", "wax", "butter", "oil", "ester", "silicone", "grain", "powder", "clay", "colourant",
    "preservative", "uv filter", "antioxidant", "chelator", "ph adjuster", "fragrance", "active",
)  # fmt: skip

ROOM = 20.0  # degC: where things are weighed and measured out
#: What an ingredient is made from; `palm` where the usual trade grade is. Without any of these words it is not known.
ORIGINS = ("plant", "animal", "mineral", "synthetic", "palm")
#: Bought to be dosed: more than the usual use is waste or harm, whatever the kind of product.
DOSED = ("preservative", "fragrance", "active", "colourant")
#: Properties of the tables that have a fixed unit; any other numeric column of an own file is the maker's own.
KNOWN_UNITS = {
    "water": "%",
    "active surfactant": "%",
    "humectant active": "%",
    "density": "g/mL",
    "bulk density": "g/mL",
    "iodine value": "g I2/100 g",
    "saponification value": "mg KOH/g",
    "melting range": "degC",
    "solid fat": "%",
    "hlb": "-",
    "required hlb": "-",
    "heat limit": "degC",
    "flash point": "degC",
    "solubility in water": "g/L",
    "viscosity": "mPa s",
    "grain size": "micrometre",
    "beeswax equivalent": "-",
    "usual use": "%",
    "maximum use": "%",
    "stock": "kg",
}


class Evidence(StrEnum):
    """How a figure is known, best first."""

    PUBLISHED = "published"
    OWN = "own"
    PRACTICE = "practice"
    DERIVED = "derived"
    SECONDARY = "secondary"
    ASSUMED = "assumed"
    RECALLED = "recalled"

    @staticmethod
    def weakest(kinds: Iterable["Evidence"]) -> "Evidence":
        """The least certain of several; a result is no better than its worst input."""
        order = list(Evidence)
        return max(kinds, key=order.index, default=Evidence.OWN)


@frozen
class Value:
    """One figure with unit, range where known, source and evidence. At least one of the three numbers is set."""

    low: float | None
    typical: float | None
    high: float | None
    unit: str
    source: str
    evidence: Evidence
    note: str = ""

    @property
    def figure(self) -> float:
        """The number to calculate with: the typical one, else the middle of the range, else its only end."""
        if self.typical is not None:
            return self.typical
        ends = [end for end in (self.low, self.high) if end is not None]
        return sum(ends) / len(ends)

    @property
    def least(self) -> float:
        """The low end of the range, or the figure where none is known."""
        return self.figure if self.low is None else self.low

    @property
    def most(self) -> float:
        """The high end of the range, or the figure where none is known."""
        return self.figure if self.high is None else self.high


@frozen
class Constituent:
    """A declared substance and its share of the ingredient, in % by mass.

    However its name was written, `inci` is the one spelling by which law, allergens, colours and labels know it.
    """

    inci: str
    cas: str
    share: Value

    def __post_init__(self) -> None:
        """No other spelling gets past here, so that none of them can switch a rule off."""
        object.__setattr__(self, "inci", canonical(self.inci))


@frozen
class Ingredient(Comparable):
    """An ingredient as bought. Values are keyed by property name and temperature (degC, None where it has none).

    `statements`: the paper of each condition of law on what is bought that its supplier confirms, by its name.
    """

    name: str
    functions: tuple[str, ...]
    phase: str
    synonyms: tuple[str, ...] = ()
    solute: str = ""
    origin: tuple[str, ...] = ()
    note: str = ""
    constituents: tuple[Constituent, ...] = ()
    values: Mapping[tuple[str, float | None], Value] = field(default_factory=dict)
    fatty_acids: Mapping[str, Value] = field(default_factory=dict)
    statements: Mapping[str, str] = field(default_factory=dict)

    def value(self, property_name: str, temperature: float | None = None) -> Value | None:
        """The figure stored under this property, or None: missing is missing, never zero."""
        return self.values.get((property_name, temperature))

    def price_in(self, currency: str) -> Value | None:
        """The price per kg in this currency; None where there is none in it: nothing is converted."""
        price = self.value("price")
        return price if price is not None and price.unit == f"{currency}/kg" else None

    def curve(self, property_name: str) -> list[tuple[float, Value]]:
        """All figures of a property that belong to a temperature, coldest first."""
        points = ((at, value) for (name, at), value in self.values.items() if name == property_name and at is not None)
        return sorted(points, key=lambda point: point[0])

    def has(self, *functions: str) -> bool:
        """Whether it serves any of these functions."""
        return any(function in self.functions for function in functions)

    @property
    def density(self) -> Value | None:
        """Its density as `density_of` takes it from its figures."""
        return density_of(self.values)

    @property
    def inci(self) -> str:
        """Its declaration names, largest share first, as one text."""
        ordered = sorted(self.constituents, key=lambda part: -part.share.figure)
        return ", ".join(part.inci for part in ordered)


def density_of(values: Mapping[tuple[str, float | None], Value]) -> Value | None:
    """The density to calculate with, g/mL: the one nearest to 20 degC, else one that names no temperature."""
    dense = [(at, value) for (name, at), value in values.items() if name == "density"]
    known = [(abs(at - ROOM), value) for at, value in dense if at is not None]
    return min(known, key=lambda point: point[0])[1] if known else next((value for _, value in dense), None)
