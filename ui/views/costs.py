"""Costs: what a jar costs, all of it, and what its price leaves."""

import streamlit as st
from workbench import bar, costing, going_on, papers, parts
from workbench.question import asked
from workbench.state import COSTS_FILE, bench
from workbench.typed import field
from workbench.which import chosen

from optiform.costs.jar import cost_sheet
from optiform.costs.money import shown as money
from optiform.costs.sheet import CostSheet
from optiform.telling.costs import costs
from optiform.telling.json.costs import costs as as_json


@st.fragment
@going_on.lasting
def body() -> None:
    """Choices and sheet, redrawn without the rest of the page."""
    bar.named()
    st.title("Costs", anchor=False)
    st.markdown("What a jar costs, all of it, and what its price leaves.")
    left, middle, right, last = st.columns([3, 2, 2, 2], vertical_alignment="bottom")
    with left:
        formula = chosen()
    if formula is None:
        return
    currency = formula.brief.currency
    jars = middle.number_input(
        "Jars filled", 1, value=None, placeholder="the brief's batch", step=1, **field("costs-of-jars")
    )
    price = right.number_input(
        f"Retail price, {currency}", 0.01, value=None, placeholder="by the price steps", **field("price-of-jar")
    )
    target = last.number_input(
        f"Full cost to hit, {currency}", 0.01, value=None, placeholder="none", **field("jar-cost"),
        help="What is left for the ingredients of a jar at that cost, and the nearest formula that hits it.",
    )  # fmt: skip
    given = costing.costed(formula)
    costing.details(formula, given)
    if given is None:
        return
    text = bench().papers[COSTS_FILE]
    sheet = asked(
        "costs",
        (formula.name, text, jars, price, target),
        lambda brief: cost_sheet(brief, formula.formula, given, jars=jars, price=price, target=target),
    )
    if sheet is not None:
        shown(sheet)


def shown(sheet: CostSheet) -> None:
    """The cost of a jar, and the sheet to take along."""
    left, right = st.columns([2, 3], vertical_alignment="center")
    telling = costs(sheet)
    told = telling if sheet.full is None else parts.after_figures(telling)
    if sheet.full is not None:
        left.metric(f"A jar of {1000 * sheet.jar:g} g, {sheet.brief.currency}", money(sheet.full))
    with right:
        papers.downloads("costs", telling, lambda: as_json(sheet))
    parts.told(told, "costs")


body()
