"""What has to be replaced in which formula: what it did, what is to stay, and the line that makes room."""

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import replace
from functools import cached_property

import numpy as np

from optiform.brief.brief import Brief, Range
from optiform.brief.leftout import NoFigure
from optiform.design.facts import Fact
from optiform.design.function import Family, counter_line, family_of, known_dose, wrong_kind
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Ingredient
from optiform.program.build import Demand
from optiform.program.linear import Vector
from optiform.program.usual import requirements
from optiform.properties.base import Mix, Property, Ratio, fractions
from optiform.properties.solubility import OutOfRange
from optiform.reading.frozen import frozen


@frozen
class Kept:
    """A property to keep: its value today, its unit of distance, and the share of the whole it is a mean over."""

    property: Property
    value: float
    unit: float
    group: float


@frozen
class Task:
    """What has to be replaced in which formula, and which properties are to stay."""

    brief: Brief
    today: Formula
    gone: tuple[Ingredient, ...]
    follow: float
    wanted: tuple[Kept, ...]

    def without(self, name: str) -> "Task":
        """The same task with one property not counted."""
        return replace(self, wanted=tuple(kept for kept in self.wanted if kept.property.name != name))

    @cached_property
    def families(self) -> Mapping[Family, float]:
        """Of each family that goes, how much of its measure there is, mass fraction times strength.

        A family is taken by its mass where nobody knows how much one of what goes does.
        """
        gone: dict[Family, list[Ingredient]] = {}
        for item in self.gone:
            gone.setdefault(family_of(item), []).append(item)
        amounts = {}
        for family, items in gone.items():
            known = family if all(map(known_dose, items)) else family.by_mass()
            amounts[known] = sum((known.strength(item) or 0.0) * self.today.fraction(item.name) for item in items)
        return amounts

    def family(self, item: Ingredient) -> Family | None:
        """The family that goes and that it belongs to."""
        return next((known for known in self.families if item.functions[0] in known.functions), None)

    def lacking(self, item: Ingredient) -> Hashable | None:
        """Why an ingredient cannot be judged; None where it can."""
        family = self.family(item)
        if family is None:
            return Fact.OTHER_FUNCTION
        if family.measure and not known_dose(item):
            return NoFigure((family.measure,))
        gaps = self.gaps(item)
        return NoFigure(gaps) if gaps else wrong_kind(family, self.gone, item, self.today)

    def gaps(self, item: Ingredient) -> tuple[str, ...]:
        """What is counted or limited and an ingredient has no figure of."""
        mix, none = Mix((item,), (item.phase,)), np.zeros(1)
        asked = [limit.property for limit in self.brief.limits if isinstance(limit.property, Ratio)]
        properties = {wanted.name: wanted for wanted in (*(kept.property for kept in self.wanted), *asked)}.values()
        return tuple(wanted.name for wanted in properties if wanted.terms(mix, none).missing.any())

    @cached_property
    def makes_room(self) -> frozenset[str]:
        """Lines that make room or fill up."""
        lines = (counter_line(family, self.today, self.gone, self.brief) for family in self.families if family.measure)
        return frozenset(line.ingredient.name for line in lines if line)

    @cached_property
    def unmet_today(self) -> frozenset[tuple[str, str]]:
        """Name and side of the demands that today's formula does not keep."""
        mix, x = Mix.of(self.today), fractions(self.today)
        demands = requirements(replace(self.brief, mix=mix, ranges=tuple(ranges_of(self.brief, mix)))).near(x)
        return frozenset((demand.name, demand.side) for demand in demands if not met(demand, x))


def ranges_of(brief: Brief, mix: Mix) -> Iterator[Range]:
    """The brief's range of each line of a mix; all is open to what is none of its candidates."""
    known = dict(zip((i.name for i in brief.mix.ingredients), brief.ranges, strict=True))
    yield from (known.get(item.name, Range()) for item in mix.ingredients)


def met(demand: Demand, x: Vector) -> bool:
    """Whether it is kept, as far as its model can tell."""
    try:
        return demand.met(x)
    except OutOfRange:
        return False
