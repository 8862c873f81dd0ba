"""Keeping a variant of this session as a version in the workshop."""

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from optiform.reading import clock
from optiform.workshop.decisions import Kept, new_version
from optiform.workshop.keeping import lines_of, parents_of
from optiform.workshop.records import Version
from optiform.workshop.store import Reader
from workbench import forms, shop, state, typed
from workbench.forms import Form, key


def variants() -> None:
    """A form for one of the kept variants: product, name, parent, reason."""
    forms.told()
    with st.expander("Save as a version", icon=":material/inventory_2:"):
        records = shop.opened()
        if records is not None:
            _form(records)


def _product(place: DeltaGenerator, known: list[str]) -> str:
    """The one on the bench, under the name by which its versions go already; or another, or a new one."""
    here = str(state.bench().document.get("title") or "").strip()
    named = next((name for name in known if here.casefold().startswith(name.casefold())), here)
    held = typed.field("version-product", name=typed.of_product("version-product"), first=named or None)
    if not known:
        return str(place.text_input("Product", **held)).strip()
    words = "one that is there, or a new name"
    names = list(dict.fromkeys([*known, *filter(None, [named])]))
    chosen = place.selectbox("Product", names, None, accept_new_options=True, help=words, **held)
    return str(chosen or "").strip()


@st.fragment
def _form(records: shop.Shop) -> None:
    kept = {variant.name: variant for variant in state.variants()}
    versions = records.of(Version)
    left, right = st.columns(2)
    chosen = kept[left.selectbox("Draft", list(kept), **typed.field("version-of", kept))]
    product = _product(right, list(dict.fromkeys(version.product for version in versions)))
    parents = parents_of(versions, product)
    form = Form("version", (Version,), {"version": "Name of the version"}, {"product": product, "parent": ""})
    with form.body("Save the version", "version-keep"):
        left, right = st.columns(2)
        form.ask("name", left, chosen.name, at=f"name {chosen.name}")
        if parents:
            form.choose("parent", parents, right, len(parents) - 1, key=key("version", f"parent {product}"),
                        placeholder="none: the first of this product")  # fmt: skip
        form.ask("reason", value=chosen.reason, at=f"reason {chosen.name}")

    def decided(now: Reader) -> Kept:
        version = form.record(Version, created=clock.now().replace(microsecond=0))
        return new_version(now, version, lines_of(version, chosen.lines), form.where)

    form.keep(("product", "name", "reason"), decided)
