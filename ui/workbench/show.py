"""What pages show: faults, warnings, text that is only text, and the way to keep a formula as a draft."""

import os
import re
from collections.abc import Iterable

import pandas as pd
import streamlit as st

from optiform.design.answer import NoFormula
from optiform.ingredients.formula import Formula
from optiform.reading.paths import WORKSHOP_VARIABLE
from optiform.telling.formula import share_of
from workbench import going_on, state, touch, typed
from workbench.wording import on_page
from workbench.work import Found, Refused

NUMBER = st.column_config.NumberColumn
FAULTY = "This cannot be used yet. Everything that is wrong with it:"


def status(outcome: Found | NoFormula | Refused) -> None:
    """What the brief gives in one line at the foot of the window: in sight of every control, wherever it is."""
    if isinstance(outcome, Refused):
        words = ":material/error: **This brief cannot be used yet**"
    elif isinstance(outcome, NoFormula):
        words = lacking(outcome)
    elif outcome.data["cost"]["value"] is None:
        words = f"Goal: {escape(outcome.best.brief.goal.words)}; a price is missing"
    else:
        words = f"**{outcome.data['cost']['value']:.3f} {outcome.data['cost']['unit']}** {against(outcome)}"
    st.bottom.markdown(words)
    touch.say(SIGN.sub("", words).strip())


def way(title: str, view: str, icon: str) -> None:
    """A way to another page, where something has to be done there first."""
    if st.button(f"To {title}", key=f"to-{view}", icon=f":material/{icon}:"):
        st.switch_page(f"views/{view}.py")


def lacking(outcome: NoFormula) -> str:
    """That there is no formula, and where more is said of it."""
    decided = "No formula can meet this brief" if outcome.decided else "Not decided"
    return f":material/block: **{decided}**: why, and what helps, stands where the formula was"


def stock() -> None:
    """Where stock is read from, while records of the maker's own are open that know it too."""
    document = state.bench().document
    if os.environ.get(WORKSHOP_VARIABLE) and document.get("candidates") == "in stock":
        tables = ", ".join(map(str, document.get("own_files", [])))
        st.caption(
            f":material/inventory_2: Stock as in {escape(tables)}, as the brief takes it. The records of your "
            "workshop are not asked here: what they say stands under Stock."
        )


def against(answered: Found) -> str:
    """What the formula costs against today's; empty where that is not known."""
    cost = before(answered)
    return "" if cost is None else f"{answered.data['cost']['value'] - cost:+.3f} against today"


def before(answered: Found) -> float | None:
    """What a kg of today's formula costs; None where that is not known: a price that is missing is not 0."""
    costs = [line["cost"] for line in answered.data["today"] or []]
    return None if None in costs else sum(costs) or None


def refused(refusal: Refused, words: str = FAULTY) -> None:
    """Everything that is wrong, as a list; the page goes on with what was there."""
    st.error(words, icon=":material/error:")
    listed(refusal.faults)


def listed(faults: Iterable[str]) -> None:
    """Faults as one list."""
    st.markdown("\n".join(f"- {escape(on_page(fault))}" for fault in faults))


#: What Markdown, with Streamlit's own signs in it, reads as more than text: anywhere, and where a text begins.
SIGN = re.compile(r":material/\w+:|[*\\]")  # what is not to be said of a text
SIGNS = re.compile(r"[\\`*_\[\]<>~$|&]|:(?=\S)")
FIRST = re.compile(r"^(\d*)([#+=.)-])")
#: Where an address is recognised after all signs are read, so that only something between its parts keeps it text.
ADDRESS = re.compile(r"https?(?=://)|www(?=\.)|(?<=[\w.+-])(?=@)", re.IGNORECASE)
NOTHING = "\u2060"  # a sign without width


def escape(text: str) -> str:
    r"""Text that the maker or a file gave, as that text and nothing else; all of it goes through here.

    Streamlit reads labels, titles, notes and messages as Markdown, and would fetch an image that one names.

    >>> escape("![x](c.png)"), escape("1. oil: 3 %")
    ('!\\[x\\](c.png)', '1\\. oil: 3 %')
    """
    line = ADDRESS.sub(rf"\g<0>{NOTHING}", " ".join(text.split()))
    return FIRST.sub(r"\1\\\2", SIGNS.sub(r"\\\g<0>", line))


def cells(table: pd.DataFrame) -> list[list[object]]:
    """A table with its header as rows to export; what is not there is an empty cell."""
    return [list(table.columns), *table.astype(object).where(table.notna(), "").to_numpy().tolist()]


def warnings(texts: Iterable[str]) -> None:
    """Each warning on a line of its own."""
    for text in texts:
        st.warning(escape(text), icon=":material/warning:")


def keep(formula: Formula, parent: str, name: str, reason: str, key: str) -> None:
    """Keep a formula as a variant, under a name and with a reason; another formula brings a fresh name and reason."""
    with st.popover("Save as draft", icon=":material/bookmark_add:", key=f"keep-{key}"):
        called, because = f"keep-name-{key} {name}", f"keep-why-{key} {name} {reason}"
        given = st.text_input("Name", **typed.field(called, name=typed.of_product(called), first=name))
        why = st.text_input("Why", **typed.field(because, name=typed.of_product(because), first=reason))
        if st.button("Save", key=f"keep-do-{key}", type="primary"):
            lines = tuple((line.ingredient.name, share_of(line), line.phase) for line in formula.lines)
            kept = state.keep(state.Variant(given or name, parent, why, lines))
            typed.forget(typed.of_product(f"keep-name-{key} "))
            typed.forget(typed.of_product(f"keep-why-{key} "))
            going_on.hold()  # before it is told, whatever becomes of the rest of the page
            st.success(f"Saved as {escape(kept)}. It stands under Drafts.")
