"""Trials, told: what was made and read, what is predicted from it, and which trial to make next."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from optiform.properties.firmness import Band
from optiform.reading.units import count_of
from optiform.telling.doses import helps as helps_of
from optiform.telling.facts import in_words
from optiform.telling.figures import capital
from optiform.telling.parts import Cell, Column, Level, Section, Sentence, Table, Telling, sentences
from optiform.telling.scale import NINE_IN_TEN, SCALE, closing, firm, whole
from optiform.telling.tried import asked_of, beyond_readings, equal, left_behind, proposed, reason, uncounted
from optiform.trials.cells import not_counted
from optiform.trials.curve import Predicted
from optiform.trials.fit import Fitted
from optiform.trials.forecasts import Record
from optiform.trials.prediction import Prediction
from optiform.trials.question import Next, Proposal, Question
from optiform.trials.weighable import ToWeigh, Weighings
from optiform.workshop.log import Log
from optiform.workshop.records import Forecast, Reading, Trial

VERDICTS = {"inside": "held", "below": "read below", "above": "read above"}
MOST = 20  # rows of a table in the short telling


def logged(trial: Trial, weights: int) -> str:
    """That a trial is in the records."""
    saved = f"Saved trial {trial.name} of {trial.product}, version “{trial.version}”"
    if weights:
        return f"{saved}, with {count_of(weights, 'actual weight')}."
    return f"{saved}. No weights were given, so it counts as made by the percentages of that version."


def read(readings: Sequence[Reading]) -> str:
    """That readings are in the records."""
    values = ", ".join(f"{reading.value:g}" for reading in readings)
    one = readings[0]
    many = count_of(len(readings), "reading")
    at = f"{one.temperature:g} °C, {_age(one.age)} old"
    return f"Saved {many} of trial {one.trial} by {one.instrument} at {at}: {values} {one.unit}".rstrip()


def _age(hours: float) -> str:
    return f"{hours:g} h" if hours < 48 else f"{hours / 24:.3g} days"


# -- the log -----------------------------------------------------------------------------------------------------------


def trials(log: Log, forecasts: Record) -> Telling:
    """Every trial with what changed and what came of it, and how it was forecast; behind it making and readings."""
    if not log.trials:
        none = Sentence("No trial is saved yet. How to save one: `optiform guide records`.")
        return Telling("0 trials", (Section("trials", "", (none,)),), readings(log))
    count = len(log.readings)
    sections = (
        Section("trials", "", (_trials(log),), most=MOST),
        Section(
            "forecasts", "Forecasts that were sealed before a jar was read", tuple(_foretold(forecasts)), most=MOST
        ),
        Section("making", "How they were made", (_made(log),), False, instead="What each was for, and how it was made"),
        Section("readings", "Readings", (_readings(log),), False, instead=count_of(count, "reading")),
    )
    return Telling(f"{count_of(len(log.trials), 'trial')}, {count_of(count, 'reading')}", sections, readings(log))


def _trials(log: Log) -> Table:
    columns = (
        Column("trial"), Column("made"), Column("version"), Column("readings"), Column("what changed"), Column("result")
    )  # fmt: skip
    counts = {trial.name: sum(reading.trial == trial.name for reading in log.readings) for trial in log.trials}
    rows = ((x.name, str(x.made), x.version, counts[x.name], x.changed, x.outcome) for x in log.trials)
    return Table(columns, tuple(rows))


def _foretold(of: Record) -> Iterator[Table | Sentence]:
    """How many held, then each, then what no forecast was asked of."""
    yield Sentence(held(of))
    if of.outcomes:
        yield _outcomes(of)
    if of.unasked:
        yield Sentence(f"Read without a forecast: {', '.join(of.unasked)}.")
    if of.waiting:
        what = "; ".join(f"{name} at {', '.join(at)} °C" for name, at in _waiting(of.waiting).items())
        yield Sentence(f"Sealed and waiting for a reading: {what}.")


def _waiting(forecasts: Sequence[Forecast]) -> dict[str, dict[str, None]]:
    """The temperatures of each formula."""
    temperatures: dict[str, dict[str, None]] = {}
    for x in forecasts:
        temperatures.setdefault(x.formula, {})[f"{x.temperature:g}"] = None
    return temperatures


def held(of: Record) -> str:
    """How well the tool has forecast in this workshop, in one sentence.

    Example:
        >>> held(Record((), (), ()))
        'No forecast has a reading beside it yet. How to seal one first: `optiform guide records`.'
    """
    if not of.outcomes:
        return "No forecast has a reading beside it yet. How to seal one first: `optiform guide records`."
    count, level = len(of.outcomes), sum(x.forecast.level for x in of.outcomes) / len(of.outcomes)
    share = f"{100 * of.inside / count:.0f} %"
    return (
        f"{of.inside} of {count_of(count, 'forecast')} held ({share}); their ranges were meant to hold {level:.0f} % "
        "of the time. They stay as they were, whatever was learned since."
    )


def _outcomes(of: Record) -> Table:
    columns = (
        Column("trial"), Column("sealed on"), Column("°C"), Column("read by"), Column("forecast"), Column("read"),
        Column("its range"), Column("fitted to", short=False), Column("by", short=False),
    )  # fmt: skip
    rows = tuple(
        (x.trial, f"{x.forecast.when:%Y-%m-%d}", f"{x.forecast.temperature:g}", _gauge(x.forecast), _range(x.forecast),
         f"{x.read:.3g} {x.forecast.unit}".strip(), VERDICTS[x.verdict], x.forecast.rests_on, x.forecast.model)
        for x in of.outcomes
    )  # fmt: skip
    return Table(columns, rows)


def _gauge(of: Forecast) -> str:
    return ", ".join(word for word in (of.instrument, of.geometry, of.tester) if word)


def _range(of: Forecast) -> str:
    return whole(Band(of.low, of.typical, of.high))


def _made(log: Log) -> Table:
    columns = (
        Column("trial"), Column("product"), Column("what for"), Column("made", "g"), Column("water", "°C"),
        Column("oil", "°C"), Column("to the grains", "min"), Column("grains in at", "°C"), Column("room", "°C"),
        Column("note"),
    )  # fmt: skip
    rows = (
        (x.name, x.product, x.aim, x.mass, x.hot_water, x.hot_oil, x.cooling, x.added_at, x.room, x.note)
        for x in log.trials
    )
    return Table(columns, tuple(rows))


def readings(log: Log) -> Table:
    """The log as a table: one row for each trial, instrument, condition, temperature and age."""
    heads = (
        "trial", "version", "made", "changed", "instrument", "geometry", "condition", "degC", "age h", "readings",
        "unit", "not counted",
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for trial in log.trials:
        about: tuple[Cell, ...] = (trial.name, trial.version, trial.made.isoformat(), trial.changed)
        mine = [reading for reading in log.readings if reading.trial == trial.name]
        for key, group in groupby(sorted(mine, key=_alike), key=_alike):
            values = " ".join(f"{reading.value:g}" for reading in group)
            rows.append((*about, *key[:5], values, *key[5:]))
        if not mine:
            rows.append((*about, "no readings", "", "", None, None, "", "", ""))
    return Table(tuple(map(Column, heads)), tuple(rows))


def _readings(log: Log) -> Table:
    """The readings by trial; how a trial was made stands in its own table."""
    columns = (
        Column("trial"), Column("°C"), Column("hours old"), Column("readings"), Column("unit"), Column("read by"),
        Column("condition"), Column("does not count"),
    )  # fmt: skip
    whole = readings(log)
    place = {column.head: k for k, column in enumerate(whole.columns)}
    names = ("trial", "degC", "age h", "readings", "unit", "instrument", "condition", "not counted")
    rows: list[tuple[Cell, ...]] = []
    for row in whole.rows:
        gauge = ", ".join(str(row[place[name]]) for name in ("instrument", "geometry") if row[place[name]])
        rows.append(tuple(gauge if name == "instrument" else row[place[name]] for name in names))
    return Table(columns, tuple(rows))


def _alike(reading: Reading) -> tuple[str, str, str, float, float, str, str]:
    return (
        reading.instrument, reading.geometry, reading.condition, reading.temperature, reading.age, reading.unit,
        uncounted(not_counted(reading)),
    )  # fmt: skip


# -- predictions -------------------------------------------------------------------------------------------------------


def predicted(predictions: Sequence[Prediction], fit: Fitted, sealed: str = "") -> Telling:
    """Ranges before and after the readings, relative and on every instrument's own, and whether they are sealed."""
    first = predictions[0]
    heads = tuple(Column(f"{x.temperature:g} °C") for x in predictions)
    gauges = Table(
        (Column("mean of three jars of the next batch"), *heads),
        tuple(
            (f"{gauge.gauge}{f', {gauge.unit}' if gauge.unit else ''}", *(whole(x.gauges[k].band) for x in predictions))
            for k, gauge in enumerate(first.gauges)
        ),
    )
    notes = dict.fromkeys(left_behind(x) for of in predictions for x in of.beyond)
    rests = f"Fitted to {in_words(fit.basis)}. {NINE_IN_TEN}"
    scale = firmness(predictions)
    sections = (
        Section("firmness", "", (scale,)),
        Section("instruments", "What your instruments will read", (gauges,)),
        Section("sealed", "", (Sentence(f"{capital(sealed)}."),) if sealed else ()),
        Section("notes", "Good to know", sentences((*notes, rests, SCALE)), most=6),
        closing(),
    )
    title = f"Firmness of {first.formula.name}, about {_age(first.age)} old; {fit.reference.name} at 20 °C is 100"
    return Telling(title, sections, scale)


