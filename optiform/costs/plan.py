"""What is to be made and where packs can be bought, read from TOML.

What a plan can say stands in KEYS; `optiform guide buying` shows a whole one.
"""

import datetime
import math
from collections.abc import Iterator, Mapping
from pathlib import Path

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.costs.file import Step, read_costs
from optiform.ingredients.formula import Formula, read_formula
from optiform.reading import keys
from optiform.reading.cells import Cells, below_all, between, positive
from optiform.reading.documents import read_document
from optiform.reading.faults import Inspection
from optiform.reading.frozen import frozen
from optiform.reading.values import Comparable

PRODUCT: keys.Keys = {
    "name": keys.text(),
    "brief": keys.text("file beside the plan"),
    "formula": keys.text("file; the brief's reference if left out, and for optiform range without one the brief alone"),
    "jars": keys.count(),
    "fewest": keys.count("jars that optiform range --use-up may come down to"),
    "jar": keys.amount("net mass of one; the brief's if left out"),
    "loss": keys.amount("of what is weighed, that never reaches a jar"),
    "move": keys.amount("how far a line may move, % points; 0 keeps the formula; for optiform range"),
    "own": keys.texts("lines beside a common base; scents and colours if left out"),
}
SUPPLIER: keys.Keys = {
    "postage": keys.money("of one order, whatever it holds"),
    "free_from": keys.money("value of the goods from which it is sent free"),
    "days": keys.count("from the order to the door", 0),
}
KEYS: keys.Keys = {
    "title": keys.text("what it is called; the file's name if left out"),
    "date": keys.date("of the making, without quotes; today if left out. Lots that expire before it are not used"),
    "offers": keys.text("file of offers beside the plan"),
    "lots": keys.text("file of lots beside the plan"),
    "leftover": keys.amount("share of its price at which what is left over of a pack counts"),
    "costs": keys.text("file beside the plan, for its minutes of work"),
    "vessel": keys.amount("the most that is made at once"),
    "goes": keys.count("at most so many goes in all; for optiform range"),
    "product": {**keys.many(keys.table(PRODUCT, needed=("brief", "jars", "loss")), "what is made"), "minItems": 1},
    "suppliers": keys.named(keys.table(SUPPLIER), "of one order; sent free if left out"),
}


@frozen
class Product(Comparable):
    """So many jars of a formula.

    Attributes:
        formula: without lines where it is still to be designed from the brief.
        jar: net mass of one, kg.
        loss: share of the mass weighed that reaches none.
        move: how far a line may move where formulas are open, mass fraction; the line that fills up is free.
        fewest: jars that it may come down to where a stock is to be used up; `jars` where None.
        own: lines that are no part of a base shared with others; None for scents and colours.
    """

    name: str
    brief: Brief
    formula: Formula
    jars: int
    jar: float
    loss: float
    move: float = 1.0
    fewest: int | None = None
    own: tuple[str, ...] | None = None

    @property
    def weighed(self) -> float:
        """Kg to weigh, loss included."""
        return self.jars * self.each

    @property
    def each(self) -> float:
        """Kg to weigh for one jar, loss included."""
        return self.jar / (1 - self.loss)

    def goes(self, vessel: float) -> int:
        """In how many goes it is made in a vessel that holds so many kg."""
        return math.ceil(self.weighed / vessel - 1e-9)


@frozen
class Order:
    """What an order of a supplier costs beside its goods, and the value from which it is sent free; None for never.

    `days` from the order to the door; None where they are not known.
    """

    postage: float = 0.0
    free_from: float | None = None
    days: int | None = None


@frozen
class Plan(Comparable):
    """What is made on a day, and on what terms packs are bought. Money in the briefs' currency.

    Attributes:
        leftover: share of its price at which what is left over of a bought pack counts.
        offers, lots: files the plan names; None where it names none.
        vessel: the most that is made at once, kg; None for no such limit.
        most_goes: at most so many goes in all; None for no such limit.
        work: the steps of the work with their minutes; empty where the plan names no costs.
    """

    title: str
    date: datetime.date
    currency: str
    products: tuple[Product, ...]
    suppliers: Mapping[str, Order]
    leftover: float = 0.0
    offers: Path | None = None
    lots: Path | None = None
    vessel: float | None = None
    most_goes: int | None = None
    work: tuple[Step, ...] = ()

    @property
    def minutes(self) -> float | None:
        """Of work on all of it: a batch's for every go, a jar's for every jar; None where none are known."""
        if not self.work:
            return None
        return math.fsum(
            (1 if self.vessel is None else product.goes(self.vessel)) * step.batch + product.jars * step.jar
            for product in self.products
            for step in self.work
        )

    def order_by(self, supplier: str) -> datetime.date | None:
        """The last day to order of a supplier so that it is there for the making; None where its days are not known."""
        days = self.suppliers.get(supplier, Order()).days
        return None if days is None else self.date - datetime.timedelta(days=days)

    @property
    def goes(self) -> int | None:
        """In how many goes all of it is made; None without a vessel."""
        return None if self.vessel is None else sum(product.goes(self.vessel) for product in self.products)


