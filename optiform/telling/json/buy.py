"""Which packs to buy for a plan, as plain data; money with its unit."""

from optiform.costs.buy import Purchases, Unobtainable
from optiform.telling.costed import terms_notes, why_unusable
from optiform.telling.json.basic import product_proof
from optiform.telling.json.form import (
    Data,
    Either,
    Record,
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
)  # fmt: skip
from optiform.telling.json.records import RECORD

_PRODUCT = record(
    text("name"), text("brief", "brief.title"), text("formula", "formula.name"), whole("jars"),
    quantity("jar", "g", lambda product: 1000 * product.jar), quantity("loss", "%", lambda product: 100 * product.loss),
    quantity("weighed", "kg"),
)  # fmt: skip
_DRAWN = record(text("lot"), text("ingredient"), text("expiry", null=True), number("kg"), number("stays", words="kg"))
_ASIDE = record(
    text("lot"), text("ingredient"), number("kg"), text("reason", lambda lot: why_unusable(lot.why))
)  # fmt: skip
_SHELF = record(many("drawn", _DRAWN), many("aside", _ASIDE))  # fmt: skip


def _notes(of: Purchases | Unobtainable) -> list[str]:
    return list(terms_notes(of.plan, of.terms))


def _plan(money: str) -> Record:
    supplier = record(
        text("supplier", lambda row: row[0]),
        quantity("postage", money, lambda row: row[1].postage),
        quantity("free_from", money, lambda row: row[1].free_from),
        whole("days", lambda row: row[1].days, "from the order to the door", null=True),
    )
    return record(
        text("title"), text("date"), text("currency"), quantity("leftover", "%", lambda plan: 100 * plan.leftover),
        quantity("work", "min", "minutes"),
        many("products", _PRODUCT), many("suppliers", supplier, lambda plan: plan.suppliers.items()),
    )  # fmt: skip


def _balance(money: str) -> Record:
    kg = (number(name, words="kg") for name in ("need", "stock", "lacking", "bought", "over"))
    uses = many("uses", record(text("product"), number("kg")))
    return record(text("ingredient"), uses, *kg, quantity("tied", money), whole("spare"))


def form(money: str) -> Either:
    """The orders, what each ingredient needs and what is left; or what nobody offers."""
    pack = record(key("offer", RECORD), whole("count"), number("kg"), quantity("goods", money), quantity("cost", money))
    order = record(
        text("supplier"), many("packs", pack), quantity("postage", money), truth("free"), quantity("goods", money),
        quantity("cost", money),
    )  # fmt: skip
    plan, shelf, said = key("plan", _plan(money)), key("shelf", _SHELF), texts("notes", _notes)
    planned = answer(
        ["planned"],
        plan, many("orders", order, "parcels"), many("balances", _balance(money)), shelf,
        quantity("to_pay", money, "money"), quantity("on_the_shelf", money, "tied"),
        key("proof", product_proof(money)), said,
    )  # fmt: skip
    nobody = answer(["infeasible"], plan, many("missing", _balance(money)), shelf, said)
    return Either((planned, nobody), lambda of: int(isinstance(of, Unobtainable)))


def buy(of: Purchases | Unobtainable) -> Data:
    """Which packs to buy, or what nobody offers."""
    said: Data = form(of.plan.currency).said(of)
    return said
