"""What a jar costs beside its ingredients: tables to type into, and the file."""

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator
from streamlit.elements.lib.column_types import ColumnConfig

from optiform.brief.brief import Brief
from optiform.costs.file import STEPS, Costs, read_costs
from optiform.reading.documents import Document
from optiform.reading.toml_text import changed_text, toml_text
from workbench import papers, state, typed
from workbench.state import COSTS_FILE
from workbench.which import Chosen

NUMBER, STEP = st.column_config.NumberColumn, st.column_config.SelectboxColumn(options=list(STEPS))
TABLES = ("shipping", "packaging", "labour", "overhead", "one_off", "price_steps", "channels")  #: of the file
EMPTY = Costs(loss=0, shipping_share=0, packaging={}, wage=0, steps=(), month=0, units=0)
Figures = Mapping[str, float | None]
#: Name of a figure among the costs to its label, its unit (`money` is the brief's currency), its table and key there.
FIELDS = {
    "loss": ("Lost of what is weighed, %", "%", "", "loss"),
    "vessel": ("Most that is made at once, kg", "kg", "", "vessel"),
    "shipping_share": ("Shipping, % of a pack's price", "%", "shipping", "share"),
    "wage": ("Wage, {money}/h", "{money}/h", "labour", "wage"),
    "month": ("Overhead of a month, {money}", "{money}", "overhead", "month"),
    "units": ("Units made in the month, all products", "", "overhead", "units"),
    "wholesale": ("Wholesale, times full cost", "", "price_steps", "wholesale"),
    "retail": ("Retail, times wholesale", "", "price_steps", "retail"),
}


@dataclass(frozen=True)
class _Table:
    """A table of the form: its title, its rows as they stand, and its columns, each with key and unit in the file.

    The first column, `what`, is the name of an entry; an entry of one column without a key is that amount alone.
    """

    title: str
    rows: Iterable[Sequence[object]]
    keys: Mapping[str, tuple[str, str]]
    hint: str = ""

    @property
    def columns(self) -> dict[str, ColumnConfig]:
        """Every column as it is shown."""
        shown = {
            name: STEP if key == "step" else NUMBER(min_value=0, format="%g") for name, (key, _) in self.keys.items()
        }
        return {"what": st.column_config.TextColumn(), **shown}

    def entry(self, cells: Document) -> object:
        """A row as an entry of the file; what is left empty is left out."""
        said = {key: _amount(cells[name], unit) for name, (key, unit) in self.keys.items() if name in cells}
        return said if all(key for key, _ in self.keys.values()) else said.get("", "")


def _amount(cell: object, unit: str) -> str:
    return f"{cell:.9g} {unit}".strip() if isinstance(cell, float | int) else str(cell)


def costed(chosen: Chosen) -> Costs | None:
    """The costs on the bench; None where there are none yet or they are at fault, which is told."""
    if COSTS_FILE not in state.bench().papers:
        st.info("No figures yet for packaging, work and overhead. Type them in below, or load your costs.toml.")
        return None
    return papers.standing(COSTS_FILE, lambda path: reader(path, chosen.brief))


def reader(path: Path, brief: Brief) -> Costs:
    """The file in the brief's currency."""
    return read_costs(path, brief.catalogue, brief.currency)


def details(chosen: Chosen, costs: Costs | None) -> None:
    """Every figure beside the ingredients, to look at and change."""
    words = "Packaging, work, overhead, where it is sold"
    papers.details(COSTS_FILE, words, "edit_note", costs is None, "costs-details", "Tables",
                   lambda: _form(chosen, costs), lambda path: reader(path, chosen.brief))  # fmt: skip


@st.fragment
def _form(chosen: Chosen, costs: Costs | None) -> None:
    """One form: nothing counts until all of it is handed in and can be read."""
    money = chosen.brief.currency
    given = _fields(costs or EMPTY, money)
    tables = _tables(costs or EMPTY, money)
    left, right = st.columns(2, gap="medium")
    places = {"packaging": left, "steps": right, "one_off": left, "packs": right, "channels": st.container()}
    edited = {name: (table, _edited(name, table, places[name])) for name, table in tables.items()}
    if papers.handed_in(COSTS_FILE):
        entries = {name: _entries(table, frame) for name, (table, frame) in edited.items()}
        text = _text(_document(given, entries, money), chosen.brief, costs)
        papers.taken(COSTS_FILE, text, lambda path: reader(path, chosen.brief), _labels(money))


