"""What is to be made and where packs can be bought, read from TOML.

title = "For the winter market"
date = 2026-12-05                 # the making; lots that expire before it are not used
offers = "offers.csv"             # beside the plan
lots = "lots.csv"
leftover = "0 %"                  # share of its price at which what is left over of a pack counts

[[product]]
brief = "brief.toml"
formula = "today.csv"             # default: the brief's reference
jars = 60
jar = "150 g"                     # default: the brief's
loss = "4 %"

[suppliers."Tarn Mill"]
postage = "8.50 EUR"              # of one order, whatever it holds
free_from = "150 EUR"             # value of the goods from which it is sent free
"""

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.ingredients.formula import Formula, read_formula
from optiform.reading import clock
from optiform.reading.documents import beside, read_document
from optiform.reading.faults import BadInput, Inspection
from optiform.reading.near import one_of_the_keys
from optiform.reading.units import parse_quantity
from optiform.reading.values import Comparable

KEYS = ("title", "date", "offers", "lots", "leftover", "product", "suppliers")
PRODUCT = ("name", "brief", "formula", "jars", "jar", "loss")
SUPPLIER = ("postage", "free_from")


@dataclass(frozen=True, eq=False, repr=False)
class Product(Comparable):
    """So many jars of a formula. `jar`: net mass of one, kg; `loss`: share of the mass weighed that reaches none."""

    name: str
    brief: Brief
    formula: Formula
    jars: int
    jar: float
    loss: float

    @property
    def weighed(self) -> float:
        """Kg to weigh, loss included."""
        return self.jars * self.jar / (1 - self.loss)


@dataclass(frozen=True)
class Order:
    """What an order of a supplier costs beside its goods, and the value from which it is sent free; None for never."""

    postage: float = 0.0
    free_from: float | None = None


@dataclass(frozen=True, eq=False, repr=False)
class Plan(Comparable):
    """What is made on a day, and on what terms packs are bought. Money in the briefs' currency.

    Attributes:
        leftover: share of its price at which what is left over of a bought pack counts.
        offers, lots: files the plan names; None where it names none.
    """

    title: str
    date: datetime.date
    currency: str
    products: tuple[Product, ...]
    suppliers: Mapping[str, Order]
    leftover: float = 0.0
    offers: Path | None = None
    lots: Path | None = None


def read_plan(path: Path) -> Plan:
    """The plan in a TOML file, with the briefs and formulas it names.

    Raises:
        BadInput: with every fault of the plan and of the files it names.
    """
    reader = _Reader(path, read_document(path))
    plan = reader.plan()
    reader.inspection.finish()
    return plan


