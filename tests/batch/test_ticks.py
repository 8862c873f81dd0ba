"""What devices tick of a batch is brought together in the records: nothing is written over, a clash is told."""

import datetime
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from optiform.batch.batch import BatchSheet, batch_sheet
from optiform.batch.keeping import Wanted, kept_batch, lotted
from optiform.batch.ticks import ended, run_of, settled, ticked, word_of
from optiform.brief.file import read_brief
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula
from optiform.reading.faults import BadInput
from optiform.reading.paths import DEMO
from optiform.telling.saved import kept_in_words
from optiform.telling.screens import screens
from optiform.workshop.decisions import keep, written
from optiform.workshop.keeping import lines_of
from optiform.workshop.records import Batch, BatchLine, Lot, Movement, Tick, Version, Weighing
from optiform.workshop.store import Workshop

NOON = datetime.datetime(2026, 11, 27, 12)
WHERE = written("test")


def demo() -> tuple[BatchSheet, Formula, Catalogue]:
    brief = read_brief(DEMO / "brief.toml")
    assert brief.reference is not None
    return batch_sheet(brief.reference, brief), brief.reference, brief.catalogue


def tick(name: str, word: str, over: int = 0, grams: float | None = None, lot: str = "", run: int = 1) -> Tick:
    """What a device says of the line of an ingredient."""
    sheet, _, _ = demo()
    number, screen = next((k, x) for k, x in enumerate(screens(sheet)) if x.name == name)
    return Tick(
        sheet=word_of(sheet), run=run, screen=number, number=1, over=over, word=word, ingredient=name,
        place=screen.place, planned=float(screen.grams), grams=grams, lot=lot, when=NOON,
    )  # fmt: skip


def put(workshop: Workshop, *ticks: Tick) -> str:
    return kept_in_words(keep(workshop, lambda kept: ticked(kept, "polish", ticks, NOON), WHERE))


def shelf(workshop: Workshop, *, but: str = "") -> None:
    """A lot of everything in plenty, and two of water."""
    sheet, _, _ = demo()
    names = {line.ingredient for phase in sheet.phases for line in phase.lines} - {but}
    lots = [Lot(number=f"{name[:6].strip()}-{k}", ingredient=name) for k, name in enumerate(sorted(names))]
    lots += [Lot(number="W-1", ingredient="water"), Lot(number="W-2", ingredient="water")]
    workshop.add(*lots, *(Movement(lot=lot.number, when=NOON, kg=9.0, reason="received") for lot in lots))


@pytest.fixture
def workshop(tmp_path: Path) -> Workshop:
    return Workshop.open(tmp_path)


def test_ticks_of_two_devices_stand_together_and_one_that_comes_twice_is_one(workshop: Workshop) -> None:
    sheet, _, _ = demo()
    put(workshop, tick("water", "a1", grams=970.0))
    put(workshop, tick("water", "a1", grams=970.0), tick("glycerin", "b1"))
    run = run_of(workshop, word_of(sheet))
    assert {t.ingredient: t.grams for t in run.last.values()} == {"water": 970.0, "glycerin": None}
    assert not run.clashes
    assert len(workshop.read(Tick)) == 2


def test_who_did_not_know_of_a_tick_never_writes_over_it_and_is_asked(workshop: Workshop) -> None:
    sheet, _, _ = demo()
    put(workshop, tick("water", "a1", grams=970.0))
    put(workshop, tick("water", "b1", grams=965.0, lot="W-2"))
    run = run_of(workshop, word_of(sheet))
    (told,) = run.clashes.values()
    assert [t.grams for t in told] == [970.0, 965.0]
    assert not run.lines, "nothing counts until it is decided"
    keep(workshop, lambda kept: settled(kept, told[0], "c1", NOON), WHERE)
    run = run_of(workshop, word_of(sheet))
    assert not run.clashes
    assert [t.grams for t in run.lines.values()] == [970.0]
    assert len(workshop.read(Tick)) == 3, "what did not count stands in the records still"


