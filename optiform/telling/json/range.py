"""Formulas and packs chosen together, as plain data."""

from optiform.design.planned import NoRange, RangeAnswer
from optiform.telling.costed import terms_notes
from optiform.telling.json.basic import CHANGE, DEMAND, formula
from optiform.telling.json.form import (
    Data,
    Either,
    Record,
    answer,
    day,
    key,
    many,
    number,
    quantity,
    record,
    text,
    texts,
    whole,
)  # fmt: skip

_USED_UP = record(
    text("ingredient"), quantity("there", "kg"), quantity("used", "kg"),
    many("products", record(text("product", lambda pair: pair[0]), quantity("takes", "kg", lambda pair: pair[1]))),
)  # fmt: skip
_IMPOSSIBLE = record(
    text("product", lambda pair: pair[0]),
    many("contradicting", DEMAND, lambda pair: pair[1].conflict if pair[1] else (),
         "limits that contradict each other; empty where not all of it can be had"),
)  # fmt: skip


_OWN = record(text("ingredient", "ingredient.name"), number("percent", lambda line: 100 * line.fraction))


def _base(money: str) -> Record:
    shared = record(
        text("product", lambda row: row[0]), quantity("base", "%", lambda row: 100 * row[1]),
        many("own", _OWN, lambda row: row[2]),
    )  # fmt: skip
    return record(
        formula(get="base"), many("products", shared, lambda of: zip(of.products, of.shares, of.own, strict=True)),
        quantity("free", money), quantity("free_used", "kg"),
    )  # fmt: skip


def form(money: str) -> Either:
    """The products with their formulas, and the orders; or the products that cannot be made."""
    head = text("title", "plan.title"), day("date", "plan.date")
    product = record(
        text("product", "product.name"), whole("jars", "product.jars"), quantity("weighed", "kg", "product.weighed"),
        formula(get="product.formula"), many("changes", CHANGE, "moves", "against the plan's formula"),
        many("not_asked", DEMAND, "kept_as_is", "what the plan's formula breaks already"), quantity("alone", money),
    )  # fmt: skip
    pack = record(
        text("ingredient", "offer.ingredient"), quantity("pack", "kg", "offer.pack"), whole("count"),
        quantity("cost", money),
    )  # fmt: skip
    order = record(text("supplier"), many("packs", pack), quantity("postage", money), quantity("cost", money))
    planned = answer(
        ["planned", "stopped"],
        *head, many("products", product), quantity("to_pay", money, "money"), quantity("as_planned", money, "today"),
        quantity("in_turn", money), quantity("at_most_less", money, "gap"), many("orders", order, "purchases.parcels"),
        texts("notes", lambda of: terms_notes(of.purchases.plan, of.purchases.terms)),
        whole("goes", "purchases.plan.goes", null=True), quantity("work", "min", "purchases.plan.minutes"),
        key("common_base", _base(money), "common", "null where none was asked for", null=True),
        key("used_up", _USED_UP, words="null where nothing was to be used up", null=True),
        status=lambda of: "planned" if of.finished else "stopped", words="stopped: before it was proven best",
    )  # fmt: skip
    nothing = answer(["infeasible"], *head, many("products", _IMPOSSIBLE))
    return Either((planned, nothing), lambda of: int(isinstance(of, NoRange)))


def range_design(of: RangeAnswer | NoRange) -> Data:
    """The products with their formulas and the orders, or the products that cannot be made."""
    said: Data = form(of.plan.currency).said(of)
    return said
