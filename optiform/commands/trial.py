"""optiform trial: log trials, fit the firmness scale to their readings, and see which one to make next."""

import argparse
from collections.abc import Sequence
from pathlib import Path

from optiform.brief.file import read_brief
from optiform.commands import ANSWERED
from optiform.commands.arguments.fields import record
from optiform.commands.arguments.options import where
from optiform.commands.carried import carrying
from optiform.commands.common import print_json
from optiform.commands.files import check_names, write_formula
from optiform.commands.place import open_workshop
from optiform.commands.tell import again, answer, check_part
from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.formula import Basis, Formula, read_formula
from optiform.reading import clock
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.reading.plain import answered
from optiform.telling import between as mixed
from optiform.telling import scale
from optiform.telling import trial as plain
from optiform.telling.facts import in_words
from optiform.telling.json import trial as as_json
from optiform.telling.saved import kept_in_words
from optiform.telling.steps import after_between
from optiform.telling.terminal import wrapped
from optiform.trials import forecasts
from optiform.trials.between import between
from optiform.trials.cells import formulas_of, refuse_none
from optiform.trials.fit import fit
from optiform.trials.instruments import INSTRUMENTS, misspelt
from optiform.trials.next_trial import next_trial
from optiform.trials.prediction import predict
from optiform.trials.question import Question
from optiform.trials.weighable import weighable
from optiform.workshop.decisions import Kept, keep, logged, read
from optiform.workshop.log import Log, log_of
from optiform.workshop.records import Forecast, Reading, Trial, TrialWeight


def run(options: argparse.Namespace) -> int:
    """Do the action and print."""
    ACTIONS[options.action](options)
    return ANSWERED


def _log(options: argparse.Namespace) -> Log:
    with open_workshop(options) as workshop:
        return log_of(workshop)


# -- what was made and read --------------------------------------------------------------------------------------------


def _add(options: argparse.Namespace) -> None:
    today, place = clock.today(), where(options)
    trial = record(Trial, options, made=options.made or today)
    weights = _weights(options.name, options.weights, read_catalogue(options.own)) if options.weights else []
    with open_workshop(options) as workshop:
        keep(workshop, lambda _: logged(trial, weights, today, place), place)
    _told(options, answered("saved", trial=trial.name, weights=len(weights)), plain.logged(trial, len(weights)))


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
    if misspelt(options.instrument):
        raise BadInput(
            [Fault(COMMAND_LINE, "--instrument", repr(options.instrument), f"one of: {', '.join(INSTRUMENTS)}")]
        )
    values = enumerate(options.value, 1)
    readings = [record(Reading, options, number=k, value=value, unit=unit) for k, (value, unit) in values]
    refuse_none(readings, where(options))
    with open_workshop(options) as workshop:
        records = keep(workshop, lambda kept: read(kept, readings), where(options)).records
    numbered = [each for each in records if isinstance(each, Reading)]
    numbers = [each.number for each in numbered]
    _told(options, answered("saved", trial=options.trial, readings=numbers), plain.read(numbered))


def _show(options: argparse.Namespace) -> None:
    with open_workshop(options) as workshop:
        log, outcomes = log_of(workshop), forecasts.record(log_of(workshop), workshop.read(Forecast))
    check_names(options)
    answer(plain.trials(log, outcomes), options, lambda: as_json.shown(log, outcomes))


# -- what it teaches ---------------------------------------------------------------------------------------------------


def _logged(options: argparse.Namespace) -> tuple[Log, Catalogue, Formula | None]:
    """What a scale is fitted from: the log, and ingredients and reference of a brief or of own files."""
    brief = read_brief(options.brief) if options.brief else None
    if brief and options.own:
        raise BadInput([Fault(COMMAND_LINE, "--own", "given with --brief", "one of the two: the brief says this")])
    catalogue = brief.catalogue if brief else read_catalogue(options.own)
    return _log(options), catalogue, brief.reference if brief else None


def _fit(options: argparse.Namespace) -> None:
    logged_trials = _logged(options)
    check_names(options)
    fitted = fit(*logged_trials)
    answer(scale.fitted(fitted), options, lambda: as_json.fitted(fitted))


def _predict(options: argparse.Namespace) -> None:
    log, catalogue, reference = _logged(options)
    formula = read_formula(options.formula, catalogue).formula
    check_names(options)
    fitted = fit(log, catalogue, reference)
    predictions = [predict(fitted, formula, at) for at in options.at or [20.0]]
    sealed = _sealed(options, forecasts.forecasts(fitted, predictions, in_words(fitted.basis)))
    new = [each for each in sealed.records if isinstance(each, Forecast)]
    words = carrying(kept_in_words(sealed), options)
    answer(
        plain.predicted(predictions, fitted, words),
        options,
        lambda: as_json.predicted(predictions, fitted, new, words),
    )


def _sealed(options: argparse.Namespace, asked: Sequence[Forecast]) -> Kept:
    """Forecasts are sealed unasked; where the records cannot be written, that is told and the prediction stands."""
    try:
        with open_workshop(options) as workshop:
            return keep(workshop, lambda kept: forecasts.sealed(kept, asked), where(options))
    except BadInput as refused:
        return Kept((), f"No forecast was sealed, the records cannot be written: {refused.faults[0]}")


def _next(options: argparse.Namespace) -> None:
    brief, log = read_brief(options.brief), _log(options)
    check_names(options)
    fitted = fit(log, brief.catalogue, brief.reference)
    question = Question(
        formula=_formula(options.of, brief.catalogue) or fitted.reference,
        temperature=options.ask,
        low=0.0 if options.least is None else options.least,
        high=float("inf") if options.most is None else options.most,
        rival=_formula(options.firmer_than, brief.catalogue),
    )
    advice = next_trial(fitted, question, brief, log.trials, options.mass, options.step)
    weighings = [weighable(proposal, advice.mass, advice.step, brief) for proposal in advice.proposals]
    answer(
        plain.next_one(advice, fitted, weighings),
        options,
        lambda: as_json.next_trial(advice, weighings),
    )


def _between(options: argparse.Namespace) -> None:
    brief, log = read_brief(options.brief), _log(options)
    check_names(options)
    fitted, made = fit(log, brief.catalogue, brief.reference), formulas_of(log, brief.catalogue)
    asked = between(fitted, made, (options.first, options.second), options.firmness, brief, options.at)
    steps = after_between(options.brief, options.write, again(options), options.at)
    telling = mixed.between(asked, fitted, brief, steps)
    check_part(telling, options)
    write_formula(options, asked.formula)
    answer(telling, options, lambda: as_json.between(asked))


def _formula(path: Path | None, catalogue: Catalogue) -> Formula | None:
    return read_formula(path, catalogue).formula if path else None


# -- options -----------------------------------------------------------------------------------------------------------


def _told(options: argparse.Namespace, data: dict[str, object], text: str) -> None:
    print_json(data) if options.json else print(wrapped(text))


ACTIONS = {
    "log": _add, "read": _read, "show": _show, "fit": _fit, "predict": _predict, "next": _next, "between": _between,
}  # fmt: skip
