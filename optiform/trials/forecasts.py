"""Forecasts that were sealed before a jar was read, and how well they did: from the records alone.

A forecast is kept when a prediction is asked of a formula that nobody has read at that temperature by that instrument.
It is a record that only ever is added (`workshop.records.Forecast`), so that a later model, later figures and later
readings change nothing of it. A reading is set beside the last forecast that was asked before it.
"""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache
from hashlib import sha256
from importlib.metadata import version
from math import exp, log

from optiform.ingredients.formula import Formula
from optiform.reading import clock
from optiform.reading.frozen import frozen
from optiform.reading.paths import DATABASE
from optiform.reading.units import parse_quantity
from optiform.trials.cells import not_counted
from optiform.trials.fit import Fitted
from optiform.trials.instruments import INSTRUMENTS
from optiform.trials.prediction import Prediction
from optiform.workshop.decisions import Kept
from optiform.workshop.log import Log, log_from
from optiform.workshop.records import Forecast, Reading, Trial
from optiform.workshop.store import Reader

SAME = 0.1  # % points by which each line of a version may differ from what was forecast
NEAR = 0.5  # degC, likewise

#: % of the whole by ingredient and phase.
Lines = Mapping[tuple[str, str], float]


@frozen
class Outcome:
    """A sealed forecast and what was read: the mean of `jars` jars of a trial, in the forecast's unit."""

    forecast: Forecast
    trial: str
    read: float
    jars: int

    @property
    def verdict(self) -> str:
        """Where the reading lies."""
        if self.read < self.forecast.low:
            return "below"
        return "above" if self.read > self.forecast.high else "inside"


@frozen
class Record:
    """How the forecasts of a workshop did.

    Attributes:
        outcomes: of every reading that a forecast was sealed for.
        unasked: trials with readings that count of which no forecast was asked before.
        waiting: sealed forecasts that no reading has met yet; of several of one thing the last.
    """

    outcomes: tuple[Outcome, ...]
    unasked: tuple[str, ...]
    waiting: tuple[Forecast, ...]

    @property
    def inside(self) -> int:
        """How many readings fell inside the range that was sealed."""
        return sum(outcome.verdict == "inside" for outcome in self.outcomes)


@frozen
class Sealed:
    """Of so many forecasts `asked`, those whose jars nobody has read, and of these the new ones."""

    asked: int
    unread: int
    new: int


@cache
def model() -> str:
    """The program and the figures it has now, in words; other figures have another digest."""
    digest = sha256()
    for table in sorted(DATABASE.glob("*.csv")):
        digest.update(table.read_bytes())
    return f"optiform {version('optiform')}, figures {digest.hexdigest()[:12]}"


# -- sealing -----------------------------------------------------------------------------------------------------------


def forecasts(fit: Fitted, predictions: Iterable[Prediction], rests_on: str) -> tuple[Forecast, ...]:
    """What each instrument will read, as records, at the moment of the program's clock.

    `rests_on`: what the fit rests on, in the words that the record keeps.
    """
    return tuple(
        Forecast(
            when=clock.now(), formula=of.formula.name, lines=written(of.formula),
            temperature=of.temperature, age=of.age,
            instrument=gauge.instrument.name, geometry=gauge.geometry, tester=gauge.tester,
            low=_short(read.band.low), typical=_short(read.band.typical), high=_short(read.band.high),
            unit=gauge.instrument.unit, level=100 * of.level, rests_on=rests_on, model=model(),
        )
        for of in predictions
        for gauge, read in zip(fit.taken.gauges, of.gauges, strict=True)
    )  # fmt: skip


def written(formula: Formula) -> str:
    """The lines of a formula as a forecast keeps them: ingredient, % and phase, with tabs between.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> [line.split(chr(9)) for line in written(mixed({"beeswax": 20, "olive oil": 80})).splitlines()]
        [['beeswax', '20', 'oil phase'], ['olive oil', '80', 'oil phase']]
    """
    return "".join(f"{x.ingredient.name}\t{100 * x.fraction:.6g}\t{x.phase}\n" for x in formula.lines)


def sealed(kept: Reader, asked: Sequence[Forecast]) -> Kept:
    """Of what was asked, that which is a forecast: nothing was read of it yet, and it was not sealed just so before."""
    log, before = log_from("", kept), kept.read(Forecast)
    open_ones = [one for one in asked if not any(_meets(log, one))]
    known = {_said(one) for one in _last(before)}
    new = tuple(one for one in open_ones if _said(one) not in known)
    return Kept(new, Sealed(len(asked), len(open_ones), len(new)))


