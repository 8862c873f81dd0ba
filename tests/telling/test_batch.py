"""The batch sheet: what stands on it, where it can be written on, and hostile names."""

import re
from dataclasses import replace
from functools import cache
from html import unescape

from optiform.batch.batch import BatchSheet, Filled, batch_sheet
from optiform.batch.facts import Wetted
from optiform.batch.file import read_making
from optiform.brief.file import read_brief
from optiform.reading.paths import DEMO
from optiform.review.answer import FormulaWarning
from optiform.telling.batch import batch, running
from optiform.telling.document import document
from optiform.telling.doses import helps
from optiform.telling.terminal import short, terminal


@cache
def sheet() -> BatchSheet:
    brief = read_brief(DEMO / "brief.toml")
    formula = brief.reference
    assert formula is not None
    return batch_sheet(formula, brief, read_making(DEMO / "making.toml", brief.catalogue, formula))


def page(of: BatchSheet | None = None) -> str:
    known = of or sheet()
    return document(batch(known), running(known))


def cells(html: str) -> list[list[str]]:
    """The rows of every table as text."""
    rows = re.findall(r"<tr[^>]*>(.*?)</tr>", html)
    return [[unescape(cell).strip() for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row)] for row in rows]


def test_everything_that_is_weighed_done_and_watched_out_for_is_on_it() -> None:
    rows = cells(page())
    for phase in sheet().phases:
        where = f"{phase.phase.capitalize()}, {phase.part}" if phase.part else phase.phase.capitalize()
        alone = len(phase.lines) == 1
        assert alone or [where, str(phase.grams)] in [row[:2] for row in rows]
        for line in phase.lines:
            name = f"{where}: {line.ingredient}" if alone else line.ingredient
            assert [name, str(line.grams)] in [row[:2] for row in rows]
    html = page()
    assert all(warning.replace("degC", "°C") in unescape(html) for warning in map(str, sheet().warnings))
    assert (
        html.index("Water phase") < html.index("<h2>Watch out for") < html.index("<h2>Steps") < html.index("<h2>Record")
    )


def test_a_caution_on_making_stands_right_below_its_step_and_no_other_is_there() -> None:
    (steps,) = batch(sheet()).only("steps").tables
    step, below = 0, dict[str, int]()
    for number, _, words, *_ in steps.rows:
        step = int(str(number).rstrip("*")) if number else step
        if not number:
            below[str(words).removeprefix("Caution: ")] = step
    making = {c.text: c.step for c in sheet().cautions if c.where == "making"}
    assert below == making
    assert len(making) < len(sheet().cautions)


def test_the_short_telling_fits_a_screen_and_says_where_the_rest_stands() -> None:
    text = terminal(batch(sheet()).brief(), 90)
    lines = text.splitlines()
    assert len(lines) <= 37  # and three for what comes next
    assert max(map(len, lines)) <= 90
    assert "21 steps with 9 cautions on making it (18 more on the declaration): --part steps" in " ".join(text.split())
    assert "Weigh 4091 g for 26 jars of 151 g (net 150 g)" in text
    assert "Record" not in text


def test_what_no_batch_begins_with_is_told_first_however_little_room_there_is() -> None:
    brief = read_brief(DEMO / "brief.toml")
    assert brief.reference is not None
    making = read_making(DEMO / "making.toml", brief.catalogue, brief.reference)
    lines = short(batch(batch_sheet(brief.reference, brief, making, 12000.0)), 90).splitlines()
    first = lines.index("Watch out for") + 1
    assert lines[first].startswith("  ! mango butter: the batch needs")
    assert lines[first + 1].startswith("  ! 12500 g do not fit your vessel of 5000 g. Make it in 3 goes")
    assert len(lines) <= 40


def test_what_is_to_be_filled_in_by_hand_is_on_paper_only() -> None:
    text = terminal(batch(sheet()), 120)
    assert not [words for words in ("g weighed", "time taken", "signature", "operator") if words in text]
    assert {"record", "release", "head"}.isdisjoint(batch(sheet()).names)


def test_every_line_and_step_has_a_box_to_tick() -> None:
    lines = sum(len(phase.lines) for phase in sheet().phases)
    assert page().count('<td class="tick">') == lines + len(sheet().steps)


def test_the_batch_is_named_on_every_page() -> None:
    known = replace(sheet(), filled=Filled("Q26x050", "day", "", "", "today, 2026-06-01"))
    assert "Q26x050" in page(known).split("</style>")[0]
    assert "<td>today, 2026\u201106\u201101</td>" in page(known)
    assert "Q26x050" not in page(sheet())


def test_what_the_scale_distorts_is_told_with_what_helps() -> None:
    rows = cells(page())
    distorted = {dose.ingredient: dose for _, dose in sheet().small if dose.told}
    assert set(distorted) == {"iron oxide, red", "fragrance oil"}
    for dose in distorted.values():
        assert [f"{dose.off:+.1f}", helps(dose)] in [row[-2:] for row in rows]
        assert f"{dose.off:+g} %: see small doses" in page()


def test_common_practice_is_marked() -> None:
    assert '<p class="small">* common practice, no source.</p>' in page()
    steps = {row[0]: row[2] for row in cells(page()) if len(row) == 7}
    assert steps["4*"].startswith("Combine")
    assert steps["5"].startswith("Cool to 45 °C")


def test_there_is_room_to_write() -> None:
    html = page(sheet())
    words = (
        "batch number", "date", "start, end", "operator", "weighings checked by", "g weighed", "lot, expiry",
        "°C read", "time taken", "jars rejected", "jars held back (1 planned)", "third, g", "another way: when",
        "signature", "clean-down done by", "loss %",
    )  # fmt: skip
    assert [word for word in words if word not in html] == []
    lines = sum(len(phase.lines) for phase in sheet().phases)
    assert html.count('class="blank"') > 2 * lines + 2 * len(sheet().steps)


def test_a_lot_that_is_known_is_printed() -> None:
    first, *rest = sheet().phases
    known = replace(first, lines=(replace(first.lines[0], lot="W-7"), *first.lines[1:]))
    html = page(replace(sheet(), phases=(known, *rest)))
    assert ">W-7</td>" in html


def test_a_hostile_name_stays_words() -> None:
    name = "<script>alert(\"1\")</script> & 'co'"
    first = sheet().phases[0]
    hostile = replace(
        first, part=name, lines=(replace(first.lines[0], ingredient=name, minds=(Wetted(name),), lot=name),)
    )
    html = page(
        replace(
            sheet(),
            title=name,
            formula=name,
            called=name,
            phases=(hostile,),
            warnings=(FormulaWarning("total", "mind", name, name),),
        )
    )
    assert "<script" not in html
    assert html.count("&lt;script&gt;alert(&quot;1&quot;)&lt;/script&gt; &amp; &#x27;co&#x27;") == 9


def test_nothing_is_fetched_from_elsewhere() -> None:
    assert "http" not in page(sheet())
