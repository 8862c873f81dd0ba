"""What a jar costs beside its ingredients, and where it is sold, read from TOML; money is in the brief's currency.

What such a file can say stands in KEYS; `optiform guide costs` shows a whole one.
"""

from collections.abc import Iterator, Mapping
from dataclasses import field
from pathlib import Path

from optiform.ingredients.catalogue import Catalogue
from optiform.reading import keys
from optiform.reading.cells import Cells, below_all, positive
from optiform.reading.documents import read_document
from optiform.reading.faults import Inspection
from optiform.reading.frozen import frozen
from optiform.reading.renamed import renamed_keys
from optiform.reading.values import Comparable

RENAMED = {"ladder": "price_steps"}  #: keys of the version before, and what they are called now
SHIPPING: keys.Keys = {
    "share": keys.amount("of a pack's price, on top of it"),
    "packs": keys.named(keys.money(), "what a pack of one ingredient bears"),
}
LABOUR: keys.Keys = {
    "wage": keys.money("of an hour"),
    "steps": keys.named(
        keys.table({"batch": keys.amount(), "jar": keys.amount()}), "minutes for a batch, for a jar or both"
    ),
}
OVERHEAD: keys.Keys = {
    "month": keys.money(),
    "units": keys.number("all units made in the month, of all products; not needed where it costs nothing"),
}
ONE_OFF: keys.Keys = {
    "cost": keys.money(),
    "units": keys.number(),
    "products": keys.count("that share it over a common base"),
}
PRICE_STEPS: keys.Keys = {"wholesale": keys.number("times full cost"), "retail": keys.number("times wholesale")}
STEPS = tuple(PRICE_STEPS)
CHANNEL: keys.Keys = {
    "step": keys.choice(STEPS),
    "discount": keys.amount(),
    "fee": keys.amount(),
    "each": keys.money(),
    "price": keys.money(),
}
KEYS: keys.Keys = {
    "loss": keys.amount("of what is weighed, that never reaches a jar"),
    "vessel": keys.amount("the most that is made at once"),
    "volume": keys.amount("what a jar holds"),
    "cup": keys.amount("what a level cup of 100 mL weighs"),
    "shipping": keys.table(SHIPPING, "of the packs that are bought", needed=("share",)),
    "packaging": keys.named(keys.money(), 'of one jar; "" is not known'),
    "labour": keys.table(LABOUR, "the work", needed=tuple(LABOUR)),
    "overhead": keys.table(OVERHEAD, "what is paid every month", needed=("month",)),
    "one_off": keys.named(keys.table(ONE_OFF, needed=("cost", "units")), "paid once, spread over so many units"),
    "price_steps": keys.table(PRICE_STEPS, "2 and 2 if left out"),
    "channels": keys.named(keys.table(CHANNEL), "where jars are sold"),
}
NEEDED = ("loss", "shipping", "packaging", "labour", "overhead")


@frozen
class Step:
    """A step of the work: minutes for a batch whatever its size, and minutes for each jar."""

    name: str
    batch: float
    jar: float


@frozen
class OneOff:
    """A cost paid once, for one product or for several on a common base.

    Attributes:
        units: of the one product that its share is expected to be spread over.
        products: that bear it alike.
    """

    name: str
    cost: float
    units: float
    products: int = 1

    @property
    def borne(self) -> float:
        """What one product bears of it."""
        return self.cost / self.products


@frozen
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


