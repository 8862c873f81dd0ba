"""Reading how a batch is made from TOML.

What such a file can say stands in KEYS; `optiform guide making` shows a whole one.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from math import nan
from pathlib import Path

from optiform.batch.making import Making, Observed, OwnLine, Part
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula
from optiform.reading import keys
from optiform.reading.cells import Cells, between
from optiform.reading.documents import read_document
from optiform.reading.faults import Inspection
from optiform.reading.frozen import frozen


@frozen
class Figure:
    """A key that holds one quantity.

    Attributes:
        label: what a form calls it.
        unit: of a bare number.
        least, most: what can be meant.
        otherwise: what counts without it where the default is no figure.
    """

    label: str
    unit: str
    least: float
    most: float
    otherwise: str = ""

    @property
    def holds(self) -> keys.Holds:
        """What the key holds."""
        return keys.amount(self.label)


QUANTITIES = {
    "loss": Figure("Lost of what is weighed", "%", 0.0, 50.0),
    "jar": Figure("Net mass of a jar", "g", 0.1, 1e5, "the brief's"),
    "fill": Figure("Filled into a jar", "g", 0.1, 1e5, "the net mass"),
    "volume": Figure("A jar holds", "mL", 0.1, 1e5, "not said"),
    "cup": Figure("A level 100 mL cup weighs", "g", 5.0, 500.0, "not weighed"),
    "vessel": Figure("Made at once, at most", "g", 0.1, 1e6, "no limit"),
    "from_batch": Figure("Weighed of the batch made so far", "g", 0.1, 1e6, "not said"),
    "hot": Figure("Heat both phases to", "degC", 0.0, 150.0),
    "hold": Figure("Hold there", "min", 0.0, 600.0),
    "combining": Figure("Combine for", "min", 0.0, 600.0),
    "addition": Figure("Cool-down goes in at", "degC", 0.0, 150.0),
    "mixing": Figure("Mix before the grains", "min", 0.0, 600.0),
    "grains_at": Figure("Grains go in at", "degC", 0.0, 150.0, "by your trials"),
}
COOLING = {
    "room": Figure("Room", "degC", -30.0, 150.0),
    "start": Figure("Mass at the start", "degC", -30.0, 150.0),
    "later": Figure("Mass later", "degC", -30.0, 150.0),
    "after": Figure("After", "min", 0.1, 6000.0),
}
PART: keys.Keys = {
    "name": keys.text(),
    "share": keys.amount("of the batch; in every part, or in none"),
    "jars": keys.count("or so many, in every part"),
    "instead_of": keys.texts("lines of the formula that it goes without"),
    "lines": keys.named(keys.number(), "% of the part when it is finished"),
}
_POINT: keys.Keys = {key: figure.holds for key, figure in COOLING.items()}
KEYS: keys.Keys = {
    **{key: figure.holds for key, figure in QUANTITIES.items()},
    "retained": keys.count("jars kept back", 0),
    "cools_fast": keys.truth("the mass cools fast: a preservative that may goes in warmer"),
    "cooling": keys.table(_POINT, "one observed point of the cooling", needed=tuple(_POINT)),
    "part": keys.many(keys.table(PART, needed=("name",)), "one for each scent or colour"),
}
_SHARE, _OWN_SHARE = Figure("", "%", 0.01, 100.0), Figure("", "%", 0.0, 100.0)
AFTER_THE_SPLIT = ("cool-down", "grains")


def read_making(path: Path, catalogue: Catalogue, formula: Formula, jar: float | None = None) -> Making:
    """How a batch of `formula` is made, from a TOML file.

    Args:
        path: the file.
        catalogue: to find names in.
        formula: what is made.
        jar: net mass of one where the file does not say it, kg; None where nothing does.

    Raises:
        BadInput: with every fault of the file.
    """
    inspection = Inspection(str(path))
    making = _making(Cells(read_document(path), inspection), catalogue, formula, 1000 * jar if jar else None)
    inspection.finish()
    return making


def _making(cells: Cells, catalogue: Catalogue, formula: Formula, jar: float | None) -> Making:
    cells.only(KEYS, "making")
    figures = {key: _figure(cells, key, figure) for key, figure in QUANTITIES.items() if key in cells}
    if "loss" in figures:
        figures["loss"] /= 100
    tables = cells.numbered("part", "tables headed [[part]]")
    making = Making(
        **figures,
        retained=cells.count("retained", 0, 0),
        cools_fast=cells.truth("cools_fast"),
        observed=_observed(cells) if "cooling" in cells else None,
        parts=_parts(cells, tables, catalogue, formula),
        counted=any("jars" in table for table in tables),
        stated=frozenset(cells.table),
    )
    _in_order(cells, making, making.jar or jar)
    return making


def _figure(cells: Cells, key: str, of: Figure) -> float:
    """The figure, or where it is none a nan: that is neither above nor below another, so no fault follows."""
    return cells.quantity(key, of.unit, nan, between(of.least, of.most, of.unit))


def _in_order(cells: Cells, making: Making, jar: float | None) -> None:
    """What must not be above what; `jar` is the net mass of one, g."""
    if jar and making.fill and making.fill < jar:
        cells.fault("fill", cells.table["fill"], f"the net mass of {jar:g} g or more")
    for key, at in (("addition", making.addition), ("grains_at", making.grains_at)):
        if at is not None and at > making.hot:
            usual = "" if key in cells else f"; without the key {key} it is {at:g} degC"
            cells.fault(key, cells.table.get(key, f"{at:g} degC"), f"at most {making.hot:g} degC, as in hot{usual}")


def _observed(cells: Cells) -> Observed | None:
    cooling = cells.within("cooling", COOLING, f"a table with {', '.join(COOLING)}")
    lacking = [key for key in COOLING if key not in cooling]
    if lacking:
        if isinstance(cells.table["cooling"], dict):
            cooling.fault("", ", ".join(cooling.table), f"also {', '.join(lacking)}")
        return None
    room, start, later, after = (_figure(cooling, key, figure) for key, figure in COOLING.items())
    if later <= room or start <= later:
        read = f"room {room:g}, start {start:g}, later {later:g} degC"
        words = f"{cooling.where}: later ({later:g} °C) must lie between room ({room:g} °C) and start ({start:g} °C)."
        cooling.fault("", read, "a later temperature between the room's and that at the start", words)
        return None
    return Observed(room, start, later, after)


# -- parts -------------------------------------------------------------------------------------------------------------


def _parts(cells: Cells, tables: Sequence[Cells], catalogue: Catalogue, formula: Formula) -> tuple[Part, ...]:
    sizes = {key for table in tables for key in ("share", "jars") if key in table}
    if len(sizes) > 1:
        cells.fault("[[part]]", "share and jars mixed", "share in every part, or jars in every part")
    parts = tuple(_part(table, number, catalogue, formula) for number, table in enumerate(tables, 1))
    for name in _twice(part.name.casefold() for part in parts):
        cells.fault("[[part]] name", name, "each name once")
    total = sum(part.weight for part in parts)
    if sizes == {"share"} and abs(total - 100) > 0.01:
        cells.fault("[[part]] share", f"{total:g} % in all", "shares that sum to 100 %")
    return parts


def _twice(names: Iterable[str]) -> list[str]:
    return sorted(name for name, times in Counter(names).items() if times > 1)


def _part(cells: Cells, number: int, catalogue: Catalogue, formula: Formula) -> Part:
    cells.only(PART)
    name = cells.text("name", "", "a name").strip()
    if not name:
        cells.fault("name", cells.table.get("name"), "a name")
    lines = _own_lines(cells.within("lines", expected='a table such as "fragrance oil" = "0.6 %"'), catalogue, formula)
    return Part(name or f"part {number}", _weight(cells), lines, tuple(_instead_of(cells, catalogue, formula)))


def _weight(cells: Cells) -> float:
    if "jars" in cells:
        return cells.count("jars", 1, 1)
    cells.lacks("share", "a share of the batch, or a number of jars")
    return _figure(cells, "share", _SHARE)


def _own_lines(cells: Cells, catalogue: Catalogue, formula: Formula) -> tuple[OwnLine, ...]:
    lines = [line for name in cells.table if (line := _own_line(cells, name, catalogue, formula))]
    for name in _twice(line.ingredient.name for line in lines):
        cells.fault("", name, "each ingredient once")
    total = sum(line.fraction for line in lines)
    if total >= 1:
        cells.fault("", f"{100 * total:g} % in all", "less than 100 %")
    return tuple(lines)


def _own_line(cells: Cells, name: str, catalogue: Catalogue, formula: Formula) -> OwnLine | None:
    share = _figure(cells, name, _OWN_SHARE) / 100
    item = cells.known(name, name, catalogue)
    if item is None:
        return None
    phase = _phase(formula, item.name) or item.phase
    _inspect_late(cells, name, item.name, phase)
    return OwnLine(item, share, phase)


def _instead_of(cells: Cells, catalogue: Catalogue, formula: Formula) -> Iterator[str]:
    for word in cells.texts("instead_of", "a list of names"):
        item = catalogue.find(word)
        phase = _phase(formula, item.name) if item else ""
        if item and phase:
            _inspect_late(cells, "instead_of", item.name, phase)
            yield item.name
        else:
            names = ", ".join(line.ingredient.name for line in formula.lines)
            cells.fault("instead_of", word, f"a line of the formula: {names}")


def _phase(formula: Formula, name: str) -> str:
    """When an ingredient of the formula goes in; empty for one that it has not."""
    return next((line.phase for line in formula.lines if line.ingredient.name == name), "")


def _inspect_late(cells: Cells, key: str, name: str, phase: str) -> None:
    """What a part has of its own must go in after the common mass is divided."""
    if phase not in AFTER_THE_SPLIT:
        expected = "an ingredient of the cool-down or the grains: the parts share one pot until then"
        cells.fault(key, f"{name} ({phase})", expected)
