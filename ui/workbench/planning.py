"""What is to be made on a day, and on what terms packs are sent: tables to type into, kept for the session."""

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import pandas as pd
import streamlit as st
from streamlit.elements.lib.column_types import ColumnConfig

from optiform.brief.brief import Brief
from optiform.costs.file import Costs
from optiform.costs.plan import Order, Plan, Product
from optiform.ingredients.formula import Formula
from optiform.reading import clock
from optiform.workshop.records import Offer
from optiform.workshop.supplies import OnShelf, kept_lots, kept_offers
from workbench import costing, papers, shop, show, state, touch, typed, which, work
from workbench.state import BEST, COSTS_FILE, Key
from workbench.which import Chosen

NUMBER = st.column_config.NumberColumn
JARS = 24
Cells = state.Document


@dataclass(frozen=True)
class Wanted:
    """What the form was handed in with: rows of its two tables, the day, and what leftovers count in %.

    `turn` counts how often: the tables then start afresh from these rows, else their changes would be made twice.
    """

    turn: int
    products: tuple[Cells, ...]
    terms: tuple[Cells, ...]
    day: datetime.date
    leftover: float


@dataclass(frozen=True)
class Supplied:
    """A plan, the offers of the records, and what is on the shelf."""

    plan: Plan
    offers: tuple[Offer, ...]
    lots: tuple[OnShelf, ...]

    @property
    def key(self) -> tuple[object, ...]:
        """What an answer hangs on: on one bench a name is one formula."""
        made = tuple((p.name, p.jars, p.jar, p.loss) for p in self.plan.products)
        return made, self.plan.date, self.plan.leftover, tuple(self.plan.suppliers.items()), self.offers, self.lots


def supplied(without_offers: str = "") -> Supplied | None:
    """What is planned on the page, with the records; None after what is in the way was shown.

    `without_offers`: what is said where no offers are kept; without it the page goes on without any.
    """
    form, below = st.container(), st.container()  # what is planned stands first, also in a low window
    with below:
        records = shop.opened()
    brief = work.brief(state.bench())
    if isinstance(brief, work.Refused):
        show.refused(brief)
        return None
    if records is None:
        return None
    offers = kept_offers(records.of(Offer), [brief.catalogue])
    if without_offers and not offers:
        st.info(without_offers)
        return None
    lots = kept_lots(records.held, [brief.catalogue])
    with form:
        plan = _planned(brief, {offer.supplier for offer in offers})
    return None if plan is None else Supplied(plan, offers, lots)


def _planned(brief: Brief, suppliers: Iterable[str]) -> Plan | None:
    """The plan as the form says; None after everything that is wrong with it was shown."""
    known = which.variants(brief)
    names = which.names(known)
    wanted = _form(brief, names, suppliers)
    faults = list(_faults(wanted, names))
    if faults and Key.PLAN not in st.session_state:  # nothing is handed in yet: the bench says too little to begin with
        st.info("Fill in what is made, with the net mass of a jar under g each, and find the packs.")
        return None
    if faults:
        show.refused(work.Refused(tuple(faults)))
        return None
    products = [_product(cells, brief, known) for cells in wanted.products]
    if None in products:
        return None
    terms = {cells["supplier"]: Order(cells.get("postage", 0.0), cells.get("free from")) for cells in wanted.terms}
    made = tuple(product for product in products if product is not None)
    return Plan("Planned on the workbench", wanted.day, brief.currency, made, terms, wanted.leftover / 100)


def _product(cells: Cells, brief: Brief, known: dict[str, Formula]) -> Product | None:
    name = cells["formula"]
    picked = which.best(brief) if name == BEST else Chosen(name, brief, known[name])
    if picked is None:
        return None
    return Product(
        name, brief, picked.formula, int(cells["jars"]), cells["g each"] / 1000, cells.get("lost %", 0) / 100
    )


def _faults(wanted: Wanted, formulas: Sequence[str]) -> Iterator[str]:
    if not wanted.products:
        yield "What is made: no row is filled, expected a formula and its jars"
    for number, cells in enumerate(wanted.products, 1):
        lacking = [name for name in ("formula", "jars", "g each") if not cells.get(name)]
        if lacking:
            yield f"What is made, row {number}: nothing under {', '.join(lacking)}"
        elif cells["formula"] not in formulas:  # it was chosen before the bench changed
            yield f"What is made, row {number}: {cells['formula']} is not on the bench"
    names = [cells.get("supplier") for cells in wanted.terms]
    for number, name in enumerate(names, 1):
        if name is None:
            yield f"Terms, row {number}: no supplier is named"
        elif name in names[: number - 1]:
            yield f"Terms, row {number}: {name} stands there already"


# -- the form ----------------------------------------------------------------------------------------------------------


def _form(brief: Brief, formulas: list[str], suppliers: Iterable[str]) -> Wanted:
    """What was handed in last; at first one product as the bench has it."""
    before = st.session_state.get(Key.PLAN)
    now: Wanted = before or Wanted(0, (_first(brief, formulas[0]),), (), clock.today(), 0.0)
    _fields(now, formulas, sorted(suppliers), brief.currency)
    return now


