"""Buying: which packs to buy so that everything planned can be made."""

import streamlit as st
from workbench import papers, parts, planning
from workbench.question import asked

from optiform.costs.buy import Purchases, Unobtainable, buy
from optiform.costs.money import shown
from optiform.telling.buy import buy as buy_told
from optiform.telling.json.buy import buy as as_json


def body() -> None:
    """What is planned, and the packs that make it possible."""
    planned = planning.supplied("No offers are saved yet. Save the packs you can buy on the Stock page, under Offers.")
    if planned is None:
        return
    answer = asked("buying", planned.key, lambda _: buy(planned.plan, planned.offers, planned.lots))
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
    papers.downloads("to-buy", telling, lambda: as_json(answer))
    parts.told(parts.after_figures(telling) if answer.parcels else telling, "buying")


st.title("Buying", anchor=False)
st.markdown("The packs to buy for all that is planned, for the least money: stock goes first.")
body()