def _text(after: Document, brief: Brief, costs: Costs | None) -> str:
    """The file with what the form says now; what it shows as it stood stays as it is written."""
    text, money = state.bench().papers.get(COSTS_FILE, ""), brief.currency
    if costs is None:
        return toml_text(after)
    tables = _tables(costs, money).items()
    entries = {name: _entries(table, typed.laid(table.rows, table.columns)) for name, table in tables}
    before = _document(_shown(costs), entries, money)
    return changed_text(text, _as_written(after, text, brief), _as_written(before, text, brief))


def _as_written(document: Document, text: str, brief: Brief) -> Document:
    """The document with the ingredients of its packs named as the text names them."""
    packs = tomllib.loads(text).get("shipping", {}).get("packs", {})
    names = {item.name: name for name in packs if (item := brief.catalogue.find(name))}
    shipping = dict(document["shipping"])
    if "packs" in shipping:
        shipping["packs"] = {names.get(name, name): price for name, price in shipping["packs"].items()}
    return {**document, "shipping": shipping}


def _shown(costs: Costs) -> dict[str, float | None]:
    """What the fields show."""
    now = {name: (getattr(costs, name), 100 if unit == "%" else 1) for name, (_, unit, *_) in FIELDS.items()}
    return {name: None if value is None else round(float(per * value), 9) for name, (value, per) in now.items()}


def _fields(costs: Costs, money: str) -> dict[str, float | None]:
    now = _shown(costs)
    places = papers.grid(len(FIELDS), 4)
    return {
        key: papers.figure(places[number], label.format(money=money), COSTS_FILE, f"costs-{key}", now[key], 0.0)
        for number, (key, (label, *_)) in enumerate(FIELDS.items())
    }


def _labels(money: str) -> dict[str, str]:
    """What each figure of the file is called in its field."""
    return {f"[{table}] {key}" if table else key: label.format(money=money) for label, _, table, key in FIELDS.values()}


def _percent(share: float) -> float:
    return round(100 * share, 9)


# -- tables ------------------------------------------------------------------------------------------------------------


def _tables(costs: Costs, money: str) -> dict[str, _Table]:
    channels = ((c.name, c.step, _percent(c.discount), _percent(c.fee), c.each, c.price) for c in costs.channels)
    return {
        "packaging": _Table(
            "Packaging of a jar", costs.packaging.items(), {money: ("", money)},
            "An empty price is not known, not nothing.",
        ),
        "steps": _Table(
            "Work", [(step.name, step.batch, step.jar) for step in costs.steps],
            {"min per batch": ("batch", "min"), "min per jar": ("jar", "min")},
        ),
        "one_off": _Table(
            "Paid once", [(once.name, once.cost, once.units) for once in costs.one_offs],
            {money: ("cost", ""), "spread over units": ("units", "")},
        ),
        "packs": _Table("Shipping of a pack, where it is known", costs.shipping.items(), {money: ("", money)}),
        "channels": _Table(
            "Where it is sold", list(channels),
            {"step": ("step", ""), "discount %": ("discount", "%"), "fee %": ("fee", "%"),
             f"{money} each": ("each", ""), f"own price {money}": ("price", "")},
            "The price step gives the price, unless there is one of its own.",
        ),
    }  # fmt: skip


def _edited(name: str, table: _Table, place: DeltaGenerator) -> pd.DataFrame:
    place.markdown(f"**{table.title}**", help=table.hint or None)
    return papers.table(place, table.rows, COSTS_FILE, f"costs-{name}", table.columns)


def _entries(table: _Table, frame: pd.DataFrame) -> Document:
    """The rows as entries of the file by name; a name that stands twice gets a number, so that no row is lost."""
    entries: Document = {}
    for _, cells in papers.rows(frame):
        name = given = str(cells.pop("what", "unnamed"))
        number = 1
        while name in entries:
            number += 1
            name = f"{given} ({number})"
        entries[name] = table.entry(cells)
    return entries


def _document(given: Figures, entries: Document, money: str) -> Document:
    """The whole file; an empty field is left out, so that reading tells what is needed."""
    document: Document = {table: {} for table in TABLES}
    for name, (_, unit, table, key) in FIELDS.items():
        if given[name] is not None:
            (document[table] if table else document)[key] = f"{given[name]:.9g} {unit.format(money=money)}".strip()
    if entries["packs"]:
        document["shipping"]["packs"] = entries["packs"]
    document["labour"]["steps"] = entries["steps"]
    return document | {table: entries[table] for table in ("packaging", "one_off", "channels")}
