"""The batch sheet on paper: what stands on it, where it can be written on, and hostile names."""

from dataclasses import replace
from functools import cache

from optiform.batch.batch import BatchSheet, Filled, batch_sheet
from optiform.batch.file import read_making
from optiform.brief.file import read_brief
from optiform.reading.paths import DEMO
from optiform.telling.papers.batch import batch_page


@cache
def sheet() -> BatchSheet:
    brief = read_brief(DEMO / "brief.toml")
    formula = brief.reference
    assert formula is not None
    return batch_sheet(formula, brief, read_making(DEMO / "making.toml", brief.catalogue, formula))


def test_everything_that_is_weighed_done_and_minded_is_on_it() -> None:
    page = batch_page(sheet())
    for phase in sheet().phases:
        assert f"<h2>{phase.phase.capitalize()}" in page
        for line in phase.lines:
            assert f">{line.ingredient}<" in page
            assert f">{line.grams}<" in page
    assert all(caution.text in page for caution in sheet().cautions if caution.where == "making")
    assert (
        page.index("<h2>Warnings") < page.index("<h2>Water phase") < page.index("<h2>Steps") < page.index("<h2>Record")
    )


def test_cautions_stand_in_one_box_before_the_weighing_with_the_numbers_of_their_steps() -> None:
    page = batch_page(sheet())
    assert page.index('class="box"') < page.index("<h2>Water phase")
    for caution in sheet().cautions:
        assert (f"<li>Step {caution.step}: {caution.text}</li>" in page) == (caution.where == "making")
    told = [k for k, _ in enumerate(sheet().steps, 1) if k in {caution.step for caution in sheet().cautions}]
    assert page.count("See the cautions.") == len(told) > 0


def test_every_heading_of_a_table_of_lines_is_in_one_section_with_it() -> None:
    page = batch_page(sheet())
    for phase in sheet().phases:
        words = f"{phase.phase.capitalize()}, {phase.part}" if phase.part else phase.phase.capitalize()
        assert f"<section>\n<h2>{words}</h2>\n<table>" in page
    assert "<section>\n<h2>Parts</h2>\n<table>" in page


def test_every_line_and_step_has_a_box_to_tick() -> None:
    lines = sum(len(phase.lines) for phase in sheet().phases)
    assert batch_page(sheet()).count('<td class="tick">') == lines + len(sheet().steps)


def test_the_batch_is_named_on_every_page() -> None:
    known = replace(sheet(), filled=Filled("Q26x050", "day", "", "", "today, 2026-06-01"))
    assert "Q26x050" in batch_page(known).split("</style>")[0]
    assert "<td>today, 2026-06-01</td>" in batch_page(known)
    assert "Q26x050" not in batch_page(sheet())


def test_what_the_scale_distorts_is_told_with_what_helps() -> None:
    page = batch_page(sheet())
    found = {dose.ingredient: dose for _, dose in sheet().small if dose.told}
    assert set(found) == {"iron oxide, red", "fragrance oil"}
    for dose in found.values():
        assert f'<td class="number">{dose.off:+g} %</td>' in page
        assert f"{dose.off:+g} %: see small doses" in page
        assert dose.helps in page


def test_common_practice_is_marked() -> None:
    page = batch_page(sheet())
    assert '<p class="small">* common practice, no source.</p>' in page
    assert "<td>4*</td><td>Combine" in page
    assert "<td>5</td><td>Cool to 45 degC" in page  # from the observed point


def test_there_is_room_to_write() -> None:
    page = batch_page(sheet())
    words = (
        "batch number", "date", "start, end", "operator", "weighings checked by", "g weighed", "lot, expiry",
        "degC read", "time taken", "jars rejected", "jars kept back (1 planned)", "third, g", "deviations: what",
        "signature", "clean-down done by", "loss %",
    )  # fmt: skip
    assert [word for word in words if word not in page] == []
    lines = sum(len(phase.lines) for phase in sheet().phases)
    assert page.count('class="blank"') > 2 * lines + 2 * len(sheet().steps)


def test_a_lot_that_is_known_is_printed() -> None:
    first, *rest = sheet().phases
    known = replace(first, lines=(replace(first.lines[0], lot="W-7"), *first.lines[1:]))
    page = batch_page(replace(sheet(), phases=(known, *rest)))
    assert "<td>W-7</td>" in page


def test_a_hostile_name_stays_words() -> None:
    name = "<script>alert(\"1\")</script> & 'co'"
    first = sheet().phases[0]
    hostile = replace(first, part=name, lines=(replace(first.lines[0], ingredient=name, note=name, lot=name),))
    page = batch_page(replace(sheet(), title=name, formula=name, called=name, phases=(hostile,), warnings=(name,)))
    assert "<script" not in page
    assert page.count("&lt;script&gt;alert(&quot;1&quot;)&lt;/script&gt; &amp; &#x27;co&#x27;") == 8


def test_nothing_is_fetched_from_elsewhere() -> None:
    assert "http" not in batch_page(sheet())