def firmness(predictions: Sequence[Prediction | Predicted]) -> Table:
    """The relative firmness at each temperature."""
    columns = (Column("°C"), Column("assumed"), Column("fitted"), Column("the next batch"))
    rows = tuple((f"{x.temperature:g}", firm(x.before), firm(x.after), firm(x.batch)) for x in predictions)
    return Table(columns, rows)


# -- the next one ------------------------------------------------------------------------------------------------------


def whether(answer: Next) -> str:
    """Yes or no to one more trial. Nobody is told to stop on the model's word alone."""
    if answer.worth_it:
        return "Yes, make one more trial"
    if answer.beyond:
        return "No further trial changes the forecast much, but no reading of yours confirms it yet"
    return "No, you can stop"


def next_one(answer: Next, fit: Fitted, weighings: Sequence[Weighings] = ()) -> Telling:
    """Yes or no to one more trial, why, which, and what to weigh for the best of them."""
    of = " % of the other's" if answer.question.rival is not None else f", where {fit.reference.name} at 20 °C is 100"
    now = f"Now: {answer.now.answer}, firmness {firm(answer.now.band)}{of}."
    level = Level.MIND if answer.worth_it or answer.beyond else Level.PLAIN
    said = Sentence(f"{whether(answer)}. {reason(answer)}", level)
    rests = (
        f"{answer.looked_at} trials were compared: the formulas as they are, and one line up with another down. All "
        f"meet the brief and the law, in whole steps of {answer.step:g} g in {answer.mass:g} g. "
        f"Fitted to {in_words(fit.basis)}. {NINE_IN_TEN}"
    )
    table, wanted = _proposals(answer), bool(answer.worth_it or answer.beyond)
    sections = (
        Section("answer", "", (Sentence(now), said, *sentences(beyond_readings(answer)))),
        Section("trials", "Trials that teach most about this", (table,), wanted, instead="Trials that teach most"),
        *(replace(x, short=x.short and wanted) for weighing in weighings[:1] for x in weighings_of(weighing)),
        Section("equal", "Keep the same", sentences(equal(answer.equal)), False, instead="What to keep the same"),
        Section("notes", "Good to know", sentences((rests, SCALE)), False, instead="What this rests on"),
        closing(),
    )
    return Telling(capital(asked_of(answer.question)), sections, table)


