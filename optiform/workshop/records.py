"""The workshop's records: what is owned, what was made, what was read. Plain values, one flat row each.

A record names others by their own names (a lot by its number, a version by product and name), so that a table of
records is a table a person can read. Masses of stock are kg, weighed amounts g, temperatures degC, money in the
currency that stands beside it. None is not known.
"""

import datetime
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnCell:
    """One cell of the maker's own table of ingredients, as written: see ownfile.py for the columns and their words."""

    ingredient: str
    column: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A pack that can be bought: `price` for one pack of `pack` kg, `shipping` the share of the parcel it bears."""

    ingredient: str
    supplier: str
    pack: float
    price: float
    currency: str
    date: datetime.date
    shipping: float = 0.0
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """A delivery of one ingredient. What is left of it is the sum of its movements."""

    number: str
    ingredient: str
    supplier: str = ""
    supplier_lot: str = ""
    received: datetime.date | None = None
    expiry: datetime.date | None = None
    price: float | None = None  # landed, per kg
    currency: str = "EUR"
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """Mass that came into a lot (positive kg) or left it (negative), when and why."""

    lot: str
    when: datetime.datetime
    kg: float
    reason: str
    batch: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Packaging:
    """A jar, lid, label, seal, band or box; `volume` mL and `tare` g where it holds the product."""

    name: str
    kind: str
    price: float | None = None
    currency: str = "EUR"
    volume: float | None = None
    tare: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PackagingCount:
    """Pieces of packaging that came (positive) or went (negative)."""

    packaging: str
    when: datetime.datetime
    pieces: int
    reason: str
    batch: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Version:
    """A version of a product's formula; `parent` is the name of the version it came from. Never overwritten."""

    product: str
    name: str
    parent: str
    reason: str
    created: datetime.datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class VersionLine:
    """One line of a version, in its order; percent of the whole."""

    product: str
    version: str
    position: int
    ingredient: str
    percent: float
    phase: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """What was made from a version. Grams planned and made, pieces filled and rejected."""

    number: str
    product: str
    version: str
    made: datetime.date
    planned: float
    actual: float | None = None
    maker: str = ""
    room: float | None = None
    jars: int | None = None
    rejected: int | None = None
    deviation: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchLine:
    """One weighing of a batch: which lot, g planned and g weighed."""

    batch: str
    position: int
    ingredient: str
    lot: str
    planned: float
    actual: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """A trial of a version: what changed and why, and how it was made.

    `cooling`: minutes from the end of heating to the addition of the grains; `added_at`: degC of the mass then.
    """

    name: str
    product: str
    version: str
    made: datetime.date
    aim: str
    changed: str = ""
    mass: float | None = None  # g
    hot_water: float | None = None
    hot_oil: float | None = None
    cooling: float | None = None
    added_at: float | None = None
    room: float | None = None
    outcome: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialWeight:
    """What was really weighed for one line of a trial, g."""

    trial: str
    ingredient: str
    phase: str
    actual: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading of one jar of a trial.

    `instrument` is one of `flat probe` (depth, mm), `push on a scale` (peak, g), `spoon score` (1 to 5), or a word of
    the maker's own; `geometry` says its size, travel and mass in words. `age` in hours since making; `temperature` of
    the product, `held` hours at it. `condition`: `plain`, `cold room`, `freeze-thaw` or `heat`. `excluded`: why it does
    not count.
    """

    trial: str
    number: int
    age: float
    temperature: float
    instrument: str
    value: float
    unit: str
    geometry: str = ""
    held: float | None = None
    condition: str = "plain"
    tester: str = ""
    photo: str = ""
    excluded: str = ""
    note: str = ""


#: Every kind of record, each kind after those it refers to.
RECORDS = (
    OwnCell, Offer, Lot, Movement, Packaging, PackagingCount, Version, VersionLine, Batch, BatchLine, Trial,
    TrialWeight, Reading,
)  # fmt: skip
