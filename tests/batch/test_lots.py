"""Lots of a batch sheet: every gram from one lot or missing, first expired first; and what is kept of it."""

import datetime
from dataclasses import replace
from decimal import Decimal
from functools import cache

from hypothesis import given, settings
from hypothesis import strategies as st

from optiform.batch.batch import BatchSheet, batch_sheet
from optiform.batch.file import read_making
from optiform.batch.lots import with_lots
from optiform.batch.records import NoneBefore, NotByJar, batch_records, matches, packed, repacked
from optiform.brief.file import read_brief
from optiform.reading.paths import DEMO
from optiform.telling.worked import uncounted_of
from optiform.workshop.records import Batch, BatchLine, Lot, Movement, Packaging, PackagingCount, Version, VersionLine
from optiform.workshop.supplies import OnShelf
from tests.dates import ANY_DAY

NOON = datetime.datetime.combine(ANY_DAY, datetime.time(12))
BATCH = Batch(number="B2", product="polish", version="one", made=ANY_DAY, planned=4000.0)


@cache
def sheet() -> BatchSheet:
    """The demo's two parts, so that salt and fragrance stand on two lines each."""
    brief = read_brief(DEMO / "brief.toml")
    assert brief.reference is not None
    return batch_sheet(brief.reference, brief, read_making(DEMO / "making.toml", brief.catalogue, brief.reference))


def salt(number: str, kg: float, days: int = 100) -> OnShelf:
    expiry = ANY_DAY + datetime.timedelta(days=days)
    return OnShelf(Lot(number=number, ingredient="sea salt, fine", expiry=expiry), kg)


@settings(deadline=None)  # the sheet is worked out in the first example
@given(st.lists(st.floats(-0.5, 0.9), max_size=6))
def test_every_gram_comes_from_a_lot_or_is_missing(left: list[float]) -> None:
    lots = [salt(str(n), kg, n) for n, kg in enumerate(left)]
    found = with_lots(sheet(), lots, ANY_DAY)
    needed = sum(x.grams for phase in sheet().phases for x in phase.lines)
    assert sum(take.grams for take in found.takes) + sum(each.grams for each in found.missing) == needed
    taken = {n: sum((t.grams for t in found.takes if t.lot == str(n)), Decimal(0)) for n in range(len(left))}
    for n, kg in enumerate(left):
        assert taken[n] <= max(Decimal(0), 1000 * Decimal(str(kg))) + Decimal("0.001")
        if any(taken[later] for later in range(n + 1, len(left))) and kg > 0:
            assert 1000 * kg - float(taken[n]) < 1, "an earlier lot is used up to less than a step of the scale"


def test_a_lot_that_two_parts_share_is_not_used_twice() -> None:
    found = with_lots(sheet(), [salt("A", 0.8), salt("B", 9.0)], ANY_DAY)
    words = [x.lot for phase in found.sheet.phases for x in phase.lines if x.ingredient == "sea salt, fine"]
    assert words == ["A, 2027-03-05", "A 95 g, 2027-03-05; B 509 g, 2027-03-05"]


def test_a_lot_that_expires_before_the_day_or_comes_after_it_is_named() -> None:
    late = replace(salt("C", 2.0).lot, received=ANY_DAY + datetime.timedelta(days=1))
    found = with_lots(sheet(), [salt("A", 3.0, -1), OnShelf(late, 2.0), salt("D", 3.0, 0)], ANY_DAY)
    assert {take.lot for take in found.takes} == {"D"}
    told = [words for words in map(str, found.sheet.warnings) if words.startswith("Not used")]
    assert told == [
        "Not used: lot A, 3 kg of sea salt, fine: it expires on 2026-11-24, before the making.",
        "Not used: lot C, 2 kg of sea salt, fine: it comes in on 2026-11-26, after the making.",
    ]
    (lacking,) = [text for text in map(str, found.sheet.warnings) if text.startswith("No lot that may be used has")]
    assert "these: water 990 g; tetrasodium" in lacking


def test_what_is_kept_is_what_is_taken() -> None:
    found = with_lots(sheet(), [salt("A", 0.8), salt("B", 9.0)], ANY_DAY)
    batch, *rest = batch_records(BATCH, found, NOON)
    lines = [each for each in rest if isinstance(each, BatchLine)]
    moves = [each for each in rest if isinstance(each, Movement)]
    assert batch is BATCH
    assert [(x.position, x.lot, x.planned) for x in lines] == [(1, "A", 705.0), (2, "A", 95.0), (3, "B", 509.0)]
    assert [(x.lot, x.kg, x.batch) for x in moves] == [("A", -0.705, "B2"), ("A", -0.095, "B2"), ("B", -0.509, "B2")]


