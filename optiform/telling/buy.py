"""What to buy, in a terminal."""

from collections.abc import Sequence

from optiform.brief.brief import called
from optiform.costs.buy import Balance, Parcel, Purchases, Shelf, Unobtainable
from optiform.costs.money import shown
from optiform.costs.plan import Plan
from optiform.telling.text import number, paragraph, table


def purchases(found: Purchases) -> str:
    """The orders, what is taken from stock, what is left, and how the choice is proven."""
    parts = [_head(found.plan), *(_parcel(parcel, found.plan.currency) for parcel in found.parcels)]
    if not found.parcels:
        parts.append("  Nothing has to be bought: the stock is enough.")
    parts += [_money(found), _shelf(found.shelf), _balances(found.balances), _left(found)]
    parts += ["\n".join(map(paragraph, found.notes)), _proof(found)]
    return "\n\n".join(part for part in parts if part)


def _head(plan: Plan) -> str:
    made = [
        f"  {product.jars} jars of {1000 * product.jar:g} g {product.name}: {product.weighed:.3f} kg weighed, "
        f"{100 * product.loss:g} % lost on the way\n    of {called(product.formula, product.brief)}"
        for product in plan.products
    ]
    return "\n".join([f"{plan.title}, made on {plan.date}", *made])


def _parcel(parcel: Parcel, currency: str) -> str:
    rows = [
        [f"Order: {parcel.supplier}", "packs", "kg each", f"{currency} each", "shipping each", currency, "price of"]
    ]
    for each in parcel.packs:
        offer = each.offer
        cells = [f"{each.count} x", number(offer.pack), shown(offer.price), shown(offer.shipping), shown(each.cost)]
        rows.append([offer.ingredient, *cells, str(offer.date)])
    postage = "sent free" if parcel.free else shown(parcel.postage)
    rows.append(["postage of the order", "", "", "", "", postage, ""])
    rows.append(["in all", "", "", "", "", shown(parcel.cost), ""])
    return table(rows, right=[1, 2, 3, 4, 5])


def _money(found: Purchases) -> str:
    if not found.parcels:
        return ""
    packs = sum(each.count for parcel in found.parcels for each in parcel.packs)
    currency = found.plan.currency
    return paragraph(f"To pay: {shown(found.money)} {currency} for {packs} packs. Of it {shown(found.tied)} {currency} "
                     "stand on the shelf afterwards, in what is left of the packs.", "")  # fmt: skip


def _shelf(shelf: Shelf) -> str:
    taken = [each for each in shelf.drawn if each.kg > 0]
    rows = [["From stock, what expires first before the rest", "lot", "expires", "take kg", "stays kg"]]
    rows += [[d.ingredient, d.lot, str(d.expiry or "no date"), f"{d.kg:.3f}", f"{d.stays:.3f}"] for d in taken]
    aside = [f"Not used: lot {a.lot}, {a.kg:g} kg {a.ingredient}, {a.reason}." for a in shelf.aside]
    return "\n".join([*([table(rows, right=[3, 4])] if taken else []), *map(paragraph, aside)])


def _balances(balances: Sequence[Balance]) -> str:
    rows = [["Balance, kg", "need", "stock", "bought", "over", "money in it"]]
    for each in balances:
        bought = [f"{each.bought:.3f}", f"{each.over:.3f}", shown(each.tied)] if each.bought else ["", "", ""]
        rows.append([each.ingredient, f"{each.need:.3f}", f"{each.stock:.3f}", *bought])
    return table(rows, right=range(1, 6))


def _left(found: Purchases) -> str:
    spare = [
        paragraph(
            f"{each.spare} of the packs of {each.ingredient} are not needed: they make the order large enough to be "
            "sent free."
        )
        for each in found.balances
        if each.spare
    ]
    worth = found.plan.leftover
    counted = f"What is left over counts {100 * worth:g} % of the lowest price on offer." if worth else ""
    return "\n".join([*spare, *([paragraph(counted)] if counted else [])])


def _proof(found: Purchases) -> str:
    value = "the money to pay" if not found.plan.leftover else "the money to pay less what is left over counts"
    return paragraph(
        f"No choice of these packs is better than {shown(found.proof.bound)} {found.plan.currency} ({value}); this one "
        f"is at {shown(found.proof.value)} (gap {abs(found.proof.gap):.1e}). Masses and money were added up again from "
        "the offers.",
        "",
    )


def unobtainable(found: Unobtainable) -> str:
    """What is neither in stock nor on offer."""
    rows = [["Neither in stock nor on offer", "need kg", "in stock kg", "missing kg", "for"]]
    for each in found.missing:
        uses = ", ".join(use.product for use in each.uses)
        rows.append([each.ingredient, f"{each.need:.3f}", f"{each.stock:.3f}", f"{each.lacking:.3f}", uses])
    aside = {a.ingredient for a in found.missing}
    told = [f"Not used: lot {a.lot}, {a.kg:g} kg {a.ingredient}, {a.reason}." for a in found.shelf.aside
            if a.ingredient in aside]  # fmt: skip
    parts = [_head(found.plan), table(rows, right=[1, 2, 3]), "\n".join(map(paragraph, [*told, *found.notes]))]
    return "\n\n".join(part for part in parts if part)
