"""optiform trial: log trials, fit the firmness scale to their readings, and see which one to make next."""

import argparse
import re
from functools import partial
from pathlib import Path

from optiform.brief.file import read_brief
from optiform.commands import ANSWERED
from optiform.commands.common import amount, day, degrees, maybe, print_json, quantity
from optiform.commands.files import check_names
from optiform.commands.place import open_workshop
from optiform.commands.tell import answer
from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.formula import Basis, Formula, read_formula
from optiform.reading import clock
from optiform.reading.faults import BadInput, Fault, Inspection
from optiform.telling import json as jsonform
from optiform.telling import trial as plain
from optiform.trials.fit import fit, predict
from optiform.trials.next_trial import Question, next_trial
from optiform.trials.weighable import weighable
from optiform.workshop.decisions import keep, logged, read, written
from optiform.workshop.keeping import values_of
from optiform.workshop.log import Log, log_of
from optiform.workshop.records import Reading, Trial, TrialWeight

OF_TRIAL = written(
    "command line", name="TRIAL", trial="TRIAL", product="--product", version="--version", made="--made", aim="--aim",
    changed="--changed", mass="--mass", hot_water="--hot-water", hot_oil="--hot-oil", cooling="--cooling",
    added_at="--added-at", room="--room", outcome="--outcome", note="--note", ingredient="--weights",
    phase="--weights", actual="--weights",
)  # fmt: skip
OF_READING = written(
    "command line", trial="TRIAL", value="VALUE", unit="VALUE", age="--age", temperature="--at", held="--held",
    instrument="--instrument", geometry="--geometry", condition="--condition", tester="--tester", photo="--photo",
    excluded="--excluded", note="--note",
)  # fmt: skip
WARMTHS = ("hot_water", "hot_oil", "added_at", "room")
ASKED = re.compile(r"firmness at (.+)", re.IGNORECASE)


def run(options: argparse.Namespace) -> int:
    """Do the action and print."""
    ACTIONS[options.action](options)
    return ANSWERED


def _log(options: argparse.Namespace) -> Log:
    with open_workshop(options) as workshop:
        return log_of(workshop)


# -- what was made and read --------------------------------------------------------------------------------------------


def _add(options: argparse.Namespace) -> None:
    today = clock.today()
    inspection = Inspection("command line")
    warmths = {name: inspection.given(partial(_warmth, options, name), None) for name in WARMTHS}
    made = inspection.given(lambda: day(options.made, "--made"), None)
    mass = inspection.given(lambda: maybe(options.mass, "--mass", "g"), None)
    cooling = inspection.given(lambda: maybe(options.cooling, "--cooling", "min"), None)
    inspection.finish()
    trial = Trial(
        name=options.name,
        product=options.product,
        version=options.version,
        made=made or today,
        aim=options.aim,
        changed=options.changed,
        mass=mass,
        cooling=cooling,
        outcome=options.outcome,
        note=options.note,
        **warmths,
    )
    weights = _weights(options.name, options.weights, read_catalogue(options.own)) if options.weights else []
    with open_workshop(options) as workshop:
        keep(workshop, lambda _: logged(trial, weights, today, OF_TRIAL), OF_TRIAL)
    _told(options, {"status": "kept", "trial": trial.name, "weights": len(weights)}, plain.logged(trial, len(weights)))


def _warmth(options: argparse.Namespace, name: str) -> float | None:
    return degrees(getattr(options, name), OF_TRIAL(name)[1])


def _weights(trial: str, path: Path, catalogue: Catalogue) -> list[TrialWeight]:
    """Grams as weighed; a file of shares says nothing of them."""
    read = read_formula(path, catalogue)
    if read.basis is not Basis.GRAMS:
        raise BadInput([Fault(str(path), "header", str(read.basis), "a column grams: what was really weighed")])
    return [
        TrialWeight(trial=trial, ingredient=x.ingredient.name, phase=x.phase, actual=round(x.fraction * read.total, 6))
        for x in read.formula.lines
    ]


