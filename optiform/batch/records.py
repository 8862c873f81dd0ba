"""What is kept of a batch: the batch, its weighings by lot, what that takes from the lots and of the packaging."""

import datetime
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence, Set

from optiform.batch.lots import Lotted, Take
from optiform.ingredients.formula import Formula
from optiform.reading.frozen import frozen
from optiform.workshop.keeping import own_lines
from optiform.workshop.records import (
    Batch,
    BatchLine,
    Movement,
    Packaging,
    PackagingCount,
    Record,
    Version,
    VersionLine,
)
from optiform.workshop.stock import pieces

JAR = "jar"  #: the kind of packaging that says how many jars there were


@frozen
class Matched:
    """A version beside a formula: ingredients whose grams in the batch differ by half a step of the scale or more."""

    version: Version
    differing: tuple[str, ...]


@frozen
class NoneBefore:
    """No earlier batch of the product says which packaging it takes: nothing is counted."""


@frozen
class NotByJar:
    """A packaging of which so many pieces went into a batch, no whole number for each jar: it is not counted."""

    packaging: str
    gone: int
    batch: str


@frozen
class TooFew:
    """A packaging of which fewer are there than needed: none is counted out."""

    packaging: str
    there: int
    needed: int


Uncounted = NoneBefore | NotByJar | TooFew


@frozen
class Packed:
    """Pieces of packaging that go into a batch, and what is not counted."""

    counts: tuple[PackagingCount, ...]
    uncounted: tuple[Uncounted, ...]


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
    for line in own_lines(lines, version.product, version.name):
        shares[line.ingredient] = shares.get(line.ingredient, 0.0) + line.percent / 100
    return shares


def _differing(formula: Formula, grams: float, step: float, kept: dict[str, float]) -> tuple[str, ...]:
    names = dict.fromkeys([*(line.ingredient.name for line in formula.lines), *kept])
    off = {name: grams * abs(formula.fraction(name) - kept.get(name, 0.0)) for name in names}
    return tuple(name for name, apart in off.items() if apart >= step / 2)


def batch_records(batch: Batch, lotted: Lotted, when: datetime.datetime) -> tuple[Record, ...]:
    """The batch, its lines and the movements out of the lots."""
    lines = [_line(batch, position, take) for position, take in enumerate(lotted.takes, 1)]
    moves = [
        Movement(
            lot=take.lot, when=when, kg=-float(take.grams if take.weighed is None else take.weighed) / 1000,
            reason=f"batch {batch.number}", batch=batch.number,
        )
        for take in lotted.takes
    ]  # fmt: skip
    return batch, *lines, *moves


def _line(batch: Batch, position: int, take: Take) -> BatchLine:
    return BatchLine(
        batch=batch.number, position=position, ingredient=take.ingredient, lot=take.lot, planned=float(take.grams),
        actual=None if take.weighed is None else float(take.weighed),
    )  # fmt: skip


def packed(
    batch: Batch, jars: int, earlier: Sequence[Batch], counts: Sequence[PackagingCount], when: datetime.datetime
) -> Packed:
    """Packaging for so many jars, as many pieces for each as the last batch of the product took.

    Packaging of which that batch took no whole number for each jar (a box for six) is named, not counted.

    Args:
        batch: the new one.
        jars: how many it is to fill.
        earlier: batches kept before.
        counts: all that is kept of packaging.
        when: it goes.
    """
    made = [each for each in earlier if each.product == batch.product and each.jars]
    if not made:
        return Packed((), (NoneBefore(),))
    last = made[-1]
    per_jar, rest = of_a_jar(last, counts)
    going = _going(batch.number, {name: each * jars for name, each in per_jar.items()}, counts, when)
    odd = [NotByJar(name, gone, last.number) for name, gone in rest.items()]
    return Packed(going.counts, (*going.uncounted, *odd))


def of_a_jar(made: Batch, counts: Sequence[PackagingCount]) -> tuple[dict[str, int], dict[str, int]]:
    """Pieces of packaging that a batch took for each jar it filled or rejected; and in all, where no whole number."""
    return _per_jar(taken(made.number, counts), _filled(made))


def repacked(
    batch: Batch, packaging: Sequence[Packaging], counts: Sequence[PackagingCount], when: datetime.datetime
) -> Packed:
    """What more, or fewer, pieces went into a batch than were counted, now that its jars are known.

    What was counted for so many jars tells how many pieces a jar has. How many jars that were is what went of the
    packaging that is a jar, or without one the number of pieces that most of the packaging agrees on. Packaging of
    which no whole number of pieces goes with a jar (a box for six) is left as it is, and named.

    Args:
        batch: with what was filled and rejected.
        packaging: all kinds that are kept.
        counts: all that is kept of packaging.
        when: the difference goes.
    """
    gone, filled = {name: pieces for name, pieces in taken(batch.number, counts).items() if pieces}, _filled(batch)
    counted = _counted_jars(gone, {each.name for each in packaging if each.kind == JAR})
    right = {name for name, pieces in gone.items() if counted != filled and pieces == filled}  # done before a break
    per_jar, rest = _per_jar({name: pieces for name, pieces in gone.items() if name not in right}, counted)
    more = {name: each * filled - gone[name] for name, each in per_jar.items()}
    going = _going(batch.number, more, counts, when)
    odd = [NotByJar(name, pieces, batch.number) for name, pieces in rest.items() if counted != filled]
    return Packed(going.counts, (*going.uncounted, *odd))


def _filled(batch: Batch) -> int:
    return (batch.jars or 0) + (batch.rejected or 0)


def _per_jar(gone: Mapping[str, int], jars: int) -> tuple[dict[str, int], dict[str, int]]:
    """Pieces of each packaging that go with a jar, and those of which no whole number does."""
    even = {name: pieces // jars for name, pieces in gone.items() if jars and pieces > 0 and pieces % jars == 0}
    return even, {name: pieces for name, pieces in gone.items() if pieces and name not in even}


def _counted_jars(gone: Mapping[str, int], jars: Set[str]) -> int:
    of_jars = [pieces for name, pieces in gone.items() if name in jars]
    times = Counter(gone.values())
    return sum(of_jars) if of_jars else max(times, key=lambda pieces: (times[pieces], pieces), default=0)


def taken(number: str, counts: Sequence[PackagingCount]) -> dict[str, int]:
    """Pieces that went into a batch, by packaging."""
    return {name: -gone for name, gone in pieces(each for each in counts if each.batch == number).items()}


def _going(number: str, more: dict[str, int], counts: Sequence[PackagingCount], when: datetime.datetime) -> Packed:
    there, short = pieces(counts), list[Uncounted]()
    going: dict[str, int] = {}
    for name, wanted in more.items():
        if wanted > there.get(name, 0):
            short.append(TooFew(name, there.get(name, 0), wanted))
        elif wanted:
            going[name] = wanted
    return Packed(tuple(_counts(number, going, when)), tuple(short))


def _counts(number: str, going: dict[str, int], when: datetime.datetime) -> Iterator[PackagingCount]:
    for name, wanted in going.items():
        yield PackagingCount(packaging=name, when=when, pieces=-wanted, reason=f"batch {number}", batch=number)
