"""Trials, the scale fitted to them, and the next one, as plain data. Chances and shares are fractions of 1."""

from collections.abc import Iterable, Sequence

from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, band, figure, formula, quantity
from optiform.telling.json.batch import small_dose
from optiform.telling.json.records import record, records
from optiform.trials.cells import LeftOut
from optiform.trials.fit import Basis, Fitted
from optiform.trials.forecasts import Record
from optiform.trials.prediction import Prediction
from optiform.trials.question import Next, Proposal, Question
from optiform.trials.weighable import Weighings
from optiform.workshop.log import Log
from optiform.workshop.records import Forecast


def shown(of: Log, forecasts: Record) -> Data:
    """Every trial with what was weighed and read, and how it was forecast."""
    return answered(
        "shown",
        trials=records(of.trials),
        weights=records(of.weights),
        readings=records(of.readings),
        forecasts={
            "held": forecasts.inside,
            "of": len(forecasts.outcomes),
            "outcomes": [
                {"trial": x.trial, "read": x.read, "jars": x.jars, "verdict": x.verdict, "forecast": record(x.forecast)}
                for x in forecasts.outcomes
            ],
            "unasked": list(forecasts.unasked),
            "waiting": records(forecasts.waiting),
        },
    )


def fitted(of: Fitted) -> Data:
    """The scale as the readings leave it, and how each trial agrees with the others."""
    return answered(
        "fitted",
        reference=formula(of.reference),
        level=of.level,
        rests_on=_rests_on(of.basis),
        learned=[
            {
                "name": row.name,
                "unit": row.unit,
                "assumed": band(row.prior) if row.prior else None,
                "fitted": band(row.fitted),
            }
            for row in of.learned
        ],
        trials=[
            {
                "trial": seen.trial,
                "readings": seen.readings,
                "temperatures": list(seen.temperatures),
                "off": seen.off,
                "expected_alone": seen.expected_alone,
                "chance": seen.likelihood,
                "disagrees": seen.disagrees,
            }
            for seen in of.seen
        ],
        disagreeing=list(of.disagreeing),
        left_out=_left_out(of.left_out),
        notes=list(of.notes),
    )


def _rests_on(of: Basis) -> Data:
    return {
        "trials": of.trials,
        "readings": of.readings,
        "temperatures": list(of.temperatures),
        "ages": list(of.ages),
        "instruments": list(of.gauges),
    }


def _left_out(of: Iterable[LeftOut]) -> list[Data]:
    return [
        {"trial": row.trial, "number": row.number, "reason": row.why, "temperature": quantity(row.temperature, "°C")}
        for row in of
    ]


def predicted(of: Sequence[Prediction], scale: Fitted, sealed: Sequence[Forecast] = (), words: str = "") -> Data:
    """How firm a formula will be at each temperature, what the instruments will read, and what of it was sealed."""
    return answered(
        "predicted",
        predictions=[_prediction(row) for row in of],
        rests_on=_rests_on(scale.basis),
        sealed={"forecasts": records(sealed), "words": words},
    )


def _prediction(of: Prediction) -> Data:
    return {
        "formula": formula(of.formula),
        "temperature": quantity(of.temperature, "°C"),
        "level": of.level,
        "age": quantity(of.age, "h"),
        "assumed": band(of.before),
        "fitted": band(of.after),
        "next_batch": band(of.batch),
        "instruments": [{"instrument": row.gauge, "unit": row.unit, **band(row.band)} for row in of.gauges],
        "notes": list(of.notes),
    }


def next_trial(of: Next, weighings: Sequence[Weighings]) -> Data:
    """How the question stands, and the trials that teach most about it, each as it can be weighed."""
    return answered(
        "answered",
        question=_question(of.question),
        now={"answer": of.now.answer, "yes": of.now.yes, "wrong": of.now.wrong, "firmness": band(of.now.band)},
        worth_it=of.worth_it,
        reason=of.reason,
        proposals=[_proposal(row, weigh) for row, weigh in zip(of.proposals, weighings, strict=True)],
        looked_at=of.looked_at,
        mass=quantity(of.mass, "g"),
        step=quantity(of.step, "g"),
        equal=list(of.equal),
        beyond=list(of.beyond),
    )


def _question(of: Question) -> Data:
    return {
        "words": of.words,
        "formula": formula(of.formula),
        "temperature": quantity(of.temperature, "°C"),
        "low": of.low,
        "high": figure(of.high),
        "firmer_than": formula(of.rival) if of.rival else None,
    }


def _proposal(of: Proposal, weigh: Weighings) -> Data:
    return {
        "formula": formula(of.formula),
        "words": of.words,
        "changes": [{"ingredient": name, "grams": grams, "change": points} for name, grams, points in of.changes],
        "temperatures": list(of.temperatures),
        "instrument": of.gauge,
        "narrows": of.narrows,
        "firmness_after": band(of.band_after),
        "changes_the_answer": of.flips,
        "wrong_after": of.wrong_after,
        "weigh": {
            "step": quantity(weigh.step, "g"),
            "lines": [
                {
                    "ingredient": line.ingredient,
                    "phase": line.phase,
                    "grams": line.grams,
                    "due": line.due,
                    "change": line.change,
                    "small": small_dose(line.small) if line.small else None,
                }
                for line in weigh.lines
            ],
        },
    }
