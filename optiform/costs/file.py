"""What a jar costs beside its ingredients, and where it is sold, read from TOML.

loss = "4 %"                           # of what is weighed that never reaches a jar
vessel = "6 kg"                        # the most that is made at once

[shipping]
share = "8 %"                          # of a pack's price, on top of it
packs = { "shea butter, refined" = "4.80 EUR" }    # of one pack, where it is known

[packaging]                            # of one jar; "" is not known
jar = "0.62 EUR"
lid = "0.18 EUR"

[labour]
wage = "15 EUR/h"
steps = { "melt and mix" = { batch = "45 min" }, "fill" = { jar = "1.5 min" } }

[overhead]
month = "240 EUR"
units = 420                            # all units made in the month, of all products

[one_off]
"safety assessment" = { cost = "160 EUR", units = 1200 }

[price_steps]
wholesale = 2                          # times full cost
retail = 2                             # times wholesale

[channels]
"market stall" = { step = "retail", fee = "1.7 %", each = "0.10 EUR" }

Money is in the brief's currency.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from optiform.ingredients.catalogue import Catalogue
from optiform.reading.documents import read_document
from optiform.reading.faults import Inspection
from optiform.reading.near import one_of_the_keys
from optiform.reading.renamed import renamed_keys
from optiform.reading.units import parse_quantity

RENAMED = {"ladder": "price_steps"}  #: keys of the version before, and what they are called now
KEYS = ("loss", "vessel", "shipping", "packaging", "labour", "overhead", "one_off", "price_steps", "channels")
NEEDED = ("loss", "shipping", "packaging", "labour", "overhead")
STEPS = ("wholesale", "retail")


@dataclass(frozen=True)
class Step:
    """A step of the work: minutes for a batch whatever its size, and minutes for each jar."""

    name: str
    batch: float
    jar: float


@dataclass(frozen=True)
class OneOff:
    """A cost paid once, and the units it is expected to be spread over."""

    name: str
    cost: float
    units: float


@dataclass(frozen=True)
class Channel:
    """Where a jar is sold.

    Attributes:
        step: the price step whose price is asked here, unless `price` is set.
        discount: share of the price that is given up.
        fee: share of what the buyer pays that the market or the card takes; `each` is taken of every sale.
    """

    name: str
    step: str
    discount: float = 0.0
    fee: float = 0.0
    each: float = 0.0
    price: float | None = None


@dataclass(frozen=True)
class Costs:
    """Everything but ingredients. Money in the brief's currency, shares as fractions, masses in kg.

    Attributes:
        loss: share of the mass weighed that never reaches a jar.
        vessel: the most that is made at once; None for no such limit.
        shipping_share: of a pack's price; `shipping` names what a pack of one ingredient bears instead.
        packaging: of one jar; None is not known.
        wage: per hour.
        month, units: overhead of a month, and all units made in it, of all products.
        wholesale, retail: factors of the price steps.
    """

    loss: float
    shipping_share: float
    packaging: Mapping[str, float | None]
    wage: float
    steps: tuple[Step, ...]
    month: float
    units: float
    vessel: float | None = None
    shipping: Mapping[str, float] = field(default_factory=dict)
    one_offs: tuple[OneOff, ...] = ()
    wholesale: float = 2.0
    retail: float = 2.0
    channels: tuple[Channel, ...] = ()


def read_costs(path: Path, catalogue: Catalogue, currency: str) -> Costs:
    """The costs in a TOML file, with names of ingredients as in the catalogue.

    Raises:
        BadInput: with every fault of the file.
    """
    reader = _Reader(renamed_keys(read_document(path), RENAMED, str(path)), Inspection(str(path)), catalogue, currency)
    costs = reader.costs()
    reader.inspection.finish()
    return costs


class _Reader:
    """Reads one document; every method notes its faults and returns something usable, so that reading goes on."""

    def __init__(
        self, document: Mapping[str, Any], inspection: Inspection, catalogue: Catalogue, currency: str
    ) -> None:
        self.document, self.inspection = document, inspection
        self.catalogue, self.currency = catalogue, currency

    def costs(self) -> Costs:
        self.known(self.document, "", KEYS)
        for key in NEEDED:
            if key not in self.document:
                self.inspection.fault(key, "nothing", "its figures; write 0 where something costs nothing")
        shipping, labour = self.table("shipping", ("share", "packs")), self.table("labour", ("wage", "steps"))
        overhead, steps = self.table("overhead", ("month", "units")), self.table("price_steps", STEPS)
        return Costs(
            loss=self.below_one("loss", self.document.get("loss", 0)),
            vessel=self.positive("vessel", self.document["vessel"], "kg") if "vessel" in self.document else None,
            shipping_share=self.share("[shipping] share", self.needed(shipping, "shipping", "share")),
            shipping=dict(self.pack_shares(shipping)),
            packaging=dict(self.packaging()),
            wage=self.number("[labour] wage", self.needed(labour, "labour", "wage"), f"{self.currency}/h"),
            steps=tuple(self.steps(labour)),
            month=self.number("[overhead] month", self.needed(overhead, "overhead", "month"), self.currency),
            units=self.positive("[overhead] units", self.needed(overhead, "overhead", "units", 1), ""),
            one_offs=tuple(self.one_offs()),
            wholesale=self.positive("[price_steps] wholesale", steps.get("wholesale", 2), ""),
            retail=self.positive("[price_steps] retail", steps.get("retail", 2), ""),
            channels=tuple(self.channels()),
        )

    def pack_shares(self, shipping: Mapping[str, Any]) -> Iterator[tuple[str, float]]:
        for name, given in self.inner(shipping, "[shipping] packs", "packs").items():
            place = f"[shipping] packs, {name}"
            item = self.catalogue.find(name)
            if item is None:
                self.inspection.fault(place, name, self.catalogue.unknown(name))
            yield item.name if item else name, self.number(place, given, self.currency)

    def packaging(self) -> Iterator[tuple[str, float | None]]:
        for name, given in self.table("packaging").items():
            unknown = isinstance(given, str) and not given.strip()
            yield name, None if unknown else self.number(f"[packaging] {name}", given, self.currency)

    def steps(self, labour: Mapping[str, Any]) -> Iterator[Step]:
        if labour and "steps" not in labour:
            self.inspection.fault("[labour] steps", "nothing", "minutes per batch or jar of each step")
        for name, given in self.inner(labour, "[labour] steps", "steps").items():
            place = f"[labour] steps, {name}"
            minutes = self.entry(place, given, ("batch", "jar"), "minutes per batch, per jar or both")
            spent = [self.number(f"{place}, {word}", minutes.get(word, 0), "min") for word in ("batch", "jar")]
            yield Step(name, *spent)

    def one_offs(self) -> Iterator[OneOff]:
        for name, given in self.table("one_off").items():
            place = f"[one_off] {name}"
            cells = self.entry(place, given, ("cost", "units"), "a cost and the units it is spread over")
            if not {"cost", "units"} <= set(cells):
                self.inspection.fault(place, given, "both a cost and the units it is spread over")
            cost = self.number(f"{place}, cost", cells.get("cost", 0), self.currency)
            yield OneOff(name, cost, self.positive(f"{place}, units", cells.get("units", 1), ""))

    def channels(self) -> Iterator[Channel]:
        keys = ("step", "discount", "fee", "each", "price")
        for name, given in self.table("channels").items():
            place = f"[channels] {name}"
            cells = self.entry(place, given, keys, f"any of: {', '.join(keys)}")
            step = cells.get("step", "retail")
            if step not in STEPS:
                self.inspection.fault(f"{place}, step", step, f"one of: {', '.join(STEPS)}")
            price = self.positive(f"{place}, price", cells["price"], self.currency) if "price" in cells else None
            yield Channel(
                name=name,
                step=str(step),
                discount=self.below_one(f"{place}, discount", cells.get("discount", 0)),
                fee=self.below_one(f"{place}, fee", cells.get("fee", 0)),
                each=self.number(f"{place}, each", cells.get("each", 0), self.currency),
                price=price,
            )

    # -- cells -------------------------------------------------------------------------------------------------------

    def known(self, cells: Mapping[str, Any], place: str, keys: tuple[str, ...]) -> None:
        for key in sorted(set(cells) - set(keys)):
            where = f"{place} {key}".strip()
            self.inspection.fault(where, str(cells[key]), one_of_the_keys(key, keys))

    def table(self, key: str, keys: tuple[str, ...] | None = None) -> Mapping[str, Any]:
        found = self.inner(self.document, f"[{key}]", key)
        if keys is not None:
            self.known(found, f"[{key}]", keys)
        return found

    def inner(self, outer: Mapping[str, Any], place: str, key: str) -> Mapping[str, Any]:
        found = outer.get(key, {})
        if not isinstance(found, dict):
            self.inspection.fault(place, found, "a table")
            return {}
        return found

    def entry(self, place: str, given: Any, keys: tuple[str, ...], expected: str) -> Mapping[str, Any]:
        if not isinstance(given, dict) or not given:
            self.inspection.fault(place, given, expected)
            return {key: 1 for key in keys if key in ("cost", "units")}
        self.known(given, place + ",", keys)
        return given

    def needed(self, cells: Mapping[str, Any], table: str, key: str, stand_in: int = 0) -> Any:
        if table in self.document and isinstance(self.document[table], dict) and key not in cells:
            self.inspection.fault(f"[{table}] {key}", "nothing", "a figure; write 0 where it costs nothing")
        return cells.get(key, stand_in)

    def number(self, place: str, given: Any, unit: str) -> float:
        try:
            value = parse_quantity(given, unit)
        except ValueError as error:
            self.inspection.fault(place, given, str(error))
            return 0.0
        if value < 0:
            self.inspection.fault(place, given, "zero or more")
        return value

    def positive(self, place: str, given: Any, unit: str) -> float:
        before = len(self.inspection.faults)
        value = self.number(place, given, unit)
        if value <= 0:
            if len(self.inspection.faults) == before:
                self.inspection.fault(place, given, "more than nothing")
            return 1.0
        return value

    def share(self, place: str, given: Any) -> float:
        return self.number(place, given, "%") / 100

    def below_one(self, place: str, given: Any) -> float:
        value = self.share(place, given)
        if value >= 1:
            self.inspection.fault(place, given, "below 100 %")
            return 0.0
        return value
