"""What lies around the answer, as plain data: a limit over its range, what is nearly as good, prices, wrong figures."""

from collections.abc import Mapping

from optiform.design.alternatives import Alternatives
from optiform.design.answer import NoFormula
from optiform.design.explore import TradeOff
from optiform.design.price_lists import ForAllPrices
from optiform.design.price_moves import PriceUncertainty, UnderPrices
from optiform.design.protect import AtWorst, Protected
from optiform.design.unlike import Unlikes
from optiform.program.chance import Chance
from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, certificate, demand, formula, quantity, warnings
from optiform.telling.json.design import impossible
from optiform.telling.json.report import keeps

Explored = TradeOff | Alternatives | PriceUncertainty | Protected | Unlikes | ForAllPrices | NoFormula


def explored(status: str, title: str, answers: Mapping[str, Explored]) -> Data:
    """Each answer under its name; one that no formula meets as `design` says it."""
    return answered(status, title=title, **{name: _explored(answer) for name, answer in answers.items()})


def _explored(answer: Explored) -> Data:
    if isinstance(answer, TradeOff):
        return _trade_off(answer)
    if isinstance(answer, Alternatives):
        return _alternatives(answer)
    if isinstance(answer, PriceUncertainty):
        return _prices(answer)
    if isinstance(answer, Unlikes):
        return _unlike(answer)
    if isinstance(answer, ForAllPrices):
        return _price_lists(answer)
    return _protected(answer) if isinstance(answer, Protected) else impossible(answer)


def _trade_off(of: TradeOff) -> Data:
    return {
        "limit": of.words,
        "unit": of.unit,
        "value_unit": of.value_unit,
        "price_unit": of.price_unit,
        "target_now": of.today,
        "wanted": list(of.asked),
        "met": list(of.fits) if of.fits else None,
        "stretches": [
            {"from": stretch.start, "to": stretch.end, "prices": list(stretch.prices)} for stretch in of.stretches
        ],
        "corners": [
            {"target": corner.target, "value": corner.value, "formula": formula(corner.formula)}
            for corner in of.corners
        ],
        "residual": of.residual,
        "notes": list(of.notes),
    }


def _alternatives(of: Alternatives) -> Data:
    return {
        "value": quantity(of.value, of.unit),
        "within": quantity(of.percent, "%"),
        "slack": quantity(of.slack, of.unit),
        "leeway": [
            {"ingredient": row.ingredient, "low": row.low, "best": row.best, "high": row.high} for row in of.leeway
        ],
        "options": [
            {
                "formula": formula(option.formula),
                "value": quantity(option.value, of.unit),
                "points_from_best": option.from_best,
                "points_from_nearest": option.nearest,
            }
            for option in of.options
        ],
        "residual": of.residual,
        "notes": list(of.notes),
    }


def _prices(of: PriceUncertainty) -> Data:
    money = f"{of.brief.currency}/kg"
    return {
        "model": of.model,
        "seed": of.seed,
        "price_lists": of.scenarios,
        "chosen": _under_prices(of.chosen, money),
        "options": [_under_prices(option, money) for option in of.rivals],
        "least_regret": _under_prices(of.least_regret, money),
        "best_range": [quantity(end, money) for end in of.best_band],
        "distinct": of.distinct,
        "solved": of.solved,
        "gap": of.gap,
        "notes": list(of.notes),
    }


def _under_prices(of: UnderPrices, money: str) -> Data:
    return {
        "formula": formula(of.formula),
        "cheapest_in": quantity(100 * of.share, "%"),
        "cost": quantity(of.typical, money),
        "regret": quantity(of.regret, money),
        "regret_95": quantity(of.regret_95, money),
        "cost_range": [quantity(end, money) for end in of.cost_band],
    }


def _unlike(of: Unlikes) -> Data:
    return {
        "options": [
            {
                "formula": formula(option.formula),
                "value": quantity(option.value, of.unit),
                "without": list(option.without),
                "instead": list(option.instead),
            }
            for option in of.options
        ],
        "all_there_are": of.all_there_are,
    }


def _price_lists(of: ForAllPrices) -> Data:
    money = f"{of.brief.currency}/kg"
    return {
        "formula": formula(of.formula),
        "within": quantity(100 * of.within, "%"),
        "near_enough": of.near_enough,
        "worst": quantity(100 * of.worst, "%"),
        "bound": quantity(100 * of.bound, "%"),
        "price_lists": [
            {
                "name": row.name,
                "least": quantity(row.least, money),
                "cheapest": formula(row.cheapest),
                "cost": quantity(row.cost, money),
                "today": quantity(row.today, money),
            }
            for row in of.lists
        ],
    }


def _protected(of: Protected) -> Data:
    goal = of.brief.goal
    return {
        "figures": "all" if of.budget is None else None if isinstance(of.budget, Chance) else of.budget,
        "lots": _lots(of.budget) if isinstance(of.budget, Chance) else None,
        "formula": formula(of.report.formula),
        "keeps": keeps(of.report),
        "value": quantity(of.objective, goal.unit),
        "price": quantity(of.price, goal.unit),
        "limits": [_at_worst(row) for row in of.limits],
        "warnings": warnings(of.report.warnings),
        "certificate": certificate(of.certificate),
        "notes": list(of.notes),
    }


def _lots(of: Chance) -> Data:
    return {"good": of.good, "of": of.of, "together": of.together}


def _at_worst(of: AtWorst) -> Data:
    return {
        **demand(of.demand),
        "value": of.value,
        "worst": of.worst,
        "worst_before": of.before,
        "missed_before": of.broken_before,
    }
