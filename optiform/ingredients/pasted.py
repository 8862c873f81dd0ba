"""What a person pastes from a spreadsheet or types: names with amounts, or with prices and packs.

Names are looked up and never guessed: where one is not certain the row says what it is near, to be asked back.
"""

import csv
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from io import StringIO

from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.columns import amount, named
from optiform.ingredients.formula import AMOUNTS
from optiform.reading.faults import Fault
from optiform.reading.frozen import frozen
from optiform.reading.in_currency import number_of, other_named, other_than
from optiform.reading.tables import LONGEST as LONGEST_CELL
from optiform.reading.tables import restored
from optiform.reading.units import parse_number, parse_quantity

MOST = 200  #: rows; longer lists come as a file
SHORTEST = 4  #: letters of a first word by which others are found
FEW = 5  #: of those
CHARACTERS = 50_000  #: of a text that is pasted
_UNITS = {"%": "percent", "kg": "kg"} | dict.fromkeys(("g", "gr", "gram", "grams"), "grams")
_UNITS |= dict.fromkeys(("part", "parts"), "parts")
_NUMBER = r"\d[\d.,]*"
_UNIT = r"%|kg|grams?|gr?|parts?"
_BEHIND = re.compile(rf"^(?P<name>.*?\S)[\s:,;=]+(?P<number>{_NUMBER})\s*(?P<unit>{_UNIT})?\.?$", re.IGNORECASE)
_BEFORE = re.compile(rf"^(?P<number>{_NUMBER})\s*(?P<unit>{_UNIT})?\s+(?P<name>\S.*)$", re.IGNORECASE)
_PER = re.compile(r"^(price|cost) per (\d* ?k?g)$")
_PER_MASS = re.compile(r"\s*(?:/|\bper\b)\s*(?P<mass>\d{0,4} ?[A-Za-z]+)\s*$", re.IGNORECASE)  # behind a price
_MASSES = ("kg", "g", "lb", "oz", "mg")
_SUM = ("total", "sum", "totals")
_COLUMNS = {"name": "ingredient", "material": "ingredient", "raw material": "ingredient", "pack price": "price",
            "cost": "price", "in stock": "stock", "there": "stock"}  # fmt: skip


@frozen
class Named:
    """A row: the name as written, the ingredient it is (empty where that is not certain), and what it is near."""

    written: str
    ingredient: str
    near: tuple[str, ...] = ()


@frozen
class Amount(Named):
    """A line of a formula, in the unit of all lines, and its phase where that was written."""

    amount: float = 0.0
    phase: str = ""


@frozen
class Pack(Named):
    """Something on the shelf: price of a pack (money), mass of a pack and of what is there (kg), where written.

    `row` is the number of its line in the text that was pasted.
    """

    price: float | None = None
    pack: float | None = None
    stock: float | None = None
    row: int = 0


@frozen
class Pasted:
    """A formula as pasted: its lines, the column they are amounts of, and every row that cannot be read."""

    lines: tuple[Amount, ...]
    column: str
    faults: tuple[Fault, ...] = ()

    @property
    def total(self) -> float:
        """What the amounts sum to."""
        return sum(line.amount for line in self.lines)


def formula_in(text: str, catalogue: Catalogue) -> Pasted:
    r"""The formula in a text: a table with a header, columns of a spreadsheet, or a line for each ingredient.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> pasted = formula_in("Beeswax 20 %\n30 % shea buter\nolive oil: 50", read_catalogue())
        >>> [(line.ingredient, line.amount) for line in pasted.lines], pasted.column, pasted.lines[1].near[0]
        ([('beeswax', 20.0), ('', 30.0), ('olive oil', 50.0)], 'percent', 'shea butter, refined')
    """
    lines: list[Amount] = []
    faults: list[Fault] = []
    units: list[str] = []
    for number, name, cells in _rows(text, faults):
        if name.casefold().rstrip(":") in _SUM:
            continue
        written = cells.get("percent") or cells.get("grams") or cells.get("parts") or cells.get("amount") or ""
        unit = next((column for column in AMOUNTS if cells.get(column)), cells.get("unit", ""))
        try:
            amount = parse_number(written) * (1000 if unit == "kg" else 1)
        except ValueError:
            words = "a name with its amount: shea butter 20 %"
            faults.append(Fault(f"row {number}", name, written or "no amount", words))
            continue
        units.append("grams" if unit == "kg" else unit)
        lines.append(Amount(name, *_meant(name, catalogue), amount=amount, phase=cells.get("phase", "").casefold()))
    known = {unit for unit in units if unit}
    if len(known) > 1:
        faults.append(Fault("the formula", "amounts", " and ".join(sorted(known)), "one of them throughout"))
    return Pasted(tuple(lines), next(iter(known), "percent" if lines else ""), tuple(faults))


