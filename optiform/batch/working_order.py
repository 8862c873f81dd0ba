"""The order in which lines are weighed and go in, and what to mind with each: common practice, but for the figures."""

from collections.abc import Iterator, Sequence

from optiform.batch.facts import Bears, Melts, Mind, OwnHeat, Source, Wetted
from optiform.batch.making import PRACTICE, Making
from optiform.ingredients.formula import Line
from optiform.ingredients.ingredient import Ingredient
from optiform.reading.frozen import frozen
from optiform.rules.heat import melts_at, slow

LUMPS = ("thickener", "powder", "clay", "colourant", "solid surfactant")
#: Water phase, first to last.
WATERY = (
    "water", "chelator", "ph adjuster", "preservative", "active", "humectant", "thickener", "powder", "clay",
    "colourant", "solid surfactant", "emulsifier", "liquid surfactant",
)  # fmt: skip
WARM = 49.0  # degC (120 degF): what a phenoxyethanol-and-glycol preservative takes where the mass cools fast

ROOM = 20.0  # degC: what is melted below it is liquid as it is


@frozen
class Addition:
    """At what temperature a cool-down line goes in, degC, and who says so."""

    temperature: float
    source: Source


def addition(item: Ingredient, making: Making) -> Addition:
    """When an ingredient goes into the cooling mass: as wanted, but its own heat limit wins where it is lower.

    Where suppliers differ it is the lowest they give: nobody knows whose the maker has.
    """
    asked, limit = wanted(item, making), item.value("heat limit")
    if limit is None or limit.least >= asked.temperature:
        return asked
    if making.poured is not None and limit.least < making.poured:
        return Addition(making.poured, OwnHeat(item.name, limit, making.poured))
    return Addition(limit.least, OwnHeat(item.name, limit))


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


def minds(line: Line, making: Making, lines: Sequence[Line]) -> Iterator[Mind]:
    """What to mind with a line: lumps, melting, heat."""
    item = line.ingredient
    limit, melting = item.value("heat limit"), item.value("melting range")
    if item.has(*LUMPS) and line.phase != "grains" and item.functions[0] != "emulsifier":
        yield _wetted(line, lines)
    if line.phase == "oil phase" and melting is not None and melting.most >= ROOM:
        yield Melts(melting)
    if line.phase == "cool-down":
        yield Bears(limit, addition(item, making).temperature)
    elif limit is not None:
        yield Bears(limit)


def _wetted(line: Line, lines: Sequence[Line]) -> Wetted:
    """By what a powder is wetted first."""
    by = ("oil", "ester") if line.phase == "oil phase" else ("humectant", "oil", "ester")
    wetter = next((other for word in by for other in lines if _first(other) == word), None)
    if wetter is None:
        return Wetted("")
    gum = _first(line) == "thickener" and _first(wetter) == "humectant"
    return Wetted(wetter.ingredient.name, wetter.phase != line.phase, gum)


def _first(line: Line) -> str:
    return line.ingredient.functions[0]
