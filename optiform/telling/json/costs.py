"""What a jar costs, as plain data; money with its unit."""

from dataclasses import replace

from optiform.costs.sheet import CostSheet, Part
from optiform.telling.costed import part_name, risen, sheet_notes, why_none
from optiform.telling.json.basic import formula
from optiform.telling.json.form import (
    Data,
    Getter,
    Key,
    Record,
    answer,
    key,
    many,
    number,
    quantity,
    record,
    text,
    texts,
    whole,
)  # fmt: skip


def _percent(name: str, get: Getter, null: bool = False) -> Key:
    """A key with a fraction in %."""
    return quantity(name, "%", lambda of: None if (part := get(of)) is None else 100 * part, null=null)


def _line(money: str) -> Record:
    landed = record(
        quantity("per_kg", f"{money}/kg"), quantity("pack", "kg"), quantity("price", money),
        quantity("shipping", money), text("supplier"), text("date", null=True),
    )  # fmt: skip
    return record(
        text("ingredient"), number("percent"), number("grams", words="in a jar"), key("landed", landed),
        quantity("cost", money), quantity("lost", money), number("need", words="kg"),
        number("stock", words="kg", null=True), whole("packs", null=True), quantity("cash", money),
    )  # fmt: skip


def _sale(money: str) -> Record:
    paid = (quantity(name, money) for name in ("price", "takings", "fees", "margin"))
    return record(
        text("channel"), *paid, _percent("margin_share", lambda sale: sale.margin_share, null=True),
        quantity("least_price", money),
        *(whole(name, null=True) for name in ("least_jars", "repaid_after", "month_jars")),
    )  # fmt: skip


def _reach(money: str) -> Record:
    return record(
        _percent("share", lambda reach: reach.share), formula(null=True), quantity("cost", money),
        quantity("saving", money), text("reason", lambda reach: why_none(reach.why)),
    )  # fmt: skip


def _hit(money: str) -> Record:
    paid = (quantity(name, money) for name in ("target", "fixed", "ingredients", "allowed", "least"))
    why = text("reason", lambda hit: why_none(hit.why))
    return record(*paid, formula(null=True), quantity("cost", money), number("points_moved", "moved"), why)


def form(money: str) -> Record:
    """The cost of one jar, part by part, and what it sells for."""
    part = record(
        text("group"), text("name"), quantity("cost", money), _percent("share", lambda part: part.share, null=True)
    )
    group = record(text("group", lambda pair: pair[0]), quantity("cost", money, lambda pair: pair[1]))
    steps = record(number("wholesale"), number("retail"))
    change = record(text("what", risen), quantity("cost", money), quantity("change", money))
    return answer(
        ["costed"],
        text("title", "brief.title"), formula(), whole("jars"), quantity("jar", "g", lambda sheet: 1000 * sheet.jar),
        quantity("weighed", "kg"), whole("batches"), _percent("loss", lambda sheet: sheet.costs.loss),
        many("lines", _line(money)), many("parts", part, _named), many("groups", group), quantity("full", money),
        quantity("known", money), texts("lacking"), quantity("cash", money), quantity("wholesale", money),
        quantity("retail", money), quantity("price", money, words="the retail price that was given", null=True),
        key("price_steps", steps, "costs"), many("sales", _sale(money)), many("sensitivity", change),
        many("by_jars", record(whole("jars"), whole("batches"), quantity("cost", money)), "curve"),
        key("reach", _reach(money), null=True),
        key("hit", _hit(money), words="a full cost that a jar should have, and what it leaves the formula", null=True),
        texts("notes", sheet_notes),
    )  # fmt: skip


def _named(sheet: CostSheet) -> list[Part]:
    """Its parts by the names that they are told by."""
    return [replace(part, name=part_name(part, sheet.costs)) for part in sheet.parts]


def costs(sheet: CostSheet) -> Data:
    """What a jar costs, and what it sells for."""
    return form(sheet.brief.currency).said(sheet)
