"""The maker's own table of ingredients: prices, packs, stock, own ingredients, own columns, own figures.

One row per ingredient. Columns, all optional but the first:

- `ingredient`: a name of the catalogue, or a new one (then `phase` and `functions` are needed);
- `price`, or `pack price` with `pack` (5 kg, 1 L): what it costs; `stock`: how much is there;
- `origin`: what it is made from, for claims: `plant`, `animal`, `mineral`, `synthetic`, `palm`;
- `inci`: declaration with shares in %, for instance `Aqua 70; Glycerin 30`;
- `like`: a known ingredient; figures that are missing are taken to be its, and marked so;
- `certificate maximum 9`: the most a fragrance certificate allows in that class of product;
- `supplier statement`: conditions of law on what is bought that its supplier confirms, each with its paper;
- `allergen limonene`: share of that allergen in the fragrance or essential oil as bought, from its supplier's list;
- a property of the catalogue, for instance `iodine value` or `solid fat at 20 degC`: overrides the shipped figure;
- any other column of numbers: a property of the maker's own that a brief may limit.

A header may carry a unit, in brackets or behind the word: `price (EUR/kg)`, `price €/kg`, `stock g`. A cell
may be a range: `18 to 22`.
"""

import re
from collections.abc import Collection, Mapping
from dataclasses import field, replace
from pathlib import Path
from typing import TypeVar
from unicodedata import normalize

from optiform.ingredients.allergen_columns import COLUMN, NoAllergen, check_column
from optiform.ingredients.columns import AT_TEMPERATURE, CERTIFICATE, WORDS, named, refuse_misspelt_columns
from optiform.ingredients.ingredient import (
    FUNCTIONS,
    KNOWN_UNITS,
    ORIGINS,
    PHASES,
    Constituent,
    Evidence,
    Ingredient,
    Value,
    density_of,
)
from optiform.ingredients.names import resolve, several, share_behind
from optiform.ingredients.statements import COLUMN as STATEMENT
from optiform.ingredients.statements import confirmed
from optiform.reading import run
from optiform.reading.faults import Fault, Inspection
from optiform.reading.frozen import frozen
from optiform.reading.plausible import far_apart, note_mass
from optiform.reading.tables import Record, read_records
from optiform.reading.units import LONGEST, ordinary, parse_number, parse_quantity, with_codes

#: Known properties that may lie below zero; every other known one is a mass, a share or a positive scale.
_TEMPERATURES = {"melting range", "heat limit", "flash point"}
#: Known properties that belong to a temperature. A density without one counts at every temperature.
_AT_TEMPERATURE = {"solid fat", "density", "solubility in water", "viscosity"}
#: Those that say nothing without one.
_NEED_TEMPERATURE = {"solid fat", "viscosity"}
#: What only a supplier or a source says of just this ingredient.
_OWN_ONLY = {"price", "pack price", "pack", "stock", "maximum use"}
#: Months as spreadsheets shorten them, in the languages around; none is the code of a currency.
MONTHS = {
    "JAN", "FEB", "MAR", "MRZ", "MRT", "APR", "ABR", "AVR", "MAY", "MAI", "MEI", "MAG", "MAJ", "JUN", "GIU", "JUL",
    "LUG", "AUG", "AGO", "SEP", "SET", "OCT", "OKT", "OTT", "OUT", "NOV", "DEC", "DEZ", "DIC", "ENE", "GEN", "FEV",
}  # fmt: skip
_PRICE = re.compile(
    r"^\s*(?P<number>[^A-Za-z]+?)\s*(?P<currency>[A-Za-z]{3})?\s*(?:(?:/|per\s)\s*(?P<per>[A-Za-z]+))?\s*$"
)


K = TypeVar("K")


