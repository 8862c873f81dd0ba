"""What lies around the answer, as plain data."""

from collections.abc import Mapping
from typing import get_args

from optiform.design.alternatives import Alternatives
from optiform.design.answer import NoFormula
from optiform.design.explore import TradeOff
from optiform.design.price_lists import ForAllPrices
from optiform.design.price_moves import PriceUncertainty
from optiform.design.protect import Protected
from optiform.design.stepped import Status, Stepped
from optiform.design.unlike import Unlikes
from optiform.ingredients.formula import Formula
from optiform.program.chance import Chance
from optiform.telling.json.basic import CERTIFICATE, KEEPS, demand_keys, evidence, formula, warnings
from optiform.telling.json.design import IMPOSSIBLE
from optiform.telling.json.firmness import firmness, numbered
from optiform.telling.json.form import (
    LACKING,
    NUMBER,
    QUANTITY,
    WHOLE,
    Data,
    Either,
    Getter,
    Key,
    Many,
    Maybe,
    Record,
    answer,
    exactly,
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
from optiform.telling.noted import price_model
from optiform.trials.firm import Fitted

Explored = TradeOff | Stepped | Alternatives | PriceUncertainty | Protected | Unlikes | ForAllPrices | NoFormula
STATUSES = ("explored", "infeasible", "undecided")
_STRETCH = record(number("from", "start"), number("to", "end"), key("prices", Many(NUMBER)))
_CORNER = record(number("target"), number("value"), formula())
_STEP = record(
    number("target"), number("value", "corner.value", null=True), key("status", word(*get_args(Status))),
    number("gap", null=True), texts("gave"), text("reason"),
)  # fmt: skip


def _or_none(name: str) -> Getter:
    """What either a whole curve has or steps have."""
    return lambda of: getattr(of, name, ())


TRADE_OFF = record(
    text("limit", "words"), text("unit"), text("value_unit"), text("price_unit"),
    number("target_now", "today", null=True), key("wanted", Many(NUMBER), "asked"),
    key("met", Many(NUMBER), "fits", null=True), many("stretches", _STRETCH, _or_none("stretches")),
    many("corners", _CORNER), number("residual"), texts("notes", _or_none("notes")),
    many("steps", _STEP, _or_none("steps"),
         "where something bends: what is known at each target, in place of `stretches`; else empty"),
)  # fmt: skip
_LEEWAY = record(text("ingredient"), number("low"), number("best"), number("high"))
_LOTS = record(whole("good"), whole("of"), truth("together"))
_WORST = record(
    *demand_keys("demand"), number("value", null=True), number("worst", null=True),
    number("worst_before", "before", null=True), truth("missed_before", "broken_before"),
)  # fmt: skip
_DOUBT = record(
    text("limit", "demand.words"), number("share"), quantity("away", lambda of: of.demand.unit), text("ingredient"),
    number("part"), evidence(null=True),
)  # fmt: skip


def _alternatives(unit: str) -> Record:
    option = record(
        formula(), quantity("value", unit), number("points_from_best", "from_best"),
        number("points_from_nearest", "nearest"),
    )  # fmt: skip
    return record(
        quantity("value", unit), quantity("within", "%", "percent"), quantity("slack", unit), many("leeway", _LEEWAY),
        many("options", option), number("residual"), texts("notes"),
    )  # fmt: skip


def _prices(money: str) -> Record:
    def band(name: str, get: str) -> Key:
        return many(name, QUANTITY, lambda of: [(end, money) for end in getattr(of, get)])

    option = record(
        formula(), quantity("cheapest_in", "%", lambda of: 100 * of.share), quantity("cost", money, "typical"),
        quantity("regret", money), quantity("regret_95", money), band("cost_range", "cost_band"),
    )  # fmt: skip
    return record(
        text("model", price_model), whole("seed"), whole("price_lists", "scenarios"), key("chosen", option),
        many("options", option, "rivals"), key("least_regret", option), band("best_range", "best_band"),
        whole("distinct"), whole("solved"), number("gap"), texts("notes"),
    )  # fmt: skip


def _protected(unit: str) -> Record:
    figures = Either((exactly("all"), Maybe(WHOLE)), lambda budget: int(budget != "all"))
    return record(
        key("figures", figures, lambda of: {None: "all"}.get(of.budget, None if _chance(of) else of.budget)),
        key("lots", _LOTS, _chance,
            "limits hold in `good` lots of `of`, each by itself or all together; null with `figures`", null=True),
        formula(get="report.formula"), key("keeps", KEEPS, "report"), quantity("value", unit, "objective"),
        quantity("price", unit), many("limits", _WORST),
        many("price_for", _DOUBT, "doubts",
             "with lots: the limits that the price is paid for, as shares of it, and whose lots are behind each"),
        many("exact", record(text("ingredient"), quantity("price", unit)),
             words="with lots: what the protection would cost if all lots of one ingredient had its typical figures"),
        warnings("report.warnings"), key("certificate", CERTIFICATE),
        texts("notes"),
    )  # fmt: skip


def _unlike(unit: str) -> Record:
    option = record(formula(), quantity("value", unit), texts("without"), texts("instead"))
    return record(many("options", option), truth("all_there_are"))


def _price_lists(money: str) -> Record:
    row = record(
        text("name"), quantity("least", money), formula("cheapest", get="cheapest"), quantity("cost", money),
        quantity("today", money),
    )  # fmt: skip
    return record(
        formula(), *(quantity(name, "%", _share(name)) for name in ("within", "worst", "bound")), truth("near_enough"),
        many("price_lists", row, "lists"),
    )  # fmt: skip


def _share(name: str) -> Getter:
    return lambda of: 100 * float(getattr(of, name))


def _chance(of: Protected) -> Chance | None:
    return of.budget if isinstance(of.budget, Chance) else None


def _proposed(answer: Explored) -> dict[str, Formula]:
    """The formulas of an answer by what they are in it; of a curve by the target, of price lists one for all."""
    if isinstance(answer, TradeOff | Stepped):
        return {f"{corner.target:g}": corner.formula for corner in answer.corners}
    if isinstance(answer, Alternatives | Unlikes):
        return numbered(option.formula for option in answer.ranked())
    if isinstance(answer, Protected):
        return {"protected": answer.report.formula}
    return {"for all": answer.formula} if isinstance(answer, ForAllPrices) else {}


def form(of: Mapping[str, Explored], fitted: Fitted | None = None) -> Record:
    """Each answer under its name; one that no formula meets as `design` says it.

    Args:
        of: the answers by name, for the units that they are said in; none for the schema alone.
        fitted: the scale of firmness that the maker's own readings fit.
    """
    firm = firmness(_proposed, fitted)

    def one(name: str, made: Record) -> Key:
        either = Either((record(*made.keys, firm), IMPOSSIBLE), lambda answer: int(isinstance(answer, NoFormula)))
        return key(name, either, lambda explored: explored[1].get(name, LACKING), may_lack=True)

    near, moving, sure = (of.get(name) for name in ("alternatives", "prices", "protected"))
    others, lists = of.get("unlike"), of.get("price_lists")
    return answer(
        STATUSES,
        text("title", lambda explored: explored[0]),
        one("trade_off", TRADE_OFF),
        one("alternatives", _alternatives(near.unit if isinstance(near, Alternatives) else "")),
        one("prices", _prices(f"{moving.brief.currency}/kg" if isinstance(moving, PriceUncertainty) else "")),
        one("unlike", _unlike(others.unit if isinstance(others, Unlikes) else "")),
        one("price_lists", _price_lists(f"{lists.brief.currency}/kg" if isinstance(lists, ForAllPrices) else "")),
        one("protected", _protected(sure.brief.goal.unit if isinstance(sure, Protected) else "")),
        status=lambda explored: explored[2],
    )


def explored(status: str, title: str, answers: Mapping[str, Explored], fitted: Fitted | None = None) -> Data:
    """Each answer under its name; one that no formula meets as `design` says it."""
    return form(answers, fitted).said((title, answers, status))
