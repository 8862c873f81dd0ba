"""A formula in whole steps of the scale, as plain data; or why there is none."""

from collections.abc import Iterable

from optiform.design.answer import NoFormula
from optiform.design.steps import Unweighable, Weighed, Weighing
from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, certificate, demand, formula, quantity, warnings
from optiform.telling.json.design import impossible
from optiform.telling.json.report import keeps


def weighed(answer: Weighed | Unweighable | NoFormula) -> Data:
    """What to put on the scale, with the proof of how good it is."""
    if isinstance(answer, NoFormula):
        return impossible(answer)
    if isinstance(answer, Unweighable):
        return _unweighable(answer)
    money = f"{answer.brief.currency}/kg"
    return answered(
        "weighed",
        title=answer.brief.title,
        lines=_lines(answer.lines),
        batch=quantity(answer.batch, "g"),
        formula=formula(answer.report.formula),
        before_rounding=formula(answer.rounded),
        keeps=keeps(answer.report),
        cost=quantity(answer.cost, money),
        cost_before_rounding=quantity(answer.cost_unrounded, money),
        value_before_rounding=quantity(answer.unrounded, answer.unit),
        proof={
            "value": quantity(answer.proof.value, answer.unit),
            "bound": quantity(answer.proof.bound, answer.unit),
            "gap": answer.proof.gap,
            "certificate": certificate(answer.proof.certificate),
            "open_lines": answer.proof.open_lines,
        },
        warnings=warnings(answer.report.warnings),
        notes=list(answer.notes),
    )


def _unweighable(answer: Unweighable) -> Data:
    return answered(
        "infeasible" if answer.decided else "undecided",
        title=answer.brief.title,
        reason=answer.reason,
        misses=[{**demand(miss.demand), "value": miss.value, "by": miss.by} for miss in answer.misses],
        nearest=_lines(answer.nearest),
        batch=quantity(answer.batch, "g"),
        fewest_ingredients=answer.fewest,
        warnings=warnings(answer.report.warnings) if answer.report else [],
        notes=list(answer.notes),
    )


def _lines(of: Iterable[Weighing]) -> list[Data]:
    return [
        {
            "ingredient": line.ingredient,
            "phase": line.phase,
            "grams": float(line.grams),
            "steps": line.steps,
            "step": float(line.step),
            "rounded_by": line.drift,
            "rounded_by_points": line.points,
        }
        for line in of
    ]