@frozen
class OwnRow:
    """One row of the maker's file, read but not yet laid over the catalogue; `sound` if no cell of it was at fault."""

    line: int
    name: str
    phase: str
    functions: tuple[str, ...]
    synonyms: tuple[str, ...]
    origin: tuple[str, ...]
    note: str
    constituents: tuple[Constituent, ...]
    values: dict[tuple[str, float | None], Value]
    sound: bool
    like: str = ""
    statements: Mapping[str, str] = field(default_factory=dict)

    @property
    def whole(self) -> bool:
        """Whether it says enough to stand for a new ingredient."""
        return bool(self.phase and self.functions)

    def over(self, known: Ingredient | None, alike: Ingredient | None = None) -> Ingredient:
        """The known ingredient with this row's figures in place of its own, or a new ingredient.

        Figures that are known of neither are those of the one it is `alike`, from memory and with a note that says so.

        Raises:
            ValueError: a new ingredient without phase and functions, or a pack by volume without a density.
        """
        if known is None and not self.whole:
            raise ValueError("a new ingredient also needs the columns phase and functions")
        base = known or Ingredient(self.name, self.functions, self.phase)
        taken = {key: value for key, value in alike.values.items() if _alike(key[0])} if alike else {}
        values = {**_taken(taken, alike), **self._kept(base), **self.values}
        if self.sound and ("pack price", None) in self.values and ("price", None) not in self.values:
            values["price", None] = _unit_price(values)
        return replace(
            base,
            phase=self.phase or base.phase,
            functions=self.functions or base.functions,
            synonyms=(*base.synonyms, *self.synonyms),
            origin=self.origin or base.origin,
            note=self.note or base.note,
            constituents=self.constituents or base.constituents,
            values=values,
            solute=base.solute or (alike.solute if alike else ""),
            statements=self.statements or base.statements,
            fatty_acids=base.fatty_acids or _taken(alike.fatty_acids if alike else {}, alike),
        )

    def _kept(self, base: Ingredient) -> dict[tuple[str, float | None], Value]:
        """The known figures that this row leaves standing; an own density replaces them at every temperature."""
        dense = any(name == "density" for name, _ in self.values)
        return {key: value for key, value in base.values.items() if not (dense and key[0] == "density")}


def _alike(name: str) -> bool:
    """Whether a figure may be taken from an ingredient that is alike: nothing of a supplier's, nothing that limits."""
    return name not in _OWN_ONLY and not name.startswith((CERTIFICATE, COLUMN))


def _taken(values: Mapping[K, Value], alike: Ingredient | None) -> dict[K, Value]:
    """Figures of the one it is alike, as from memory."""
    note = f"taken to be like {alike.name}" if alike else ""
    return {key: replace(value, evidence=Evidence.RECALLED, note=note) for key, value in values.items()}


def _unit_price(values: dict[tuple[str, float | None], Value]) -> Value:
    """Price per kg from the price of a pack; a pack by volume is weighed through the density (g/mL = kg/L)."""
    price, pack = values["pack price", None], values["pack", None]
    mass = pack.figure
    if pack.unit == "L":
        density = density_of(values)
        if density is None:
            raise ValueError("a pack in kg, or a column density: a pack by volume cannot be weighed without it")
        mass *= density.figure
    return replace(price, typical=ordinary(price.figure / mass), unit=f"{price.unit}/kg")


def read_own_file(path: Path) -> tuple[list[OwnRow], list[Fault]]:
    """Every row of the maker's file with a name of its own, and every fault of its cells.

    Both, so that what a catalogue finds wrong with the rows can be told together with the cells.

    Raises:
        BadInput: when the file is no table with a column of ingredients.
    """
    records = read_records(path, required=["ingredient"])
    inspection = Inspection(str(path))
    refused = refuse_misspelt_columns(records[0].cells if records else (), inspection)
    rows = [_row(record, inspection, path.name, refused) for record in records if not inspection.full]
    named: dict[str, OwnRow] = {}
    for row in rows:
        if not row.name:
            inspection.fault(f"row {row.line}, column ingredient", "", "a name")
        elif (first := named.setdefault(row.name.casefold(), row)) is not row:
            expected = f"each ingredient once; also in row {first.line}"
            inspection.fault(f"row {row.line}, column ingredient", row.name, expected)
    return list(named.values()), inspection.faults


def _row(record: Record, inspection: Inspection, source: str, refused: Collection[str]) -> OwnRow:
    """One row. The cells of a column that is refused are not read: its one fault says what to do."""
    values: dict[tuple[str, float | None], Value] = {}
    before = len(inspection.faults)
    for header, cell in record.cells.items():
        name, unit = named(header)
        if not cell or name in WORDS or header in refused:
            continue
        try:
            key, value = _cell(name, unit, cell, source)
        except NoAllergen as error:
            inspection.fault("header", name, str(error))
        except ValueError as error:
            inspection.fault(record.place(header), cell, str(error))
        else:
            if key in values:
                inspection.fault(record.place(header), cell, f"{name} in one column only")
            values[key] = value
    papers = _statements(record, inspection)
    _check_pack(record, values, inspection)
    _note_slips(record, values, inspection)
    return OwnRow(
        line=record.line,
        name=normalize("NFC", record.get("ingredient")),
        phase=_word(record, "phase", PHASES, inspection),
        functions=_words(record, "functions", FUNCTIONS, inspection),
        synonyms=tuple(part.strip() for part in record.get("synonyms").split(";") if part.strip()),
        origin=_words(record, "origin", ORIGINS, inspection),
        note=record.get("note"),
        constituents=_constituents(record, inspection, source),
        values=values,
        sound=len(inspection.faults) == before,  # read last: the lines above find faults
        like=record.get("like"),
        statements=papers,
    )


