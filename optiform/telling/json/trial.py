"""Trials, the scale fitted to them, forecasts and the next trial, as plain data."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from optiform.telling.json.basic import KEEPS, band, figure_keys, formula, warnings
from optiform.telling.json.batch import SMALL_DOSE
from optiform.telling.json.form import (
    NUMBER,
    Data,
    Many,
    Record,
    Shared,
    answer,
    key,
    many,
    number,
    quantity,
    record,
    text,
    texts,
    truth,
    whole,
    word,
)  # fmt: skip
from optiform.telling.json.records import RECORD, records
from optiform.telling.tried import (
    asked_of,
    beyond_readings,
    equal,
    figure,
    fit_notes,
    left_behind,
    proposed,
    reason,
    uncounted,
)  # fmt: skip
from optiform.trials.between import Between
from optiform.trials.fit import Fitted
from optiform.trials.forecasts import Record as Forecasts
from optiform.trials.prediction import Prediction
from optiform.trials.question import Next, Proposal, Question
from optiform.trials.weighable import Weighings
from optiform.workshop.log import Log
from optiform.workshop.records import Forecast

CHANCE = "chance, of 1"
_OUTCOME = record(
    text("trial"), number("read"), whole("jars"), key("verdict", word("inside", "below", "above")),
    key("forecast", RECORD),
)  # fmt: skip
_FORECASTS = record(
    whole("held", "inside"), whole("of", lambda of: len(of.outcomes)), many("outcomes", _OUTCOME), texts("unasked"),
    records("waiting"),
)  # fmt: skip


class _Shown(NamedTuple):
    """The trials of a workshop, and how they were forecast."""

    log: Log
    forecasts: Forecasts


TRIALS = answer(
    ["shown"], records("trials", "log.trials"), records("weights", "log.weights"), records("readings", "log.readings"),
    key("forecasts", _FORECASTS),
)  # fmt: skip
RESTS_ON = Shared(
    "rests_on",
    record(
        whole("trials"), whole("readings"), key("temperatures", Many(NUMBER), words="°C"),
        key("ages", Many(NUMBER), words="h"), texts("instruments", "gauges"),
    ),
)  # fmt: skip
_LEARNED = record(text("name", figure), text("unit"), band("assumed", "prior", null=True), band("fitted"))
_TAUGHT = record(
    text("name", figure), text("unit"), band("fitted"), band("without"),
    number("wider", words="% by which the range would be wider without the trial; below 0 narrower", null=True),
)  # fmt: skip
_SEEN = record(
    text("trial"), whole("readings"), key("temperatures", Many(NUMBER)), number("off"), number("expected_alone"),
    number("chance", "likelihood"), truth("disagrees"), many("taught", _TAUGHT),
)  # fmt: skip
_LEFT_OUT = record(
    text("trial"), whole("number"), text("reason", lambda of: uncounted(of.why)), quantity("temperature", "°C")
)
FIT = answer(
    ["fitted"],
    formula("reference"), number("level", words="how often a range holds, of 1"), key("rests_on", RESTS_ON, "basis"),
    many("learned", _LEARNED), many("trials", _SEEN, "seen"), texts("disagreeing"), many("left_out", _LEFT_OUT),
    texts("notes", fit_notes),
)  # fmt: skip
_GAUGE = record(
    text("instrument", "gauge"), text("unit"),
    *figure_keys("band"),
)  # fmt: skip
_PREDICTION = record(
    formula(), quantity("temperature", "°C"), number("level"), quantity("age", "h"), band("assumed", "before"),
    band("fitted", "after"), band("next_batch", "batch"), many("instruments", _GAUGE, "gauges"),
    texts("notes", lambda of: map(left_behind, of.beyond)),
)  # fmt: skip


class _Sealed(NamedTuple):
    """The forecasts that were sealed, and what is said of it."""

    forecasts: Sequence[Forecast]
    words: str


class _Predicted(NamedTuple):
    """Predictions, the scale that they are made with, and what of them was sealed."""

    predictions: Sequence[Prediction]
    scale: Fitted
    sealed: _Sealed


PREDICT = answer(
    ["predicted"], many("predictions", _PREDICTION), key("rests_on", RESTS_ON, "scale.basis"),
    key("sealed", record(records("forecasts"), text("words"))),
)  # fmt: skip


class _Proposed(NamedTuple):
    """A trial to make, as it can be weighed."""

    proposal: Proposal
    question: Question
    weigh: Weighings


class _Next(NamedTuple):
    """How a question stands, and how each proposal can be weighed."""

    answer: Next
    weighings: Sequence[Weighings]

    @property
    def proposals(self) -> Iterable[_Proposed]:
        """Each with its weighings."""
        return [
            _Proposed(proposal, self.answer.question, weigh)
            for proposal, weigh in zip(self.answer.proposals, self.weighings, strict=True)
        ]


_QUESTION = record(
    text("words", asked_of), formula(), quantity("temperature", "°C"), number("low"), number("high", null=True),
    formula("firmer_than", "rival", null=True),
)  # fmt: skip
_NOW = record(
    key("answer", word("yes", "no")), number("yes", words=CHANCE), number("wrong", words=CHANCE),
    band("firmness", "band"),
)  # fmt: skip
_MOVE = record(
    text("ingredient", lambda row: row[0]), number("grams", lambda row: row[1]),
    number("change", lambda row: row[2], "% points"),
)  # fmt: skip
_WEIGHED = record(
    text("ingredient"), text("phase"), number("grams"), number("due", words="g"), number("change", words="g"),
    key("small", SMALL_DOSE, null=True),
)  # fmt: skip
_PROPOSAL = record(
    formula(get="proposal.formula"), text("words", lambda of: proposed(of.proposal, of.question)),
    many("changes", _MOVE, "proposal.changes"),
    key("temperatures", Many(NUMBER), "proposal.temperatures"), text("instrument", "proposal.gauge"),
    number("narrows", "proposal.narrows"), band("firmness_after", "proposal.band_after"),
    number("changes_the_answer", "proposal.flips", CHANCE), number("wrong_after", "proposal.wrong_after", CHANCE),
    key("weigh", record(quantity("step", "g"), many("lines", _WEIGHED))),
)  # fmt: skip
NEXT: Record = answer(
    ["answered"],
    key("question", _QUESTION, "answer.question"), key("now", _NOW, "answer.now"), truth("worth_it", "answer.worth_it"),
    text("reason", lambda of: reason(of.answer)), many("proposals", _PROPOSAL), whole("looked_at", "answer.looked_at"),
    quantity("mass", "g", "answer.mass"), quantity("step", "g", "answer.step"),
    texts("equal", lambda of: equal(of.answer.equal)),
    texts("beyond", lambda of: beyond_readings(of.answer)),
)  # fmt: skip
BETWEEN = answer(
    ["answered"],
    texts("trials", lambda of: [end.name for end in of.ends]), formula(),
    number("share", words="of the second trial in it, of 1"), number("wished", "firmness"),
    key("others", Many(NUMBER), words="shares of the second trial at which the firmness is the same"),
    key("prediction", _PREDICTION), key("keeps", KEEPS, "report"), warnings("report.warnings"),
)  # fmt: skip


def shown(of: Log, forecasts: Forecasts) -> Data:
    """Every trial with what was weighed and read, and how it was forecast."""
    return TRIALS.said(_Shown(of, forecasts))


def fitted(of: Fitted) -> Data:
    """The scale as the readings leave it, and how each trial agrees with the others."""
    return FIT.said(of)


def predicted(of: Sequence[Prediction], scale: Fitted, sealed: Sequence[Forecast] = (), words: str = "") -> Data:
    """How firm a formula will be at each temperature, what the instruments will read, and what of it was sealed."""
    return PREDICT.said(_Predicted(of, scale, _Sealed(sealed, words)))


def next_trial(of: Next, weighings: Sequence[Weighings]) -> Data:
    """How the question stands, and the trials that teach most about it, each as it can be weighed."""
    return NEXT.said(_Next(of, weighings))


def between(of: Between) -> Data:
    """The formula between two trials, how firm it should be, and what the brief says of it."""
    return BETWEEN.said(of)
