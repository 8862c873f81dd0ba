"""A formula from the lines that were kept of it."""

from collections.abc import Iterable

from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula, Line


def formula_from(name: str, lines: Iterable[tuple[str, float, str]], catalogue: Catalogue) -> Formula | None:
    """The formula of ingredient, % of the whole and phase by line; None where an ingredient is not known any more."""
    known = [(catalogue.find(ingredient), percent, phase) for ingredient, percent, phase in lines]
    known_lines = tuple(Line(item, percent / 100, phase) for item, percent, phase in known if item is not None)
    return Formula(name, known_lines) if known_lines and len(known_lines) == len(known) else None