def _word(record: Record, column: str, known: tuple[str, ...], inspection: Inspection) -> str:
    cell = record.get(column).casefold()
    if cell and cell not in known:
        inspection.fault(record.place(column), cell, f"one of: {', '.join(known)}")
    return cell


def _words(record: Record, column: str, known: tuple[str, ...], inspection: Inspection) -> tuple[str, ...]:
    words = tuple(part.strip().casefold() for part in record.get(column).split(";") if part.strip())
    for word in words:
        if word not in known:
            inspection.fault(record.place(column), word, f"any of: {', '.join(known)}")
    return words


def _statements(record: Record, inspection: Inspection) -> dict[str, str]:
    """The conditions that the supplier confirms, each with its paper."""
    try:
        return confirmed(record.get(STATEMENT))
    except ValueError as error:
        inspection.fault(record.place(STATEMENT), record.get(STATEMENT), str(error))
        return {}


def _cell(name: str, unit: str, cell: str, source: str) -> tuple[tuple[str, float | None], Value]:
    name, at = _placed(name)
    cell = _short(cell)
    if name in ("price", "pack price"):
        return (name, None), _price(name, unit, cell, source)
    if name == "pack":
        return (name, None), _pack(_with(cell, unit or "kg"), source)
    if name.startswith("certificate maximum"):
        return (name, None), _own(_possible(parse_quantity(cell, "%"), "%"), "%", source)
    if name.startswith(COLUMN):
        return (check_column(name), None), _allergen_share(cell, unit, source)
    target = KNOWN_UNITS.get(name, unit or "")
    stated = unit if target in ("%", "kg") and name in KNOWN_UNITS else ""
    ends = [parse_quantity(_with(part, stated).strip(), target) for part in re.split(r"\s+to\s+", cell)]
    if len(ends) > 2 or ends != sorted(ends):
        raise ValueError("one number, or a range such as 18 to 22")
    if name in KNOWN_UNITS and name not in _TEMPERATURES:
        ends = [_possible(end, target) for end in ends]
    if name in ("density", "viscosity") and ends[0] == 0:
        raise ValueError(f"a {name} above zero")
    figure = _own(ends[0], target, source)
    if len(ends) == 2:
        figure = replace(figure, low=ends[0], typical=None, high=ends[1])
    if name == "maximum use":
        figure = replace(figure, low=None, typical=None, high=ends[-1])
    return (name, at), figure


def _allergen_share(cell: str, unit: str, source: str) -> Value:
    """Share of an allergen, % of the ingredient as bought: `4.2`, `250 ppm` or a range. The header may hold a unit."""
    ends = [parse_quantity(_with(part, unit or "%"), "%") for part in re.split(r"\s+to\s+", cell)]
    if len(ends) > 2 or ends != sorted(ends):
        raise ValueError("one share, or a range such as 1.8 to 2.2")
    share = _own(_possible(ends[-1], "%"), "%", source)
    return share if len(ends) == 1 else replace(share, low=_possible(ends[0], "%"), typical=None, high=ends[1])


def _short(cell: str) -> str:
    """The cell with single spaces, if it is short enough to be a quantity, a price or a range.

    Patterns that look for spaces take their time on long texts.
    """
    cell = " ".join(cell.split())
    if len(cell) > 2 * LONGEST:
        raise ValueError(f"a quantity, in at most {2 * LONGEST} characters")
    return cell


def _placed(name: str) -> tuple[str, float | None]:
    """A property's name and the temperature that its header states, degC.

    An own column keeps its whole header as its name: the model knows nothing of its temperature.

    Raises:
        ValueError: a property that needs a temperature and has none, or the other way round.
    """
    match = AT_TEMPERATURE.match(name)
    if match is None or match["name"] not in KNOWN_UNITS:
        if name in _NEED_TEMPERATURE:
            raise ValueError(f"a temperature in the header: {name} at 20 degC")
        return name, None
    if match["name"] not in _AT_TEMPERATURE:
        raise ValueError(f"{match['name']} without a temperature")
    return match["name"], round(parse_quantity(f"{match['at']} deg{match['scale'].upper()}", "degC"), 6)


def _possible(number: float, unit: str) -> float:
    if number < 0 or (unit == "%" and number > 100):
        raise ValueError("0 to 100 %" if unit == "%" else f"{unit} of zero or more")
    return number


