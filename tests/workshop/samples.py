"""Records to try things with: at least one of every kind, each leading to the others."""

import datetime

from optiform.reading.faults import BadInput
from optiform.workshop.records import (
    Batch,
    BatchLine,
    Draft,
    FileText,
    Forecast,
    Lot,
    Movement,
    Offer,
    OwnCell,
    Packaging,
    PackagingCount,
    Product,
    Reading,
    Record,
    Step,
    Tick,
    Trial,
    TrialWeight,
    Version,
    VersionLine,
    Weighing,
)

DAY = datetime.date(2026, 11, 2)
NOON = datetime.datetime(2026, 11, 2, 12, 0, 30, 250_000)

OWN = OwnCell(ingredient="marsh balm", column="phase", text="oil phase")
OFFER = Offer(ingredient="glycerin", supplier="", pack=5, price=21.0, currency="EUR", date=DAY, note='drum, "blue"')
LOT = Lot(number="G-1", ingredient="glycerin", received=DAY, expiry=datetime.date(2027, 11, 2), price=4.2)
CAME = Movement(lot="G-1", when=NOON, kg=5.0, reason="received")
JAR = Packaging(name="jar", kind="jar", price=0.6, volume=250.0, tare=40.5)
BOUGHT = PackagingCount(packaging="jar", when=NOON, pieces=48, reason="bought")
FIRST = Version(product="polish", name="first", parent="", reason="a beginning", created=NOON)
WATER = VersionLine(
    product="polish", version="first", position=1, ingredient="water", percent=70.0, phase="water phase"
)
GLYCERIN = VersionLine(
    product="polish", version="first", position=2, ingredient="glycerin", percent=30.0, phase="water phase"
)
BATCH = Batch(number="B-1", product="polish", version="first", made=DAY, planned=4000.0)
WEIGHED = BatchLine(batch="B-1", position=1, ingredient="glycerin", lot="G-1", planned=1200.0)
TAKEN = Movement(lot="G-1", when=NOON, kg=-1.2, reason="made", batch="B-1")
TRIAL = Trial(name="T-1", product="polish", version="first", made=DAY, aim="whether it holds", room=21.5)
WEIGHT = TrialWeight(trial="T-1", ingredient="water", phase="water phase", actual=140.2)
READING = Reading(
    trial="T-1", number=1, age=24.0, temperature=20.0, instrument="push on a scale", value=212.0, unit="g"
)
PRODUCT = Product(name="polish", created=NOON, at=1, steps=1, revision=1)
STEP = Step(product="polish", number=1, before=0, when=NOON, words="begun", content='{"name": "brief.toml"}')
TEXT = FileText(digest="0f3a", part=1, text='# a comment\ntitle = "polish"\n')
DRAFT = Draft(product="polish", name="softer", parent="today", reason="", created=NOON, lines="water,100,water phase\n")
FORECAST = Forecast(
    when=NOON, formula="new", lines="water\t100\twater phase\n", temperature=20.0, age=168.0,
    instrument="push on a scale", geometry="", tester="", low=120.0, typical=180.0, high=270.0, unit="g", level=90.0,
    rests_on="2 trials", model="optiform 0.1.0, figures 0f3a",
)  # fmt: skip

WEIGHING = Weighing(sheet="ab12", run=1, title="polish", begun=NOON, ended=NOON, batch="B-1")
TICK = Tick(
    sheet="ab12", run=1, screen=1, number=1, over=0, word="w1", ingredient="glycerin", place="water phase",
    planned=1200.0, grams=1201.0, lot="G-1", when=NOON,
)  # fmt: skip

#: In the order in which they can be kept one after another, but the two lines, which come with their version.
EVERY: tuple[Record, ...] = (
    OWN, OFFER, LOT, CAME, JAR, BOUGHT, FIRST, WATER, GLYCERIN, BATCH, WEIGHED, TAKEN, TRIAL, WEIGHT, READING,
    PRODUCT, STEP, TEXT, DRAFT, FORECAST, WEIGHING, TICK,
)  # fmt: skip


def told(bad: BadInput) -> list[str]:
    """Faults without their file."""
    return [f"{fault.place}: read {fault.read}, expected {fault.expected}" for fault in bad.faults]
