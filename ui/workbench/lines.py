"""The formula on the bench as one table, a row an ingredient: what is typed or fixed counts at once, the rest follows.

The table's edits lie over what it is given. While both say the same it stays as it is, so that whoever types keeps the
place; where they would not, it is laid anew.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import pandas as pd
import streamlit as st
from streamlit.elements.lib.column_types import ColumnConfig

from optiform.brief.brief import Brief
from optiform.brief.leftout import Out
from optiform.reading.units import parse_quantity
from optiform.telling.parts import number
from optiform.telling.standing import BenchLine, bench_lines
from workbench import pricing, show, state
from workbench.cards import card
from workbench.parts import as_printed
from workbench.scope import attempt
from workbench.work import Found

NUMBER = st.column_config.NumberColumn
Cells = state.Document
EVERY = "every-candidate"
CHARACTER = 7.2  # pixels
ROW, LEAST = 35, 8  # pixels; rows that are shown of a formula of few lines, or of none
FREE = ("ingredient", "g", "in 1 kg", "1 point more", "firmness", "today")  # what is worked out, not typed


@dataclass(frozen=True)
class Asked:
    """What the brief asks of one line, % of the jar: fixed, or a range, or that it is left out."""

    fixed: float | None = None
    low: float | None = None
    high: float | None = None
    out: bool = False


def asked_of(document: state.Document, name: str) -> Asked:
    """What the brief asks of the line of an ingredient."""
    given = document.get("lines", {}).get(name)
    ends = given if isinstance(given, dict) else {"low": given, "high": given} if given is not None else {}
    low, high = (None if ends.get(side) is None else parse_quantity(ends[side], "%") for side in ("low", "high"))
    out = name.casefold() in {each.casefold() for each in document.get("exclude", [])}
    return Asked(low, None, None, out) if low is not None and low == high else Asked(None, low, high, out)


def known_lines(brief: Brief, outcome: object) -> dict[str, BenchLine]:
    """Every line of the formula on the bench by its ingredient; none while there is no formula."""
    if not isinstance(outcome, Found):
        return {}
    return {line.ingredient: line for line in bench_lines(brief, outcome.best.formula, outcome.levers)}


def names_of(brief: Brief, used: Sequence[str], every: bool) -> list[str]:
    """The rows: the formula's lines, then what the brief asks of others, then, where wished, all other candidates."""
    document = state.bench().document
    candidates = [item.name for item in brief.mix.ingredients]
    out = [name for name, why in brief.left_out if why is Out.EXCLUDED]
    others = [name for name in candidates if name in document.get("lines", {})]
    return list(dict.fromkeys([*used, *others, *([*candidates, *out] if every else [])]))


def table(brief: Brief, lines: Mapping[str, BenchLine]) -> None:
    """The table to type into, the formula's lines first; its rows stay in their order until it is laid anew."""
    begun, now = f"lines {state.edits()}", names_of(brief, list(lines), every=True)
    order: list[str] = st.session_state.setdefault(f"{begun} order", now)
    order += [name for name in now if name not in order]
    key = f"{begun} {len(order)}"
    rows = [_row(name, lines.get(name), brief) for name in order]
    st.data_editor(
        pd.DataFrame(rows).astype(dict.fromkeys(NUMBERS, float)),
        key=key,
        hide_index=True,
        placeholder="",
        height=_height(len(lines), len(rows)),
        disabled=list(FREE),
        column_config=_columns(brief, max(map(len, lines or order), default=0)),
        on_change=_edited,
        args=(key, order, {name: line.percent for name, line in lines.items()}, brief),
        alt="The formula, a row an ingredient",
    )


def _height(used: int, rows: int) -> int:
    """Of the table, pixels: the formula whole; what is not used stands below, to be scrolled to."""
    seen = max(used, LEAST) + 2
    return ROW * (rows + 1) + 2 if rows < seen else ROW * seen + ROW // 2


NUMBERS = ("%", "g", "least", "most", "price", "in 1 kg", "1 point more", "firmness", "today")