def _with(cell: str, unit: str) -> str:
    return cell if re.search(r"[A-Za-z%]", cell) else f"{cell} {unit}"


def _pack(cell: str, source: str) -> Value:
    target = "L" if re.search(r"(?:\bm?l|lit(?:er|re)s?|oz_fl|gallons?)\s*$", cell, re.IGNORECASE) else "kg"
    return _own(parse_quantity(cell, target), target, source)


def _own(number: float, unit: str, source: str) -> Value:
    return Value(None, number, None, unit, source, Evidence.OWN)


def _price(name: str, unit: str, cell: str, source: str) -> Value:
    """A price with its currency; per kg, or per pack. `4.20 EUR/kg`, or a number under `price (EUR/kg)`."""
    match = _PRICE.match(with_codes(cell))
    header = re.fullmatch(r"([A-Za-z]{3})(?:\s*/\s*([A-Za-z]+))?", with_codes(unit))
    if not match:
        raise ValueError("a price such as 4.20 EUR/kg")
    number = parse_number(match["number"])
    currency = (match["currency"] or (header[1] if header else "")).upper()
    per = match["per"] or (header[2] if header else None) or "kg"
    if not currency:
        raise ValueError("a price with its currency, here or in the header: price (EUR/kg)")
    if currency in MONTHS:
        raise ValueError("a price such as 4.20 EUR/kg, and no date that a spreadsheet has made of it")
    if number < 0:
        raise ValueError("a price of zero or more")
    if name == "pack price":
        return _own(number, currency, source)
    return _own(ordinary(number / parse_quantity(f"1 {per}", "kg")), f"{currency}/kg", source)


def _check_pack(record: Record, values: dict[tuple[str, float | None], Value], inspection: Inspection) -> None:
    pack = values.get(("pack", None))
    if pack is not None and pack.figure <= 0:
        inspection.fault(f"row {record.line}, column pack", pack.figure, "a pack of more than nothing")
    if ("pack price", None) in values and ("pack", None) not in values:
        inspection.fault(f"row {record.line}, column pack", None, "the size of the pack, for instance 5 kg")


def _note_slips(record: Record, values: dict[tuple[str, float | None], Value], inspection: Inspection) -> None:
    """Note grams that would be read as kilograms, and a price that its own pack contradicts."""
    for header, cell in record.cells.items():
        name, unit = named(header)
        if name in ("stock", "pack") and not unit and (mass := values.get((name, None))) and mass.unit == "kg":
            note_mass(inspection.file, record.place(header), cell, mass.figure)
    price, pack, of_pack = (values.get((name, None)) for name in ("price", "pack", "pack price"))
    if price and pack and of_pack and pack.unit == "kg" and pack.figure > 0:
        per_kg = of_pack.figure / pack.figure
        if far_apart(price.figure, per_kg):
            words = f"{price.figure:g} is read as {price.figure:g} {price.unit}, but its pack comes to {per_kg:g}"
            run.note(inspection.file, f"{record.place('price')}: {words}")


def _constituents(record: Record, inspection: Inspection, source: str) -> tuple[Constituent, ...]:
    """What the cell `inci` declares: names with shares, or one name, which is all of it."""
    cell = record.get("inci")
    parts = [" ".join(part.split()) for part in cell.split(";") if part.strip()]
    shares = []
    for part in parts:
        try:
            shares.append(_share(part, alone=len(parts) == 1))
        except ValueError as error:
            inspection.fault(record.place("inci"), part, str(error))
    if len(shares) < len(parts):
        return ()
    total = sum(share for _, share in shares)
    if shares and abs(total - 100) > 0.5:
        inspection.fault(record.place("inci"), cell, f"shares that sum to 100 (they sum to {total:g})")
    return tuple(Constituent(name, "", _own(share, "%", source)) for name, share in shares)


def _share(part: str, alone: bool) -> tuple[str, float]:
    """A declared name and its share in %. A number belongs to the name where the name is known with it.

    Raises:
        ValueError: no share behind the name, or several names in one.
    """
    if blend := several(part):
        raise ValueError(f"a share in % after each name: {' ...; '.join(blend)} ...")
    name, share = share_behind(part)
    if share is not None:
        return name, share
    if alone and not part.endswith("%"):
        return part.removesuffix(" 100"), 100.0  # the one share that a lone name can have
    match = re.fullmatch(r"(.+?) ([\d.,]+) ?%?", part)
    if match is None or resolve(part).certain:
        raise ValueError("a share in % after each name: Aqua 70; Glycerin 30")
    return match[1], parse_number(match[2])
