"""The workbench in the browser. Run it with `optiform app`."""

from pathlib import Path

import streamlit as st
from workbench import bar, firmness, touch
from workbench.going_on import lasting
from workbench.look import style
from workbench.opening import begin
from workbench.state import Key

ICON = Path(__file__).parent / "icon.svg"  # a file of our own: a named icon would be fetched from outside

st.set_page_config(page_title="Optiform workbench", page_icon=str(ICON), layout="wide")

REDRAWN = ("Workbench", "Batch", "Costs")  # in parts, each of which draws the bar itself
PAGES = {
    "Products": [
        st.Page("views/products.py", title="Products", icon=":material/folder_open:"),
        st.Page("views/new.py", title="New product", icon=":material/add_circle:"),
        st.Page("views/history.py", title="History", icon=":material/history:"),
    ],
    "Formula": [
        st.Page("views/bench.py", title="Workbench", icon=":material/experiment:", default=True),
        st.Page("views/check.py", title="As typed", icon=":material/edit_note:"),
        st.Page("views/cheaper.py", title="Cheaper", icon=":material/savings:"),
        st.Page("views/substitute.py", title="Substitute", icon=":material/swap_horiz:"),
        st.Page("views/texture.py", title="Firmer or softer", icon=":material/thermostat:"),
        st.Page("views/nearly.py", title="Nearly as good", icon=":material/alt_route:"),
        st.Page("views/weigh.py", title="Weighable", icon=":material/scale:"),
        st.Page("views/variants.py", title="Drafts", icon=":material/layers:", url_path="variants"),
    ],
    "Make and sell": [
        st.Page("views/batch.py", title="Batch", icon=":material/skillet:"),
        st.Page("views/declaration.py", title="Declaration", icon=":material/label:"),
        st.Page("views/costs.py", title="Costs", icon=":material/payments:"),
        st.Page("views/buying.py", title="Buying", icon=":material/shopping_cart:"),
        st.Page("views/range.py", title="Range", icon=":material/shelves:"),
    ],
    "Workshop": [
        st.Page("views/stock.py", title="Stock", icon=":material/inventory_2:"),
        st.Page("views/trials.py", title="Trials", icon=":material/science:"),
        st.Page("views/ingredients.py", title="Ingredients", icon=":material/spa:"),
    ],
}

st.session_state[Key.EXPONENTS] = firmness.exponents  # what a brief's limits on firmness are held by, on every page
begin()
style()
touch.ask()
page = st.navigation(PAGES, position="top")
st.session_state[Key.PAGE] = page.title
lasting(page.run if page.title in REDRAWN else bar.above(page.run))()
