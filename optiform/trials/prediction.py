"""What a fit says of a formula: how firm it is, before and after the readings, and what each gauge will read of it."""

from optiform.ingredients.formula import Formula
from optiform.properties.firmness import ASSUMED, Band, firmness_band
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.trials.fit import Beyond, Fitted, OnGauge, beyond, on_gauge, place_of, relative


@frozen
class Prediction:
    """A formula at a temperature. Firmness on the scale on which the reference at 20 degC is 100.

    Attributes:
        before: band of the formula's firmness as assumed, without any reading.
        after: the same, fitted.
        batch: the same for one further batch of it, with what the making does.
        gauges: what each gauge will read.
        beyond: in what no trial reaches it.
    """

    formula: Formula
    temperature: float
    level: float
    age: float
    before: Band
    after: Band
    batch: Band
    gauges: tuple[OnGauge, ...]
    beyond: tuple[Beyond, ...] = ()


def predict(fitted: Fitted, formula: Formula, temperature: float) -> Prediction:
    """Firmness of a formula at a temperature, before and after the readings, and what each gauge will read.

    Raises:
        BadInput: where the scale has no firmness for it: a figure is missing, nothing is solid, the grains jam.
    """
    solids, grains = place_of(fitted, formula, temperature)
    before, after, batch = bands_of(fitted, formula, temperature)
    return Prediction(
        formula=formula,
        temperature=temperature,
        level=fitted.level,
        age=fitted.taken.age,
        before=before,
        after=after,
        batch=batch,
        gauges=tuple(on_gauge(fitted, k, solids, grains) for k in range(len(fitted.taken.gauges))),
        beyond=beyond(fitted.taken, solids, grains, temperature),
    )


def bands_of(fitted: Fitted, formula: Formula, temperature: float) -> tuple[Band, Band, Band]:
    """Firmness as assumed, as fitted, and of the next batch: the bands that every place tells (`firmness_band`).

    The next batch varies by its making as well, so that its band is never the narrower one.

    Raises:
        BadInput: where the scale has no firmness for it.
    """
    solids, grains = place_of(fitted, formula, temperature)
    try:
        bands = [firmness_band(formula, fitted.reference, temperature, each) for each in (ASSUMED, fitted.exponents)]
    except ValueError as jammed:
        place = formula.name, f"firmness at {temperature:g} degC"
        raise BadInput([Fault(*place, str(jammed), "a formula that the scale covers")]) from None
    before, after = bands
    assert before is not None
    assert after is not None
    made = relative(fitted.posterior.firmness(solids, grains, batch=True), fitted.level)
    return before, after, Band(min(after.low, made.low), after.typical, max(after.high, made.high))