def test_the_same_said_twice_and_what_is_said_knowingly_are_no_clash(workshop: Workshop) -> None:
    sheet, _, _ = demo()
    put(workshop, tick("water", "a1"), tick("water", "b1", grams=968.0))
    assert not run_of(workshop, word_of(sheet)).clashes
    put(workshop, tick("water", "a2", over=2, grams=971.0))
    run = run_of(workshop, word_of(sheet))
    assert not run.clashes
    assert [t.grams for t in run.lines.values()] == [971.0]


def test_a_run_that_ended_is_not_taken_for_the_next_and_what_comes_late_is_told(workshop: Workshop) -> None:
    sheet, _, _ = demo()
    word = word_of(sheet)
    put(workshop, tick("water", "a1"))
    workshop.decide(lambda kept: ended(kept, word, NOON))
    assert run_of(workshop, word).number == 2
    assert not run_of(workshop, word).screens
    assert "after this batch had ended" in put(workshop, tick("glycerin", "b1"))
    assert not run_of(workshop, word).screens
    put(workshop, tick("water", "a2", run=2))
    assert list(run_of(workshop, word).lines) == [("water", "water phase")]


def test_a_batch_is_kept_with_the_lots_and_grams_that_were_weighed(workshop: Workshop) -> None:
    sheet, formula, catalogue = demo()
    shelf(workshop)
    version = Version(product="polish", name="one", parent="", reason="first", created=NOON)
    lines = [(line.ingredient.name, 100 * line.fraction, line.phase) for line in formula.lines]
    workshop.add(version, *lines_of(version, lines))
    put(workshop, tick("water", "a1", grams=971.0, lot="W-2"), tick("glycerin", "a2", grams=1.5))
    shown = [x.lot for phase in lotted(workshop, sheet, catalogue, NOON.date()).sheet.phases for x in phase.lines]
    assert "W-2, weighed" in shown
    made = kept_batch(workshop, Wanted("B-1", NOON.date()), sheet, formula, catalogue, WHERE)
    workshop.decide(lambda _: made.records)
    (water,) = workshop.read(BatchLine, ingredient="water")
    assert (water.lot, water.planned, water.actual) == ("W-2", 968.0, 971.0)
    (out,) = workshop.read(Movement, lot="W-2", batch="B-1")
    assert out.kg == -0.971
    (glycerin,) = workshop.read(BatchLine, ingredient="glycerin")
    assert glycerin.actual == 1.5
    assert [line.actual for line in workshop.read(BatchLine, ingredient="cocoa butter")] in ([], [None])
    (weighing,) = workshop.read(Weighing)
    assert (weighing.batch, weighing.ended is None) == ("B-1", False)
    assert run_of(workshop, word_of(sheet)).number == 2


def test_several_lots_of_a_line_and_one_that_is_not_kept(workshop: Workshop) -> None:
    sheet, formula, catalogue = demo()
    shelf(workshop)
    put(workshop, tick("water", "a1", grams=970.0, lot="W-1 400 g; W-2"))
    takes = [x for x in lotted(workshop, sheet, catalogue, NOON.date()).takes if x.ingredient == "water"]
    assert [(x.lot, x.weighed) for x in takes] == [("W-1", Decimal(400)), ("W-2", Decimal(570))]
    assert sum(x.grams for x in takes) == 968
    put(workshop, replace(tick("water", "a2", over=1), lot="W-3"))
    with pytest.raises(BadInput, match=r"weighed from lot 'W-3'.*W-2 or W-1"):
        kept_batch(workshop, Wanted("B-1", NOON.date()), sheet, formula, catalogue, WHERE)
    assert not workshop.read(Batch)


def test_a_batch_is_not_kept_while_two_devices_say_different_things(workshop: Workshop) -> None:
    sheet, formula, catalogue = demo()
    shelf(workshop)
    put(workshop, tick("water", "a1", grams=970.0), tick("water", "b1", grams=900.0))
    with pytest.raises(BadInput, match="water: 2 devices say different things"):
        kept_batch(workshop, Wanted("B-1", NOON.date()), sheet, formula, catalogue, WHERE)