def is_open(log: Log, before: Sequence[Forecast], asked: Sequence[Forecast]) -> bool:
    """Whether any of what was asked is yet to be sealed."""
    known = {_said(one) for one in _last(before)}
    return any(_said(one) not in known and not any(_meets(log, one)) for one in asked)


def _said(one: Forecast) -> Forecast:
    """A forecast without its moment and its formula's name."""
    return replace(one, when=datetime.datetime.min, formula="")


def _last(before: Iterable[Forecast]) -> tuple[Forecast, ...]:
    """Of forecasts of one thing the last."""
    return tuple({(x.lines, x.temperature, x.instrument, x.geometry, x.tester): x for x in before}.values())


def _short(value: float) -> float:
    return float(f"{value:.4g}")


# -- what came of them -------------------------------------------------------------------------------------------------


def record(log: Log, before: Sequence[Forecast]) -> Record:
    """Every sealed forecast beside what was read, from what is kept of both.

    Example:
        >>> record(Log("here"), ()).inside
        0
    """
    outcomes = [outcome for trial in log.trials for outcome in _of_trial(log, trial, before)]
    met = {_said(x.forecast) for x in outcomes}
    done = {outcome.trial for outcome in outcomes}
    read = {reading.trial for reading in log.readings if not not_counted(reading)}
    unasked = (trial.name for trial in log.trials if trial.name in read - done)
    waiting = (x for x in _last(before) if _said(x) not in met and not any(_meets(log, x)))
    return Record(tuple(outcomes), tuple(unasked), tuple(waiting))


def _of_trial(log: Log, trial: Trial, before: Sequence[Forecast]) -> Iterator[Outcome]:
    """For each instrument and temperature the last forecast that was asked before its jars were read."""
    last: dict[object, Outcome] = {}
    for forecast in before:
        mine = [reading for of, reading in _meets(log, forecast) if of == trial]
        early = [x for x in mine if forecast.when.date() <= _read_on(trial, x)]
        if mine and len(early) == len(mine):
            thing = (forecast.temperature, forecast.instrument, forecast.geometry, forecast.tester)
            last[thing] = Outcome(forecast, trial.name, _mean(early), len(early))
    yield from last.values()


def _read_on(trial: Trial, reading: Reading) -> datetime.date:
    return trial.made + datetime.timedelta(hours=reading.age)


def _meets(log: Log, forecast: Forecast) -> Iterator[tuple[Trial, Reading]]:
    """Readings that count of trials of this formula by this instrument at this temperature."""
    foretold = _lines(forecast.lines)
    trials = {x.name: x for x in log.trials if _alike(foretold, _version(log, x))}
    for x in log.readings:
        same = (x.instrument, x.geometry) == (forecast.instrument, forecast.geometry)
        there = same and forecast.tester in ("", x.tester) and abs(x.temperature - forecast.temperature) <= NEAR
        if there and x.trial in trials and not not_counted(x):
            yield trials[x.trial], x


def _lines(text: str) -> Lines:
    cells = (line.split("\t") for line in text.splitlines())
    return _summed((name, phase, float(share)) for name, share, phase in cells)


def _version(log: Log, trial: Trial) -> Lines:
    lines = (x for x in log.lines if (x.product, x.version) == (trial.product, trial.version))
    return _summed((x.ingredient, x.phase, x.percent) for x in lines)


def _summed(lines: Iterable[tuple[str, str, float]]) -> Lines:
    shares: dict[tuple[str, str], float] = defaultdict(float)
    for name, phase, share in lines:
        shares[name, phase] += share
    return shares


def _alike(one: Lines, other: Lines) -> bool:
    return all(abs(one.get(x, 0.0) - other.get(x, 0.0)) <= SAME for x in one.keys() | other.keys())


def _mean(readings: Sequence[Reading]) -> float:
    """The mean of jars as the fit takes it: of logarithms, or of scores."""
    instrument = INSTRUMENTS[readings[0].instrument]
    values = [
        parse_quantity(f"{x.value!r} {x.unit}", instrument.unit) if instrument.unit else x.value for x in readings
    ]
    if not instrument.logged:
        return sum(values) / len(values)
    return exp(sum(log(value) for value in values) / len(values))
