"""What is owned, what expires soon, what is short for the next batch."""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from math import ceil
from typing import TypeVar

from optiform.batch.records import of_a_jar
from optiform.reading.frozen import frozen
from optiform.workshop.keeping import own_lines
from optiform.workshop.records import Batch, Packaging, PackagingCount, Version, VersionLine
from optiform.workshop.stock import Holding, Shortage, by_ingredient, expiring, needs, pieces, short

R = TypeVar("R")


@frozen
class Shelf:
    """What one ingredient's lots hold together, kg, and which those are: with something left, first expired first."""

    ingredient: str
    kg: float
    lots: tuple[Holding, ...]


@frozen
class Pieces:
    """How many of a packaging are left."""

    packaging: Packaging
    left: int


@frozen
class PiecesShort:
    """A packaging of which fewer are left than the jars of a batch take."""

    packaging: str
    needed: int
    there: int


@frozen
class ForBatch:
    """What is short for so many kg of a product: of the version made last, or of the newest where none was made.

    `jars`: how many it fills if it fills as many per kg as the last batch did; each takes one of the `counted`
    packaging, as in that batch. None where no batch says so, and then packaging is not looked at.
    """

    product: str
    version: str
    kg: float
    short: tuple[Shortage, ...]
    jars: int | None = None
    counted: tuple[str, ...] = ()
    pieces: tuple[PiecesShort, ...] = ()


@frozen
class Stock:
    """What is owned on a day.

    Attributes:
        expiring: lots with something left whose expiry is at most `days` away, or past.
        overdrawn: lots of which more was taken than came in: their records need a correction.
        batches: what is short for another batch of each product.
    """

    today: datetime.date
    days: int
    shelves: tuple[Shelf, ...]
    expiring: tuple[Holding, ...]
    overdrawn: tuple[Holding, ...]
    batches: tuple[ForBatch, ...]
    packaging: tuple[Pieces, ...]


def stock(
    records: Mapping[type, Sequence[object]],
    held: Sequence[Holding],
    today: datetime.date,
    days: int,
    kg: float | None = None,
) -> Stock:
    """The state of the shelf from the workshop's records.

    Args:
        records: by kind, as `at_a_glance` gives them.
        held: what is left of each lot, first expired first.
        today: the day to look at.
        days: how far ahead an expiry counts as soon.
        kg: batch to look for what is short; without it, what was planned last of each product.
    """
    left = pieces(_of(records, PackagingCount))
    return Stock(
        today=today,
        days=days,
        shelves=_shelves(held),
        expiring=expiring(held, today, days),
        overdrawn=tuple(holding for holding in held if holding.kg < 0),
        batches=tuple(_batches(records, held, today, kg)),
        packaging=tuple(Pieces(each, left.get(each.name, 0)) for each in _of(records, Packaging)),
    )


def _of(records: Mapping[type, Sequence[object]], kind: type[R]) -> tuple[R, ...]:
    return tuple(record for record in records[kind] if isinstance(record, kind))


def _shelves(held: Sequence[Holding]) -> tuple[Shelf, ...]:
    return tuple(
        Shelf(ingredient, kg, tuple(each for each in held if each.lot.ingredient == ingredient and each.kg))
        for ingredient, kg in by_ingredient(held).items()
    )


def _batches(
    records: Mapping[type, Sequence[object]], held: Sequence[Holding], today: datetime.date, kg: float | None
) -> Iterable[ForBatch]:
    newest = {version.product: (version.name, 0.0) for version in _of(records, Version)}  # the last one stays
    made = {batch.product: (batch.version, batch.planned / 1000) for batch in _of(records, Batch)}
    for product, (name, planned) in {**newest, **made}.items():
        mass = kg or planned
        lines = own_lines(_of(records, VersionLine), product, name)
        if mass and lines:
            packed = _packaging(records, product, mass)
            yield ForBatch(product, name, mass, short(needs(lines, mass), held, today), *packed)


def _packaging(
    records: Mapping[type, Sequence[object]], product: str, kg: float
) -> tuple[int | None, tuple[str, ...], tuple[PiecesShort, ...]]:
    """Jars of so many kg, what each takes, and of which fewer are left, as in the product's last batch."""
    made = [each for each in _of(records, Batch) if each.product == product and each.jars]
    counts = _of(records, PackagingCount)
    per_jar = of_a_jar(made[-1], counts)[0] if made else {}
    if not per_jar:
        return None, (), ()
    filled = (made[-1].jars or 0) + (made[-1].rejected or 0)
    jars, left = ceil(round(1000 * kg * filled / made[-1].planned, 6)), pieces(counts)
    lacking = (PiecesShort(name, jars * each, left.get(name, 0)) for name, each in per_jar.items())
    return jars, tuple(per_jar), tuple(each for each in lacking if each.there < each.needed)
