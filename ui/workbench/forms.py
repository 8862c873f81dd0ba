"""Forms that add to the workshop: what is lacking is told at once, what was typed stays until it is kept."""

import datetime
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from optiform.telling.saved import kept_in_words
from optiform.workshop import decisions
from optiform.workshop.columns import MORE, NOT_LESS, SOMETHING
from optiform.workshop.decisions import Kept, Where
from optiform.workshop.fieldtypes import Field, R, fields_of, record_from
from optiform.workshop.records import Record
from optiform.workshop.store import Reader
from workbench import shop, show, state, typed
from workbench.shop import Shop
from workbench.wording import on_page
from workbench.work import Refused

UNITS = {"degC": "°C", "min": "minutes", "h": "hours"}  #: as a form writes them


def key(form: str, field: str) -> str:
    """The key of a field; another one after the form was kept, so that it starts empty."""
    return f"{form}-{field} {times(form)}"


def times(form: str) -> int:
    """How often this session has kept this form."""
    return _fresh().get(form, 0)


def _fresh() -> dict[str, int]:
    counts: dict[str, int] = st.session_state.setdefault(state.Key.FRESH, {})
    return counts


@dataclass
class Form:
    """A form on the records. Its widgets, and the places of its faults, are what the fields of the records declare.

    Attributes:
        name: of the form; its button has it as key, each widget the name of its field behind it.
        records: the kinds it gives fields of; of two fields of one name, the first.
        labels: of fields that are called otherwise here.
        values: what its widgets say, by field.
        options: of fields that are chosen.
        hints: beside fields: in an empty text, else behind a question mark.
    """

    name: str
    records: tuple[type[Record], ...]
    labels: dict[str, str] = field(default_factory=dict)
    values: dict[str, Any] = field(default_factory=dict)
    options: Mapping[str, Sequence[str]] = field(default_factory=dict)
    hints: Mapping[str, str] = field(default_factory=dict)
    sent: bool = False

    @contextmanager
    def box(self, title: str, icon: str, place: str, send: str, wide: bool = False) -> Iterator[None]:
        """The form in a box of its own, `wide` open; its button stands last."""
        with st.expander(title, wide, icon=f":material/{icon}:", key=place), self.body(send):
            yield

    @contextmanager
    def body(self, send: str, button: str = "") -> Iterator[None]:
        """The form and its button. It is none of Streamlit's: such a one knows nothing of what is typed until sent."""
        with st.container():
            yield
            self.sent = st.button(send, type="primary", key=button or self.name)

    @property
    def fields(self) -> dict[str, Field]:
        """Every field by its name."""
        return {each.name: each for record in reversed(self.records) for each in fields_of(record)}

    def label(self, name: str) -> str:
        """What a field is called here, with its unit."""
        if name in self.labels:
            return self.labels[name]
        column = self.fields[name].column
        unit = "" if column.unit.startswith("money") else UNITS.get(column.unit, column.unit)
        return f"{column.label}, {unit}" if unit else column.label

    def row(self, *names: str, of: int | Sequence[int] = 3, **first: Any) -> None:
        """Fields beside each other, and what some of them begin with; a choice by its number."""
        for place, name in zip(st.columns(of), names, strict=False):
            if name in self.options:
                self.choose(name, self.options[name], place, first.get(name), help=self.hints.get(name))
            else:
                self.ask(name, place, first.get(name))

    def ask(self, name: str, place: DeltaGenerator | None = None, value: Any = None, at: str = "", **more: Any) -> None:
        """One field by a widget of its type; `at` is its key where that is not the field's name."""
        kind, rule = self.fields[name].type, self.fields[name].column.asked
        more |= typed.field(key(self.name, at or name)) | {
            "placeholder" if kind is str else "help": self.hints.get(name)
        }
        place, label, low = place or st.container(), self.label(name), rule in (MORE, NOT_LESS, SOMETHING)
        if kind is str:
            given = place.text_input(label, value or "", **more).strip()
            self.values[name] = given.upper() if name == "currency" else given
        elif kind is datetime.date:
            self.values[name] = place.date_input(label, value, **more)
        elif kind is int:
            self.values[name] = place.number_input(label, 0 if low else None, None, value, 1, format="%d", **more)
        else:
            self.values[name] = place.number_input(label, 0.0 if low else None, None, value, format="%g", **more)

    def choose(
        self, name: str, options: Sequence[str], place: DeltaGenerator | None = None, first: int | None = None,
        **more: Any,
    ) -> None:  # fmt: skip
        """One field by a choice; empty where nothing is chosen."""
        fixed = None if more.get("accept_new_options") else options
        more |= typed.field(str(more.get("key") or key(self.name, name)), fixed)
        self.values[name] = (place or st.container()).selectbox(self.label(name), options, first, **more) or ""

    def record(self, kind: type[R], **more: object) -> R:
        """A record of what the widgets say, and of more."""
        names = self.values.keys() & {each.name for each in fields_of(kind)}
        return record_from(kind, {**{name: self.values[name] for name in names}, **more})

    @property
    def where(self) -> Where:
        """Fields of records by their labels."""
        return decisions.written("form", **{name: self.label(name) for name in [*self.fields, *self.labels]})

    def keep(self, needed: Sequence[str], decision: Callable[[Reader], Kept], **more: object) -> None:
        """Keep what the form gives once it is sent, or say everything that is wrong with it.

        Args:
            needed: fields that must be filled.
            decision: what to keep of the records as they are when nobody else writes; asked when nothing is lacking.
            more: what else must be filled, by its words.
        """
        if not self.sent:
            return
        filled = {**{self.label(name): self.values[name] for name in needed}, **more}
        lacking = [f"{label}: nothing is given" for label, value in filled.items() if value is None or value == ""]
        outcome = Refused(tuple(lacking)) if lacking else _kept(decision, self.where)
        if isinstance(outcome, Refused):
            refused(outcome)
        else:
            words = kept_in_words(outcome)
            done(self.name, f"Saved: {words}." if outcome.records else f"Nothing to save: {words}.")


def _kept(decision: Callable[[Reader], Kept], where: Where) -> Kept | Refused:
    with st.spinner("Saving it; this waits for another program that is writing."):
        return shop.keep(decision, where)


def refused(refusal: Refused) -> None:
    """Why nothing was kept."""
    show.refused(refusal, "Not saved: what was there is as it was, and what you typed is still here.")


def done(form: str, words: str) -> None:
    """Start the form afresh and draw the page with what was added."""
    afresh(form)
    state.tell(words)
    st.rerun()


def afresh(form: str) -> None:
    """Let a form start empty: what was typed into it was used."""
    typed.forget(f"{form}-", f" {times(form)}")
    _fresh()[form] = times(form) + 1


def told() -> None:
    """What was kept last, in a place of its own: without it, its coming would redraw, and close, all below."""
    with st.container():
        if words := state.told():
            st.success(show.escape(on_page(words)), icon=":material/check:")


def on_records(title: str, parts: Mapping[str, Callable[[Shop], None]]) -> None:
    """A page on the records: a tab for each of its parts, which is drawn while it is open."""
    st.title(title, anchor=False)
    here = shop.opened()
    if here is None:
        return
    told()
    for tab, part in zip(
        st.tabs(list(parts), key=f"{title.lower()}-tab", on_change="rerun"), parts.values(), strict=True
    ):
        if tab.open:
            with tab:
                part(here)
