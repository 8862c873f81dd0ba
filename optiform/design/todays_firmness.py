"""How firm today's formula is, by temperature, and which candidates have the figures to tell how firm they make it."""

from collections.abc import Collection

from optiform.brief.brief import Brief
from optiform.design.around import without_figures
from optiform.ingredients.formula import Formula
from optiform.properties.base import Mix, fractions
from optiform.properties.firmness import Band, Exponents, firmness_band, no_figure, without_network
from optiform.reading.faults import BadInput, Fault

COLD, HOT = 10.0, 35.0  # degC: a bathroom in winter, a warm room in summer
SHOWN = (COLD, 20.0, 30.0, HOT)
#: What may move texture when the emulsifier is left alone.
MOVABLE = ("oil", "butter", "ester", "wax", "fatty alcohol", "fatty acid", "grain", "water", "powder", "clay")
_SOLIDS = "a formula that fats and waxes carry, with figures of what is solid in it"


def firmness_today(brief: Brief, today: Formula, temperature: float, known: Exponents) -> dict[float, Band]:
    """Firmness of today's formula, from which every step is counted."""
    try:
        bands = {at: firmness_band(today, today, at, known) for at in sorted({*SHOWN, temperature})}
    except ValueError as error:
        raise BadInput([Fault(brief.title, "firmness of the reference", today.name, str(error))]) from None
    known_bands = {at: band for at, band in bands.items() if band is not None}
    if len(known_bands) < len(bands):
        why = without_network(today) or what_lacks(today, bands) or "nothing in it is solid at 20 °C"
        words = f"The formula of today, {today.name}, has no firmness to go by: {why}."
        raise BadInput([Fault(brief.title, "reference", today.name, _SOLIDS, words)])
    if known_bands[temperature].typical <= 0:
        words = "a temperature at which something of today's formula is solid"
        raise BadInput([Fault(brief.title, "temperature", f"{temperature:g} degC", words)])
    return known_bands


def what_lacks(formula: Formula, temperatures: Collection[float]) -> str:
    """Which figures firmness needs and a formula lacks, and of which lines; empty where it has all.

    Args:
        formula: whose firmness is asked for.
        temperatures: degC.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> what_lacks(mixed({"shea butter, refined": 59, "sea salt, fine": 40, "rosemary extract": 1}), [20.0])
        'no figure for the density of rosemary extract'
    """
    mix, x = Mix.of(formula), fractions(formula)
    lacking = {name: of for at in temperatures for name, of in no_figure(mix, at, x).items()}
    return "; ".join(f"no figure for the {of} of {name}" for name, of in lacking.items())


def with_firmness(brief: Brief, today: Formula, temperatures: Collection[float]) -> Brief:
    """The brief without what could come in and has no figure to tell how firm it makes today's formula."""
    among = {name for at in temperatures for name in no_figure(brief.mix, at)}
    lines, lacking = Mix.of(today), dict[str, tuple[str, ...]]()
    for item, phase in zip(brief.mix.ingredients, brief.mix.phases, strict=True):
        if item.name in among and item.functions[0] in MOVABLE and not today.fraction(item.name):
            beside = Mix((*lines.ingredients, item), (*lines.phases, phase))
            wants = (no_figure(beside, at).get(item.name) for at in temperatures)
            if wanted := tuple(dict.fromkeys(filter(None, wants))):
                lacking[item.name] = wanted
    return without_figures(brief, lacking) if lacking else brief
