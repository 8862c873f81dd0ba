"""What a maker wrote beside the figures of a brief, of costs and of a making survives every change on the pages."""

import tomllib
from dataclasses import replace

from streamlit.testing.v1 import AppTest
from workbench.load import Taken, gathered
from workbench.state import COSTS_FILE, MAKING_FILE, Bench, Key, demo

from tests.ui.test_pages import BRIEF, control, lines_edited, page
from tests.ui.test_papers import COSTS, EDITED, MAKING, hand_in, number, on_paper

NOTES = ("# Its mango butter is sold out", "# what the workshop owns", "# named on the label", "# pins and ranges")


def on_bench(at: AppTest) -> Bench:
    bench: Bench = at.session_state[Key.BENCH]
    return bench


def changed_lines(before: str, after: str) -> tuple[list[str], list[str]]:
    """The lines of a text that are gone, and those that are new."""
    old, new = before.splitlines(), after.splitlines()
    return [line for line in old if line not in new], [line for line in new if line not in old]


def test_a_limit_that_is_moved_changes_its_own_line_only() -> None:
    at = page("bench")
    control(at, "limit oil phase").set_range(23.0, 28.0).run()
    gone, new = changed_lines(demo().text, on_bench(at).text)
    assert len(gone) == len(new) == 1
    assert new[0].startswith('"oil phase" = { low = 23.0, high =')
    assert all(note in on_bench(at).text for note in NOTES)


def test_a_line_that_is_changed_changes_its_own_line_only_and_a_new_one_stands_below() -> None:
    names = ["xanthan gum", "glycerin"]
    text = lines_edited({0: {"least": 0.3}, 1: {"%": 2.0}}, names).text
    gone, new = changed_lines(demo().text, text)
    assert gone == ['"xanthan gum" = { low = "0.2 %", high = "0.4 %" }']
    assert new == ['"xanthan gum" = { low = 0.3, high = "0.4 %" }', "glycerin = {low = 2.0, high = 2.0}"]
    assert all(note in text for note in NOTES)


def test_undo_brings_back_the_text_to_the_letter() -> None:
    at = page("bench")
    control(at, "limit oil phase").set_range(23.0, 28.0).run()
    next(button for button in at.button if str(button.label).startswith("Undo")).click().run()
    assert on_bench(at).text == demo().text


def test_a_price_of_packaging_changes_its_own_line_only() -> None:
    at = hand_in(page("costs", state={**COSTS, "costs-packaging 0": {**EDITED, "edited_rows": {0: {"EUR": 1.58}}}}))
    before, after = demo().papers[COSTS_FILE], on_paper(at, COSTS_FILE)
    first = next(iter(tomllib.loads(before)["packaging"]))
    gone, new = changed_lines(before, after)
    assert len(gone) == len(new) == 1
    assert new[0].startswith(f'"{first}" = "1.58 EUR"') or new[0].startswith(f'{first} = "1.58 EUR"')


def test_costs_and_making_that_are_handed_in_as_they_stand_stay_to_the_letter() -> None:
    for view, opened, name in (("costs", COSTS, COSTS_FILE), ("batch", MAKING, MAKING_FILE)):
        assert on_paper(hand_in(page(view, state=opened)), name) == demo().papers[name]


def test_a_figure_of_the_making_changes_its_own_line_only() -> None:
    at = page("batch", state=MAKING)
    number(at, "making-loss").set_value(7.0)
    before, after = demo().papers[MAKING_FILE], on_paper(hand_in(at), MAKING_FILE)
    gone, new = changed_lines(before, after)
    assert [line.split(" = ")[0] for line in gone] == ["loss"]
    assert [line.split("  ")[0].strip() for line in new] == ['loss = "7 %"']


def test_a_name_that_the_maker_spells_otherwise_stays_spelled_so() -> None:
    text = BRIEF.replace('"cocoa butter" = { high = "3 %" }', '"Theobroma Cacao Seed Butter" = { high = "3 %" }  # big')
    taken = gathered(demo(), {"brief.toml": text, **demo().files})
    assert isinstance(taken, Taken)
    assert taken.bench.document["lines"]["cocoa butter"] == {"high": "3 %"}
    document = {**taken.bench.document, "batch": "5 kg"}
    document["lines"] = {**document["lines"], "cocoa butter": {"high": "4 %"}, "glycerin": "2 %"}
    assert taken.bench.saying(document).document == document
    new = taken.bench.saying(document).text
    assert '"Theobroma Cacao Seed Butter" = { high = "4 %" }  # big\nglycerin = "2 %"\n' in new
    assert changed_lines(text, new)[0] == ['batch = "4 kg"', '"Theobroma Cacao Seed Butter" = { high = "3 %" }  # big']


def test_a_brief_whose_comments_alone_differ_is_another_text() -> None:
    taken = gathered(demo(), {"brief.toml": BRIEF + "# spring\n", **demo().files})
    assert isinstance(taken, Taken)
    assert taken.bench.text.endswith("# spring\n")
    assert taken.bench.content == replace(demo(), papers={}).content
