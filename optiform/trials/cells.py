"""From the log to what a fit takes: which readings count, and their means by trial, gauge, temperature and age."""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from enum import StrEnum
from math import isfinite, log

import numpy as np

from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import PHASES
from optiform.properties.firmness import REFERENCE_TEMPERATURE, State, state, without_network
from optiform.reading.faults import Fault, Inspection
from optiform.reading.frozen import frozen
from optiform.reading.units import parse_quantity
from optiform.trials.instruments import INSTRUMENTS, Instrument, misspelt
from optiform.workshop.decisions import Where
from optiform.workshop.keeping import own_lines
from optiform.workshop.log import Log
from optiform.workshop.records import Reading, Record, Trial

SETTLED = 24.0  # hours: firmness of the day is the wrong firmness
WEEK = 168.0  # hours: the age that predictions are for where drift is told
TELLS = 2.0  # times as old: from here on two ages of one jar tell of drift
APART = "between two stands a comma"
SET_ASIDE = "or say in the column excluded why it does not count"
JAMS = 0.70  # volume fraction of grains above which nothing on this scale moves


@frozen
class Gauge:
    """An instrument as it is used: another geometry, or for a spoon another hand, is another gauge."""

    instrument: Instrument
    geometry: str
    tester: str

    @property
    def words(self) -> str:
        """As a person would say it."""
        return ", ".join(word for word in (self.instrument.name, self.geometry, self.tester) if word)


@frozen
class Cell:
    """The mean of the readings of one trial by one gauge at one temperature and age.

    Attributes:
        trial, gauge: numbers in the lists of `Readings`.
        mean: of the logarithms, or of the scores.
        within: sum of squares about that mean.
        solids: ln of the solids of the base over those of the reference at 20 degC.
        grains: their volume fraction.
    """

    trial: int
    gauge: int
    temperature: float
    age: float
    count: int
    mean: float
    within: float
    solids: float
    grains: float


class Reason(StrEnum):
    """Why a reading does not count, as a fault names it where none does; behind each what is said of it."""

    EXCLUDED = "excluded"  #: by the maker: in their words
    NO_READING = "impossible"  #: what no jar gives, such as 190175 g: the fault of it
    INSTRUMENT = "unknown instrument"  #: how it answers to firmness is not known: its name
    CONDITION = "not plain"  #: which it was
    YOUNG = "too young"  #: firmness of the day: hours
    FIGURE = "unknown figure"  #: of the formula: degC
    NO_SOLIDS = "no structuring solids"  #: nothing holds it up: degC
    JAMMED = "grains jam"  #: % of the volume


@frozen
class Uncounted:
    """Why a reading does not count, and what is said of it: words of the maker's, a figure, or its fault."""

    reason: Reason
    about: str | float | Fault


@frozen
class LeftOut:
    """A reading that does not count, and why. `temperature` in degC."""

    trial: str
    number: int
    why: Uncounted
    temperature: float


@frozen
class Readings:
    """Everything a fit rests on. `drift`: whether ages differ enough within a trial to tell how firmness moves."""

    trials: tuple[str, ...]
    gauges: tuple[Gauge, ...]
    cells: tuple[Cell, ...]
    reference_grains: float
    drift: bool
    age: float
    left_out: tuple[LeftOut, ...] = ()

    def without(self, trial: int) -> "Readings":
        """The same without the cells of one trial."""
        kept = tuple(cell for cell in self.cells if cell.trial != trial)
        return Readings(self.trials, self.gauges, kept, self.reference_grains, self.drift, self.age)


def formulas_of(log: Log, catalogue: Catalogue) -> dict[str, Formula]:
    """What each trial was made of: as really weighed, or where that was not noted as its version says.

    Raises:
        BadInput: with every unknown ingredient, phase, amount and version.
    """
    inspection = Inspection(log.place)
    formulas = {trial.name: _formula(trial, log, catalogue, inspection) for trial in log.trials}
    inspection.finish()
    return formulas


