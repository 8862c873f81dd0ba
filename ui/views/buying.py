"""Buying: which packs to buy so that everything planned can be made."""

from collections.abc import Sequence

import streamlit as st
from workbench import papers, planning, shop, show, state, work
from workbench.question import asked
from workbench.shop import Shop
from workbench.show import NUMBER

from optiform.brief.brief import Brief
from optiform.costs.buy import Balance, Parcel, Purchases, Shelf, Unobtainable, buy
from optiform.costs.money import shown as money
from optiform.telling.papers.purchase_plan import purchase_plan_page, purchase_table
from optiform.workshop.records import Lot, Movement, Offer
from optiform.workshop.supplies import kept_lots, kept_offers

KG, MONEY = NUMBER(format="%.3f"), NUMBER(format="%.2f")


def body(found: Shop, brief: Brief) -> None:
    """What is planned, and the packs that make it possible."""
    offers = kept_offers(found.of(Offer), [brief.catalogue])
    if not offers:
        st.info("No offers are kept yet. Keep the packs you can buy on the Stock page, under Offers.")
        return
    lots = kept_lots(found.of(Lot), found.of(Movement), [brief.catalogue])
    plan = planning.planned(brief, {offer.supplier for offer in offers})
    if plan is None:
        return
    made = tuple((p.name, p.jars, p.jar, p.loss) for p in plan.products)  # on one bench a name is one formula
    settings = (made, plan.date, plan.leftover, tuple(plan.suppliers.items()), offers, lots)
    answer = asked("buying", settings, lambda _: buy(plan, offers, lots))
    if isinstance(answer, Purchases):
        bought(answer)
    elif isinstance(answer, Unobtainable):
        lacking(answer)


def bought(found: Purchases) -> None:
    """The orders, what is taken from stock, what is left of the packs, and how the choice is proven."""
    currency = found.plan.currency
    packs = sum(each.count for parcel in found.parcels for each in parcel.packs)
    with st.container(horizontal=True, gap="large"):
        for label, value in (
            (f"To pay, {currency}", money(found.money)),
            ("Packs", str(packs)),
            (f"Of it left on the shelf, {currency}", money(found.tied)),
        ):
            st.metric(label, value, width="content")
    papers.downloads("to-buy", lambda: purchase_plan_page(found), purchase_table(found))
    if not found.parcels:
        st.success("Nothing has to be bought: the stock is enough.", icon=":material/check:")
    for number, parcel in enumerate(found.parcels):
        order(parcel, currency, number)
    shelf(found.shelf)
    st.subheader("Need and leftover")
    balances(found.balances, currency)
    notes(found.notes)
    st.caption(
        f"No choice of these packs is better than {money(found.proof.bound)} {currency}; this one is at "
        f"{money(found.proof.value)} (checked, gap {abs(found.proof.gap):.0e})."
    )


def order(parcel: Parcel, currency: str, number: int) -> None:
    """One supplier's packs and its postage."""
    sent = "sent free" if parcel.free else f"postage {money(parcel.postage)}" if parcel.postage else "no postage"
    st.subheader(f"Order: {show.escape(parcel.supplier)}")
    st.markdown(f"**{money(parcel.cost)} {currency}**, {sent}.")
    rows = [
        {
            "ingredient": each.offer.ingredient,
            "packs": each.count,
            "kg each": each.offer.pack,
            "price each": each.offer.price,
            "shipping each": each.offer.shipping,
            "together": each.cost,
            "price of": str(each.offer.date),
        }
        for each in parcel.packs
    ]
    columns = {"kg each": NUMBER(format="%g"), "price each": MONEY, "shipping each": MONEY, "together": MONEY}
    shop.table(rows, f"order {number}", True, **columns)


def shelf(found: Shelf) -> None:
    """What is taken of which lot, and the lots that are not used."""
    taken = [each for each in found.drawn if each.kg > 0]
    if taken:
        st.subheader("From stock, what expires first before the rest")
        rows = [
            {
                "ingredient": each.ingredient,
                "lot": each.lot,
                "expiry": str(each.expiry or ""),
                "take kg": each.kg,
                "stays kg": each.stays,
            }
            for each in taken
        ]
        shop.table(rows, "shelf", True, **{"take kg": KG, "stays kg": KG})
    show.warnings(f"Not used: lot {each.lot}, {each.kg:g} kg {each.ingredient}, {each.reason}." for each in found.aside)


def balances(found: Sequence[Balance], currency: str) -> None:
    """Each ingredient from need to what is left of its packs."""
    rows: list[dict[str, object]] = [
        {
            "ingredient": each.ingredient,
            "need kg": each.need,
            "stock kg": each.stock,
            "bought kg": each.bought or None,
            "over kg": each.over if each.bought else None,
            f"{currency} in it": each.tied if each.bought else None,
            "for a free order": f"{each.spare} of the packs" if each.spare else "",
        }
        for each in found
    ]
    columns = dict.fromkeys(("need kg", "stock kg", "bought kg", "over kg"), KG) | {f"{currency} in it": MONEY}
    shop.table(rows, "balances", True, **columns)


def lacking(found: Unobtainable) -> None:
    """What is neither in stock nor on offer."""
    st.error("This cannot be made: some ingredients are neither in stock nor on offer.", icon=":material/block:")
    rows = [
        {
            "ingredient": each.ingredient,
            "need kg": each.need,
            "stock kg": each.stock,
            "missing kg": each.lacking,
            "for": ", ".join(use.product for use in each.uses),
        }
        for each in found.missing
    ]
    shop.table(rows, "lacking", True, **dict.fromkeys(("need kg", "stock kg", "missing kg"), KG))
    notes(found.notes)


def notes(words: Sequence[str]) -> None:
    """What is to know of the offers."""
    if words:
        st.markdown("\n".join(f"- {show.escape(note)}" for note in words))


st.title("Buying")
st.markdown("Which packs to buy so that everything planned can be made, for the least money: stock first, then whole "
            "packs with each supplier's postage.")  # fmt: skip
opened = shop.opened()
read = work.brief(state.bench())
if isinstance(read, work.Refused):
    show.refused(read)
elif opened is not None:
    body(opened, read)
