"""The centre of what a label allows as a formula of what is bought: a middle, and no recipe."""

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.ingredients.names import canonical
from optiform.label.from_label import ConstituentRange
from optiform.reading.frozen import frozen

WATER = "Aqua"


@frozen
class Middle:
    """The centre of a label's ranges, in ingredients.

    Attributes:
        formula: a line for every name that an ingredient is declared by; fractions of the whole, no line where none is.
        assumed: names that several ingredients are declared by, each with these; the first is taken.
        missing: names that no ingredient is declared by, each with its centre, % of the jar; not in the formula.
    """

    formula: Formula
    assumed: tuple[tuple[str, tuple[str, ...]], ...]
    missing: tuple[tuple[str, float], ...]


def middle(
    ranges: Sequence[ConstituentRange],
    catalogue: Catalogue,
    name: str,
    taken: Mapping[str, Ingredient] = MappingProxyType({}),
) -> Middle:
    """The centre of a label's ranges as a formula, each ingredient in its usual phase.

    What is bought in water is weighed with it: as much more of it as its name is less than all of it, and the water
    that it brings is taken off the water. What else it brings is left aside.

    Args:
        ranges: of the label's names.
        catalogue: where they are ingredients.
        name: of the formula.
        taken: the ingredient that stands for a name, where the maker says so.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> shares = {"Aqua": 90.0, "Cocamidopropyl Betaine": 9.0, "Moon Dust": 1.0}
        >>> ranges = [ConstituentRange(inci, 0.0, 100.0, share, "in order") for inci, share in shares.items()]
        >>> centre = middle(ranges, read_catalogue(), "moon wash")
        >>> [(line.ingredient.name, round(100 * line.fraction, 1)) for line in centre.formula.lines]
        [('water', 70.2), ('cocamidopropyl betaine, 30 %', 29.8)]
        >>> centre.missing
        (('Moon Dust', 1.0),)
    """
    bought = [(x, tuple(_declared_by(x.inci, catalogue, taken))) for x in ranges]
    parts: dict[Ingredient, float] = {}
    for x, items in bought:
        if items:
            parts[items[0]] = parts.get(items[0], 0.0) + 100 * x.centre / _share(items[0], x.inci)
    water = catalogue.find(WATER)
    if water in parts:
        brought = sum(part * _share(item, WATER, 0.0) / 100 for item, part in parts.items() if item is not water)
        parts[water] = max(0.0, parts[water] - brought)
    total = sum(parts.values())
    lines = tuple(Line(item, part / total, item.phase) for item, part in parts.items() if part > 0)
    return Middle(
        Formula(name, lines),
        tuple((x.inci, tuple(item.name for item in items)) for x, items in bought if len(items) > 1),
        tuple((x.inci, x.centre) for x, items in bought if not items),
    )


def _declared_by(inci: str, catalogue: Catalogue, taken: Mapping[str, Ingredient]) -> Iterator[Ingredient]:
    """The one ingredient of this name, or that is taken for it, else all that are declared by it alone."""
    item = taken.get(inci) or catalogue.find(inci)
    yield from [item] if item else catalogue.declaring(inci)


def _share(item: Ingredient, inci: str, otherwise: float = 100.0) -> float:
    """How much of an ingredient is this constituent, %; `otherwise` where it does not name it."""
    name = canonical(inci)
    return sum(part.share.figure for part in item.constituents if canonical(part.inci) == name) or otherwise