def _proposals(answer: Next) -> Table:
    columns = (
        Column("trial"), Column("read at"), Column("narrows by"), Column("range after", short=False),
        Column("other answer"), Column("still wrong", short=False), Column("what changes, g and % points"),
        Column("read by", short=False),
    )  # fmt: skip
    rows = tuple(
        (f"{k}", f"{', '.join(f'{at:g}' for at in x.temperatures)} °C", narrows(x), firm(x.band_after),
         f"{100 * x.flips:.0f} in 100", f"{100 * x.wrong_after:.0f} in 100", _moves(x, answer.question),
         f"three jars each by {x.gauge}")
        for k, x in enumerate(answer.proposals, 1)
    )  # fmt: skip
    return Table(columns, rows)


def narrows(proposal: Proposal) -> str:
    """By how much narrower the range is expected to be: variances are told as widths."""
    return f"{100 * (1 - (1 - proposal.narrows) ** 0.5):.0f} %"


def _moves(proposal: Proposal, question: Question) -> str:
    moves = [f"{name} {grams:+g} ({points:+.2g})" for name, grams, points in proposal.changes]
    return ", ".join(moves) or proposed(proposal, question)


def weighings_of(weighing: Weighings, number: int = 1) -> Iterator[Section]:
    """What to weigh for the proposal of this number, and what the scale distorts with what helps."""
    yield Section("weigh", "", (_to_weigh(weighing, number),), instead=f"What to weigh for trial {number}")
    warning = (Sentence(distorted(weighing), Level.MIND),) if weighing.off else ()
    helps = [f"{x.ingredient}: {helps_of(x.small)}." for x in weighing.lines if x.small and x.small.told]
    instead = f"{count_of(len(helps), 'dose')} that this scale cannot weigh exactly, and what helps" if helps else ""
    parts = (*warning, *sentences(helps))
    yield Section("small", "What your scale cannot weigh well", parts, short=False, instead=instead)


def _to_weigh(weighing: Weighings, number: int) -> Table:
    columns = (
        Column(f"weigh for trial {number}"), Column("g"), Column("due, g", short=False), Column("against today's"),
        Column("phase", short=False),
    )  # fmt: skip
    rows = tuple((x.ingredient, x.grams, float(f"{x.due:.4g}"), against(x), x.phase) for x in weighing.lines)
    return Table(columns, rows)


def against(line: ToWeigh) -> str:
    """What becomes of a line against today's, and how far the scale is off where that is more than it may be."""
    what = f"{line.change:+g} g" if line.change else "as it is"
    return f"{what}, but {line.small.off:+g} % off" if line.small and line.small.told else what


def distorted(weighing: Weighings) -> str:
    """What the scale changes beside the one thing asked, and which scale does not.

    The step named shows all these lines in 20 steps or more, so that rounding is 2.5 % of each at most.
    """
    off = weighing.off
    named = "; ".join(f"{x.ingredient} {x.off:+g} % ({x.weighed} g where {x.due:.3g} g are due)" for x in off)
    finer = [x.finer for x in off if x.finer is not None]
    help_ = f"A scale that shows {min(finer):g} g is fine enough" if len(finer) == len(off) else "Make a larger trial"
    return f"On a scale that shows {weighing.step:g} g these are too far off: {named}. {help_}."
