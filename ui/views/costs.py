"""Costs: what a jar costs, all of it, and what its price leaves."""

import pandas as pd
import streamlit as st
from workbench import costing, going_on, papers, show
from workbench.charts import bars
from workbench.question import asked
from workbench.state import COSTS_FILE, bench
from workbench.which import chosen

from optiform.costs.jar import RISE, CostSheet, Sale, cost_sheet
from optiform.costs.money import shown as money
from optiform.telling.costs import LADDER
from optiform.telling.papers.cost_sheet import cost_sheet_page, cost_table

NUMBER = st.column_config.NumberColumn
DEAREST = 10  # prices drawn; the table holds all


@st.fragment
@going_on.lasting
def body() -> None:
    """Choices and sheet, redrawn without the rest of the page."""
    show.notice()
    left, middle, right = st.columns([2, 1, 1], vertical_alignment="bottom")
    with left:
        found = chosen()
    if found is None:
        return
    currency = found.brief.currency
    jars = middle.number_input(
        "Jars filled", 1, value=None, placeholder="the brief's batch", step=1, key="costs-of-jars"
    )
    price = right.number_input(
        f"Retail price, {currency}", 0.01, value=None, placeholder="the ladder's", key="price-of-jar"
    )
    costs = costing.costed(found)
    costing.details(found, costs)
    if costs is None:
        return
    text = bench().papers[COSTS_FILE]
    sheet = asked(
        "costs",
        (found.name, text, jars, price),
        lambda brief: cost_sheet(brief, found.formula, costs, jars=jars, price=price),
    )
    if sheet is not None:
        shown(sheet)


def shown(sheet: CostSheet) -> None:
    """The cost of a jar, of what it is made, what the price leaves, and what would change it."""
    currency = sheet.brief.currency
    headline(sheet)
    papers.downloads("costs", lambda: cost_sheet_page(sheet), cost_table(sheet))
    st.subheader(f"What a jar is made of, {currency}")
    left, right = st.columns(2, gap="large")
    with left:
        groups(sheet)
    with right:
        parts(sheet)
    if sheet.full is not None:
        st.subheader("Where it is sold")
        prices(sheet)
        st.subheader("What would change it")
        sensitivity(sheet)
    st.subheader("Ingredients of the batch")
    ingredients(sheet)
    if sheet.notes:
        st.markdown("\n".join(f"- {show.escape(note)}" for note in sheet.notes))


def headline(sheet: CostSheet) -> None:
    """The full cost of a jar, and for what run it holds."""
    currency = sheet.brief.currency
    batches = "1 batch" if sheet.batches == 1 else f"{sheet.batches} batches"
    left, right = st.columns([2, 3], vertical_alignment="center")
    left.metric(f"A jar of {1000 * sheet.jar:g} g, {currency}", money(sheet.full))
    words = (
        f"{sheet.jars} jars in {batches}: {sheet.weighed:.3f} kg weighed, {100 * sheet.costs.loss:g} % lost on the way."
    )
    right.markdown(f"{words} Money for the whole packs that are missing: {money(sheet.cash)} {currency}.")
    if sheet.full is None:
        lacking = show.escape(sheet.lacking_words)
        st.warning(f"At least {money(sheet.known)} {currency}; {lacking}.", icon=":material/warning:")


def groups(sheet: CostSheet) -> None:
    """The groups of costs as bars."""
    rows = [
        {"what": group, "value": cost, "label": f"{money(cost)}  {_share(cost, sheet.full)}"}
        for group, cost in sheet.groups
        if cost is not None
    ]
    st.altair_chart(bars(pd.DataFrame(rows), f"{sheet.brief.currency} per jar"), key="cost-bars")


def _share(cost: float, full: float | None) -> str:
    return f"({100 * cost / full:.0f} %)" if full else ""