def _row(name: str, line: BenchLine | None, brief: Brief) -> Cells:
    asked = asked_of(state.bench().document, name)
    today = brief.reference.fraction(name) if brief.reference is not None else 0.0
    item = brief.catalogue.find(name)
    price = item.price_in(brief.currency) if item is not None else None
    return {
        "ingredient": name,
        "%": as_printed(2, line.percent if line else asked.fixed),
        "fixed": asked.fixed is not None,
        "g": line.grams if line else None,
        "today": as_printed(2, 100 * today) or None,
        "least": asked.low,
        "most": asked.high,
        "1 point more": as_printed(3, line.more) if line else None,
        "firmness": as_printed(0, line.firmness) if line else None,
        "price": as_printed(2, price.figure) if price else None,
        "in 1 kg": as_printed(3, line.cost) if line else None,
        "out": asked.out,
    }


def _columns(brief: Brief, longest: int) -> dict[str, ColumnConfig | None]:
    """The columns; `longest`: name in the formula, in characters."""
    money, percent = brief.currency, partial(NUMBER, min_value=0, max_value=100, format="%g")
    check = st.column_config.CheckboxColumn
    told = partial(NUMBER, disabled=True)
    columns: dict[str, ColumnConfig | None] = {
        "ingredient": st.column_config.TextColumn(width=name_width(longest), pinned=True),
        "%": NUMBER("%", min_value=0, max_value=100, format="%.2f", width=62,
                    help="% of the jar. Type one and the line is fixed at it; empty it and the line is free again"),
        "fixed": check("fixed", width=68, help="held where it is; the other lines give way"),
        "g": told("g", format="%g", width=46, help=f"to weigh for {brief.batch:g} kg"),
        "today": told("today", format="%.2f", width=50, help="today's formula, % of the jar"),
        "least": percent("least", width=63, help="at least this much, % of the jar"),
        "most": percent("most", width=63, help="at most this much, % of the jar"),
        "1 point more": told("+1 %", format="%+.3f", width=58,
                             help=f"what one % point more of it adds to 1 kg, {money}, the rest found anew"),
        "firmness": told("firmer", format="%+.0f %%", width=56,
                         help="what one % point more does to firmness at 20 °C, the others giving way in proportion"),
        "price": NUMBER(f"{money}/kg", min_value=0, format="%.2f", width=82, help="its price; type a new one"),
        "in 1 kg": told("cost", format="%.3f", width=48, help=f"what it costs in 1 kg, {money}"),
        "out": check("out", width=54, help="left out"),
    }  # fmt: skip
    return columns if brief.reference is not None else columns | {"today": None}


def name_width(longest: int) -> int:
    """How wide a column of names is, pixels, of which the longest has so many characters."""
    return round(max(168, min(CHARACTER * longest, 266)))


# -- what is typed -----------------------------------------------------------------------------------------------------


def _edited(key: str, names: Sequence[str], shown: Mapping[str, float], brief: Brief) -> None:
    """Take what was typed since the last time, line by line."""
    over = {int(row): dict(cells) for row, cells in st.session_state[key]["edited_rows"].items()}
    before: Mapping[int, Cells] = st.session_state.get(f"{key} seen", {})
    st.session_state[f"{key} seen"] = over
    for row, cells in over.items():
        old = before.get(row, {})
        new = {column: cell for column, cell in cells.items() if column not in old or old[column] != cell}
        if new:
            change(names[row], new, shown.get(names[row]), brief)
        if new and not _agrees(names[row], cells):
            state.lay_anew()


def change(name: str, cells: Cells, shown: float | None, brief: Brief) -> None:
    """Take the cells that were typed into the row of an ingredient."""
    if cells.get("price") is not None:
        pricing.set_price(brief, name, float(cells["price"]))
    if cells.keys() - {"price"}:
        attempt(words_of(name, cells, shown), lambda document: edit_line(document, name, cells, shown))


def _agrees(name: str, over: Cells) -> bool:
    """Whether the cells that lie over a row say what the brief now asks of it."""
    asked = asked_of(state.bench().document, name)
    says = {"fixed": asked.fixed is not None, "least": asked.low, "most": asked.high, "out": asked.out}
    if "%" in over and (over["%"] is None or over["%"] != asked.fixed):  # one that was emptied hides what is there now
        return False
    if "price" in over and over["price"] is None:
        return False
    return all(over[column] == says[column] for column in says.keys() & over.keys())


def words_of(name: str, cells: Cells, shown: float | None) -> str:
    """What was done to a line, for the history."""
    if "out" in cells:
        return f"{name} {'left out' if cells['out'] else 'taken in'}"
    if "%" in cells or "fixed" in cells:
        at = cells.get("%", shown if cells.get("fixed") else None)
        return f"{name} free" if at is None else f"{name} fixed at {at:g} %"
    return f"range of {name}"


