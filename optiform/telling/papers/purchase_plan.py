"""The purchase plan to print: one table per order, what to take from the shelf, what is left."""

from collections.abc import Iterator

from optiform.brief.brief import called
from optiform.costs.buy import Parcel, Purchases
from optiform.costs.money import shown
from optiform.costs.plan import Product
from optiform.telling.page import bullets, heading, page, paragraph, table


def purchase_plan_page(found: Purchases) -> str:
    """What to buy and what to take from stock as an HTML document, with room to tick."""
    parts = [*_made(found)]
    for parcel in found.parcels:
        parts += _parcel(parcel)
    if not found.parcels:
        parts.append(paragraph("Nothing has to be bought: the stock is enough."))
    parts += [*_shelf(found), *_balances(found)]
    if found.notes:
        parts += [heading("To know"), bullets(found.notes)]
    parts.append(
        paragraph(
            f"No choice of these packs is better than {shown(found.proof.bound)} {found.plan.currency}; this one is at "
            f"{shown(found.proof.value)}.",
            "small",
        )
    )
    return page(f"To buy: {found.plan.title}", *parts)


def purchase_table(found: Purchases) -> Iterator[list[object]]:
    """The packs to buy as a table, under a header; the postage of an order has a row of its own."""
    yield ["supplier", "ingredient", "packs", "pack kg", "price", "shipping", "cost", "currency", "over kg"]
    over = {each.ingredient: each.over for each in found.balances}
    for parcel in found.parcels:
        for b in parcel.packs:
            o = b.offer
            cells = [b.count, o.pack, o.price, o.shipping, b.cost, o.currency, over[o.ingredient]]
            yield [parcel.supplier, o.ingredient, *cells]
        yield [parcel.supplier, "postage of the order", "", "", "", "", parcel.postage, found.plan.currency, ""]


def _made(found: Purchases) -> Iterator[str]:
    plan = found.plan
    yield paragraph(f"Made on {plan.date}. Money in {plan.currency}. To pay: {shown(found.money)}.")
    head = ["product", "formula", "jars", "g each", "kg weighed", "lost on the way"]
    rows = [[p.name, called(p.formula, p.brief), *_figures(p)] for p in plan.products]
    yield table(head, rows, right=range(2, 6))


def _figures(product: Product) -> list[str]:
    weighed, lost = f"{product.weighed:.3f}", f"{100 * product.loss:g} %"
    return [str(product.jars), f"{1000 * product.jar:g}", weighed, lost]


def _parcel(parcel: Parcel) -> Iterator[str]:
    yield heading(f"Order: {parcel.supplier}")
    rows = [
        [b.offer.ingredient, f"{b.count} x {b.offer.pack:g} kg", shown(b.offer.price), shown(b.offer.shipping),
         shown(b.cost), ""]
        for b in parcel.packs
    ]  # fmt: skip
    rows.append(["postage of the order", "", "", "", "sent free" if parcel.free else shown(parcel.postage), " "])
    rows.append(["in all", "", "", "", shown(parcel.cost), " "])
    yield table(["", "packs", "price each", "shipping each", "cost", "lot, expiry"], rows, right=range(1, 5), blank=[5])


def _shelf(found: Purchases) -> Iterator[str]:
    taken = [each for each in found.shelf.drawn if each.kg > 0]
    if taken:
        yield heading("From stock, what expires first before the rest")
        rows = [[d.ingredient, d.lot, str(d.expiry or "no date"), f"{d.kg:.3f}", f"{d.stays:.3f}", ""] for d in taken]
        yield table(["", "lot", "expires", "take kg", "stays kg", "taken"], rows, right=[3, 4], blank=[5])
    for a in found.shelf.aside:
        yield paragraph(f"Not used: lot {a.lot}, {a.kg:g} kg {a.ingredient}, {a.reason}.", "caution")


def _balances(found: Purchases) -> Iterator[str]:
    bought = [each for each in found.balances if each.bought]
    if bought:
        yield heading("Left of the packs")
        rows = [
            [b.ingredient, f"{b.lacking:.3f}", f"{b.bought:.3f}", f"{b.over:.3f}", shown(b.tied), _spare(b.spare)]
            for b in bought
        ]
        rows.append(["in all", "", "", "", shown(found.tied), ""])
        yield table(["", "lacking kg", "bought kg", "over kg", "money in it", ""], rows, right=range(1, 5))


def _spare(packs: int) -> str:
    return f"{packs} only for a free order" if packs else ""
