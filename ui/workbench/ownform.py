"""A form for an ingredient of the maker's own, and for the price of any: a row of the own table."""

from dataclasses import replace

import streamlit as st

from optiform.brief.brief import Brief
from optiform.brief.new import SHELF
from optiform.ingredients.ingredient import FUNCTIONS, ORIGINS, PHASES
from optiform.ingredients.own_text import with_row
from optiform.ingredients.statements import COLUMN as STATEMENT
from optiform.rules.allergens import allergens
from workbench import forms, load, show, state, typed, work


@st.fragment
def own_ingredient(brief: Brief) -> None:
    """What it is, what it declares, what it costs, and what it is like where its figures are not known."""
    currency = brief.currency
    with st.container(border=True, key="own-ingredient"):
        left, middle, right = st.columns(3)
        name = left.text_input("Name", **own("name"))
        phase = middle.selectbox("Phase", PHASES, None, **own("phase"), placeholder="choose")
        functions = right.multiselect("Bought as", FUNCTIONS, **own("functions"), help="the first one counts first")
        inci = left.text_input("Declared as", **own("inci"), placeholder="Aqua 70; Glycerin 30")
        every = [item.name for item in brief.catalogue.ingredients.values()]
        like = middle.selectbox("Like (for figures that are missing)", every, None, **own("like"),
                                placeholder="nothing known")  # fmt: skip
        origin = right.multiselect("From", ORIGINS, **own("origin"), help="needed for claims such as vegan")
        statement = st.text_input(
            "Supplier's statement", **own("statement"), placeholder="refining history: letter of 2026-03-01",
            help="a condition of law that it confirms, with its day or file",
        )  # fmt: skip
        price = left.number_input(f"Price of a pack, {currency}", 0.0, None, None, **own("price"), format="%g")
        pack = middle.text_input("Pack", **own("pack"), placeholder="5 kg")
        stock = right.text_input("There", **own("stock"), placeholder="6.2 kg")
        names = [entry.name for entry in allergens()]
        listed = st.multiselect("Allergens of a scent, from its supplier's list", names, **own("allergens"))
        shares = st.text_input("Their shares of it, %, in that order", **own("shares"), placeholder="4; 0.5")
        st.caption("Figures borrowed from what it is like are marked as from memory; price, declaration and allergens "
                   "are never borrowed.")  # fmt: skip
        if st.button("Put it in my table", type="primary", key="own-put"):
            cells = {"ingredient": name.strip(), "phase": phase or "", "functions": "; ".join(functions), "inci": inci,
                     "like": like or "", "origin": "; ".join(origin), "pack": pack, "stock": stock,
                     STATEMENT: statement,
                     f"pack price ({currency})": "" if price is None else f"{price:g}"}  # fmt: skip
            given = [share.strip() for share in shares.split(";")]
            cells |= {f"allergen {one} (%)": share for one, share in zip(listed, given, strict=False)}
            put(cells)


def own(name: str) -> typed.Held:
    """A field of the form."""
    return typed.field(forms.key("own", name))


def put(cells: dict[str, str]) -> None:
    """Put a row into the own table if it can be read with it; a brief without a table gets one."""
    if not cells["ingredient"]:
        st.error("Name: needed, to put it into the table.")
        return
    bench = state.bench()
    names = bench.document.get("own_files", [])
    name = str(names[-1]) if names else SHELF
    files = {**bench.files, name: with_row(bench.files.get(name, ""), cells)}
    document = dict(bench.document) | ({} if names else {"own_files": [name]})
    listed = document.get("candidates")
    if isinstance(listed, list) and cells["ingredient"] not in listed:
        document["candidates"] = [*listed, cells["ingredient"]]
    taken = load.judged(replace(bench.saying(document), files=files))
    if isinstance(taken, work.Refused):
        show.refused(taken, "Not put there; the table is as it was. Everything that is wrong:")
        return
    state.replace_bench(taken.bench, f"own ingredient {cells['ingredient']}")
    forms.done("own", f"{cells['ingredient']} stands in your table.")
