"""Reading how a batch is made from TOML.

jar = "150 g"              # net mass of one; the brief's if left out
fill = "151 g"             # what goes into one jar
loss = "4 %"               # of what is weighed, stays in pots and tools
vessel = "5 kg"            # the most that is made at once
retained = 1               # jars kept back
hot = "70 degC"            # both phases, before they are combined
hold = "20 min"
combining = "5 min"
addition = "43 degC"       # cool-down additions
cools_fast = true          # a phenoxyethanol-and-glycol preservative then goes in at up to 49 degC
mixing = "8 min"           # before the grains
grains_at = "35 degC"

[cooling]                  # one observed point
room = "19 degC"
start = "70 degC"
later = "55 degC"
after = "18 min"

[[part]]                   # one for each scent or colour
name = "Unscented"
share = "40 %"             # or jars = 12, in every part
instead_of = ["fragrance oil"]
[part.lines]               # % of this part when finished
"iron oxide, red" = "0.1 %"
"""

from collections.abc import Mapping, Sequence
from math import nan
from pathlib import Path
from typing import Any

from optiform.batch.making import Making, Observed, OwnLine, Part
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula
from optiform.reading.documents import read_document
from optiform.reading.faults import Inspection
from optiform.reading.near import one_of_the_keys
from optiform.reading.units import parse_quantity

KEYS = (
    "jar", "fill", "loss", "vessel", "retained", "hot", "hold", "combining", "addition", "cools_fast", "mixing",
    "grains_at", "cooling", "part",
)  # fmt: skip
COOLING_KEYS = ("room", "start", "later", "after")
PART_KEYS = ("name", "share", "jars", "instead_of", "lines")
#: Keys that hold one quantity: unit, least and most that can be meant.
QUANTITIES = {
    "jar": ("g", 0.1, 1e5),
    "fill": ("g", 0.1, 1e5),
    "loss": ("%", 0.0, 50.0),
    "vessel": ("g", 0.1, 1e6),
    "hot": ("degC", 0.0, 150.0),
    "hold": ("min", 0.0, 600.0),
    "combining": ("min", 0.0, 600.0),
    "addition": ("degC", 0.0, 150.0),
    "mixing": ("min", 0.0, 600.0),
    "grains_at": ("degC", 0.0, 150.0),
}
AFTER_THE_SPLIT = ("cool-down", "grains")


def read_making(path: Path, catalogue: Catalogue, formula: Formula) -> Making:
    """How a batch of `formula` is made, from a TOML file.

    Raises:
        BadInput: with every fault of the file.
    """
    inspection = Inspection(str(path))
    making = _Reader(read_document(path), catalogue, formula, inspection).making()
    inspection.finish()
    return making