def _read(options: argparse.Namespace) -> None:
    inspection = Inspection("command line")
    age = inspection.given(lambda: quantity(options.age, "--age", "h"), 0.0)
    at = inspection.given(lambda: amount(options.at, "--at", "degC"), 0.0)
    held = inspection.given(lambda: maybe(options.held, "--held", "h"), None)
    none: list[tuple[float, str]] = []
    values = inspection.given(lambda: values_of(options.values, "command line"), none)
    inspection.finish()
    readings = [
        Reading(
            trial=options.name,
            number=k,
            age=age,
            temperature=at,
            instrument=options.instrument,
            value=value,
            unit=unit,
            geometry=options.geometry,
            held=held,
            condition=options.condition,
            tester=options.tester,
            photo=options.photo,
            excluded=options.excluded,
            note=options.note,
        )
        for k, (value, unit) in enumerate(values, 1)
    ]
    with open_workshop(options) as workshop:
        found = keep(workshop, lambda kept: read(kept, readings), OF_READING).records
    _told(
        options,
        {"status": "kept", "trial": options.name, "readings": [r.number for r in found]},
        plain.read(found),
    )


def _show(options: argparse.Namespace) -> None:
    log = _log(options)
    check_names(options)
    answer(plain.trials(log), options, lambda: {"status": "shown", "trials": jsonform.data(log.trials), **_rest(log)})


def _rest(log: Log) -> dict[str, object]:
    return {"weights": jsonform.data(log.weights), "readings": jsonform.data(log.readings)}


# -- what it teaches ---------------------------------------------------------------------------------------------------


def _logged(options: argparse.Namespace) -> tuple[Log, Catalogue, Formula | None]:
    """What a scale is fitted from: the log, and ingredients and reference of a brief or of own files."""
    brief = read_brief(options.brief) if options.brief else None
    if brief and options.own:
        raise BadInput([Fault("command line", "--own", "given with --brief", "one of the two: the brief says this")])
    catalogue = brief.catalogue if brief else read_catalogue(options.own)
    return _log(options), catalogue, brief.reference if brief else None


def _fit(options: argparse.Namespace) -> None:
    logged_trials = _logged(options)
    check_names(options)
    fitted = fit(*logged_trials)
    answer(plain.fitted(fitted), options, lambda: {"status": "fitted", **jsonform.data(fitted)})


def _predict(options: argparse.Namespace) -> None:
    inspection = Inspection("command line")
    heat = [inspection.given(partial(amount, text, "--at", "degC"), 0.0) for text in options.at] or [20.0]
    inspection.finish()
    log, catalogue, reference = _logged(options)
    formula = read_formula(options.formula, catalogue).formula
    check_names(options)
    fitted = fit(log, catalogue, reference)
    predictions = [predict(fitted, formula, at) for at in heat]
    answer(
        plain.predicted(predictions, fitted),
        options,
        lambda: {
            "status": "predicted",
            "predictions": jsonform.data(predictions),
            "rests_on": jsonform.data(fitted.basis),
        },
    )


def _next(options: argparse.Namespace) -> None:
    inspection = Inspection("command line")
    temperature = inspection.given(lambda: _asked(options.ask), 0.0)
    mass = inspection.given(lambda: maybe(options.mass, "--mass", "g"), None)
    step = inspection.given(lambda: maybe(options.step, "--step", "g"), None)
    inspection.finish()
    brief, log = read_brief(options.brief), _log(options)
    check_names(options)
    fitted = fit(log, brief.catalogue, brief.reference)
    question = Question(
        formula=_formula(options.of, brief.catalogue) or fitted.reference,
        temperature=temperature,
        low=0.0 if options.least is None else options.least,
        high=float("inf") if options.most is None else options.most,
        rival=_formula(options.firmer_than, brief.catalogue),
    )
    advice = next_trial(fitted, question, brief, log.trials, mass, step)
    weighings = [weighable(proposal, advice.mass, advice.step, brief) for proposal in advice.proposals]
    answer(
        plain.next_one(advice, fitted, weighings),
        options,
        lambda: {"status": "answered", **jsonform.data(advice), "weighings": jsonform.data(weighings)},
    )


def _formula(path: Path | None, catalogue: Catalogue) -> Formula | None:
    return read_formula(path, catalogue).formula if path else None


def _asked(text: str) -> float:
    match = ASKED.fullmatch(text.strip())
    if match is None:
        raise BadInput([Fault("command line", "--ask", repr(text), "'firmness at 10 degC', at any temperature")])
    return amount(match[1], "--ask", "degC")


# -- options -----------------------------------------------------------------------------------------------------------


def _told(options: argparse.Namespace, data: dict[str, object], text: str) -> None:
    print_json(data) if options.json else print(text)


ACTIONS = {"log": _add, "read": _read, "show": _show, "fit": _fit, "predict": _predict, "next": _next}
