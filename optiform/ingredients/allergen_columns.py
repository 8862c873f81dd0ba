"""The columns of an own table that hold a supplier's allergen list: `allergen NAME (%)`."""

from functools import cache

from optiform.ingredients.names import canonical
from optiform.reading.tables import shipped

#: Begins these columns.
COLUMN = "allergen "


def members(row: dict[str, str]) -> tuple[str, ...]:
    """Every name that counts towards an entry of allergens.csv, in lower case, the label's name first.

    Example:
        >>> members({"name": "Linalool", "inci": "Linalool; Coriandrol"})
        ('linalool', 'coriandrol')
    """
    return tuple(dict.fromkeys(name.strip().casefold() for name in (row["name"], *row["inci"].split(";"))))


@cache
def _known() -> tuple[str, ...]:
    return tuple(name for row in shipped("allergens") for name in members(row))


class NoAllergen(ValueError):
    """A column for an allergen that is none: what was expected of its header."""


def check_column(name: str) -> str:
    """The column `allergen NAME` in one spelling, NAME being an entry or a member of one, however it is written.

    Raises:
        NoAllergen: with near names; a misspelt allergen would be lost in silence.
    """
    known = _known()
    wanted = " ".join(name.removeprefix(COLUMN).split()).casefold()
    if wanted not in known:
        wanted = canonical(wanted).casefold()
    if wanted not in known:
        from difflib import get_close_matches

        near = get_close_matches(wanted, known, n=3, cutoff=0.6)
        raise NoAllergen(f"an allergen of our tables; near: {'; '.join(near) or 'none'}")
    return COLUMN + wanted