class _Reader:
    """Reads one document; every method notes its faults and returns something usable, so that reading goes on."""

    def __init__(self, path: Path, document: Mapping[str, Any]) -> None:
        self.path, self.document, self.inspection = path, document, Inspection(str(path))
        self.briefs: dict[str, Brief | None] = {}

    def plan(self) -> Plan:
        self.known(self.document, "", KEYS)
        products = tuple(self.products())
        currencies = {product.brief.currency for product in products}
        if len(currencies) > 1:
            self.inspection.fault("[[product]] brief", ", ".join(sorted(currencies)), "briefs of one currency")
        currency = next(iter(sorted(currencies)), "EUR")
        return Plan(
            title=str(self.document.get("title", self.path.stem)),
            date=self.date(),
            currency=currency,
            products=products,
            suppliers=dict(self.suppliers(currency)),
            leftover=self.below_one("leftover", self.document.get("leftover", 0)),
            offers=self.beside("offers"),
            lots=self.beside("lots"),
        )

    def date(self) -> datetime.date:
        given = self.document.get("date", clock.today())
        if isinstance(given, datetime.datetime) or not isinstance(given, datetime.date):
            self.inspection.fault("date", given, "a date such as 2026-12-05, without quotes")
            return clock.today()
        return given

    def beside(self, key: str) -> Path | None:
        given = self.document.get(key)
        if given is not None and not isinstance(given, str):
            self.inspection.fault(key, given, "the name of a file beside the plan")
        return self.file(key, given) if isinstance(given, str) else None

    def file(self, place: str, name: str) -> Path | None:
        return beside(self.path, place, name, self.inspection)

    def products(self) -> Iterator[Product]:
        given = self.document.get("product", [])
        if not isinstance(given, list) or not given or not all(isinstance(each, dict) for each in given):
            self.inspection.fault("[[product]]", given, "one table or more")
            return
        for number, cells in enumerate(given, 1):
            product = self.product(f"[[product]] {number}", cells)
            if product:
                yield product

    def product(self, place: str, cells: Mapping[str, Any]) -> Product | None:
        self.known(cells, place + ",", PRODUCT)
        brief = self.brief(place, cells.get("brief"))
        formula = self.formula(place, cells.get("formula"), brief) if brief else None
        jars = cells.get("jars")
        if isinstance(jars, bool) or not isinstance(jars, int) or jars < 1:
            self.inspection.fault(f"{place}, jars", jars, "a whole number, 1 or more")
            jars = 1
        jar = self.number(f"{place}, jar", cells["jar"], "kg", above=True) if "jar" in cells else None
        if "loss" not in cells:
            self.inspection.fault(f"{place}, loss", "nothing", "the share that is lost on the way; 0 where nothing is")
        loss = self.below_one(f"{place}, loss", cells.get("loss", 0))
        if brief is None:
            return None
        if jar is None and brief.jar is None:
            self.inspection.fault(f"{place}, jar", "nothing", "the net mass of a jar, here or in the brief")
        if formula is None:
            return None
        return Product(str(cells.get("name", formula.name)), brief, formula, jars, jar or brief.jar or 1.0, loss)

    def brief(self, place: str, name: Any) -> Brief | None:
        if not isinstance(name, str):
            self.inspection.fault(f"{place}, brief", name, "a brief beside the plan")
            return None
        if name not in self.briefs:
            self.briefs[name] = self._brief(place, name)
        return self.briefs[name]

    def _brief(self, place: str, name: str) -> Brief | None:
        path = self.file(f"{place}, brief", name)
        if path is None:
            return None
        try:
            return read_brief(path)
        except BadInput as bad:
            self.inspection.faults.extend(bad.faults)
            return None

    def formula(self, place: str, name: Any, brief: Brief) -> Formula | None:
        if name is None:
            if brief.reference is None:
                self.inspection.fault(f"{place}, formula", "nothing", "a formula here or a reference in the brief")
            return brief.reference
        path = self.file(f"{place}, formula", str(name))
        if path is None:
            return None
        try:
            return read_formula(path, brief.catalogue).formula
        except BadInput as bad:
            self.inspection.faults.extend(bad.faults)
            return None

    def suppliers(self, currency: str) -> Iterator[tuple[str, Order]]:
        given = self.document.get("suppliers", {})
        if not isinstance(given, dict) or not all(isinstance(cells, dict) for cells in given.values()):
            self.inspection.fault("[suppliers]", given, "a table for each supplier")
            return
        for name, cells in given.items():
            place = f"[suppliers] {name}"
            self.known(cells, place + ",", SUPPLIER)
            free = cells.get("free_from")
            yield (
                name,
                Order(
                    self.number(f"{place}, postage", cells.get("postage", 0), currency),
                    None if free is None else self.number(f"{place}, free_from", free, currency, above=True),
                ),
            )

    # -- cells -------------------------------------------------------------------------------------------------------

    def known(self, cells: Mapping[str, Any], place: str, keys: tuple[str, ...]) -> None:
        for key in sorted(set(cells) - set(keys)):
            self.inspection.fault(f"{place} {key}".strip(), str(cells[key]), one_of_the_keys(key, keys))

    def number(self, place: str, given: Any, unit: str, above: bool = False) -> float:
        try:
            value = parse_quantity(given, unit)
        except ValueError as error:
            self.inspection.fault(place, given, str(error))
            return 1.0
        if value < 0 or (above and value == 0):
            self.inspection.fault(place, given, "more than nothing" if above else "zero or more")
            return 1.0
        return value

    def below_one(self, place: str, given: Any) -> float:
        before = len(self.inspection.faults)
        value = self.number(place, given, "%") / 100
        if value >= 1:
            self.inspection.fault(place, given, "below 100 %")
        return value if value < 1 and len(self.inspection.faults) == before else 0.0
