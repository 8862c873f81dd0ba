"""What stands beside the formula on the bench, and a batch one thing at a time."""

from dataclasses import replace
from datetime import datetime

from optiform.batch.batch import batch_sheet
from optiform.batch.ticks import Run, word_of
from optiform.brief.file import read_brief
from optiform.ingredients.formula import mixed
from optiform.properties.firmness import Band
from optiform.reading.paths import DEMO
from optiform.telling.method import done
from optiform.telling.parts import Table, Telling, readable
from optiform.telling.screens import screens, weighed
from optiform.telling.standing import bench_lines, firmness, last_step
from optiform.telling.terminal import terminal
from optiform.trials.firm import Firm, OnGauge
from optiform.workshop.records import Tick


def test_a_firmness_stands_with_its_band_and_the_reading_to_take() -> None:
    push = OnGauge("push on a scale, dowel 12 mm", "g", Band(212.0, 288.0, 407.0))
    section = firmness((Firm(20.0, Band(110.0, 120.0, 134.0), push),), today=True)
    table = section.parts[0]
    assert isinstance(table, Table)
    assert table.rows == (("20", "120", "110 to 134", "290 g (210 to 410)"),)
    assert "dowel 12 mm, mean of three jars" in " ".join(terminal(Telling("", (section,), table)).split())


def test_without_a_reading_it_says_how_to_get_one_and_without_a_network_why_there_is_none() -> None:
    plain = firmness((Firm(20.0, Band(110.0, 120.0, 134.0)),), today=False)
    words = terminal(Telling("", (plain,), Table((), ())))
    assert "you should read" not in words
    assert "Log a push on a scale" in words
    assert "This formula at 20 °C is 100" in words
    assert "carried by droplets" in terminal(Telling("", (firmness((), False, "carried by droplets"),), Table((), ())))


def test_the_last_step_names_the_lines_that_moved_largest_first() -> None:
    one = mixed({"olive oil": 70, "beeswax": 20, "cocoa butter": 10})
    two = mixed({"olive oil": 66, "beeswax": 21, "cocoa butter": 13})
    (told,) = last_step(one, two, "EUR", "a wish").parts
    assert "olive oil -4.00, cocoa butter +3.00, beeswax +1.00 % points" in str(told)
    (same,) = last_step(one, one, "EUR", "a wish").parts
    assert "no line moves" in str(same)


def test_the_lines_of_the_bench_add_up_to_the_batch() -> None:
    brief = read_brief(DEMO / "brief.toml")
    assert brief.reference is not None
    rows = bench_lines(brief, brief.reference, ())
    assert sum(row.grams for row in rows) == 4000
    assert all(row.more is None and row.firmness is None for row in rows)


def test_every_line_and_step_of_a_sheet_has_a_screen_and_a_line_comes_before_its_step() -> None:
    brief = read_brief(DEMO / "brief.toml")
    assert brief.reference is not None
    sheet = batch_sheet(brief.reference, brief)
    shown = screens(sheet)
    lines = [line for phase in sheet.phases for line in phase.lines]
    assert sorted(screen.name for screen in shown if screen.name) == sorted(line.ingredient for line in lines)
    assert next(screen.words for screen in shown if not screen.name).startswith("Clean and dry")
    assert len(shown) == len(lines) + len(sheet.steps)
    order = [screen.name or "step" for screen in shown]
    for step in sheet.steps[1:]:
        at = next(k for k, screen in enumerate(shown) if not screen.name and screen.words == readable(done(step)))
        assert all(order.index(name) < at for name in step.uses), done(step)
    assert all(screen.minutes is None or screen.minutes < 24 * 60 for screen in shown)
    assert word_of(sheet) != word_of(replace(sheet, title="another"))


def test_what_was_ticked_is_told_with_what_was_due_where_the_scale_showed_another() -> None:
    as_due = Tick(
        sheet="s", run=1, screen=1, number=1, over=0, word="a", ingredient="water", place="water phase", planned=968.0,
        grams=None, lot="", when=datetime(2026, 11, 27, 14, 7),
    )  # fmt: skip
    other = replace(as_due, screen=0, grams=970.0, lot="L-1", when=datetime(2026, 11, 27, 14, 5))
    told = [sentence.text for sentence in weighed(Run(1, {0: (other,), 1: (as_due,)}))]
    assert told == ["water: 970 g (968 g due), lot L-1, at 14:05", "water: 968 g, at 14:07"]
