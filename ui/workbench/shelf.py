"""What is on the shelf of a product that is begun: ticked, with price and pack, from records, catalogue or a paste."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import pandas as pd
import streamlit as st

from optiform.brief.new import OnShelf, usual_shelf
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.pasted import Pack, left_in, shelf_in
from optiform.reading.faults import Fault
from optiform.workshop.records import Lot, Offer
from optiform.workshop.store import Workshop
from workbench import places, show, touch, typed
from workbench.state import Key
from workbench.work import Refused

NAME, NAME_NARROW = 260, 188  #: pixels of a name; on a phone the price stands in sight beside it
NUMBER = st.column_config.NumberColumn
CELLS = {"on the shelf": "ticked", "price of a pack": "price", "pack, kg": "pack", "there, kg": "stock"}


@dataclass(frozen=True)
class Row:
    """A row of the shelf: whether it is there, and what is known of it."""

    ticked: bool = False
    price: float | None = None
    pack: float | None = None
    stock: float | None = None


@dataclass(frozen=True)
class Shelf:
    """The rows by ingredient, and how often the table had to be laid anew."""

    rows: Mapping[str, Row]
    laid: int = 0


def shelf() -> Shelf:
    """As the maker has it in this session."""
    known: Shelf | None = st.session_state.get(Key.NEW)
    return known or Shelf({})


def lay(rows: Mapping[str, Row]) -> None:
    """Lay the table with these rows."""
    st.session_state[Key.NEW] = Shelf(dict(rows), shelf().laid + 1)


def lay_for(kind: str, grain: str, catalogue: Catalogue, currency: str) -> None:
    """Lay out what makers of a kind take, the first of each part ticked; what was ticked or typed stays."""
    mine = {name: row for name, row in shelf().rows.items() if row != Row() and row != Row(ticked=True)}
    first = {item.name for item in usual_shelf(kind, catalogue, grain, 1)}
    usual = {item.name: Row(item.name in first) for item in usual_shelf(kind, catalogue, grain)}
    lay({**_owned(currency), **mine, **{name: row for name, row in usual.items() if name not in mine}})


def _owned(currency: str) -> dict[str, Row]:
    """What the maker's records hold: what came, at the price of the newest offer of it."""

    def read(workshop: Workshop) -> tuple[Sequence[Lot], Sequence[Offer]]:
        return workshop.read(Lot), workshop.read(Offer)

    place = places.own()
    records = places.within(place, read) if places.there(place) else ((), ())
    if isinstance(records, Refused):
        return {}
    lots, offers = records
    rows = {lot.ingredient: Row(ticked=True) for lot in lots}
    for offer in sorted(offers, key=lambda offer: offer.date):
        if offer.currency == currency:
            rows[offer.ingredient] = Row(True, offer.price, offer.pack)
    return rows


def table(currency: str) -> list[OnShelf]:
    """The table to tick and to type into; what is ticked in it."""
    now = shelf()
    if not now.rows:
        return []
    narrow = touch.narrow()
    names, key = list(now.rows), f"shelf {now.laid}{' narrow' if narrow else ''}"
    if not {key, f"{key} base"} <= st.session_state.keys():  # after another page it is laid with what was typed
        st.session_state[f"{key} base"] = _frame(now.rows)  # and then constant, or every second edit would be lost
    st.data_editor(
        st.session_state[f"{key} base"],
        key=key,
        hide_index=True,
        placeholder="",
        height=min(420, 40 + 35 * len(names)),
        disabled=["ingredient"],
        column_config={
            "on the shelf": st.column_config.CheckboxColumn("have", help="on the shelf", width=66),
            "ingredient": st.column_config.TextColumn(width=NAME_NARROW if narrow else NAME),
            "price of a pack": NUMBER(f"pack, {currency}", help=f"price of a pack, {currency}", min_value=0, width=104),
            "pack, kg": NUMBER(min_value=0, width=80),
            "there, kg": NUMBER(min_value=0, width=80),
        },
        on_change=_edited,
        args=(key, names),
    )
    if narrow:
        st.caption("Pack and stock, in kg, stand farther right: push the table to the left.")
    return [OnShelf(name, row.price, row.pack, row.stock) for name, row in shelf().rows.items() if row.ticked]