def test_a_version_is_the_formula_within_half_a_step_of_the_scale() -> None:
    formula = read_brief(DEMO / "brief.toml").reference
    assert formula is not None

    def version(name: str, more: float) -> tuple[Version, list[VersionLine]]:
        off = {"water": more, "glycerin": -more}
        return Version(product="polish", name=name, parent="", reason="x", created=NOON), [
            VersionLine(
                product="polish", version=name, position=n, phase=x.phase,
                ingredient=x.ingredient.name, percent=100 * x.fraction + off.get(x.ingredient.name, 0.0),
            )
            for n, x in enumerate(formula.lines)
        ]  # fmt: skip

    kept = [version("same", 0.0), version("a hair off", 0.01), version("another", 0.02)]
    found = matches(formula, 4000, 1, [each for each, _ in kept], [line for _, lines in kept for line in lines])
    assert [each.differing for each in found] == [(), (), ("water", "glycerin")]
    assert matches(formula, 400, 1, [kept[2][0]], kept[2][1])[0].differing == ()


def count(name: str, pieces: int, batch: str = "") -> PackagingCount:
    return PackagingCount(packaging=name, when=NOON, pieces=pieces, reason="x", batch=batch)


KINDS = [Packaging(name="jar", kind="jar"), Packaging(name="label", kind="label"), Packaging(name="box", kind="box")]


def moved(jars: int, counts: list[PackagingCount], kinds: list[Packaging] = KINDS) -> dict[str, int]:
    return {x.packaging: x.pieces for x in repacked(replace(BATCH, jars=jars), kinds, counts, NOON).counts}


def test_two_labels_for_each_jar_stay_two_and_a_box_for_six_is_left_alone() -> None:
    there = [count("jar", 40), count("label", 80), count("box", 9), count("lid", 40)]
    gone = [count("jar", -26, "B2"), count("label", -52, "B2"), count("box", -5, "B2"), count("lid", -26, "B2")]
    assert moved(24, [*there, *gone]) == {"jar": 2, "label": 4, "lid": 2}
    assert moved(24, [*there, *gone], []) == {"jar": 2, "label": 4, "lid": 2}  # two of three agree on 26
    assert moved(27, [*there, *gone]) == {"jar": -1, "label": -2, "lid": -1}
    assert moved(26, [*there, *gone]) == {}
    left = repacked(replace(BATCH, jars=24), KINDS, [*there, *gone], NOON).uncounted
    assert left == (NotByJar("box", 5, "B2"),)
    before = replace(BATCH, number="B1", jars=26)
    earlier = [*there, *(replace(each, batch="B1") for each in gone[:3])]
    again = packed(BATCH, 10, [before], earlier, NOON)
    assert {x.packaging: x.pieces for x in again.counts} == {"jar": -10, "label": -20}
    assert again.uncounted == (NotByJar("box", 5, "B1"),)


def test_packaging_goes_as_the_last_batch_took_it_and_comes_back() -> None:
    before = replace(BATCH, number="B1", jars=9, rejected=1)
    counts = [count("jar", 40), count("lid", 15), count("box", 9), count("jar", -10, "B1"), count("lid", -10, "B1")]
    counts.append(count("box", -2, "B1"))
    found = packed(BATCH, 12, [before], counts, NOON)
    assert [(x.packaging, x.pieces, x.batch) for x in found.counts] == [("jar", -12, "B2")]
    assert uncounted_of(found)[0] == "lid: 5 there, 12 needed, so none is counted out."
    assert uncounted_of(found)[1].startswith("box: 2 went into batch B1, no whole number for each jar")
    made = replace(BATCH, jars=10, rejected=1)
    back = repacked(made, KINDS, [*counts, *found.counts], NOON)
    assert [(x.packaging, x.pieces) for x in back.counts] == [("jar", 1)]
    assert repacked(made, KINDS, [*counts, *found.counts, *back.counts], NOON).counts == ()
    assert packed(BATCH, 12, [replace(before, product="soap")], counts, NOON).uncounted == (NoneBefore(),)
