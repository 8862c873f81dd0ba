"""How firm a formula is at the temperatures a maker looks at, and what her own instrument should read of it."""

from collections.abc import Mapping, Sequence

from optiform.brief.brief import Brief
from optiform.ingredients.formula import Formula
from optiform.properties.firmness import REFERENCE_TEMPERATURE, Band, firmness_band
from optiform.reading.faults import BadInput
from optiform.reading.frozen import frozen
from optiform.rules.network import without_network
from optiform.trials.fit import Fitted as Fitted
from optiform.trials.fit import OnGauge as OnGauge
from optiform.trials.fit import on_gauge, place_of

LOOKED_AT = (10.0, 20.0, 35.0)  # °C: a cold room, a room, a hot car
PUSH = "push on a scale"  # what every kitchen can read


@frozen
class Firm:
    """Firmness at a temperature, as fitted where there is a fit; `reading` is what one gauge should read of it."""

    temperature: float
    band: Band
    reading: OnGauge | None = None


def firm(
    formula: Formula, reference: Formula, fitted: Fitted | None = None, temperatures: Sequence[float] = LOOKED_AT
) -> tuple[Firm, ...]:
    """How firm a formula is at each temperature at which that is known; the reference at 20 °C is 100.

    Args:
        formula: what is looked at.
        reference: of the scale; where there is a fit, the fit's counts.
        fitted: the scale fitted to the maker's own readings.
        temperatures: in °C.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> today = mixed({"shea butter, refined": 80, "beeswax": 20})
        >>> [(each.temperature, round(each.band.typical)) for each in firm(today, today)]
        [(10.0, 204), (20.0, 100), (35.0, 28)]
    """
    at = [_fitted(fitted, formula, t) if fitted else _assumed(formula, reference, t) for t in temperatures]
    return tuple(each for each in at if each is not None)


def beside(formulas: Sequence[Formula], reference: Formula, fitted: Fitted | None) -> dict[str, Firm]:
    """How firm each formula is in a room, by name, where that is known; the reference is 100."""
    return {each.name: how for each in formulas for how in firm(each, reference, fitted, (REFERENCE_TEMPERATURE,))}


def beside_today(brief: Brief, formulas: Mapping[str, Formula], fitted: Fitted | None = None) -> dict[str, Firm | None]:
    """How firm formulas are at 20 °C, None where it is not known; empty where fat and wax do not carry the product.

    Args:
        brief: whose formula of today is 100.
        formulas: by what they are called.
        fitted: the scale fitted to the maker's own readings.
    """
    today, room = brief.reference, (REFERENCE_TEMPERATURE,)
    if today is None or without_network(brief.kind) or not firm(today, today, fitted, room):
        return {}
    return {name: next(iter(firm(formula, today, fitted, room)), None) for name, formula in formulas.items()}


def _assumed(formula: Formula, reference: Formula, temperature: float) -> Firm | None:
    try:
        band = firmness_band(formula, reference, temperature)
    except ValueError:  # the grains jam
        return None
    return None if band is None else Firm(temperature, band)


def _fitted(fitted: Fitted, formula: Formula, temperature: float) -> Firm | None:
    try:
        solids, grains = place_of(fitted, formula, temperature)
        band = firmness_band(formula, fitted.reference, temperature, fitted.exponents)
    except (BadInput, ValueError):  # it stands nowhere on the scale, or the grains jam
        return None
    if band is None:
        return None
    words = [gauge.words for gauge in fitted.taken.gauges]
    first = next((k for k, gauge in enumerate(words) if gauge.startswith(PUSH)), 0)
    return Firm(temperature, band, on_gauge(fitted, first, solids, grains) if words else None)
