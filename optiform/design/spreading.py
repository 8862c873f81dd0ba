"""How thick the oils that come in are against those that go: by that a hand tells one oil from another."""

from collections.abc import Iterable

from optiform.design.facts import OtherThickness, UnknownThickness
from optiform.design.function import OILS, family_of
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.viscosity import Thickness, compared

MOVED = 1e-6  # mass fraction: less is the same amount


def thickness(
    new: Iterable[tuple[Ingredient, float]], old: Iterable[tuple[Ingredient, float]]
) -> OtherThickness | UnknownThickness | None:
    """How thick the oils and esters of some lines are against those of others; None where either has none."""
    coming, going = ([(item, share) for item, share in lines if family_of(item) is OILS] for lines in (new, old))
    if not coming or not going:
        return None
    against = compared(coming, going)
    return OtherThickness(against) if isinstance(against, Thickness) else UnknownThickness(against)


def spreading(before: Formula, after: Formula) -> OtherThickness | UnknownThickness | None:
    """How thick the oils are of which there is more in a formula, against those of which there is less.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> today = mixed({"sweet almond oil": 2, "shea butter, refined": 1})
        >>> spreading(today, mixed({"jojoba oil": 1, "sweet almond oil": 1, "shea butter, refined": 1}))
        UnknownThickness(ingredients=('jojoba oil',))
        >>> spreading(today, today)
    """
    items = {line.ingredient.name: line.ingredient for line in (*before.lines, *after.lines)}
    moved = [(item, after.fraction(name) - before.fraction(name)) for name, item in items.items()]
    more = [(item, share) for item, share in moved if share > MOVED]
    return thickness(more, [(item, -share) for item, share in moved if share < -MOVED])