def shelf_in(text: str, catalogue: Catalogue, currency: str) -> tuple[tuple[Pack, ...], tuple[Fault, ...]]:
    r"""What is on the shelf, from a table: name, price of a pack, pack (kg where no unit stands), and what is there.

    Units in a header count: `stock (g)`, and a `price (EUR/kg)` is that of the pack, of 1 kg where none stands.

    Args:
        text: as it was pasted.
        catalogue: whose names are known.
        currency: in which prices are kept; a price in another one is a fault of its row, or of the header.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> (row,), _ = shelf_in("glycerin\t21.00\t5 kg", read_catalogue(), "EUR")
        >>> row.ingredient, row.price, row.pack
        ('glycerin', 21.0, 5.0)
        >>> print(*shelf_in("glycerin\t£9", read_catalogue(), "EUR")[1])
        row 1: glycerin: “£9” says £, and prices are in EUR here. Write what it costs in EUR, or change the currency.
    """
    faults: list[Fault] = []
    packs = []
    for number, name, cells in _rows(text, faults):
        cells["price"] = " ".join(cells.get("price", "").split())  # patterns take their time on many spaces
        found = _other_currency(number, name, cells, currency) or _run_on(number, name, cells)
        cell = cells.get("price", "")
        try:
            price, per = _price(cell, cells.pop("per", "")) if not found else (None, "")
            cell = cells.get("pack", "")
            pack = parse_quantity(cell, "kg") if cell else None
            cell = cells.get("stock", "")
            stock = parse_quantity(cell, "kg") if cell else None
            cell = cells.get("price", "")
            if price is not None and per:
                mass = _of_a_mass(per)
                pack = mass if pack is None else pack
                price *= pack / mass
        except ValueError as error:
            found.append(Fault(f"row {number}", name, repr(cell), str(error)))
        faults += [fault for fault in found if fault not in faults]
        if not found:
            packs.append(Pack(name, *_meant(name, catalogue), price=price, pack=pack, stock=stock, row=number))
    return tuple(packs), tuple(faults)


def left_in(text: str, rows: Collection[int]) -> tuple[str, int]:
    r"""What is left of a text when some of its rows have gone to the shelf, and how many rows that is.

    The header stays as long as a row is under it, since it says what the cells are.

    Example:
        >>> left_in("glycerin\t21\nolive oil\t£9\n", {1}), left_in("ingredient\tprice\nglycerin\t21", {2})
        (('olive oil\t£9', 1), ('', 0))
    """
    table = _table(text)
    heads = {table[0][0]} if table and _header(table[0][1]) else set()
    left = {number for number, _ in table} - heads - set(rows)
    lines = [line for number, line in enumerate(text.splitlines(), 1) if left and number in left | heads]
    return "\n".join(lines), len(left)


def _other_currency(number: int, name: str, cells: Mapping[str, str], currency: str) -> list[Fault]:
    """What is wrong with a price that is not in the currency in which prices are kept: of a row, or of the header."""
    cell, header = cells.get("price", ""), cells.get("money", "")
    if not re.search(r"\d", cell):
        return []
    expected, advice = f"a price in {currency}", f"Write what it costs in {currency}, or change the currency."
    here = f"and prices are in {currency} here. {advice}"
    if other := other_than(currency, _PER_MASS.sub("", cell)):
        return [Fault(f"row {number}", name, repr(cell), expected, f"{name}: “{cell}” says {other}, {here}")]
    if other := other_named(currency, header):
        return [Fault("the header", "price", repr(header), expected, f"its price says {other.upper()}, {here}")]
    return []


def _run_on(number: int, name: str, cells: Mapping[str, str]) -> list[Fault]:
    """What is wrong with a number behind a name that stands in no column: a price or a mass; percent are of a name."""
    unit = cells.get("unit", "")
    if not cells.get("amount") or cells["price"] or unit == "percent":
        return []
    written, expected = f"{cells['amount']} {unit}".rstrip(), "name, price, pack and what is there, each in a column"
    words = f"{name}: “{written}” stands in no column. Put a tab or a semicolon between name, price and pack."
    return [Fault(f"row {number}", name, repr(written), expected, words)]


def _price(cell: str, per: str) -> tuple[float | None, str]:
    """The number of a price and the mass it is of, where the cell or its header say one; None where nothing stands."""
    of = _PER_MASS.search(cell)
    return (number_of(cell[: of.start()] if of else cell) if cell else None), _mass_of(f"/{of['mass']}") if of else per


