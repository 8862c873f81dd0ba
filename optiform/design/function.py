"""What an ingredient is bought to do, how much of it there is, and the line that makes room or fills up."""

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import replace

from optiform.brief.brief import Brief
from optiform.design.facts import Fact, OtherKin
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.oil_phase import solid_fat_value
from optiform.reading.frozen import frozen
from optiform.rules.equivalents import HOLDS_GRAINS, Equivalent, equivalents
from optiform.rules.quantities import carries

SOLIDS_AT = 20.0  # degC: where a butter's solids are looked at


@frozen
class Family:
    """Functions that can stand in for each other, and what is kept of them.

    Attributes:
        functions: what its ingredients are bought for.
        measure: words for what is kept; empty where it is the mass.
        figure: the property, % of the ingredient as supplied, that says how much of it an ingredient brings.
        equivalent: the measure of equivalents.csv that says it instead.
        oily: room is made for it, or filled up, by the main oil; else by the water.
        alone: one takes the place of one: half doses of two are no dose.
        span: from how much to how much of what has gone takes its place, as multiples of its measure.
    """

    functions: tuple[str, ...]
    measure: str = ""
    figure: str = ""
    equivalent: str = ""
    oily: bool = False
    alone: bool = False
    span: tuple[float, float] = (1.0, 1.0)

    def equal(self, item: Ingredient) -> Equivalent | None:
        """Its row in equivalents.csv, if any; what an emulsifier has in common with another is how it emulsifies."""
        row = equivalents(self.equivalent or self.figure).get(item.name)
        return replace(row, like=carries(item)) if row and self.equivalent == "emulsifying" else row

    def strength(self, item: Ingredient) -> float | None:
        """How much of the measure one part of an ingredient brings; None where it is not known, or nothing.

        Example:
            >>> from optiform.ingredients.catalogue import read_catalogue
            >>> isethionate = read_catalogue().ingredients["sodium cocoyl isethionate"]
            >>> family_of(isethionate).strength(isethionate)  # 84 % of it is surfactant
            0.84
        """
        if self.equivalent:
            row = self.equal(item)
            return row.strength if row else None
        if self.figure:
            value = item.value(self.figure)
            return value.figure / 100 if value and value.figure > 0 else None
        return 1.0

    def by_mass(self) -> "Family":
        """The same where nothing is known of what has gone but its mass."""
        return Family(self.functions, oily=self.oily, alone=self.alone)


#: A half more of an emulsifier than its dose does no harm, and weight for weight is how makers swap waxes. Common
#: practice, no source.
MORE_EMULSIFIER = (1.0, 1.5)
#: How much of a butter may come for one part of another: common practice, no source. The solids decide within it.
BUTTER_SPAN = (0.4, 2.5)
BUTTER = Family(("butter",), "solids at 20 degC", oily=True, span=BUTTER_SPAN)
OILS = Family(("oil", "ester"), oily=True)
SURFACTANTS = Family(("solid surfactant", "liquid surfactant"), "active surfactant", "active surfactant")
FAMILIES = (
    BUTTER,
    OILS,
    Family(("wax",), "hardening dose", equivalent="hardening", oily=True),
    Family(("fatty alcohol", "fatty acid"), "body", equivalent="body", oily=True),
    SURFACTANTS,
    Family(("emulsifier",), "emulsifying dose", equivalent="emulsifying", oily=True, span=MORE_EMULSIFIER),
    Family(("humectant",), "humectant active", "humectant active"),
    Family(("thickener",), "thickening dose", equivalent="thickening"),
    Family(("preservative",), "preserving dose", equivalent="preserving", alone=True),
    Family(("antioxidant",), "antioxidant dose", equivalent="against oxidation", oily=True),
    Family(("chelator",), "chelating dose", equivalent="binding metals"),
    Family(("powder", "clay")),
    *(Family((function,)) for function in ("grain", "fragrance", "colourant", "active", "silicone")),
)


def family_of(item: Ingredient) -> Family:
    """What it can stand in for; one of no family stands alone."""
    first = item.functions[0]
    return next((family for family in FAMILIES if first in family.functions), Family((first,)))


def known_dose(item: Ingredient) -> bool:
    """Whether it is known how much an ingredient brings of its family's measure; of a butter, its solids at 20 degC."""
    family = family_of(item)
    return family.strength(item) is not None and (family is not BUTTER or solid_fat_value(item, SOLIDS_AT) is not None)


def counter_line(family: Family, today: Formula, gone: Sequence[Ingredient], brief: Brief) -> Line | None:
    """The line that makes room, or fills up, where a replacement weighs more or less: the water, or the main oil.

    An oily family turns to the main oil first, any other to the water. A line that the brief fixes, or that goes
    itself, does not count; where neither is there it is the largest other line that is no grain.
    """
    fixed = {item.name for item, span in zip(brief.mix.ingredients, brief.ranges, strict=True) if span.pinned}
    lines = [line for line in today.lines if line.ingredient not in gone and line.ingredient.name not in fixed]
    free = [line for line in lines if line.ingredient.functions[0] not in family.functions]
    order = (("oil", "ester"), ("water",)) if family.oily else (("water",), ("oil", "ester"))
    for functions in order:
        if serving := [line for line in free if line.ingredient.functions[0] in functions]:
            return max(serving, key=lambda line: line.fraction)
    return max((line for line in free if line.phase != "grains"), key=lambda line: line.fraction, default=None)


def wrong_kind(family: Family, gone: Sequence[Ingredient], item: Ingredient, today: Formula) -> Hashable | None:
    """Why an ingredient of the family cannot do what has gone did; None where it can, or is not known to."""
    grains = any(line.phase == "grains" for line in today.lines)
    return next(_unlike(family, gone, item, grains), None)


def _unlike(family: Family, gone: Sequence[Ingredient], item: Ingredient, grains: bool) -> Iterator[Hashable]:
    own = family.equal(item)
    for old in gone:
        row = family.equal(old)
        if own and row and not own.stands_for(row, grains):
            holds = row.like == HOLDS_GRAINS
            yield Fact.HOLDS_NO_GRAINS if holds else OtherKin(own.like, old.name, row.like)
