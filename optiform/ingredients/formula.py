"""A formula: what is weighed, in mass fractions that sum to one, and how it is read from and saved to files."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING

from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.columns import amount
from optiform.ingredients.ingredient import PHASES, Ingredient
from optiform.reading.documents import read_document
from optiform.reading.faults import Inspection
from optiform.reading.frozen import frozen
from optiform.reading.near import nearest, one_of_the_keys
from optiform.reading.output import Output
from optiform.reading.tables import csv_text, read_records
from optiform.reading.toml_text import toml_text
from optiform.reading.units import parse_quantity
from optiform.reading.values import Comparable

if TYPE_CHECKING:
    import pandas


AMOUNTS = ("percent", "parts", "grams")
TOTALS = ("total", "totals", "sum")  #: in place of an ingredient: a row that sums up the others


class Basis(StrEnum):
    """What the numbers of a written formula are a share of."""

    WHOLE = "whole"
    BASE = "base"
    PARTS = "parts"
    GRAMS = "grams"


@frozen
class Line:
    """One line of a formula. `fraction` is the mass fraction of the whole, as weighed."""

    ingredient: Ingredient
    fraction: float
    phase: str


@frozen
class Formula(Comparable):
    """Lines whose fractions sum to one. `origin` says where it is from: a file, or what it is the answer to."""

    name: str
    lines: tuple[Line, ...]
    origin: str = field(default="", compare=False)

    def fraction(self, ingredient: str) -> float:
        """The mass fraction of an ingredient by name; 0 where it is not used."""
        return sum(line.fraction for line in self.lines if line.ingredient.name == ingredient)

    def declaration(self) -> list[tuple[str, float]]:
        """Constituents summed over all ingredients, largest first: (INCI, mass fraction).

        Names that differ only in case are one, spelled as they come first.
        """
        spelled: dict[str, str] = {}
        totals: dict[str, float] = {}
        for line in self.lines:
            for part in line.ingredient.constituents:
                name = spelled.setdefault(part.inci.casefold(), part.inci)
                totals[name] = totals.get(name, 0.0) + line.fraction * part.share.figure / 100
        return sorted(totals.items(), key=lambda item: (-item[1], item[0]))

    def table(self) -> pandas.DataFrame:
        """The lines as a table: ingredient, phase, percent."""
        import pandas

        rows = [(line.ingredient.name, line.phase, 100 * line.fraction) for line in self.lines]
        return pandas.DataFrame(rows, columns=["ingredient", "phase", "percent"])

    def _repr_html_(self) -> str:
        return str(self.table().to_html(index=False))

    def text(self, ending: str = ".csv") -> str:
        """As the text of a file with this ending, .csv or .toml. Percent of the whole, exact to 1e-9.

        Fewer digits would put what lies on the edge of a rule beyond it once the file is read again.
        """
        rows = [(line.ingredient.name, _percent(line.fraction), line.phase) for line in self.lines]
        if ending == ".toml":
            lines = {name: {"percent": float(share), "phase": phase} for name, share, phase in rows}
            return toml_text({"name": self.name, "lines": lines})
        return csv_text([("ingredient", "percent", "phase"), *rows])

    def save(self, path: str | Path, force: bool = False) -> None:
        """Save as CSV or TOML, by the ending of the name.

        Args:
            path: its ending says which.
            force: a formula in a file of the same kind may be replaced.

        Raises:
            BadInput: it cannot be written there, or the ending is another.
        """
        output = Output("save", Path(path), force, (".csv", ".toml"), forcing="force=True")
        output.save(lambda place: place.write_text(self.text(place.suffix), encoding="utf-8"))


def _percent(fraction: float) -> str:
    """A mass fraction in % with nine decimals, but for the zeros behind the second.

    Example:
        >>> _percent(0.73), _percent(0.0123456789012), _percent(1.0)
        ('73.00', '1.23456789', '100.00')
    """
    whole, _, decimals = f"{100 * fraction:.9f}".partition(".")
    return f"{whole}.{decimals.rstrip('0'):0<2}"


@frozen
class Reading:
    """A formula as read: the basis taken, the total that stood there, and whether it had to be rescaled."""

    formula: Formula
    basis: Basis
    total: float
    rescaled: bool
    notes: tuple[str, ...] = ()


@frozen
class _Written:
    place: str
    name: str
    amount: object
    column: str
    phase: str


def mixed(parts: Mapping[str, float], catalogue: Catalogue | None = None, name: str = "mixed") -> Formula:
    """A formula of so many parts of each ingredient, every one in its usual phase.

    Args:
        parts: mass by name, in any one unit.
        catalogue: where the names are known; the shipped one without it.
        name: of the formula.

    Raises:
        BadInput: with every name that is not known, and for masses that are not above nothing together.

    Example:
        >>> mixed({"water": 3, "glycerin": 1}).fraction("glycerin")
        0.25
    """
    known, inspection = catalogue or read_catalogue(), Inspection(name)
    items = {part: known.find(part) for part in parts}
    for part, item in items.items():
        if item is None:
            inspection.fault("parts", part, known.unknown(part))
    total = sum(parts.values())
    if total <= 0 or min(parts.values()) < 0:
        inspection.fault("parts", f"{total:g} together", "masses above nothing")
    inspection.finish()
    lines = (Line(item, parts[part] / total, item.phase) for part, item in items.items() if item)
    return Formula(name, tuple(lines))


def read_formula(path: Path, catalogue: Catalogue, basis: Basis | None = None) -> Reading:
    """Read a formula from CSV or TOML.

    A table has the columns ingredient; percent, parts or grams (also as `%` or `weight (g)`); and phase, if need be.

    Args:
        path: the file.
        catalogue: gives the ingredients; an unknown name is a fault with near matches.
        basis: how to take the numbers; without it, percent is taken of the whole.

    Raises:
        BadInput: with every fault of the file.
    """
    inspection = Inspection(str(path))
    name, written = _toml(path, inspection) if path.suffix == ".toml" else _csv(path, inspection)
    lines = [line for row in written if not inspection.full and (line := _line(row, catalogue, inspection))]
    if not inspection.faults and not sum(line.fraction for line in lines) > 0:
        inspection.fault("total", "0", "amounts that sum to more than nothing")
    inspection.finish()
    column = written[0].column
    taken = basis or {"parts": Basis.PARTS, "grams": Basis.GRAMS}.get(column, Basis.WHOLE)
    if taken is Basis.BASE and not sum(line.fraction for line in lines if line.phase != "grains") > 0:
        inspection.fault("total", "grains only", "a base for the percentages to be a share of")
        inspection.finish()
    reading = _reading(name, lines, taken, guessed=basis is None)
    return replace(reading, formula=replace(reading.formula, origin=path.name))


def _csv(path: Path, inspection: Inspection) -> tuple[str, list[_Written]]:
    records = read_records(path, ["ingredient"], ("ingredient", "phase", *AMOUNTS, "per cent"))
    if not records:
        inspection.fault("file", "a header alone", "a row for each ingredient")
        inspection.finish()
    columns = [(written, column) for written in records[0].cells if (column := amount(written)) in AMOUNTS]
    if len(columns) != 1:
        words = "" if len(columns) else "There is no column of amounts. Call it percent, parts or grams."
        inspection.fault("header", ", ".join(records[0].cells), "one column percent, parts or grams", words)
        inspection.finish()
    ((written, column),) = columns
    rows = [
        _Written(f"row {record.line}", record.get("ingredient"), record.get(written), column, record.get("phase"))
        for record in records
        if record.get("ingredient").casefold().rstrip(" :=") not in TOTALS
    ]
    return path.stem, rows


def _toml(path: Path, inspection: Inspection) -> tuple[str, list[_Written]]:
    document = read_document(path)
    for key in document:
        if nearest(key.casefold(), ("name", "lines")):
            inspection.fault(key, document[key], one_of_the_keys(key, ("name", "lines")))
    lines = document.get("lines")
    if not isinstance(lines, dict) or not lines:
        inspection.fault("[lines]", lines, 'a table such as "glycerin" = 5')
        inspection.finish()
        raise AssertionError  # finish() has raised
    rows = []
    for name, given in lines.items():
        cells = given if isinstance(given, dict) else {"percent": given}
        columns = [key for key in AMOUNTS if key in cells]
        misspelt = [key for key in cells if nearest(key.casefold(), (*AMOUNTS, "phase"))]
        for key in misspelt:
            inspection.fault(f"[lines] {name}, {key}", cells[key], one_of_the_keys(key, (*AMOUNTS, "phase")))
        if len(columns) != 1 or not set(cells) <= {*AMOUNTS, "phase"}:
            if not misspelt:
                inspection.fault(f"[lines] {name}", given, "one of percent, parts, grams, and phase if need be")
            continue
        column, phase = columns[0], str(cells.get("phase", ""))
        rows.append(_Written(f"[lines] {name}", name, cells.get(column, ""), column, phase))
    if len({row.column for row in rows}) > 1:
        inspection.fault("[lines]", "percent, parts and grams mixed", "one of them throughout")
    return str(document.get("name", path.stem)), rows


def _line(row: _Written, catalogue: Catalogue, inspection: Inspection) -> Line | None:
    item = catalogue.find(row.name)
    if not row.name.strip():
        inspection.fault(f"{row.place}, ingredient", None, "its name, or total where the row sums up the others")
    elif item is None:
        inspection.fault(f"{row.place}, ingredient", row.name, catalogue.unknown(row.name))
    phase = row.phase.casefold()
    if phase and phase not in PHASES:
        inspection.fault(f"{row.place}, phase", row.phase, f"one of the phases: {', '.join(PHASES)}")
    unit = "g" if row.column == "grams" else "%"
    try:
        quantity = parse_quantity(row.amount, unit)
    except ValueError as error:
        inspection.fault(f"{row.place}, {row.column}", row.amount, str(error))
        return None
    if quantity < 0:
        inspection.fault(f"{row.place}, {row.column}", row.amount, "an amount of zero or more")
    return Line(item, quantity, phase or item.phase) if item else None


def _reading(name: str, lines: Sequence[Line], basis: Basis, guessed: bool) -> Reading:
    total = sum(line.fraction for line in lines)
    base = sum(line.fraction for line in lines if line.phase != "grains")
    read = base if basis is Basis.BASE else total
    rescaled = basis in (Basis.WHOLE, Basis.BASE) and abs(read - 100) > 0.005
    if basis is Basis.BASE and base > 0:  # grains are per 100 of base: bring the base to 100 first
        lines = [_scaled(line, 100 / base) if line.phase != "grains" else line for line in lines]
        total = 100 + total - base
    notes = []
    if rescaled:
        of = "the base" if basis is Basis.BASE else "the whole"
        notes.append(f"The percentages of {of} sum to {read:.6g}, not 100: each was multiplied by {100 / read:.5g}.")
    if guessed and basis is Basis.WHOLE and rescaled and base < total and abs(base - 100) <= 1.0:
        words = f"All but the grains sum to {base:.6g}: if these are percent of the base, read them with --basis base."
        notes.append(words)
    if twice := _twice(lines):
        notes.append(f"On more than one line, and added up: {', '.join(twice)}.")
    formula = Formula(name, tuple(_scaled(line, 1 / total) for line in _merge(lines)))
    return Reading(formula, basis, read, rescaled, tuple(notes))


def _scaled(line: Line, factor: float) -> Line:
    return Line(line.ingredient, line.fraction * factor, line.phase)


def _twice(lines: Sequence[Line]) -> list[str]:
    """The ingredients that stand on more than one line of the same phase."""
    counts = Counter((line.ingredient.name, line.phase) for line in lines)
    return list(dict.fromkeys(name for (name, _), count in counts.items() if count > 1))


def _merge(lines: Sequence[Line]) -> list[Line]:
    """Lines of the same ingredient in the same phase are one line."""
    lines_by_name: dict[tuple[str, str], Line] = {}
    for line in lines:
        key = line.ingredient.name, line.phase
        before = lines_by_name[key].fraction if key in lines_by_name else 0.0
        lines_by_name[key] = Line(line.ingredient, before + line.fraction, line.phase)
    return list(lines_by_name.values())