def _meant(name: str, catalogue: Catalogue) -> tuple[str, tuple[str, ...]]:
    item = catalogue.find(name)
    if item:
        return item.name, ()
    first = name.split()[0] if name.split() else ""
    alike = [found.name for found in catalogue.search(first)] if len(first) >= SHORTEST else []
    return "", tuple(dict.fromkeys([*alike[:FEW], *catalogue.near(name)]))


def _rows(text: str, faults: list[Fault]) -> Iterator[tuple[int, str, dict[str, str]]]:
    """Number, name and the other cells of every row, by column."""
    if len(text) > CHARACTERS:
        faults.append(Fault("the text", "length", f"{len(text)} characters", f"at most {CHARACTERS}: load a file"))
        return
    table = _table(text)
    header = _header(table[0][1]) if table else None
    for number, cells in table[1:] if header else table:
        if len(cells[0]) > LONGEST_CELL or number > MOST:
            faults.append(Fault(f"row {number}", "row", "a row too long or too many", f"at most {MOST} rows of a list"))
            return
        if header:
            row = {name: _with_unit(cell, unit) for (name, unit), cell in zip(header, cells, strict=False)}
            unit = next((unit for name, unit in header if name == "price"), "")
            row |= {"per": _mass_of(unit), "money": unit.partition("/")[0]}
            name = row.pop("ingredient", "")
        else:
            name, row = _without_header(cells)
        if name:
            yield number, name, row


def _table(text: str) -> list[tuple[int, list[str]]]:
    """The rows that are not blank, in cells: by tab or semicolon, or by comma under a header; else as one cell."""
    lines = [(number, line.strip()) for number, line in enumerate(text.splitlines(), 1) if line.strip(" \t;,")]
    if not lines:
        return []
    first = lines[0][1]
    delimiter = next((mark for mark in "\t;" if mark in text), "," if _header(_cells(first, ",")) else "")
    return [(number, _cells(line, delimiter)) for number, line in lines]


def _cells(line: str, delimiter: str) -> list[str]:
    if not delimiter:
        return [line]
    row = next(csv.reader(StringIO(line), delimiter=delimiter), [line])
    return [restored(cell).strip() for cell in row]


def _header(cells: Sequence[str]) -> list[tuple[str, str]] | None:
    """The columns' names with their units, if this row is a header."""
    columns = [named(_PER.sub(r"\1 (/\2)", amount(" ".join(cell.lower().split())))) for cell in cells]
    plain = [(_COLUMNS.get(name, name), unit) for name, unit in columns]
    return plain if "ingredient" in dict(plain) else None


def _with_unit(cell: str, unit: str) -> str:
    """A bare number with the mass that its column's header is in."""
    return f"{cell} {unit}" if unit in _MASSES and re.fullmatch(_NUMBER, cell) else cell


def _of_a_mass(per: str) -> float:
    try:
        return parse_quantity(per, "kg")
    except ValueError:
        raise ValueError(f"a price of a mass, such as EUR/kg, not of {per}") from None


def _mass_of(unit: str) -> str:
    """The mass that a price is of: `1 kg` of `eur/kg`; empty where it is of a pack."""
    mass = unit.partition("/")[2].strip()
    return mass if not mass or mass[0].isdigit() else f"1 {mass}"


def _without_header(cells: Sequence[str]) -> tuple[str, dict[str, str]]:
    """Name and the other cells of a row whose columns nobody named."""
    if len(cells) == 1:
        before, behind = _BEFORE.match(cells[0]), _BEHIND.match(cells[0])
        match = before if before and before["unit"] else behind or before  # 3 % sorbitol, 70 %
        if match is None:
            return cells[0], {}
        return match["name"].strip(), _amount(match["number"], match["unit"] or "")
    if re.match(rf"^{_NUMBER}", cells[0]) and not re.match(rf"^{_NUMBER}", cells[1]):
        cells = [cells[1], cells[0], *cells[2:]]
    name, rest = cells[0], [cell for cell in cells[1:] if cell]
    match = re.match(rf"^({_NUMBER})\s*({_UNIT})?$", rest[0], re.IGNORECASE) if rest else None
    row = _amount(match[1], match[2] or "") if match else {}
    row["price"] = rest[0] if rest else ""
    row["pack"], row["stock"] = (rest[k] if len(rest) > k else "" for k in (1, 2))
    return name, row


def _amount(number: str, unit: str) -> dict[str, str]:
    return {"amount": number.rstrip("."), "unit": _UNITS.get(unit.casefold(), "")}