@frozen
class Costs(Comparable):
    """Everything but ingredients. Money in the brief's currency, shares as fractions, masses in kg.

    Attributes:
        loss: share of the mass weighed that never reaches a jar.
        vessel: the most that is made at once; None for no such limit.
        volume: what a jar holds, mL; `cup`: what a level cup of 100 mL of the finished product weighs, g.
        shipping_share: of a pack's price; `shipping` names what a pack of one ingredient bears instead.
        packaging: of one jar; None is not known.
        wage: per hour.
        month, units: overhead of a month, and all units made in it, of all products; 0 where nothing is divided.
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
    volume: float | None = None
    cup: float | None = None

    @property
    def overhead(self) -> float:
        """What one unit bears of the month.

        Example:
            >>> Costs(0.03, 0.1, {}, 15.0, (), month=120.0, units=80.0).overhead
            1.5
            >>> Costs(0.03, 0.1, {}, 15.0, (), month=0.0, units=0.0).overhead
            0.0
        """
        return self.month / self.units if self.month else 0.0


def read_costs(path: Path, catalogue: Catalogue, currency: str) -> Costs:
    """The costs in a TOML file, with names of ingredients as in the catalogue.

    Raises:
        BadInput: with every fault of the file.
    """
    inspection = Inspection(str(path))
    costs = _costs(Cells(renamed_keys(read_document(path), RENAMED, str(path)), inspection), catalogue, currency)
    inspection.finish()
    return costs


def _costs(cells: Cells, catalogue: Catalogue, currency: str) -> Costs:
    cells.only(KEYS, "costs")
    for key in NEEDED:
        cells.lacks(key, "its figures; write 0 where something costs nothing")
    shipping, labour = cells.within("shipping", SHIPPING), cells.within("labour", LABOUR)
    overhead, steps = cells.within("overhead", OVERHEAD), cells.within("price_steps", PRICE_STEPS)
    return Costs(
        loss=cells.share("loss", 0.0, below_all),
        vessel=cells.optional("vessel", "kg", positive),
        volume=cells.optional("volume", "mL", positive),
        cup=cells.optional("cup", "g", positive),
        shipping_share=shipping.share("share", 0.0, needed=_needed(cells, "shipping")),
        shipping=dict(_pack_shares(shipping.within("packs"), catalogue, currency)),
        packaging=dict(_packaging(cells.within("packaging"), currency)),
        wage=labour.quantity("wage", f"{currency}/h", 0.0, needed=_needed(cells, "labour")),
        steps=tuple(_steps(labour)),
        month=(month := overhead.quantity("month", currency, 0.0, needed=_needed(cells, "overhead"))),
        units=overhead.quantity("units", "", 1.0, positive, _needed(cells, "overhead")) if month else _idle(overhead),
        one_offs=tuple(_one_offs(cells.within("one_off"), currency)),
        wholesale=steps.quantity("wholesale", "", 2.0, positive),
        retail=steps.quantity("retail", "", 2.0, positive),
        channels=tuple(_channels(cells.within("channels"), currency)),
    )


def _idle(overhead: Cells) -> float:
    """The units of a month that costs nothing: it is divided by nothing, so none are asked for."""
    return overhead.quantity("units", "", 0.0)


def _needed(cells: Cells, table: str) -> str:
    """What a table must say; nothing more where the whole table is missing or none, which is told already."""
    return "a figure, 0 where it costs nothing" if isinstance(cells.table.get(table), dict) else ""


def _pack_shares(packs: Cells, catalogue: Catalogue, currency: str) -> Iterator[tuple[str, float]]:
    for name in packs.table:
        item = packs.known(name, name, catalogue)
        yield item.name if item else name, packs.quantity(name, currency, 0.0)


def _packaging(packaging: Cells, currency: str) -> Iterator[tuple[str, float | None]]:
    for name, price in packaging.table.items():
        unknown = isinstance(price, str) and not price.strip()
        yield name, None if unknown else packaging.quantity(name, currency, 0.0)


def _steps(labour: Cells) -> Iterator[Step]:
    if labour.table:
        labour.lacks("steps", "minutes per batch or jar of each step")
    expected = 'minutes of a batch, of a jar or of both: { batch = "25 min", jar = "1 min" }'
    for name, minutes in labour.within("steps").tables(expected, ("batch", "jar")):
        yield Step(name, minutes.quantity("batch", "min", 0.0), minutes.quantity("jar", "min", 0.0))


def _one_offs(one_off: Cells, currency: str) -> Iterator[OneOff]:
    for name, once in one_off.tables("a cost and the units it is spread over", ONE_OFF):
        if once.table and not {"cost", "units"} <= set(once.table):
            lacking = ", ".join(sorted({"cost", "units"} - set(once.table)))
            once.fault("", once.table, f"also {lacking}: a cost and the units it is spread over")
        cost, units = once.quantity("cost", currency, 0.0), once.quantity("units", "", 1.0, positive)
        yield OneOff(name, cost, units, once.count("products", 1, 1))


def _channels(channels: Cells, currency: str) -> Iterator[Channel]:
    for name, channel in channels.tables(f"any of: {', '.join(CHANNEL)}", CHANNEL):
        yield Channel(
            name=name,
            step=channel.choice("step", "retail", STEPS),
            discount=channel.share("discount", 0.0, below_all),
            fee=channel.share("fee", 0.0, below_all),
            each=channel.quantity("each", currency, 0.0),
            price=channel.optional("price", currency, positive),
        )