def read_plan(path: Path, formulas: bool = True) -> Plan:
    """The plan in a TOML file, with the briefs and formulas it names.

    Args:
        path: the file.
        formulas: whether every product needs one; without, a product that has none gets one without lines.

    Raises:
        BadInput: with every fault of the plan and of the files it names.
    """
    inspection = Inspection(str(path))
    plan = _plan(path, Cells(read_document(path), inspection), formulas)
    inspection.finish()
    return plan


def _plan(path: Path, cells: Cells, formulas: bool) -> Plan:
    cells.only(KEYS, "buying")
    products = tuple(_products(path, cells, formulas))
    currencies = sorted({product.brief.currency for product in products})
    if len(currencies) > 1:
        cells.fault("[[product]] brief", ", ".join(currencies), "briefs of one currency")
    currency = next(iter(currencies), "EUR")
    table = "the name of a file beside the plan"
    if "goes" in cells:
        cells.lacks("vessel", "the most that is made at once, for the goes to be counted")
    return Plan(
        title=str(cells.table.get("title", path.stem)),
        date=cells.date("date"),
        currency=currency,
        products=products,
        suppliers=dict(_suppliers(cells, currency)),
        leftover=cells.share("leftover", 0.0, below_all),
        offers=cells.file("offers", path, table),
        lots=cells.file("lots", path, table),
        vessel=cells.optional("vessel", "kg", positive),
        most_goes=cells.count("goes", 1, 1) if "goes" in cells else None,
        work=_work(path, cells, products, currency),
    )


def _work(path: Path, cells: Cells, products: tuple[Product, ...], currency: str) -> tuple[Step, ...]:
    """The minutes of the file of costs."""
    if not products:
        return ()
    catalogue = products[0].brief.catalogue
    costs = cells.read("costs", path, "a costs beside the plan", lambda file: read_costs(file, catalogue, currency))
    return costs.steps if costs else ()


def _products(path: Path, cells: Cells, formulas: bool) -> Iterator[Product]:
    expected = "one table or more"
    if cells.table.get("product", []) == []:
        cells.fault("[[product]]", [], expected)
    briefs: dict[str, Brief | None] = {}
    for product in cells.numbered("product", expected):
        product.only(PRODUCT)
        product.lacks("brief", "a brief beside the plan")
        name = str(product.table.get("brief"))
        if name not in briefs:
            briefs[name] = product.read("brief", path, "a brief beside the plan", read_brief)
        made = _product(path, product, briefs[name], formulas)
        if made:
            yield made


def _product(path: Path, cells: Cells, brief: Brief | None, formulas: bool) -> Product | None:
    formula = _formula(path, cells, brief, formulas) if brief else None
    cells.lacks("jars", "how many are made")
    jars = cells.count("jars", 1, 1)
    fewest = cells.count("fewest", 1, 1) if "fewest" in cells else None
    if fewest is not None and fewest > jars:
        cells.fault("fewest", fewest, f"no more than the {jars} jars")
    jar = cells.optional("jar", "kg", positive)
    loss = cells.share("loss", 0.0, below_all, "the share that is lost on the way; 0 where nothing is")
    move = cells.share("move", 1.0, between(0, 100, "%"))
    if brief and brief.jar is None:
        cells.lacks("jar", "the net mass of a jar, here or in the brief")
    if brief is None or formula is None:
        return None
    name = str(cells.table.get("name", formula.name))
    own = tuple(_own(cells, brief)) if "own" in cells else None
    return Product(name, brief, formula, jars, jar or brief.jar or 1.0, loss, move, fewest, own)


def _own(cells: Cells, brief: Brief) -> Iterator[str]:
    for name in cells.texts("own", "a list of ingredients"):
        item = cells.known("own", name, brief.catalogue)
        if item:
            yield item.name


def _formula(path: Path, cells: Cells, brief: Brief, formulas: bool) -> Formula | None:
    if "formula" in cells:
        words = "a formula beside the plan"
        return cells.read("formula", path, words, lambda file: read_formula(file, brief.catalogue).formula)
    if brief.reference is None and not formulas:
        return Formula(brief.title, ())
    if brief.reference is None:
        cells.lacks("formula", "a formula here or a reference in the brief")
    return brief.reference


def _suppliers(cells: Cells, currency: str) -> Iterator[tuple[str, Order]]:
    for name, terms in cells.within("suppliers").tables("a table for each supplier", SUPPLIER, empty=True):
        days = terms.count("days", 0, 0) if "days" in terms else None
        yield (
            name,
            Order(terms.quantity("postage", currency, 0.0), terms.optional("free_from", currency, positive), days),
        )