def edit_line(document: state.Document, name: str, cells: Cells, shown: float | None) -> None:
    """Change what a brief asks of one line; an end that did not change stays as it is written.

    Args:
        document: of the brief, changed in place.
        name: of the ingredient.
        cells: by column of the table.
        shown: what the formula has of it, at which it is fixed where no other figure was typed.
    """
    out = [each for each in document.get("exclude", []) if each.casefold() != name.casefold()]
    was_out = len(out) < len(document.get("exclude", []))
    if cells.get("out", was_out):
        out.append(name)
    if out != document.get("exclude", []):
        document["exclude"] = out
    lines = document.setdefault("lines", {})
    if cells.get("out"):  # an amount asked of what is left out would be a fault
        lines.pop(name, None)
        return
    written = lines[name] if isinstance(lines.get(name), dict) else {}
    ends: state.Document = {
        side: written[side] if side in written and parse_quantity(written[side], "%") == end else end
        for side, end in _ends(asked_of(document, name), cells, shown).items()
        if end is not None
    } | {key: written[key] for key in ("phase", "if_used") if key in written}
    if ends:
        lines[name] = ends
    else:
        lines.pop(name, None)


def _ends(asked: Asked, cells: Cells, shown: float | None) -> dict[str, float | None]:
    """Both ends of a line after its cells were typed: fixed at one figure, or a range."""
    if "%" in cells:
        return {"low": cells["%"], "high": cells["%"]}
    if "fixed" in cells:
        at = shown if cells["fixed"] else None
        return {"low": at, "high": at}
    if "least" in cells or "most" in cells:
        return {"low": cells.get("least", asked.low), "high": cells.get("most", asked.high)}
    return (
        {"low": asked.fixed, "high": asked.fixed} if asked.fixed is not None else {"low": asked.low, "high": asked.high}
    )


# -- on a phone --------------------------------------------------------------------------------------------------------


def cards(brief: Brief, lines: Mapping[str, BenchLine]) -> None:
    """The same as cards to open, one an ingredient."""
    for name in names_of(brief, list(lines), bool(st.session_state.get(EVERY))):
        _card(name, lines.get(name), brief)
    st.toggle("Also what the formula does not use", key=EVERY)


def _card(name: str, line: BenchLine | None, brief: Brief) -> None:
    asked = asked_of(state.bench().document, name)
    percent = line.percent if line else None if asked.out else asked.fixed
    amount = ("left out" if asked.out else "not used") if percent is None else f"{number(percent, 2)} % of the jar"
    if line:
        amount += f" · {line.grams:g} g"
    held = " · fixed" if asked.fixed is not None else ""
    if inside := card(f"**{show.escape(name)}**  \n{amount}{held}", f"card {name}"):
        with inside:
            _opened(name, line, asked, brief)


def _opened(name: str, line: BenchLine | None, asked: Asked, brief: Brief) -> None:
    if line and line.cost is not None:
        more = "" if line.more is None else f"; 1 % point more {number(line.more, 3, sign=True)}"
        firm = "" if line.firmness is None else f"; firmness {number(line.firmness, 0, sign=True)} %"
        st.caption(f"Costs {number(line.cost, 3)} {brief.currency} in 1 kg{more}{firm}")
    shown = line.percent if line else None
    item = brief.catalogue.find(name)
    price = item.price_in(brief.currency) if item is not None else None
    fields = {
        "%": ("Fixed at, % of the jar", asked.fixed),
        "least": ("At least, %", asked.low),
        "most": ("At most, %", asked.high),
        "price": (f"Price, {brief.currency}/kg", price.figure if price else None),
    }
    for column, (label, value) in fields.items():
        key = f"card {column} {name} {state.edits()}"
        st.session_state.setdefault(key, value)
        st.number_input(label, 0.0, None if column == "price" else 100.0, None, key=key, format="%g",
                        on_change=_typed, args=(name, column, key, shown, brief))  # fmt: skip
    key = f"card out {name} {state.edits()}"
    st.toggle("Left out", asked.out, key=key, on_change=_typed, args=(name, "out", key, shown, brief))


def _typed(name: str, column: str, key: str, shown: float | None, brief: Brief) -> None:
    change(name, {column: st.session_state[key]}, shown, brief)
    state.lay_anew()  # a card's other fields follow
