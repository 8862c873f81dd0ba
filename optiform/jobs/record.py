"""What is kept of a batch: the batch, its weighings by lot, what that takes from the lots and of the packaging."""

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from optiform.formula import Formula
from optiform.jobs.lots import Lotted, Take
from optiform.workshop.records import Batch, BatchLine, Movement, PackagingCount, Version, VersionLine
from optiform.workshop.stock import pieces


@dataclass(frozen=True)
class Matched:
    """A version beside a formula: ingredients whose grams in the batch differ by half a step of the scale or more."""

    version: Version
    differing: tuple[str, ...]


@dataclass(frozen=True)
class Packed:
    """Pieces of packaging that go into a batch, one of each for every jar, and words on what is not counted."""

    counts: tuple[PackagingCount, ...]
    notes: tuple[str, ...]


def matches(
    formula: Formula, grams: float, step: float, versions: Sequence[Version], lines: Sequence[VersionLine]
) -> tuple[Matched, ...]:
    """Every version beside a formula, in the order kept.

    Args:
        formula: what is made.
        grams: how much of it.
        step: of the scale, g; two amounts less than half a step apart are the same weighing.
        versions: those to look among.
        lines: of all versions.
    """
    return tuple(Matched(version, _differing(formula, grams, step, _shares(version, lines))) for version in versions)


def _shares(version: Version, lines: Sequence[VersionLine]) -> dict[str, float]:
    shares: dict[str, float] = {}
    for line in lines:
        if (line.product, line.version) == (version.product, version.name):
            shares[line.ingredient] = shares.get(line.ingredient, 0.0) + line.percent / 100
    return shares


def _differing(formula: Formula, grams: float, step: float, kept: dict[str, float]) -> tuple[str, ...]:
    names = dict.fromkeys([*(line.ingredient.name for line in formula.lines), *kept])
    off = {name: grams * abs(formula.fraction(name) - kept.get(name, 0.0)) for name in names}
    return tuple(name for name, apart in off.items() if apart >= step / 2)


def batch_records(batch: Batch, lotted: Lotted, when: datetime.datetime) -> tuple[Any, ...]:
    """The batch, its lines and the movements out of the lots."""
    lines = [_line(batch, position, take) for position, take in enumerate(lotted.takes, 1)]
    moves = [
        Movement(
            lot=take.lot, when=when, kg=-float(take.grams) / 1000, reason=f"batch {batch.number}", batch=batch.number
        )
        for take in lotted.takes
    ]
    return batch, *lines, *moves


def _line(batch: Batch, position: int, take: Take) -> BatchLine:
    return BatchLine(
        batch=batch.number, position=position, ingredient=take.ingredient, lot=take.lot, planned=float(take.grams)
    )


def packed(
    batch: Batch, jars: int, earlier: Sequence[Batch], counts: Sequence[PackagingCount], when: datetime.datetime
) -> Packed:
    """Packaging for so many jars: of every kind of which the last batch of the product took one for each jar.

    Args:
        batch: the new one.
        jars: how many it is to fill.
        earlier: batches kept before.
        counts: all that is kept of packaging.
        when: it goes.
    """
    made = [each for each in earlier if each.product == batch.product and each.jars]
    if not made:
        words = "Packaging is not counted: no earlier batch of the product says which; `optiform stock packaging` does."
        return Packed((), (words,))
    return _going(batch.number, dict.fromkeys(of_a_jar(made[-1], counts), jars), counts, when)


def of_a_jar(made: Batch, counts: Sequence[PackagingCount]) -> tuple[str, ...]:
    """Packaging of which a batch took one for each jar it filled or rejected."""
    filled = (made.jars or 0) + (made.rejected or 0)
    return tuple(name for name, gone in taken(made.number, counts).items() if gone == filled)


def repacked(batch: Batch, counts: Sequence[PackagingCount], when: datetime.datetime) -> Packed:
    """What more, or fewer, pieces went into a batch than were counted, now that its jars are known."""
    filled = (batch.jars or 0) + (batch.rejected or 0)
    more = {name: filled - gone for name, gone in taken(batch.number, counts).items() if gone}
    return _going(batch.number, more, counts, when)


def taken(number: str, counts: Sequence[PackagingCount]) -> dict[str, int]:
    """Pieces that went into a batch, by packaging."""
    return {name: -gone for name, gone in pieces(each for each in counts if each.batch == number).items()}


def _going(number: str, more: dict[str, int], counts: Sequence[PackagingCount], when: datetime.datetime) -> Packed:
    there, short = pieces(counts), []
    going: dict[str, int] = {}
    for name, wanted in more.items():
        if wanted > there.get(name, 0):
            short.append(f"{name}: {there.get(name, 0)} there, {wanted} needed, so none is counted out.")
        elif wanted:
            going[name] = wanted
    return Packed(tuple(_counts(number, going, when)), tuple(short))


def _counts(number: str, going: dict[str, int], when: datetime.datetime) -> Iterator[PackagingCount]:
    for name, wanted in going.items():
        yield PackagingCount(packaging=name, when=when, pieces=-wanted, reason=f"batch {number}", batch=number)