class _Reader:
    """Reads one document; every method notes its faults and returns something usable, so that reading goes on."""

    def __init__(
        self, document: Mapping[str, Any], catalogue: Catalogue, formula: Formula, inspection: Inspection
    ) -> None:
        self.document, self.catalogue, self.formula, self.inspection = document, catalogue, formula, inspection

    def making(self) -> Making:
        self._known("", self.document, KEYS)
        figures: dict[str, Any] = {
            key: self.quantity(key, self.document[key], *QUANTITIES[key]) for key in QUANTITIES if key in self.document
        }
        if "loss" in figures:
            figures["loss"] /= 100
        parts = self.parts()
        making = Making(
            **figures,
            retained=self.count("retained", self.document.get("retained", 0), 0),
            cools_fast=self.truth("cools_fast"),
            observed=self.observed(),
            parts=parts,
            counted=any("jars" in given for given in self._tables()),
            stated=frozenset(self.document),
        )
        self._in_order(making)
        return making

    def _in_order(self, making: Making) -> None:
        """What must not be above what."""
        if making.jar and making.fill and making.fill < making.jar:
            self.inspection.fault("fill", f"{making.fill:g} g", f"the net mass of {making.jar:g} g or more")
        for key, at in (("addition", making.addition), ("grains_at", making.grains_at)):
            if at is not None and at > making.hot:
                self.inspection.fault(key, f"{at:g} degC", f"{making.hot:g} degC (hot) or less")

    # -- single keys -------------------------------------------------------------------------------------------------

    def _known(self, where: str, table: Mapping[str, Any], keys: Sequence[str]) -> None:
        for key in sorted(set(table) - set(keys)):
            self.inspection.fault(f"{where}{key}", str(table[key]), one_of_the_keys(key, keys))

    def quantity(self, place: str, given: object, unit: str, least: float, most: float) -> float:
        """The quantity, or where it is none a nan: that is neither above nor below another, so no fault follows."""
        try:
            value = parse_quantity(given, unit)
        except ValueError as error:
            self.inspection.fault(place, given, str(error))
            return nan
        if not least <= value <= most:
            self.inspection.fault(place, given, f"{least:g} to {most:g} {unit}")
            return nan
        return value

    def count(self, place: str, given: object, least: int) -> int:
        if isinstance(given, bool) or not isinstance(given, int) or not least <= given <= 1_000_000:
            self.inspection.fault(place, given, f"a whole number from {least} on")
            return least
        return given

    def truth(self, key: str) -> bool:
        given = self.document.get(key, False)
        if not isinstance(given, bool):
            self.inspection.fault(key, given, "true or false, without quotes")
        return given is True

    def observed(self) -> Observed | None:
        given = self.document.get("cooling")
        if given is None:
            return None
        if not isinstance(given, dict):
            self.inspection.fault("[cooling]", given, f"a table with {', '.join(COOLING_KEYS)}")
            return None
        self._known("[cooling] ", given, COOLING_KEYS)
        lacking = [key for key in COOLING_KEYS if key not in given]
        if lacking:
            self.inspection.fault("[cooling]", ", ".join(given), f"also {', '.join(lacking)}")
            return None
        room, start, later = (
            self.quantity(f"[cooling] {key}", given[key], "degC", -30.0, 150.0) for key in COOLING_KEYS[:3]
        )
        after = self.quantity("[cooling] after", given["after"], "min", 0.1, 6000.0)
        if later <= room or start <= later:
            read = f"room {room:g}, start {start:g}, later {later:g} degC"
            self.inspection.fault("[cooling]", read, "a later temperature between the room's and that at the start")
            return None
        return Observed(room, start, later, after)

    # -- parts -------------------------------------------------------------------------------------------------------

    def _tables(self) -> list[Mapping[str, Any]]:
        given = self.document.get("part", [])
        return [each for each in given if isinstance(each, dict)] if isinstance(given, list) else []

    def parts(self) -> tuple[Part, ...]:
        given, tables = self.document.get("part", []), self._tables()
        if not isinstance(given, list) or len(tables) < len(given):
            self.inspection.fault("[[part]]", given, "tables headed [[part]]")
            return ()
        sizes = {key for table in tables for key in ("share", "jars") if key in table}
        if len(sizes) > 1:
            self.inspection.fault("[[part]]", "share and jars mixed", "share in every part, or jars in every part")
        parts = tuple(self.part(number, table) for number, table in enumerate(tables, 1))
        names = [part.name.casefold() for part in parts]
        for name in sorted({name for name in names if names.count(name) > 1}):
            self.inspection.fault("[[part]] name", name, "each name once")
        total = sum(part.weight for part in parts)
        if sizes == {"share"} and abs(total - 100) > 0.01:
            self.inspection.fault("[[part]] share", f"{total:g} % in all", "shares that sum to 100 %")
        return parts

    def part(self, number: int, table: Mapping[str, Any]) -> Part:
        place = f"[[part]] {number} "
        self._known(place, table, PART_KEYS)
        name = table.get("name")
        if not isinstance(name, str) or not name.strip():
            self.inspection.fault(f"{place}name", name, "a name")
            name = f"part {number}"
        lines = self.own_lines(place, table.get("lines", {}))
        return Part(name.strip(), self.weight(place, table), lines, self.instead_of(place, table.get("instead_of", [])))

    def weight(self, place: str, table: Mapping[str, Any]) -> float:
        if "jars" in table:
            return self.count(f"{place}jars", table["jars"], 1)
        if "share" in table:
            return self.quantity(f"{place}share", table["share"], "%", 0.01, 100.0)
        self.inspection.fault(f"{place}share", "nothing", "a share of the batch, or a number of jars")
        return 1.0

    def own_lines(self, place: str, given: object) -> tuple[OwnLine, ...]:
        if not isinstance(given, dict):
            self.inspection.fault(f"{place}lines", given, 'a table such as "fragrance oil" = "0.6 %"')
            return ()
        lines = [line for name, share in given.items() if (line := self.own_line(f"{place}{name}", name, share))]
        names = [line.ingredient.name for line in lines]
        for name in sorted({name for name in names if names.count(name) > 1}):
            self.inspection.fault(f"{place}lines", name, "each ingredient once")
        total = sum(line.fraction for line in lines)
        if total >= 1:
            self.inspection.fault(f"{place}lines", f"{100 * total:g} % in all", "less than 100 %")
        return tuple(lines)

    def own_line(self, place: str, name: str, given: object) -> OwnLine | None:
        item = self.catalogue.find(name)
        share = self.quantity(place, given, "%", 0.0, 100.0) / 100
        if item is None:
            self.inspection.fault(place, name, self.catalogue.unknown(name))
            return None
        phase = self.phase(item.name, item.phase)
        self._late(place, item.name, phase)
        return OwnLine(item, share, phase)

    def instead_of(self, place: str, given: object) -> tuple[str, ...]:
        if not isinstance(given, list) or not all(isinstance(name, str) for name in given):
            self.inspection.fault(f"{place}instead_of", given, "a list of names")
            return ()
        names = []
        for word in given:
            item = self.catalogue.find(word)
            if item is None or self.phase(item.name, "") == "":
                lines = ", ".join(line.ingredient.name for line in self.formula.lines)
                self.inspection.fault(f"{place}instead_of", word, f"a line of the formula: {lines}")
            else:
                self._late(f"{place}instead_of", item.name, self.phase(item.name, ""))
                names.append(item.name)
        return tuple(names)

    def phase(self, name: str, otherwise: str) -> str:
        return next((line.phase for line in self.formula.lines if line.ingredient.name == name), otherwise)

    def _late(self, place: str, name: str, phase: str) -> None:
        """What a part has of its own must go in after the common mass is divided."""
        if phase not in AFTER_THE_SPLIT:
            expected = "an ingredient of the cool-down or the grains: the parts share one pot until then"
            self.inspection.fault(place, f"{name} ({phase})", expected)