@st.fragment
def _fields(now: Wanted, formulas: list[str], suppliers: list[str], money: str) -> None:
    """What is typed is held, and counts once it is handed in."""
    page = st.session_state.get(Key.PAGE, "")  # a control of the page before, of the same key, would begin this one
    turn = f"{state.edits()} {now.turn} {page}".strip()
    left, right = st.columns([3, 2], gap="medium")
    with left:
        products = _products(now, turn, formulas)
    with right:
        terms = _terms(now, turn, suppliers, money)
    one, two, three = st.columns([1, 1, 2], vertical_alignment="bottom")
    words = "Lots that expire before it are left out."
    day = one.date_input("Made on", None, help=words, **typed.field(f"plan-day {turn}", None, _held("day"), now.day))
    words = "Share of its lowest price at which what is left over of a pack counts as worth having."
    left_over = typed.field(f"plan-left {turn}", name=_held("left"), first=now.leftover)
    leftover = two.number_input("Leftovers count, %", 0.0, 99.0, None, 10.0, "%g", help=words, **left_over)
    if three.button("Find the packs", type="primary", key="find-packs"):
        typed.forget(_held(""))
        st.session_state[Key.PLAN] = Wanted(
            now.turn + 1, _filled(products), _filled(terms), day or now.day, leftover or 0
        )
        st.rerun()


def _held(name: str) -> str:
    """Under what is held what is typed and not handed in yet."""
    return typed.of_product(f"plan, {name}")


def _first(brief: Brief, formula: str) -> Cells:
    jar = {} if brief.jar is None else {"g each": 1000 * brief.jar}
    text = state.bench().papers.get(COSTS_FILE, "")
    costs = work.reading(COSTS_FILE, text, lambda path: costing.reader(path, brief))
    lost = {"lost %": round(100 * costs.loss, 9)} if isinstance(costs, Costs) else {}
    return {"formula": formula, "jars": JARS} | jar | lost


def _filled(frame: pd.DataFrame) -> tuple[Cells, ...]:
    return tuple(cells for _, cells in papers.rows(frame))


def _products(now: Wanted, turn: str, formulas: list[str]) -> pd.DataFrame:
    st.markdown("**What is made**")
    columns = {
        "formula": st.column_config.SelectboxColumn(options=formulas, width=190),
        "jars": NUMBER(min_value=1, step=1, format="%d"),
        "g each": NUMBER(min_value=0.1, format="%g", help="net mass of a jar"),
        "lost %": NUMBER(min_value=0, max_value=90, format="%g", help="of what is weighed"),
    }
    return _table("products", now.products, turn, columns, formulas)


def _terms(now: Wanted, turn: str, suppliers: list[str], money: str) -> pd.DataFrame:
    st.markdown("**Terms of an order**", help="A supplier without a row sends for nothing.")
    columns = {
        "supplier": st.column_config.SelectboxColumn(options=suppliers, width=150),
        "postage": NUMBER(f"postage, {money}", min_value=0, format="%.2f"),
        "free from": NUMBER(f"free from, {money}", min_value=0.01, format="%.2f"),
    }
    return _table("terms", now.terms, turn, columns, suppliers)


def _table(
    name: str, rows: Sequence[Cells], turn: str, columns: Mapping[str, ColumnConfig | None], names: list[str]
) -> pd.DataFrame:
    """Rows to type into, each with a name of `names` first: a table, on a phone cards."""
    key = f"plan-{name} {turn}"
    if touch.narrow():
        return _cards(typed.laid(rows, columns), key, names)
    return typed.table(st.container(), rows, key, _held(name), columns)


def _cards(frame: pd.DataFrame, key: str, names: list[str]) -> pd.DataFrame:
    """The same on a phone: a card for each row and one more; a row whose name is taken away is gone."""
    first, *others = frame.columns
    rows: list[Cells] = [*(dict(zip(frame.columns, row, strict=True)) for row in frame.itertuples(index=False)), {}]
    filled: list[Cells] = []

    def field(of: str, now: object, options: list[str] | None = None) -> typed.Held:
        return typed.field(f"{key} {of}", options, _held(f"card {first} {of}"), now)

    for number, row in enumerate(rows):
        with st.container(border=True, key=f"{key} {number}") if row else st.expander("Another", icon=":material/add:"):
            at = row.get(first) if row.get(first) in names else None
            cells: Cells = {
                first: st.selectbox(first.capitalize(), names, None, **field(f"{number} {first}", at, names))
            }
            for column in others:
                value = row.get(column)
                now = None if pd.isna(value) else float(value)
                held = field(f"{number} {column}", now)
                cells[column] = st.number_input(column, 0.0, None, None, format="%g", **held)
        filled.append(cells)
    return pd.DataFrame([cells for cells in filled if cells[first]], columns=list(frame.columns))