def parts(sheet: CostSheet) -> None:
    """Every part with its share; the ingredients together, as they stand one by one below."""
    together = dict(sheet.groups)["ingredients"]
    rows = [_part("ingredients", "all, see below", together, sheet.full)]
    rows += [_part(p.group, p.name, p.cost, sheet.full) for p in sheet.parts if p.group != "ingredients"]
    config = {
        "group": st.column_config.TextColumn(width=92),
        "part": st.column_config.TextColumn(width=220),
        "per jar": NUMBER(format="%.3f", width=70),
        "%": NUMBER(format="%.1f", width=54),
    }
    st.dataframe(pd.DataFrame(rows), hide_index=True, placeholder="not known", column_config=config, height="content")


def _part(group: str, name: str, cost: float | None, full: float | None) -> dict[str, object]:
    return {
        "group": group,
        "part": name,
        "per jar": cost,
        "%": 100 * cost / full if cost is not None and full else None,
    }


def prices(sheet: CostSheet) -> None:
    """The ladder, and what each place leaves of a jar."""
    currency = sheet.brief.currency
    st.markdown(show.escape(sheet.prices_words))
    st.caption(LADDER)
    if not sheet.sales:
        st.caption("No place of sale is given.")
        return
    for sale in sheet.sales:
        if sale.margin < 0:
            words = f"{show.escape(sale.channel)} loses {money(-sale.margin)} {currency} on every jar."
            st.warning(words, icon=":material/warning:")
    amounts = ("price", "after discount", "fees", "left", "no loss from")
    config = dict.fromkeys(amounts, NUMBER(format="%.2f")) | {"% of takings": NUMBER(format="%.0f")}
    st.dataframe(
        pd.DataFrame(map(_sale, sheet.sales)), hide_index=True, placeholder="", column_config=config, height="content"
    )


def _sale(sale: Sale) -> dict[str, object]:
    return {
        "sold at": sale.channel,
        "price": sale.price,
        "after discount": sale.takings,
        "fees": sale.fees,
        "left": sale.margin,
        "% of takings": None if sale.margin_share is None else 100 * sale.margin_share,
        "no loss from": sale.least_price,
        "smallest batch that pays": _jars(sale.least_jars),
        "paid once is earned after": _jars(sale.repaid_after),
        "the month's overhead alone": _jars(sale.month_jars),
    }


def _jars(count: int | None) -> str:
    return "never" if count is None else f"{count} jars"


def sensitivity(sheet: CostSheet) -> None:
    """What each price does alone, and how far a formula reaches at all."""
    currency = sheet.brief.currency
    for words in sheet.reach.words(currency) if sheet.reach else ():
        st.markdown(show.escape(words))
    rows = [
        {"what": each.what, "value": each.change, "label": f"+{money(each.change, 3)}"} for each in sheet.sensitivity
    ]
    st.caption(f"Each price {100 * RISE:.0f} % dearer, alone: what a jar costs more. The {DEAREST} that move it most.")
    st.altair_chart(bars(pd.DataFrame(rows[:DEAREST]), f"{currency} more per jar"), key="sensitivity-bars")


def ingredients(sheet: CostSheet) -> None:
    """What is needed, what is there, what has to be bought."""
    currency = sheet.brief.currency
    rows = [
        {
            "ingredient": x.ingredient,
            "g per jar": x.grams,
            f"{currency}/kg landed": x.landed.per_kg,
            "per jar": x.cost,
            "need kg": x.need,
            "stock kg": x.stock,
            "packs to buy": x.packs,
            "to pay": x.cash,
        }
        for x in sheet.lines
    ]
    two, three = NUMBER(format="%.2f"), NUMBER(format="%.3f")
    config = {
        "g per jar": two, f"{currency}/kg landed": two, "to pay": two, "per jar": three, "need kg": three,
        "stock kg": three,
    }  # fmt: skip
    st.dataframe(pd.DataFrame(rows), hide_index=True, placeholder="not known", column_config=config, height="content")


st.title("Costs")
st.markdown("What a jar costs, all of it, and what its price leaves.")
body()
