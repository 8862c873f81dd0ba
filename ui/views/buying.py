"""Buying: which packs to buy so that everything planned can be made."""

import streamlit as st
from workbench import papers, parts, planning, shop, show, state, work
from workbench.question import asked
from workbench.shop import Shop

from optiform.brief.brief import Brief
from optiform.costs.buy import Purchases, Unobtainable, buy
from optiform.costs.money import shown
from optiform.telling.buy import buy as buy_told
from optiform.telling.document import document
from optiform.workshop.records import Lot, Movement, Offer
from optiform.workshop.supplies import kept_lots, kept_offers


def body(records: Shop, brief: Brief) -> None:
    """What is planned, and the packs that make it possible."""
    offers = kept_offers(records.of(Offer), [brief.catalogue])
    if not offers:
        st.info("No offers are kept yet. Keep the packs you can buy on the Stock page, under Offers.")
        return
    lots = kept_lots(records.of(Lot), records.of(Movement), [brief.catalogue])
    plan = planning.planned(brief, {offer.supplier for offer in offers})
    if plan is None:
        return
    made = tuple((p.name, p.jars, p.jar, p.loss) for p in plan.products)  # on one bench a name is one formula
    settings = (made, plan.date, plan.leftover, tuple(plan.suppliers.items()), offers, lots)
    answer = asked("buying", settings, lambda _: buy(plan, offers, lots))
    if isinstance(answer, Purchases):
        bought(answer)
    elif isinstance(answer, Unobtainable):
        parts.told(buy_told(answer), "buying")


def bought(answer: Purchases) -> None:
    """The orders, what is taken from stock, what is left of the packs, and how the choice is proven."""
    money = answer.plan.currency
    packs = sum(pack.count for parcel in answer.parcels for pack in parcel.packs)
    with st.container(horizontal=True, gap="large"):
        for label, value in (
            (f"To pay, {money}", shown(answer.money)),
            ("Packs", str(packs)),
            (f"Of it left on the shelf, {money}", shown(answer.tied)),
        ):
            st.metric(label, value, width="content")
    telling = buy_told(answer)
    papers.downloads("to-buy", lambda: document(telling, telling.title), telling.table)
    parts.told(telling, "buying")


st.title("Buying")
st.markdown("Which packs to buy so that everything planned can be made, for the least money: stock first, then whole "
            "packs with each supplier's postage.")  # fmt: skip
opened = shop.opened()
read = work.brief(state.bench())
if isinstance(read, work.Refused):
    show.refused(read)
elif opened is not None:
    body(opened, read)
