"""The workshop's records: what is owned, what was made, what was read. Plain values, one flat row each.

A record names others by their own names (a lot by its number, a version by product and name), so that a table of
records is a table a person can read. None is not known.
"""

import datetime
from dataclasses import dataclass
from functools import partial
from typing import Annotated as As

from optiform.workshop.columns import (
    CONDITION,
    MONEY,
    MORE,
    NOT_LESS,
    PHASE,
    SAID,
    SHARE,
    SOME,
    SOMETHING,
    WARMTH,
    Column,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """One row of what is kept. Its fields say themselves what they are: see `Column`."""


_CURRENCY = Column("Currency", "currency of the price (default EUR)", rule=MONEY, changes=True)
_NOTE = Column("Note", changes=True)
_OF_BATCH = Column("Batch", "the batch it went into", refers="Batch", bare=True)
_WHY = Column("Reason", rule=SAID)


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnCell(Record):
    """One cell of the maker's own table of ingredients, as written: see ownfile.py for the columns and their words."""

    ingredient: As[str, Column("Ingredient", key=True)]
    column: As[str, Column("Column", key=True)]
    text: As[str, Column("Text", changes=True)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer(Record):
    """A pack that can be bought."""

    ingredient: As[str, Column("Ingredient", key=True)]
    supplier: As[str, Column("Supplier", key=True, bare=True)]
    pack: As[float, Column("Pack", unit="kg", rule=MORE, key=True)]
    price: As[float, Column("Price of the pack", unit="money", rule=NOT_LESS, changes=True)]
    currency: As[str, Column("Currency", rule=MONEY, key=True)]
    date: As[datetime.date, Column("Seen on", key=True)]
    shipping: As[float, Column("Its share of the shipping", unit="money", rule=NOT_LESS, changes=True)] = 0.0
    note: As[str, _NOTE] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot(Record):
    """A delivery of one ingredient. What is left of it is the sum of its movements."""

    number: As[str, Column("Your lot number", "your own number (default: the day and a count)", key=True)]
    ingredient: As[str, Column("Ingredient", rule=SAID)]
    supplier: As[str, Column("Supplier", changes=True)] = ""
    supplier_lot: As[str, Column("Supplier's lot", changes=True)] = ""
    received: As[datetime.date | None, Column("Received", "the day it came (default today)", changes=True)] = None
    expiry: As[datetime.date | None, Column("Expiry", changes=True)] = None
    price: As[
        float | None,
        Column(
            "Price per kg, landed", "price per kg, with its share of the shipping", "money/kg", NOT_LESS, changes=True
        ),
    ] = None
    currency: As[str, _CURRENCY] = "EUR"
    note: As[str, _NOTE] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement(Record):
    """Mass that came into a lot (positive) or left it (negative), when and why."""

    lot: As[str, Column("Lot", refers="Lot")]
    when: As[datetime.datetime, Column("When")]
    kg: As[float, Column("Mass", unit="kg", rule=SOME, typed=SOMETHING)]
    reason: As[str, _WHY]
    batch: As[str, _OF_BATCH] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Packaging(Record):
    """A jar, lid, label, seal, band or box; volume and tare where it holds the product."""

    name: As[str, Column("Packaging", key=True)]
    kind: As[str, Column("Kind", "what a new one is: jar, lid, label, seal, band or box", rule=SAID, changes=True)]
    price: As[float | None, Column("Price of one", "price of one piece", "money", NOT_LESS, changes=True)] = None
    currency: As[str, _CURRENCY] = "EUR"
    volume: As[float | None, Column("Volume", "what it holds", "mL", MORE, changes=True)] = None
    tare: As[float | None, Column("Empty", "what it weighs empty", "g", MORE, changes=True)] = None
    note: As[str, _NOTE] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PackagingCount(Record):
    """Pieces of packaging that came (positive) or went (negative)."""

    packaging: As[str, Column("Packaging", refers="Packaging")]
    when: As[datetime.datetime, Column("When")]
    pieces: As[int, Column("Pieces", "how many came; below 0 if they went", rule=SOME)]
    reason: As[str, _WHY]
    batch: As[str, _OF_BATCH] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Version(Record):
    """A version of a product's formula; `parent` is the name of the version it came from. Never overwritten."""

    product: As[str, Column("Product", key=True)]
    name: As[str, Column("Name of the version", "name of the new version", key=True)]
    parent: As[str, Column("It came from", "the version it came from; none for the first", refers="Version", bare=True)]
    reason: As[str, _WHY]
    created: As[datetime.datetime, Column("Saved on")]


@dataclass(frozen=True, slots=True, kw_only=True)
class VersionLine(Record):
    """One line of a version, in its order; percent of the whole."""

    product: As[str, Column("Product", key=True)]
    version: As[str, Column("Version", key=True, refers="Version")]
    position: As[int, Column("Position", rule=NOT_LESS, key=True)]
    ingredient: As[str, Column("Ingredient", rule=SAID)]
    percent: As[float, Column("Share", unit="%", rule=SHARE)]
    phase: As[str, Column("Phase", rule=PHASE)]


_warm = partial(Column, unit="degC", rule=WARMTH, changes=True)  # a temperature while it was made
_ROOM = _warm("Room", "temperature of the room")


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch(Record):
    """What was made from a version. Grams planned and made, pieces filled and rejected."""

    number: As[str, Column("Number of the batch", key=True)]
    product: As[str, Column("Product")]
    version: As[str, Column("Version", refers="Version")]
    made: As[datetime.date, Column("Made on")]
    planned: As[float, Column("Planned", unit="g", rule=MORE)]
    actual: As[float | None, Column("Came out", "what came out", "g", NOT_LESS, changes=True)] = None
    maker: As[str, Column("Made by", changes=True)] = ""
    room: As[float | None, _ROOM] = None
    jars: As[int | None, Column("Jars filled", "how many jars were filled", rule=NOT_LESS, changes=True)] = None
    rejected: As[
        int | None, Column("Jars rejected", "filled, but not good enough to sell", rule=NOT_LESS, changes=True)
    ] = None
    deviation: As[str, Column("Deviation", "what did not go as planned", changes=True)] = ""
    note: As[str, _NOTE] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchLine(Record):
    """One weighing of a batch: which lot, planned and weighed."""

    batch: As[str, Column("Batch", key=True, refers="Batch")]
    position: As[int, Column("Position", rule=NOT_LESS, key=True)]
    ingredient: As[str, Column("Ingredient", rule=SAID)]
    lot: As[str, Column("Lot", refers="Lot", changes=True)]
    planned: As[float, Column("Planned", unit="g", rule=NOT_LESS)]
    actual: As[float | None, Column("Weighed", unit="g", rule=NOT_LESS, changes=True)] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighing(Record):
    """A batch that is weighed one thing at a time, which several devices may do together.

    `sheet` is a word for what is weighed (`batch/ticks.py`), `run` counts how often it was; `ended` once it is kept as
    a batch, or another run was begun.
    """

    sheet: As[str, Column("Sheet", key=True)]
    run: As[int, Column("Run", rule=MORE, key=True)]
    title: As[str, Column("What is weighed", rule=SAID)]
    begun: As[datetime.datetime, Column("Begun")]
    ended: As[datetime.datetime | None, Column("Ended", changes=True)] = None
    batch: As[str, Column("Batch", "the batch it was saved as", refers="Batch", bare=True, changes=True)] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick(Record):
    """What a device said of one screen of a weighing: a line that was weighed, or a step that is done.

    `over` is the number of the tick of this screen that the device knew as the last one, 0 for none; `word` is its own
    word for this tick, by which one that comes twice is known. `planned` and `grams` are g; without `grams` the scale
    showed what was planned.
    """

    sheet: As[str, Column("Sheet", key=True)]
    run: As[int, Column("Run", key=True, refers="Weighing")]
    screen: As[int, Column("Screen", rule=NOT_LESS, key=True)]
    number: As[int, Column("Number", rule=MORE, key=True)]
    over: As[int, Column("Said over", rule=NOT_LESS)]
    word: As[str, Column("Word of the device", rule=SAID)]
    ingredient: As[str, Column("Ingredient", "empty for a step")]
    place: As[str, Column("Phase and part")]
    planned: As[float | None, Column("Planned", unit="g", rule=NOT_LESS)]
    grams: As[float | None, Column("Weighed", unit="g", rule=NOT_LESS)]
    lot: As[str, Column("Lot")]
    when: As[datetime.datetime, Column("When")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial(Record):
    """A trial of a version: what changed and why, and how it was made."""

    name: As[str, Column("Name of the trial", "a name no other trial has", key=True)]
    product: As[str, Column("Product")]
    version: As[str, Column("Version", "the version of the product that was made", refers="Version")]
    made: As[datetime.date, Column("Made on", "the day it was made (default today)")]
    aim: As[str, Column("Why it was made", "why it was made", rule=SAID)]
    changed: As[
        str, Column("What changed against the one before", "what changed against the version before", changes=True)
    ] = ""
    mass: As[float | None, Column("Made in all", "how much was made in all", "g", MORE, changes=True)] = None
    hot_water: As[float | None, _warm("Hot water phase", "temperature of the water phase")] = None
    hot_oil: As[float | None, _warm("Hot oil phase", "temperature of the oil phase")] = None
    cooling: As[
        float | None,
        Column(
            "From heat to grains", "time from the end of heating to the grains: 35 min", "min", NOT_LESS, changes=True
        ),
    ] = None
    added_at: As[float | None, _warm("Grains added at", "temperature of the mass when the grains went in")] = None
    room: As[float | None, _ROOM] = None
    outcome: As[str, Column("Outcome", changes=True)] = ""
    note: As[str, _NOTE] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialWeight(Record):
    """What was really weighed for one line of a trial."""

    trial: As[str, Column("Trial", key=True, refers="Trial")]
    ingredient: As[str, Column("Ingredient", key=True)]
    phase: As[str, Column("Phase", rule=PHASE, key=True)]
    actual: As[float, Column("weighed", unit="g", rule=NOT_LESS, changes=True)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading(Record):
    """One reading of one jar of a trial.

    `instrument` is one of `flat probe` and `cone` (depth, mm), `push on a scale` (peak, g), `spread under a weight`
    (width, mm), `spoon score` (1 to 5), or a word of the maker's own; `condition` is one of CONDITIONS.
    """

    trial: As[str, Column("Trial", key=True, refers="Trial")]
    number: As[int, Column("Number", rule=MORE, key=True)]
    age: As[float, Column("Age", "since making: '24 h', '7 day' (168 h)", "h", NOT_LESS)]
    temperature: As[float, Column("Product's core", "temperature of the product's core", "degC", WARMTH)]
    instrument: As[
        str,
        Column(
            "Another instrument",
            "flat probe, cone, push on a scale, spread under a weight, spoon score, or your word",
            rule=SAID,
        ),
    ]
    value: As[float, Column("Values", "one for each jar: '210 g', '8.5 mm', 3", rule=NOT_LESS)]
    unit: As[str, Column("Values")]
    geometry: As[str, Column("Its size, travel and mass", "size, travel and mass: '12 mm rod, 5 mm deep'")] = ""
    held: As[float | None, Column("Held at that temperature", "how long at that temperature", "h", NOT_LESS)] = None
    condition: As[str, Column("Condition", "plain (default), cold room, freeze-thaw or heat", rule=CONDITION)] = "plain"
    tester: As[str, Column("Who read")] = ""
    photo: As[str, Column("Photo", "path of a picture, saved as written")] = ""
    excluded: As[str, Column("Does not count, because", "why these do not count")] = ""
    note: As[str, Column("Note")] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast(Record):
    """What one instrument was said to read of a formula before any jar of it was read. Never overwritten.

    `lines` is a table of ingredient, percent and phase; `low` to `high` holds a mean of three jars in `level` % of
    cases. `model` names the program and its figures as they were, `rests_on` the readings they were fitted to.
    """

    when: As[datetime.datetime, Column("Asked on")]
    formula: As[str, Column("Formula", rule=SAID)]
    lines: As[str, Column("Lines", rule=SAID)]
    temperature: As[float, Column("Product's core", unit="degC", rule=WARMTH)]
    age: As[float, Column("Age", unit="h", rule=NOT_LESS)]
    instrument: As[str, Column("Instrument", rule=SAID)]
    geometry: As[str, Column("Its size, travel and mass")]
    tester: As[str, Column("Who reads")]
    low: As[float, Column("At least", rule=NOT_LESS)]
    typical: As[float, Column("Most likely", rule=NOT_LESS)]
    high: As[float, Column("At most", rule=NOT_LESS)]
    unit: As[str, Column("Unit")]
    level: As[float, Column("How often that holds", unit="%", rule=SHARE)]
    rests_on: As[str, Column("Fitted to")]
    model: As[str, Column("Program and figures", rule=SAID)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Product(Record):
    """What is worked on: where it stands among its steps. `revision` grows with every move, so that nobody writes
    over what another window did meanwhile.
    """

    name: As[str, Column("Product", key=True)]
    created: As[datetime.datetime, Column("Begun on")]
    at: As[int, Column("Stands at step", rule=MORE, changes=True)]
    steps: As[int, Column("Steps", rule=MORE, changes=True)]
    revision: As[int, Column("Revision", rule=MORE, changes=True)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step(Record):
    """One step of a product's history: brief, files and papers as they stood after it. Never overwritten.

    `before` is the step it was made from, 0 for the first; `content` names each file and the digest of its text.
    """

    product: As[str, Column("Product", key=True, refers="Product")]
    number: As[int, Column("Step", rule=MORE, key=True)]
    before: As[int, Column("Made from step", rule=NOT_LESS)]
    when: As[datetime.datetime, Column("When")]
    words: As[str, Column("What was done", rule=SAID)]
    content: As[str, Column("Files", rule=SAID)]


@dataclass(frozen=True, slots=True, kw_only=True)
class FileText(Record):
    """A part of the text of a file that steps name by its digest; many steps share one text."""

    digest: As[str, Column("Digest", key=True)]
    part: As[int, Column("Part", rule=MORE, key=True)]
    text: As[str, Column("Text")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft(Record):
    """A formula that was put aside while working on a product: `lines` is a table of ingredient, percent and phase."""

    product: As[str, Column("Product", key=True, refers="Product")]
    name: As[str, Column("Name of the draft", key=True)]
    parent: As[str, Column("It came from")]
    reason: As[str, Column("Why")]
    created: As[datetime.datetime, Column("Saved on")]
    lines: As[str, Column("Lines")]


#: Every kind of record, each kind after those that it must refer to.
RECORDS: tuple[type[Record], ...] = (
    OwnCell, Offer, Lot, Movement, Packaging, PackagingCount, Version, VersionLine, Batch, BatchLine, Trial,
    TrialWeight, Reading, Product, Step, FileText, Draft, Forecast, Weighing, Tick,
)  # fmt: skip