def _formula(trial: Trial, log: Log, catalogue: Catalogue, inspection: Inspection) -> Formula:
    weighed = [(w.ingredient, w.phase, w.actual) for w in log.weights if w.trial == trial.name]
    version = own_lines(log.lines, trial.product, trial.version)
    rows = weighed or [(v.ingredient, v.phase, v.percent) for v in version]
    place, lines = f"trial {trial.name}", []
    if not rows:
        inspection.fault(
            place, f"version {trial.version} of {trial.product}", "a version with lines, or actual weights"
        )
    for name, phase, amount in rows:
        item = catalogue.find(name)
        if item is None:
            inspection.fault(f"{place}, ingredient", name, catalogue.unknown(name))
        if phase and phase not in PHASES:
            inspection.fault(f"{place}, {name}, phase", phase, f"one of the phases: {', '.join(PHASES)}")
        if not (isfinite(amount) and amount >= 0):
            inspection.fault(f"{place}, {name}", amount, "an amount of zero or more")
        elif item is not None and amount > 0:
            lines.append(Line(item, amount, phase or item.phase))
    total = sum(line.fraction for line in lines) or 1.0
    return Formula(trial.name, tuple(Line(each.ingredient, each.fraction / total, each.phase) for each in lines))


def readings_of(log: Log, formulas: Mapping[str, Formula], reference: Formula) -> Readings:
    """The readings that count, averaged.

    Left out, each with its reason: what the maker excluded, what is no reading of its instrument (it was saved before
    that was refused, and none is ever taken back), conditions other than plain, ages below 24 h, instruments whose
    answer to firmness is not known, and temperatures where the formula has no structuring solids.

    Raises:
        BadInput: with every reading of no trial, and for a reference without known firmness.
    """
    inspection = Inspection(log.place)
    base = state(reference, REFERENCE_TEMPERATURE)
    if base is None or base.solids[1] <= 0:
        words = "a formula with structuring solids at 20 degC whose figures are known"
        if why := without_network(reference):
            words = f"a formula that fat or wax holds up; of this one no firmness is known: {why}"
        inspection.fault("reference", reference.name, words)
    for reading in log.readings:
        if reading.trial not in formulas:
            inspection.fault(f"trial {reading.trial}, reading {reading.number}", reading.trial, "a trial of the log")
    inspection.finish()
    assert base is not None
    return _Sorting(formulas, base).sorted(log.readings)


def refuse_none(readings: Sequence[Reading], where: Where) -> None:
    """Refuse figures that are no reading of their instrument before they are saved: none is ever taken back.

    Raises:
        BadInput: with every one of them.

    Example:
        >>> from optiform.reading.faults import BadInput
        >>> from optiform.workshop.decisions import written
        >>> slip = Reading(trial="T1", number=1, age=48.0, temperature=20.0, instrument="push on a scale",
        ...                value=190175.0, unit="g")
        >>> try:
        ...     refuse_none([slip], written("form", value="Values"))
        ... except BadInput as refused:
        ...     print(refused)
        form: Values: “190175” is not a reading of 0.1 to 100000 g. Between two stands a comma.
    """
    inspection = Inspection(where("value")[0])
    for reading in readings:
        if instrument := INSTRUMENTS.get(reading.instrument):
            _converted(reading, instrument, lambda field: where(field)[1], inspection, APART)
    inspection.finish()


def no_readings(records: Sequence[Record], at: Callable[[int, str], tuple[str, str]]) -> list[Fault]:
    """What is no reading of its instrument among records that are brought in, but for what is excluded in words.

    Args:
        records: of any kinds.
        at: file and place of a field of a record, by its number in the list.

    Example:
        >>> slip = Reading(trial="T1", number=1, age=48.0, temperature=20.0, instrument="push on a scale",
        ...                value=190175.0, unit="g")
        >>> print(*no_readings([slip], lambda k, field: ("readings.csv", f"row {k + 2}, column {field}")))
        readings.csv: row 2, column value: “190175” is not a reading of 0.1 to 100000 g. Or say in the column excluded \
why it does not count.
    """
    faults: list[Fault] = []
    for index, reading in enumerate(records):
        if isinstance(reading, Reading) and not reading.excluded and reading.instrument in INSTRUMENTS:
            inspection = Inspection(at(index, "value")[0])
            places = {field: at(index, field)[1] for field in ("value", "unit")}
            _converted(reading, INSTRUMENTS[reading.instrument], places.__getitem__, inspection, SET_ASIDE)
            faults += inspection.faults
    return faults


def _no_reading(reading: Reading) -> Fault | None:
    """What is wrong with a reading itself; None where it can be one."""
    inspection = Inspection("")
    for name, number, least in (("age", reading.age, 0.0), ("temperature", reading.temperature, -40.0)):
        if not least <= number <= 1e5:
            inspection.fault(name, number, f"a number from {least:g} on")
    instrument = INSTRUMENTS.get(reading.instrument)
    if misspelt(reading.instrument) or not reading.instrument.strip():
        inspection.fault("instrument", reading.instrument, f"one of: {', '.join(INSTRUMENTS)}")
    if instrument is not None:
        _converted(reading, instrument, str, inspection)
    return inspection.faults[0] if inspection.faults else None


