"""Firmness over temperature, before and after the readings, and the readings themselves on the same scale."""

from collections.abc import Sequence
from math import exp, log

import numpy as np

from optiform.ingredients.formula import Formula
from optiform.properties.firmness import Band
from optiform.reading.faults import BadInput
from optiform.reading.frozen import frozen
from optiform.trials.cells import Cell
from optiform.trials.fit import Fitted
from optiform.trials.prediction import bands_of

TEMPERATURES = (10.0, 15.0, 20.0, 25.0, 30.0, 35.0)  # degC


@frozen
class Predicted:
    """A formula's firmness at a temperature: as assumed, as fitted, and of one further batch of it."""

    temperature: float
    before: Band
    after: Band
    batch: Band


@frozen
class Curve:
    """A formula's firmness over temperature, and why there is none at the temperatures that are left out."""

    formula: Formula
    predicted: tuple[Predicted, ...]
    left_out: tuple[tuple[float, str], ...]


@frozen
class Point:
    """What a trial's jars read by one gauge at a temperature, as firmness; hours old; `count` jars."""

    trial: str
    gauge: str
    temperature: float
    age: float
    count: int
    read: float
    unit: str
    firmness: float


def curve(fit: Fitted, formula: Formula, temperatures: Sequence[float] = TEMPERATURES) -> Curve:
    """Bands at each temperature at which the scale has a firmness for the formula."""
    predicted: list[Predicted] = []
    left_out: list[tuple[float, str]] = []
    for at in temperatures:
        try:
            predicted.append(Predicted(at, *bands_of(fit, formula, at)))
        except BadInput as bad:
            left_out.extend((at, fault.read) for fault in bad.faults)
    return Curve(formula, tuple(predicted), tuple(left_out))


def points(fit: Fitted) -> tuple[Point, ...]:
    """Every mean of readings that counted, turned into firmness by the fitted answer of its gauge."""
    return tuple(_point(fit, cell) for cell in fit.taken.cells)


def _point(fit: Fitted, cell: Cell) -> Point:
    known, gauge = fit.posterior, fit.taken.gauges[cell.gauge]
    offset, slope = known.mean[:, known.first + cell.gauge], known.slopes[:, cell.gauge]
    aged = known.mean[:, 1] * log(cell.age / fit.taken.age) if fit.taken.drift else 0.0
    ln_firmness = float(known.weights @ np.asarray((cell.mean - offset) / slope - aged))
    return Point(
        trial=fit.taken.trials[cell.trial],
        gauge=gauge.words,
        temperature=cell.temperature,
        age=cell.age,
        count=cell.count,
        read=exp(cell.mean) if gauge.instrument.logged else cell.mean,
        unit=gauge.instrument.unit,
        firmness=100 * exp(ln_firmness),
    )
