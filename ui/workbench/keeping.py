"""Keeping a variant of this session as a version in the workshop."""

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from optiform.reading import clock
from optiform.workshop.decisions import new_version
from optiform.workshop.keeping import lines_of, parents_of
from optiform.workshop.records import Version
from workbench import forms, shop, state
from workbench.forms import key

FORM = "version"
WHERE = forms.written(
    product="Product", name="Name of the version", version="Name of the version", parent="It came from", reason="Reason"
)


def variants() -> None:
    """A form for one of the kept variants: product, name, parent, reason."""
    forms.told()
    with st.expander("Keep in the workshop", icon=":material/inventory_2:"):
        found = shop.opened()
        if found is not None:
            _form(found)


def _product(place: DeltaGenerator, known: list[str]) -> str:
    """One of those that are there, or a new one."""
    if not known:
        return str(place.text_input("Product", key="version-product")).strip()
    words = "one that is there, or a new name"
    chosen = place.selectbox("Product", known, accept_new_options=True, key="version-product", help=words)
    return str(chosen or "").strip()


def _form(found: shop.Shop) -> None:
    kept = {variant.name: variant for variant in state.variants()}
    versions = found.of(Version)
    left, right = st.columns(2)
    chosen = kept[left.selectbox("Variant", list(kept), key="version-of")]
    product = _product(right, list(dict.fromkeys(version.product for version in versions)))
    parents = parents_of(versions, product)
    with st.form(key(FORM, "form"), border=False):
        left, right = st.columns(2)
        name = left.text_input("Name of the version", chosen.name, key=key(FORM, f"name {chosen.name}"))
        last = len(parents) - 1
        parent = right.selectbox("It came from", parents, last, key=key(FORM, f"parent {product}"),
                                 placeholder="none: the first of this product") if parents else ""  # fmt: skip
        reason = st.text_input("Reason", chosen.reason, key=key(FORM, f"reason {chosen.name}"))
        sent = st.form_submit_button("Keep as a version", type="primary", key="version-keep")
    if sent:
        version = Version(product=product, name=name.strip(), parent=parent or "", reason=reason,
                          created=clock.now().replace(microsecond=0))  # fmt: skip
        lines = lines_of(version, chosen.lines)
        needed = {"Product": product, "Name of the version": name.strip(), "Reason": reason.strip()}
        forms.keep(FORM, needed, lambda now: new_version(now, version, lines, WHERE), WHERE)