def _converted(
    reading: Reading, instrument: Instrument, at: Callable[[str], str], inspection: Inspection, advice: str = ""
) -> float:
    """In the instrument's unit; with a fault, and the advice, where it is none of its readings."""
    words = f"a reading of {instrument.least:g} to {instrument.most:g} {instrument.unit}".rstrip()
    value = reading.value
    if isfinite(value) and instrument.unit:
        try:
            value = parse_quantity(f"{value!r} {reading.unit}".strip(), instrument.unit)
        except ValueError as error:
            inspection.fault(at("unit"), reading.unit, str(error))
            return value
    if not instrument.least <= value <= instrument.most:  # nor is what is no number
        inspection.fault(at("value"), f"{reading.value:g}", f"{words}; {advice}" if advice else words)
    return value


class _Sorting:
    """Sorts readings into cells; looks up the state of each trial at each temperature once."""

    def __init__(self, formulas: Mapping[str, Formula], base: State) -> None:
        self.formulas, self.base = formulas, base
        self.states: dict[tuple[str, float], State | None] = {}

    def sorted(self, readings: Sequence[Reading]) -> Readings:
        groups: dict[tuple[str, Gauge, float, float], list[float]] = defaultdict(list)
        left_out = []
        for reading in readings:
            if why := self._why_not(reading):
                left_out.append(LeftOut(reading.trial, reading.number, why, reading.temperature))
                continue
            instrument = INSTRUMENTS[reading.instrument]
            gauge = Gauge(instrument, reading.geometry, "" if instrument.logged else reading.tester)
            value = _converted(reading, instrument, str, Inspection(""))
            number = log(value) if instrument.logged else value
            groups[reading.trial, gauge, reading.temperature, reading.age].append(number)
        trials = tuple(name for name in self.formulas if any(key[0] == name for key in groups))
        gauges = tuple(dict.fromkeys(key[1] for key in groups))
        cells = tuple(self._cell(key, numbers, trials, gauges) for key, numbers in groups.items())
        drift = _tells_drift(groups)
        age = WEEK if drift or not cells else float(np.median([cell.age for cell in cells]))
        return Readings(trials, gauges, cells, self.base.phi, drift, age, tuple(left_out))

    def _why_not(self, reading: Reading) -> Uncounted | None:
        if why := not_counted(reading):
            return why
        key = reading.trial, reading.temperature
        if key not in self.states:
            self.states[key] = state(self.formulas[reading.trial], reading.temperature)
        return _no_scale(self.states[key], reading.temperature)

    def _cell(
        self,
        key: tuple[str, Gauge, float, float],
        numbers: Sequence[float],
        trials: Sequence[str],
        gauges: Sequence[Gauge],
    ) -> Cell:
        name, gauge, temperature, age = key
        here = self.states[name, temperature]
        assert here is not None
        mean = float(np.mean(numbers))
        return Cell(
            trial=trials.index(name),
            gauge=gauges.index(gauge),
            temperature=temperature,
            age=age,
            count=len(numbers),
            mean=mean,
            within=float(np.sum((np.array(numbers) - mean) ** 2)),
            solids=log(here.body / self.base.body),
            grains=here.phi,
        )


def not_counted(reading: Reading) -> Uncounted | None:
    """Why a reading does not count, whatever was made; None where it does as far as the reading itself says."""
    if reading.excluded:
        return Uncounted(Reason.EXCLUDED, reading.excluded)
    if wrong := _no_reading(reading):
        return Uncounted(Reason.NO_READING, wrong)
    if reading.instrument not in INSTRUMENTS:
        return Uncounted(Reason.INSTRUMENT, reading.instrument)
    if reading.condition != "plain":
        return Uncounted(Reason.CONDITION, reading.condition)
    if reading.age < SETTLED:
        return Uncounted(Reason.YOUNG, reading.age)
    return None


def _no_scale(here: State | None, temperature: float) -> Uncounted | None:
    if here is None:
        return Uncounted(Reason.FIGURE, temperature)
    if here.solids[1] <= 0:
        return Uncounted(Reason.NO_SOLIDS, temperature)
    return Uncounted(Reason.JAMMED, round(100 * here.phi)) if here.phi >= JAMS else None


def _tells_drift(groups: Mapping[tuple[str, Gauge, float, float], object]) -> bool:
    ages = defaultdict(list)
    for name, gauge, temperature, age in groups:
        ages[name, gauge, temperature].append(age)
    return any(max(each) >= TELLS * min(each) for each in ages.values())
