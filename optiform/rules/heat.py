"""What is heated, and what does not bear it: heat limits against the temperature of the hot phases."""

from collections.abc import Iterator, Sequence

from optiform.ingredients.formula import Line
from optiform.ingredients.ingredient import DOSED, Ingredient, Value
from optiform.rules.forms import Level

SLOW = ("wax", "fatty alcohol", "fatty acid", "emulsifier")
HOT = 70.0  # degC that phases are heated to where the maker sets nothing else. Common practice, no source.
HEATED = ("water phase", "oil phase")


def melts_at(item: Ingredient) -> float | None:
    """The top of its melting range, degC; None where none is known.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> melts_at(read_catalogue().ingredients["beeswax"])
        66.0

    Source: Handbook of Pharmaceutical Excipients, 5th edition (FR-HPE5-WAX): beeswax 61 to 66 degC.
    """
    value = item.value("melting range")
    return None if value is None else value.most


def slow(item: Ingredient) -> bool:
    """Whether it is a wax, a fatty alcohol or acid, or an emulsifier that has to be melted.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> known = read_catalogue().ingredients
        >>> slow(known["cetyl alcohol"]), slow(known["polysorbate 80"])
        (True, False)

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return item.functions[0] in SLOW and (item.functions[0] != "emulsifier" or melts_at(item) is not None)


def melted(lines: Sequence[Line]) -> bool:
    """Whether something in these lines has to be melted, so that oil and water phase are heated.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> oil = read_catalogue().ingredients["sweet almond oil"]
        >>> melted([Line(oil, 1.0, "oil phase")])
        False

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    oily = (line.ingredient for line in lines if line.phase == "oil phase")
    return any(slow(item) or item.functions[0] == "butter" for item in oily)


def too_hot(lines: Sequence[Line], hot: float = HOT) -> Iterator[tuple[Line, Value, Level]]:
    """Lines of heated phases whose heat limit lies below the temperature there, by what one supplier says at least.

    What is dosed is lost by it, which is to be minded; the rest suffers only, and some makers heat it all the same.

    Args:
        lines: all that are made in one pot.
        hot: degC that the phases are heated to.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> known = read_catalogue().ingredients
        >>> pot = [Line(known["beeswax"], 0.2, "oil phase"), Line(known["lavender essential oil"], 0.01, "oil phase")]
        >>> [(line.ingredient.name, limit.most, level) for line, limit, level in too_hot(pot)]
        [('lavender essential oil', 45.0, 'mind')]
        >>> [limit.most for line, limit, level in too_hot(pot[:1], hot=160.0)]
        [150.0]
        >>> list(too_hot(pot[1:]))
        []

    Source: a supplier on beeswax (FR-HPE5-WAX2): its acids esterify above 150 degC. The 45 degC of the oil is custom.
    """
    if not melted(lines):
        return
    for line in lines:
        limit = line.ingredient.value("heat limit")
        if line.phase in HEATED and limit is not None and limit.least < hot:
            lost = line.ingredient.functions[0] in DOSED and limit.most < hot
            yield line, limit, "mind" if lost else "note"
