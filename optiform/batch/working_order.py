"""The order in which lines are weighed and go in, and what to mind with each: common practice, but for the figures."""

from collections.abc import Sequence

from optiform.batch.making import PRACTICE, Making
from optiform.ingredients.formula import Line
from optiform.ingredients.ingredient import Ingredient
from optiform.reading.frozen import frozen
from optiform.review.answer import SURE
from optiform.rules.heat import heat_limit, melts_at, slow

LUMPS = ("thickener", "powder", "clay", "colourant", "solid surfactant")
#: Water phase, first to last.
WATERY = (
    "water", "chelator", "ph adjuster", "preservative", "active", "humectant", "thickener", "powder", "clay",
    "colourant", "solid surfactant", "emulsifier", "liquid surfactant",
)  # fmt: skip
WARM = 49.0  # degC (120 degF): what a phenoxyethanol-and-glycol preservative takes where the mass cools fast


@frozen
class Addition:
    """At what temperature a cool-down line goes in, degC, and who says so."""

    temperature: float
    source: str


def addition(item: Ingredient, making: Making) -> Addition:
    """When an ingredient goes into the cooling mass: as wanted, but its own heat limit wins where it is lower.

    Where suppliers differ it is the lowest they give: nobody knows whose the maker has.
    """
    asked, limit = wanted(item, making), item.value("heat limit")
    if limit is None or limit.least >= asked.temperature:
        return asked
    if making.poured is not None and limit.least < making.poured:
        lower = (
            f"heat limit of {item.name}, {limit.least:g} degC ({SURE[limit.evidence]}), lower than the mass is poured"
        )
        return Addition(making.poured, f"{lower}: stir it in last and pour at once")
    lowest = ", the lowest that suppliers give" if limit.least < limit.most else ""
    return Addition(limit.least, f"heat limit of {item.name}{lowest} ({SURE[limit.evidence]})")


def wanted(item: Ingredient, making: Making) -> Addition:
    """The temperature for an addition whatever its heat limit: warmer for what takes it where the mass cools fast."""
    if making.cools_fast and takes_warmth(item) and making.addition < WARM:
        return Addition(WARM, PRACTICE)
    return Addition(making.addition, making.source("addition"))


def takes_warmth(item: Ingredient) -> bool:
    """Whether it is a preservative of phenoxyethanol and a glycol, or ethylhexylglycerin: a diol as glycols are."""
    names = [part.inci for part in item.constituents]
    diol = any("Glycol" in name or name == "Ethylhexylglycerin" for name in names)
    return item.has("preservative") and "Phenoxyethanol" in names and diol


def ordered(lines: Sequence[Line], making: Making) -> list[Line]:
    """Lines of one phase as they are weighed and go in.

    Oil phase: slow melters by the top of their melting range, then butters, then oils, powders last. Water phase: water
    first, what foams last. Cool-down: warmest addition first, within it powders first. Grains: as they stand.
    """
    keys = {
        "oil phase": _oily,
        "water phase": lambda line: (WATERY.index(f) if (f := line.ingredient.functions[0]) in WATERY else 5, 0.0),
        "cool-down": lambda line: (
            -addition(line.ingredient, making).temperature,
            not line.ingredient.has(*LUMPS),
        ),
    }
    return sorted(lines, key=keys.get(lines[0].phase, lambda line: (0, 0.0))) if lines else []


def _oily(line: Line) -> tuple[int, float]:
    item = line.ingredient
    rank = 0 if slow(item) else 1 if item.functions[0] == "butter" else 3 if item.has(*LUMPS) else 2
    return rank, -(melts_at(item) or 0.0)


def note(line: Line, making: Making, lines: Sequence[Line]) -> str:
    """What to mind with a line, as one text."""
    told = [_wetting(line, lines), _melting(line), _heat(line, making)]
    return "; ".join(words for words in told if words)


def _wetting(line: Line, lines: Sequence[Line]) -> str:
    item = line.ingredient
    if not item.has(*LUMPS) or line.phase == "grains" or line.ingredient.functions[0] == "emulsifier":
        return ""
    wanted = ("oil", "ester") if line.phase == "oil phase" else ("humectant", "oil", "ester")
    wetter = next((other for word in wanted for other in lines if _first(other) == word), None)
    if wetter is None:
        return "sift in slowly while stirring, against lumps"
    name, held = wetter.ingredient.name, "" if wetter.phase == line.phase else "held back "
    if item.functions[0] == "thickener" and _first(wetter) == "humectant":
        return f"wet with at least 5 times as much {name} {held}first, or blend dry with another powder, against lumps"
    return f"wet with some of the {name} {held}first, against lumps"


def _first(line: Line) -> str:
    return line.ingredient.functions[0]


def _melting(line: Line) -> str:
    value = line.ingredient.value("melting range")
    if line.phase != "oil phase" or value is None or value.most < 20:
        return ""
    return f"melted at {value.most:g} degC ({SURE[value.evidence]})"


def _heat(line: Line, making: Making) -> str:
    """The heat limit of what goes into a hot or a cooling mass, and the temperature it goes in at."""
    limit = line.ingredient.value("heat limit")
    known = f"{heat_limit(limit)} ({SURE[limit.evidence]})" if limit else ""
    if line.phase != "cool-down":
        return known
    at = f"add at {addition(line.ingredient, making).temperature:g} degC"
    return f"{at}; {known or 'heat limit not known: ask its supplier'}"