def _frame(rows: Mapping[str, Row]) -> pd.DataFrame:
    cells = [
        {"on the shelf": row.ticked, "ingredient": name, "price of a pack": row.price, "pack, kg": row.pack,
         "there, kg": row.stock}
        for name, row in rows.items()
    ]  # fmt: skip
    frame = pd.DataFrame(cells)
    return frame.astype(dict.fromkeys(list(CELLS)[1:], float))


def _edited(key: str, names: list[str]) -> None:
    """Keep what was typed, without laying the table anew under the maker's hands. A price ticks its row."""
    now = shelf()
    rows = dict(now.rows)
    for number, cells in st.session_state[key]["edited_rows"].items():
        name = names[int(number)]
        rows[name] = replace(rows[name], **{CELLS[column]: value for column, value in cells.items()})
    st.session_state[Key.NEW] = replace(now, rows=rows)


def more(catalogue: Catalogue, currency: str) -> None:
    """Two ways to further rows: names of the catalogue, and a paste."""
    left, right = st.columns(2)
    with left.popover("Add from the catalogue", icon=":material/add:", width="stretch"):
        names = [item.name for item in catalogue.ingredients.values() if item.name not in shelf().rows]
        chosen = st.multiselect("Ingredients", names, **typed.field(f"new-add {shelf().laid}", names))
        if st.button("Add", key="add-to-shelf", disabled=not chosen):
            lay({**dict.fromkeys(chosen, Row(ticked=True)), **shelf().rows})
            st.rerun()
    with right.popover("Paste from a spreadsheet", icon=":material/content_paste:", width="stretch"):
        _paste(catalogue, currency)


def _paste(catalogue: Catalogue, currency: str) -> None:
    """What is pasted goes to the shelf row by row; what cannot go there stays in the field, and is told."""
    text = st.text_area(
        f"Name, price of a pack in {currency}, pack, what is there",
        **typed.field("new-paste"),
        placeholder="glycerin\t21.00\t5 kg\t6.2",
    )
    if told := _told(text):
        st.markdown(f"**{told}**")
    packs, faults = shelf_in(text, catalogue, currency)
    above = st.container()
    named = [(pack, ask(pack.written, pack.ingredient, pack.near, catalogue, f"shelf {pack.row}")) for pack in packs]
    first: dict[str, Pack] = {}
    for pack, name in named:
        if name and first.setdefault(name, pack) is not pack:
            expected = f"{name} once; also in row {first[name].row}"
            faults = (*faults, Fault(f"row {pack.row}", "ingredient", repr(pack.written), expected))
    with above:
        show.listed(map(str, faults)) if faults else None
    st.button("Put on the shelf", key="paste-on-shelf", disabled=not first, on_click=_put, args=(text, first))


def _put(text: str, packs: Mapping[str, Pack]) -> None:
    """Lay the rows on the shelf; in the field stays what did not go there."""
    rows = {name: Row(True, pack.price, pack.pack, pack.stock) for name, pack in packs.items()}
    lay({**rows, **{name: row for name, row in shelf().rows.items() if name not in rows}})
    left, count = left_in(text, {pack.row for pack in packs.values()})
    st.session_state["new-paste"] = left
    typed.hold("new-paste")
    st.session_state[Key.PUT] = (len(rows), count, left)


def _told(text: str) -> str:
    """What became of the last paste, until something else is pasted."""
    put, count, left = st.session_state.get(Key.PUT, (0, 0, ""))
    if not put or text != left:
        return ""
    went = "1 row is" if put == 1 else f"{put} rows are"
    stays = "1 row is not: it stays" if count == 1 else f"{count} rows are not: they stay"
    return f"{went} on the shelf now." + (f" {stays} in the field, and below is why." if count else "")


def ask(written: str, certain: str, near: Sequence[str], catalogue: Catalogue, key: str) -> str:
    """The ingredient that a name means: certain, or as the maker says when asked; empty while it is not known."""
    if certain:
        return certain
    others = [item.name for item in catalogue.ingredients.values() if item.name not in near]
    chosen = st.selectbox(
        f"{show.escape(written)}: which ingredient is it?",
        [*near, *others],
        None,
        **typed.field(f"new-which {key} {written}"),
        placeholder=f"near: {', '.join(near)}" if near else "not known by this name",
    )
    return str(chosen or "")
