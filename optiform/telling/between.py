"""The formula between two trials, told: how much of each, how firm it should be, and what the brief says of it."""

from optiform.brief.brief import Brief
from optiform.telling import report
from optiform.telling.facts import in_words
from optiform.telling.parts import Column, Section, Sentence, Step, Table, Telling, sentences
from optiform.telling.scale import NINE_IN_TEN, SCALE, closing, firm, whole
from optiform.telling.tried import left_behind
from optiform.trials.between import Between
from optiform.trials.fit import Fitted

MOVES = (
    "The mix is not moved towards the brief. Where it misses a limit, texture looks for formulas as firm that meet "
    "them all."
)


def between(answer: Between, fit: Fitted, brief: Brief, steps: tuple[Step, ...] = ()) -> Telling:
    """What to mix of two trials for a wished firmness, and whether that keeps the brief.

    Args:
        answer: the formula.
        fit: the scale.
        brief: that it was held to.
        steps: what can be done next.
    """
    first, second = answer.ends
    table = _shares(answer)
    notes = (*map(left_behind, answer.prediction.beyond), MOVES)
    rests = f"Fitted to {in_words(fit.basis)}. {NINE_IN_TEN}"
    sections = (
        Section("answer", "", (Sentence(_parts(answer)), Sentence(_firm(answer)), *_others(answer))),
        Section("brief", "", (report.limits_line(answer.report), report.law_line(answer.report, brief.scope))),
        report.warnings(answer.report.warnings),
        Section("formula", "", (table,)),
        Section("instruments", "What your instruments should read", (_readings(answer),)),
        report.limits(answer.report),
        Section("notes", "Good to know", sentences((*notes, rests, SCALE)), False, instead="What this rests on"),
        closing(),
    )
    title = f"Between {first.name} and {second.name}, as firm as {answer.firmness:g} at {_at(answer)}"
    return Telling(f"{title}; {fit.reference.name} at 20 °C is 100", sections, table, steps)


def _at(answer: Between) -> str:
    return f"{answer.prediction.temperature:g} °C"


def _parts(answer: Between) -> str:
    first, second = answer.ends
    share = 100 * answer.share
    return f"Mix {100 - share:.3g} % of {first.name} and {share:.3g} % of {second.name}, each as its formula stands."


def _firm(answer: Between) -> str:
    known = answer.prediction
    return f"Firmness {firm(known.after)}; the next batch of it {firm(known.batch)}. Nobody has made it yet."


def _others(answer: Between) -> tuple[Sentence, ...]:
    if not answer.others:
        return ()
    second = answer.ends[1].name
    shares = " and ".join(f"{100 * share:.3g} %" for share in answer.others)
    words = f"It is as firm with {shares} of {second}, too; this one is nearest to {answer.ends[0].name}."
    return (Sentence(words),)


def _shares(answer: Between) -> Table:
    first, second = answer.ends
    columns = (
        Column("% of the jar"), Column(first.name, "", 2), Column("mix", "", 2), Column(second.name, "", 2)
    )  # fmt: skip
    names = (line.ingredient.name for line in answer.formula.lines)
    formulas = (first, answer.formula, second)
    return Table(columns, tuple((name, *(100 * x.fraction(name) for x in formulas)) for name in dict.fromkeys(names)))


def _readings(answer: Between) -> Table:
    columns = (Column("mean of three jars of the next batch"), Column("reading"), Column("unit"))
    return Table(columns, tuple((x.gauge, whole(x.band), x.unit) for x in answer.prediction.gauges))
