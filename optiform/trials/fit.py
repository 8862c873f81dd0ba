"""The firmness scale fitted to a maker's own readings, and what it says of a formula before and after."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from enum import Enum, auto
from functools import cached_property
from math import exp, log
from statistics import NormalDist
from typing import Literal

import numpy as np

from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula
from optiform.properties import grounds
from optiform.properties.base import Vector
from optiform.properties.firmness import REFERENCE_TEMPERATURE, Band, Exponents, Scale, State, state
from optiform.properties.grounds import FittedTo
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.trials.cells import Gauge, LeftOut, Readings, formulas_of, readings_of
from optiform.trials.mixture import Mixture
from optiform.trials.posterior import Posterior, posterior
from optiform.trials.taught import Figure, Taught
from optiform.workshop.log import Log

LEVEL = 0.90  # of every band shown: nine times in ten
DISAGREES = 0.01  # a trial further off than this, left out and predicted from the others, is told
JARS = 3  # readings that are averaged, as practice has it


class Note(Enum):
    """What a reader of fitted figures must know."""

    AGING = auto()  #: firmness moves with age, and the fit says how
    AGES_DIFFER = auto()  #: between trials, not within one
    GRAINS_ALIKE = auto()  #: by volume, in all trials
    SOLIDS_ALIKE = auto()  #: structuring ones, in all trials
    FEW = auto()  #: fewer than four trials


#: What can lie where no trial does.
Reach = Literal["temperature", "solids", "grains"]


@frozen
class Beyond:
    """In what no trial reaches a formula at a temperature, degC: that itself, its solids, or its grains by volume."""

    reach: Reach
    temperature: float


@frozen
class Learned:
    """One number of the scale, with its band before the readings and after.

    `prior` is None where nothing worth telling was known before. Numbers stand in `unit`.
    """

    figure: Figure
    unit: str
    prior: Band | None
    fitted: Band
    gauge: str = ""


@frozen
class Seen:
    """One trial against what all other trials predict of it.

    Attributes:
        readings: how many it gave.
        off: by how much it was firmer (above 0) than the fitted scale says, in %.
        expected_alone: the same from a fit without this trial, in %.
        likelihood: how often a trial is that far off or further if the others are right.
        disagrees: whether that is rarer than one in a hundred.
        taught: every figure of the scale with this trial and without it, in the order of `Fitted.learned`.
    """

    trial: str
    readings: int
    temperatures: tuple[float, ...]
    off: float
    expected_alone: float
    likelihood: float
    disagrees: bool
    taught: tuple[Taught, ...]


@frozen
class Basis(grounds.Readings):
    """What a fit rests on. `cells` are means by trial, gauge, temperature and age."""

    cells: int
    gauges: tuple[str, ...]


@frozen
class Fitted:
    """A fit.

    Attributes:
        reference: the formula whose firmness at 20 degC is 100.
        learned: exponent, packing, scatter, drift, and each gauge.
        seen: every trial against the others.
        left_out: readings that did not count.
        notes: what a reader of the figures must know.
        taken, posterior, unread: to calculate with: the readings, and everything after and before them.
    """

    reference: Formula
    level: float
    basis: Basis
    learned: tuple[Learned, ...]
    seen: tuple[Seen, ...]
    left_out: tuple[LeftOut, ...]
    notes: tuple[Note, ...]
    taken: Readings
    posterior: Posterior
    unread: Posterior

    @property
    def disagreeing(self) -> tuple[str, ...]:
        """Trials that do not agree with the others."""
        return tuple(seen.trial for seen in self.seen if seen.disagrees)

    @cached_property
    def exponents(self) -> Exponents:
        """The scale for firmness and the texture job: means, the corners of both bands, scatter as learned."""
        known = self.posterior
        n, phi_m = known.exponent(), known.of(known.phi_m)
        ends = n.central(self.level), phi_m.central(self.level)
        corners = tuple(Scale(a, b) for a in ends[0] for b in ends[1])
        apart = exp(NormalDist().inv_cdf((1 + self.level) / 2) * known.of(known.tau).mean)
        return Exponents(Scale(n.mean, phi_m.mean), corners, FittedTo(self.basis), apart)


@frozen
class OnGauge:
    """What a gauge will read of one further batch, mean of three jars, in its own unit."""

    gauge: str
    unit: str
    band: Band


def fit(log: Log, catalogue: Catalogue, reference: Formula | None = None) -> Fitted:
    """Fit exponent, packing and scatter to a log of trials.

    Args:
        log: trials and readings.
        catalogue: gives the ingredients.
        reference: firmness 100; without it, the formula of the first trial.

    Raises:
        BadInput: with every fault of the log, and where no reading counts.
    """
    formulas = formulas_of(log, catalogue)
    if not formulas:
        raise BadInput([Fault(log.place, "trials", "none", "at least one trial")])
    base = reference or next(iter(formulas.values()))
    readings = readings_of(log, formulas, base)
    if not readings.cells:
        why = ", ".join(dict.fromkeys(each.why.reason for each in readings.left_out)) or "none"
        raise BadInput([Fault(log.place, "readings that count", why, "at least one plain reading, 24 h old or older")])
    return fitted(readings, base)


def fitted(readings: Readings, reference: Formula) -> Fitted:
    """Fit readings that are sorted already."""
    after = posterior(readings)
    before = posterior(Readings((), readings.gauges, (), readings.reference_grains, readings.drift, readings.age))
    learned = tuple(_learned(readings, before, after))
    return Fitted(
        reference=reference,
        level=LEVEL,
        basis=_basis(readings),
        learned=learned,
        seen=tuple(_seen(readings, before, after, learned, trial) for trial in range(len(readings.trials))),
        left_out=readings.left_out,
        notes=tuple(_notes(readings)),
        taken=readings,
        posterior=after,
        unread=before,
    )


def on_gauge(fitted: Fitted, number: int, solids: float, grains: float) -> OnGauge:
    """What one of the gauges will read of one further batch, mean of three jars.

    Args:
        fitted: the fit.
        number: of the gauge among those that were read.
        solids: ln of the solids over the reference's, as `place_of` gives it.
        grains: volume fraction.
    """
    gauge = fitted.taken.gauges[number]
    band = _own(fitted.posterior.reading(solids, grains, number, JARS), gauge, fitted.level)
    return OnGauge(gauge.words, gauge.instrument.unit, band)


def place_of(fitted: Fitted, formula: Formula, temperature: float) -> tuple[float, float]:
    """Where a formula stands on the scale: ln of its solids over the reference's, and its grains by volume.

    Raises:
        BadInput: where it stands nowhere.
    """
    here, base = state(formula, temperature), state(fitted.reference, REFERENCE_TEMPERATURE)
    assert base is not None
    why = _nowhere(here, fitted.posterior)
    if here is None or why:
        raise BadInput(
            [Fault(formula.name, f"firmness at {temperature:g} degC", why, "a formula that the scale covers")]
        )
    return log(here.body / base.body), here.phi


def _nowhere(here: State | None, known: Posterior) -> str:
    if here is None:
        return "a figure that is not known"
    if here.solids[1] <= 0:
        return "no structuring solids"
    return f"grains of {100 * here.phi:.0f} % by volume, which jam" if here.phi >= known.phi_m.min() else ""


def relative(mixture: Mixture, level: float) -> Band:
    """A band of ln firmness as firmness, the reference at 20 degC being 100."""
    low, high = mixture.central(level)
    return Band(100 * exp(low), 100 * exp(mixture.quantile(0.5)), 100 * exp(high))


def _own(mixture: Mixture, gauge: Gauge, level: float) -> Band:
    ends = [*mixture.central(level), mixture.quantile(0.5)]
    low, high, typical = (
        (exp(end) for end in ends) if gauge.instrument.logged else (float(np.clip(e, 1, 5)) for e in ends)
    )
    return Band(low, typical, high)


# -- what is told ------------------------------------------------------------------------------------------------------


def _basis(readings: Readings) -> Basis:
    cells = readings.cells
    return Basis(
        trials=len(readings.trials),
        readings=sum(cell.count for cell in cells),
        cells=len(cells),
        temperatures=tuple(sorted({cell.temperature for cell in cells})),
        ages=tuple(sorted({cell.age for cell in cells})),
        gauges=tuple(gauge.words for gauge in readings.gauges),
    )


def _learned(readings: Readings, before: Posterior, after: Posterior) -> list[Learned]:
    jam, jammed = (_band(each.of(each.phi_m), lambda phi_m: 100 * phi_m) for each in (before, after))
    learned = [
        Learned(Figure.POWER, "", _band(before.exponent()), _band(after.exponent())),
        Learned(Figure.JAMMING, "%", jam, jammed),
        Learned(Figure.BATCHES, "%", *_per_cent(before.tau, after.tau, before, after)),
        Learned(Figure.JARS, "%", *_per_cent(before.sigma, after.sigma, before, after)),
    ]
    if readings.drift:
        was, now = (_band(each.drift(), lambda d: 100 * (2**d - 1)) for each in (before, after))
        learned.append(Learned(Figure.AGING, "%", was, now))
    for k, gauge in enumerate(readings.gauges):
        unit = gauge.instrument.unit
        learned.append(Learned(Figure.AT_100, unit, None, _own(after.offset(k), gauge, LEVEL), gauge.words))
        if gauge.instrument.slope is not None:
            figure = Figure.ANSWER if gauge.instrument.logged else Figure.SCORES
            was, now = (_signed(each, k) for each in (before, after))
            learned.append(Learned(figure, "", was, now, gauge.words))
    return learned


def _band(mixture: Mixture, as_told: Callable[[float], float] = float) -> Band:
    low, high = mixture.central(LEVEL)
    return Band(as_told(low), as_told(mixture.quantile(0.5)), as_told(high))


def _per_cent(was: Vector, now: Vector, before: Posterior, after: Posterior) -> tuple[Band, Band]:
    """A relative standard deviation, whose logarithm the grid runs over."""
    bands = [_band(known.of(np.log(each)), lambda ln: 100 * exp(ln)) for known, each in ((before, was), (after, now))]
    return bands[0], bands[1]


def _signed(known: Posterior, k: int) -> Band:
    sign = float(np.sign(known.slopes[0, k]))
    band = _band(known.of(np.log(np.abs(known.slopes[:, k]))), lambda ln: sign * exp(ln))
    return Band(min(band.low, band.high), band.typical, max(band.low, band.high))


def _seen(readings: Readings, before: Posterior, after: Posterior, learned: Sequence[Learned], trial: int) -> Seen:
    """A trial predicted without it: the mean of its readings as one number, turned into firmness by the mean slopes."""
    cells = [cell for cell in readings.cells if cell.trial == trial]
    alone = posterior(readings.without(trial), near=after)
    middle, mixture = _mean_off(readings, after, trial), _mean_off(readings, alone, trial)
    below = mixture.below(0.0)
    likelihood = 2 * min(below, 1 - below)
    return Seen(
        trial=readings.trials[trial],
        readings=sum(cell.count for cell in cells),
        temperatures=tuple(sorted({cell.temperature for cell in cells})),
        off=100 * (exp(-middle.mean) - 1),
        expected_alone=100 * (exp(-mixture.mean) - 1),
        likelihood=likelihood,
        disagrees=likelihood < DISAGREES,
        taught=tuple(_taught(learned, _learned(readings, before, alone))),
    )


def _taught(learned: Sequence[Learned], without: Sequence[Learned]) -> Iterator[Taught]:
    for row, other in zip(learned, without, strict=True):
        yield Taught(row.figure, row.unit, row.fitted, other.fitted, row.gauge)


def _mean_off(readings: Readings, known: Posterior, trial: int) -> Mixture:
    """What is predicted of a trial less what was read, averaged over its cells, in ln firmness."""
    cells = [cell for cell in readings.cells if cell.trial == trial]
    total = sum(cell.count for cell in cells)
    row, off = np.zeros_like(known.mean), np.zeros(len(known.weights))
    shared, own = np.zeros(len(off)), np.zeros(len(off))
    for cell in cells:
        slope = known.slopes[:, cell.gauge]
        share = cell.count / total / float(known.weights @ slope)
        at = known.row(cell.solids, cell.gauge)
        if readings.drift:
            at[:, 1] = slope * log(cell.age / readings.age)
        row += share * at
        off += share * (slope * known.thickening(cell.grains) - cell.mean)
        shared += share * slope
        own += share**2 * known.noise[:, cell.gauge] ** 2 / cell.count
    variance = np.einsum("gi,gij,gj->g", row, known.cov, row) + (shared * known.tau) ** 2 + own
    return Mixture(known.weights, off + np.sum(row * known.mean, axis=1), np.sqrt(variance))


def _notes(readings: Readings) -> Iterator[Note]:
    ages = {cell.age for cell in readings.cells}
    if readings.drift:
        yield Note.AGING
    elif len(ages) > 1:
        yield Note.AGES_DIFFER
    solids, grains = (np.array([getattr(cell, name) for cell in readings.cells]) for name in ("solids", "grains"))
    if np.ptp(grains) < 0.05:
        yield Note.GRAINS_ALIKE
    if np.ptp(solids) < 0.2:
        yield Note.SOLIDS_ALIKE
    if len(readings.trials) < 4:
        yield Note.FEW


def beyond(readings: Readings, solids: float, grains: float, temperature: float) -> tuple[Beyond, ...]:
    """In what a prediction leaves the trials behind."""
    checks: Mapping[Reach, tuple[float, float]] = {
        "temperature": (temperature, 1e-9), "solids": (solids, 0.1), "grains": (grains, 0.03)
    }  # fmt: skip
    return tuple(
        Beyond(name, temperature)
        for name, (value, margin) in checks.items()
        if not _within([getattr(cell, name) for cell in readings.cells], value, margin)
    )


def _within(seen: Sequence[float], value: float, margin: float) -> bool:
    return min(seen) - margin <= value <= max(seen) + margin
