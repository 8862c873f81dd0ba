"""How a batch is made: fields for what is common, a table of parts, and the file for everything."""

import tomllib
from collections.abc import Mapping
from pathlib import Path

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from optiform.batch.file import COOLING, QUANTITIES, Figure, read_making
from optiform.batch.making import Making
from optiform.reading.documents import Document
from optiform.reading.toml_text import changed_text
from workbench import papers, state, typed
from workbench.state import MAKING_FILE
from workbench.which import Chosen

UNITS = {"degC": "°C"}
AMOUNT = {"jars": "a whole number", "share": "of the batch; all parts then have a share"}


def made(chosen: Chosen) -> Making | None:
    """How it is made as the bench says, common practice where it says nothing; None where the file is at fault."""
    return papers.standing(MAKING_FILE, lambda path: reader(path, chosen))


def reader(path: Path, chosen: Chosen) -> Making:
    """The file for the formula that is chosen."""
    return read_making(path, chosen.brief.catalogue, chosen.formula, chosen.brief.jar)


def details(chosen: Chosen, making: Making | None) -> None:
    """Everything of the making to look at and change; `making` is None while the file is at fault."""

    def form() -> None:
        _form(chosen, making) if making else st.caption("Mend the file first, or leave it empty.")

    papers.details(MAKING_FILE, "How it is made", "skillet", making is None, "making-details", "Fields",
                   form, lambda path: reader(path, chosen))  # fmt: skip


@st.fragment
def _form(chosen: Chosen, making: Making) -> None:
    """One form: nothing counts until all of it is handed in and can be read."""
    text = state.bench().papers.get(MAKING_FILE, "")
    document = tomllib.loads(text)
    shown, point = _shown(making), _point(making)
    st.caption("What you leave empty follows common practice, and the sheet says so.")
    figures = _figures(shown)
    st.markdown("**One observed point of the cooling**, off a thermometer in the middle of the mass")
    cooling = _cooling(point)
    st.markdown("**Parts with a scent or colour of their own**")
    parts = _parts(document)
    st.caption("Lines that only one part has are set in the file.")
    if papers.handed_in(MAKING_FILE):
        before, after = _document(document, shown, point), _document(document, figures, cooling)
        after = {key: value for key, value in after.items() if key != "part"} | _with_parts(document, parts)
        papers.taken(MAKING_FILE, changed_text(text, after, before), lambda path: reader(path, chosen))


def _shown(making: Making) -> Document:
    """What the fields show: each figure that the file states, None where it is common practice."""
    figures: Document = {}
    for key, figure in QUANTITIES.items():
        figures[key] = round(getattr(making, key) * _per(figure), 9) if key in making.stated else None
    return figures | {"retained": making.retained, "cools_fast": making.cools_fast}


def _point(making: Making) -> dict[str, float | None]:
    return {key: None if making.observed is None else getattr(making.observed, key) for key in COOLING}


def _figures(shown: Document) -> Document:
    """Each figure that was typed, None where the field is empty."""
    figures: Document = {}
    *places, retained, fast = papers.grid(len(QUANTITIES) + 2, 3)
    common = Making()
    for place, (key, figure) in zip(places, QUANTITIES.items(), strict=True):
        empty = figure.otherwise or f"{getattr(common, key) * _per(figure):g}"
        figures[key] = _field(place, _label(figure), key, shown[key], figure.least, figure.most, empty)
    figures["retained"] = int(_field(retained, "Jars held back", "retained", shown["retained"], 0, whole=True) or 0)
    words = "a preservative that may goes in warmer"
    held = typed.field(f"making-fast {state.edits()}", name=f"{papers.unused(MAKING_FILE)}fast",
                       first=shown["cools_fast"])  # fmt: skip
    figures["cools_fast"] = fast.checkbox("The mass cools fast", help=words, **held)
    return figures


def _field(
    place: DeltaGenerator, label: str, key: str, now: float | None,
    low: float | None = None, high: float | None = None, empty: str | None = None, whole: bool = False,
) -> float | None:  # fmt: skip
    return papers.figure(place, label, MAKING_FILE, f"making-{key}", now, low, high, empty, whole)


def _cooling(point: Mapping[str, float | None]) -> dict[str, float | None]:
    return {
        key: _field(place, _label(of), key, point[key])
        for place, (key, of) in zip(st.columns(4), COOLING.items(), strict=True)
    }


def _label(figure: Figure) -> str:
    return f"{figure.label}, {UNITS.get(figure.unit, figure.unit)}"


def _per(figure: Figure) -> int:
    """Of the unit in one of what is kept."""
    return 100 if figure.unit == "%" else 1


def _parts(document: Document) -> pd.DataFrame:
    """The parts as a table, each with where it stands in the file; where there are none, columns alone."""
    rows = [
        {
            "at": number,
            "name": part["name"],
            "jars": part.get("jars"),
            "share": part.get("share"),
            "own lines": "; ".join(f"{name} {_told(cell)}" for name, cell in part.get("lines", {}).items()),
        }
        for number, part in enumerate(document.get("part", []))
    ]
    columns = {
        "name": st.column_config.TextColumn(),
        "jars": st.column_config.NumberColumn(min_value=1, step=1, format="%d", help=AMOUNT["jars"]),
        "share": st.column_config.TextColumn(help=AMOUNT["share"] + ", for instance 40 %"),
        "own lines": st.column_config.TextColumn(),
        "at": None,
    }
    return papers.table(st.container(), rows, MAKING_FILE, "making-parts", columns, fixed=["own lines"])


def _told(cell: object) -> str:
    return ", ".join(map(str, cell.values())) if isinstance(cell, Mapping) else str(cell)


def _document(before: Document, figures: Document, point: Mapping[str, float | None]) -> Document:
    """The file's document with what the fields say; what has no field stays as it was."""
    document = {key: value for key, value in before.items() if key not in (*figures, "cooling")}
    for key, figure in QUANTITIES.items():
        if figures[key] is not None:
            document[key] = f"{figures[key]:.9g} {figure.unit}"
    document |= {key: figures[key] for key in ("retained", "cools_fast") if figures[key]}
    cooling = {key: f"{at:.9g} {COOLING[key].unit}" for key, at in point.items() if at is not None}
    return document | ({"cooling": cooling} if cooling else {})


def _with_parts(before: Document, parts: pd.DataFrame) -> Document:
    """The parts as the table has them."""
    old = before.get("part", [])
    at = parts.pop("at")
    new = [_part(cells, {} if pd.isna(at[row]) else old[int(at[row])]) for row, cells in papers.rows(parts)]
    return {"part": new} if new else {}


def _part(cells: Document, before: Document) -> Document:
    """A row of the table with what only the file holds of that part."""
    part: Document = {key: cells[key] for key in ("name", "share") if key in cells}
    if "jars" in cells:
        part["jars"] = int(cells["jars"])
    return part | {key: before[key] for key in ("instead_of", "lines") if key in before}
