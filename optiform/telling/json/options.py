"""Options beside today's formula as plain data: cheaper, in place of an ingredient, firmer or softer."""

from collections.abc import Iterable

from optiform.design.cheaper import CheaperOption, CheaperOptions, Move
from optiform.design.feel import felt
from optiform.design.replacement import Replacement, Shift
from optiform.design.substitute import Substitutes
from optiform.design.texture import Season, Texture, TextureOption
from optiform.reading.plain import answered
from optiform.review.answer import Report
from optiform.telling.json.basic import (
    Data,
    bands,
    certificate,
    demand,
    formula,
    quantity,
    warnings,
)
from optiform.telling.json.design import impossible
from optiform.telling.json.report import costed, keeps


def cheaper(answer: CheaperOptions) -> Data:
    """Formulas that cost less, the fewest changed lines first; or why there is none."""
    if answer.impossible is not None:
        return impossible(answer.impossible)
    brief = answer.brief
    return answered(
        "answered" if answer.rungs or answer.decided else "undecided",
        title=brief.title,
        today=_today(answer.today, brief.currency, brief.batch),
        balance=answer.balance,
        held=[{"property": held.name, "value": held.value, "tolerance": held.tolerance} for held in answer.held],
        gone=_reasons(answer.gone),
        options=[_cheaper(option, brief.currency, answer) for option in answer.rungs],
        decided=answer.decided,
        note=answer.note,
    )


def _cheaper(option: CheaperOption, money: str, answer: CheaperOptions) -> Data:
    return {
        "feel": [
            {"property": move.name, "steps": move.steps} for move in felt(answer.held, option.report.formula, money)
        ],
        "lines_changed": option.lines,
        "formula": formula(option.report.formula),
        "cost": quantity(option.cost, f"{money}/kg"),
        "saving": quantity(option.saving, f"{money}/kg"),
        "saving_per_jar": quantity(option.saving_per_jar, money),
        "changes": moves(option.moves),
        "stops": [demand(limit) for limit in option.stops],
        "keeps": keeps(option.report),
        "warnings": warnings(option.report.warnings),
        "left": option.gap,
        "certificate": certificate(option.certificate),
    }


def substitute(answer: Substitutes) -> Data:
    """What can stand in for missing ingredients, the nearest first."""
    brief = answer.brief
    return answered(
        "answered",
        title=brief.title,
        today=_today(answer.today, brief.currency, brief.batch),
        missing=list(answer.missing),
        options=[_replacement(option, brief.currency) for option in answer.swaps],
        purchase=_replacement(answer.purchase, brief.currency) if answer.purchase else None,
        without_figures=_reasons(answer.without_figures),
        any_close=answer.any_close,
    )


def _replacement(option: Replacement, money: str) -> Data:
    return {
        "in_its_place": [{"ingredient": name, "percent": percent} for name, percent in option.parts],
        "formula": formula(option.formula),
        "close": option.close,
        "distance": option.distance,
        "moves_most": _shift(option.worst),
        "shifts": [_shift(shift) for shift in option.shifts],
        "new_names": list(option.new_names),
        "new_cautions": list(option.new_cautions),
        "new_warnings": [str(warning) for warning in option.new_warnings],
        "melting_together": list(option.eutectics),
        "missed": list(option.broken),
        "cost": quantity(option.cost, f"{money}/kg"),
        "cost_change": quantity(option.cost_change, f"{money}/kg"),
    }


def _shift(of: Shift) -> Data:
    return {"property": of.name, "unit": of.unit, "before": of.before, "after": of.after, "distance": of.distance}


def texture(answer: Texture) -> Data:
    """Formulas as firm as wanted, the least moved first; or how far it goes."""
    brief = answer.brief
    status = "answered" if answer.reached else "infeasible"
    return answered(
        status if answer.decided else "undecided",
        title=brief.title,
        today={**_today(answer.today, brief.currency, brief.batch), "firmness": bands(answer.before)},
        temperature=quantity(answer.temperature, "°C"),
        wanted=answer.wanted,
        cold_most=answer.cold_most,
        hot_least=answer.hot_least,
        options=[_textured(option) for option in answer.courses],
        furthest=_textured(answer.furthest) if answer.furthest else None,
        season=_season(answer.season) if answer.season else None,
        in_the_way=list(answer.in_the_way),
        note=answer.note,
        rests_on=answer.rests_on,
    )


def _textured(option: TextureOption) -> Data:
    return {
        "lines_changed": option.lines,
        "points_moved": option.points,
        "formula": formula(option.formula),
        "changes": moves(option.moves),
        "firmness": bands(option.firmness),
        "brings_in": option.new,
    }


def _season(of: Season) -> Data:
    return {
        "winter": _textured(of.winter),
        "summer": _textured(of.summer),
        "common": [{"ingredient": name, "percent": percent} for name, percent in of.common],
        "points_apart": of.apart,
    }


def _today(of: Report, currency: str, batch: float) -> Data:
    return {**costed(of.formula, currency, batch), "warnings": warnings(of.warnings)}


def moves(of: Iterable[Move]) -> list[Data]:
    """Lines that change, in % of the whole."""
    return [
        {"ingredient": move.ingredient, "before": move.before, "after": move.after, "change": move.points}
        for move in of
    ]


def _reasons(pairs: Iterable[tuple[str, str]]) -> list[Data]:
    return [{"ingredient": name, "reason": why} for name, why in pairs]
