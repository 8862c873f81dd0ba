"""The pages of the documents around a formula, each in each of its states, without a browser."""

import re
import tomllib
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from streamlit.testing.v1 import AppTest
from workbench import state, work
from workbench.load import Taken, gathered
from workbench.show import escape
from workbench.state import BEST, COSTS_FILE, MAKING_FILE, TODAY, Bench, Key, demo

from optiform.batch.file import read_making
from optiform.brief.brief import Brief
from optiform.costs.file import Costs, read_costs
from optiform.costs.jar import cost_sheet
from optiform.reading import clock
from optiform.reading.toml_text import toml_text
from optiform.workshop.records import Lot, Movement
from optiform.workshop.store import Workshop
from tests.ui.test_pages import BRIEF, bench, page, table, texts, unfolded, variant

EDITED: dict[str, Any] = {"edited_rows": {}, "added_rows": [], "deleted_rows": []}
#: The fields of a paper, open.
MAKING, COSTS = {"making-details is open": True}, {"costs-details is open": True}


def paper(name: str, text: str) -> Bench:
    """The demo with another text in one of its papers."""
    shipped = demo()
    return replace(shipped, papers={**shipped.papers, name: text})


def without_papers() -> Bench:
    return replace(demo(), papers={})


def brief() -> Brief:
    found = work.brief(demo())
    assert isinstance(found, Brief)
    return found


def hand_in(at: AppTest) -> AppTest:
    """The form of the page, handed in."""
    (button,) = (each for each in at.button if each.label == "Use these")
    button.click().run()
    assert not at.exception
    return at


def number(at: AppTest, key: str) -> Any:
    (found,) = (each for each in at.number_input if str(each.key).rpartition(" ")[0] == key)
    return found


def on_paper(at: AppTest, name: str) -> str:
    found: Bench = at.session_state[Key.BENCH]
    return found.papers[name]


def order(at: AppTest, *said: str) -> list[str]:
    """These words in the order in which the page says them, in a warning, a fold, a figure or a text."""
    drawn = [f"{getattr(x, 'label', '')} {getattr(x, 'value', '')}".replace("\\", "") for x in at.main]
    first = {words: next(k for k, text in enumerate(drawn) if words in text) for words in said}
    return sorted(said, key=first.__getitem__)


def test_what_holds_a_batch_up_stands_where_formula_and_size_are_chosen_above_all_else() -> None:
    lacking = "mango butter: the batch needs"
    said = ["How much", lacking, "come out wrong", "How it is made", "To weigh", "Much tocopherol"]
    assert order(page("batch"), *said) == said
    by_scale = page("batch", state={Key.WAY: "one thing at a time, to weigh by"})
    assert lacking in texts(by_scale.warning)


# -- the formula they are made for -------------------------------------------------------------------------------------


def test_the_formula_that_is_chosen_goes_along_from_page_to_page() -> None:
    at = page("declaration", state={Key.VARIANTS: [variant("softer", 1.0)]})
    assert at.selectbox("choose-formula").options == [TODAY, BEST, "softer"]
    at.selectbox("choose-formula").set_value("softer").run()
    at.switch_page("views/variants.py").run()  # which has no such choice
    for name in ("batch", "costs", "declaration"):
        at.switch_page(f"views/{name}.py").run()
        assert not at.exception
        assert at.selectbox("choose-formula").value == "softer", name


@pytest.mark.parametrize(
    ("name", "words"), [(TODAY, "today (today.csv), today&#x27;s formula"), (BEST, "not today&#x27;s formula")]
)
def test_a_paper_says_which_formula_it_is_of(name: str, words: str, given: dict[str, str]) -> None:
    for view in ("batch", "costs", "declaration"):
        given.clear()
        page(view, state={Key.FORMULA: name})
        assert any(words in text for text in given.values()), view


def test_the_best_on_the_bench_costs_less_than_today_and_is_offered_without_a_today() -> None:
    today = float(page("costs").metric[0].value)
    best = float(page("costs", state={Key.FORMULA: BEST}).metric[0].value)
    assert best < today
    at = page("batch", bench(lambda document: document.pop("reference")))
    assert at.selectbox("choose-formula").options == [BEST]
    assert at.metric


def test_a_brief_that_cannot_be_met_says_so_only_where_its_best_is_asked_for() -> None:
    hard = bench(lambda document: document["limits"].__setitem__("solid fat at 30 degC", {"low": 40}))
    assert not page("declaration", hard).error
    at = page("declaration", hard, {Key.FORMULA: BEST})
    assert "No formula can meet the brief" in texts(at.error)
    assert not at.dataframe


def test_a_variant_cannot_take_the_name_of_what_nobody_kept() -> None:
    def script() -> None:
        from workbench import state

        state.keep(state.Variant("today", "today", "", ()))

    at = AppTest.from_function(script).run()
    assert at.session_state[Key.VARIANTS][0].name == "today 2"


def test_a_variant_whose_ingredient_is_gone_is_named_and_not_offered() -> None:
    gone = state.Variant("old", "today", "", (("moonstone", 100.0, "grains"),))
    at = page("declaration", state={Key.VARIANTS: [gone], Key.FORMULA: "old"})
    assert at.selectbox("choose-formula").value == TODAY
    assert "an ingredient is not on the bench: old" in texts(at.caption).replace("\\", "")


# -- batch -------------------------------------------------------------------------------------------------------------


def cells(at: AppTest) -> str:
    """What stands in the tables that are set as they are, with the steps and their temperatures."""
    return " ".join(f"{' '.join(map(str, each.value.index))} {each.value.to_string()}" for each in at.table)


def test_the_sheet_weighs_what_it_says_and_goes_along_as_page_and_table(given: dict[str, str]) -> None:
    at = page("batch", state=MAKING)
    amounts = {each.label: each.value for each in at.metric}
    assert amounts["Jars of 151 g"] == "26"
    read = pd.read_csv(StringIO(given["csv"]))
    assert f"{read['grams'].sum():g} g" == amounts["To weigh"]
    assert "Batch of" in given["html"]
    assert "common practice, no source" in texts(at.caption)
    assert "72" in cells(at)
    assert "Caution: Hot fats" in cells(at)
    assert texts(at.warning).startswith("mango butter")  # what is missing, before anything else
    assert "Small doses" in texts(at.header)
    assert "see small doses" in cells(at)
    assert "its figures are invented" in texts(at.caption)


def test_jars_or_kilograms_set_what_comes_out() -> None:
    at = page("batch", state={"batch-way": "jars", "batch-jars": 40})
    assert {each.label: each.value for each in at.metric}["Jars of 151 g"] == "40"
    at = page("batch", state={"batch-way": "kg", "batch-kg": 2.0})
    assert {each.label: each.value for each in at.metric}["To come out"] == "2000 g"


def test_without_a_making_file_all_is_common_practice() -> None:
    at = page("batch", without_papers())
    assert " 70 " in cells(at)
    assert "your making file" not in cells(at)
    assert not at.error


def test_a_making_with_faults_lists_them_all_and_keeps_what_was_there() -> None:
    at = page("batch", state=MAKING)
    before = on_paper(at, MAKING_FILE)
    at.text_area(f"text {MAKING_FILE} 0").set_value('loss = "dear"\nhot = "400 degC"\nspeed = 3\n').run()
    at.button(f"use {MAKING_FILE}").click().run()
    assert "Not used; what was there stays" in texts(at.error)
    shown = texts(at.markdown)
    assert [word for word in ("“dear”", "400 degC", "speed") if word not in shown.replace("\\", "")] == []
    assert on_paper(at, MAKING_FILE) == before
    assert at.metric


def test_fields_change_the_making_and_undo_brings_it_back() -> None:
    at = page("batch", state=MAKING)
    before = on_paper(at, MAKING_FILE)
    number(at, "making-hot").set_value(75.0)
    number(at, "making-loss").set_value(10.0)
    hand_in(at)
    assert " 75 " in cells(at)
    assert "10 % of it is lost" in texts(at.markdown)
    assert tomllib.loads(on_paper(at, MAKING_FILE))["part"] == tomllib.loads(before)["part"]
    at.button("undo").click().run()
    assert on_paper(at, MAKING_FILE) == before


def test_a_form_with_what_cannot_be_is_refused_in_full() -> None:
    at = page("batch", state=MAKING)
    number(at, "making-addition").set_value(90.0)
    number(at, "making-fill").set_value(100.0)
    number(at, "making-jar").set_value(150.0)
    hand_in(at)
    shown = texts(at.markdown)
    assert "addition" in shown
    assert "net mass of 150 g" in shown
    assert on_paper(at, MAKING_FILE) == demo().papers[MAKING_FILE]


def test_handing_in_an_untouched_form_changes_no_figure(tmp_path: Path) -> None:
    at = hand_in(page("batch", state=MAKING))
    found = brief()
    assert found.reference is not None
    for name in ("before", "after"):
        (tmp_path / name).write_text(demo().papers[MAKING_FILE] if name == "before" else on_paper(at, MAKING_FILE))
    before, after = (read_making(tmp_path / name, found.catalogue, found.reference) for name in ("before", "after"))
    assert after == before


def test_a_part_is_changed_in_its_table_and_keeps_its_own_lines() -> None:
    key = "making-parts 0"
    at = page("batch", state={**MAKING, key: {**EDITED, "edited_rows": {1: {"jars": 6}}}})
    hand_in(at)
    parts = tomllib.loads(on_paper(at, MAKING_FILE))["part"]
    assert [part["jars"] for part in parts] == [14, 6]
    assert "iron oxide, red" in parts[1]["lines"]


def test_a_part_that_is_taken_out_leaves_the_others_with_their_own_lines() -> None:
    at = hand_in(page("batch", state={**MAKING, "making-parts 0": {**EDITED, "deleted_rows": [0]}}))
    (part,) = tomllib.loads(on_paper(at, MAKING_FILE))["part"]
    assert part["name"] == "Juniper, red"
    assert "iron oxide, red" in part["lines"]
    more = {**EDITED, "deleted_rows": [0], "added_rows": [{"name": "Plain", "jars": 3}]}
    at = hand_in(page("batch", state={**MAKING, "making-parts 0": more}))
    red, plain = tomllib.loads(on_paper(at, MAKING_FILE))["part"]
    assert "iron oxide, red" in red["lines"]
    assert plain == {"name": "Plain", "jars": 3}


def test_a_making_that_does_not_fit_the_formula_is_told_and_can_be_mended() -> None:
    at = page("batch", paper(MAKING_FILE, 'hot = "warm"\n'))
    assert "Everything that is wrong with it" in texts(at.error)
    assert not at.metric
    at.text_area(f"text {MAKING_FILE} 0").set_value('hot = "71 degC"\n').run()
    at.button(f"use {MAKING_FILE}").click().run()
    assert " 71 " in cells(at)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b'hot = "71 degC"\n', " 71 "),
        (b"\xff\xfe\x00", "is no text in UTF-16-LE"),
        (b"= 3", "line 1: “= 3” cannot be read"),
        (demo().papers[MAKING_FILE].encode(), "That is what stands here already."),
    ],
    ids=["good", "not text", "not TOML", "the same"],
)
def test_a_file_that_is_loaded_counts_or_is_refused_with_its_reason(content: bytes, words: str) -> None:
    at = page("batch", state=MAKING)
    at.file_uploader(f"load {MAKING_FILE} 0").set_value((MAKING_FILE, content, "text/plain")).run()
    assert not at.exception
    assert words in "\n".join([*map(texts, (at.markdown, at.error, at.caption)), cells(at)])
    assert at.metric


# -- declaration -------------------------------------------------------------------------------------------------------


def test_the_markets_print_different_lists_and_no_page_calls_anything_safe(given: dict[str, str]) -> None:
    lists, pages = {}, []
    for market in ("EU", "US"):
        at = unfolded(page("declaration", state={Key.MARKET: market}))
        lists[market] = str(at.code[0].value)
        pages += [given["html"], given["txt"], texts(at.markdown), texts(at.caption)]
        names = pd.read_csv(StringIO(given["csv"]))["name"]
        assert lists[market] == f"Ingredients: {', '.join(names)}"
        (parts,) = (each.value for each in at.table if "could be" in each.value.columns)
        assert [name.removesuffix(" (allergen)") for name in parts.index] == [escape(name) for name in names]
    assert "Aqua" in lists["EU"]
    assert "Water" in lists["US"]
    assert "Aqua" not in lists["US"]
    assert " is safe" not in " ".join(pages).casefold()


def test_allergens_stand_against_their_thresholds_and_a_person_decides() -> None:
    at = unfolded(page("declaration"))
    shown = table(at, "named")
    named = shown["% of the jar"] > shown["named above, %"]
    assert list(shown["named"] == "yes") == list(named)
    assert named.any()
    assert not named.all()
    assert "responsible person" in cells(at)
    assert "150 g" in texts(at.markdown)
    assert "T2" in texts(at.markdown)


def test_without_a_jar_no_net_content_is_told() -> None:
    at = page("declaration", bench(lambda document: document.pop("jar")))
    assert "The net content is not known" in texts(at.markdown)


# -- costs -------------------------------------------------------------------------------------------------------------


def test_the_cost_of_a_jar_is_the_jobs_and_its_parts_sum_to_it(given: dict[str, str], tmp_path: Path) -> None:
    at = page("costs")
    found = brief()
    assert found.reference is not None
    (tmp_path / COSTS_FILE).write_text(demo().papers[COSTS_FILE])
    sheet = cost_sheet(found, found.reference, read_costs(tmp_path / COSTS_FILE, found.catalogue, found.currency))
    assert float(at.metric[0].value) == pytest.approx(sheet.full, abs=0.005)
    parts = table(at, "a jar")
    groups = parts[~parts["a jar"].str.startswith("- ")].iloc[:-1]
    assert groups["cost, EUR"].sum() == pytest.approx(sheet.full)
    assert groups["of full cost, %"].sum() == pytest.approx(100)
    assert list(table(at, "sold at")["sold at"]) == [channel.name for channel in sheet.costs.channels]
    assert "A formula moves only its ingredients" in texts(at.markdown).replace("\\", "")
    assert pd.read_csv(StringIO(given["csv"]))["a jar, EUR"].sum() == pytest.approx(sheet.full, rel=1e-5)
    assert "Cost of" in given["html"]


def test_jars_and_price_are_asked_for() -> None:
    at = page("costs", state={"price-of-jar": 4.0, "costs-of-jars": 10})
    assert "10 jars of 150 g in 1 batch" in texts(at.markdown)
    assert "loses" in texts(at.warning)
    assert list(table(at, "sold at")["price, EUR"]) == [2.0, 4.0, 4.0]  # who sells on pays half of the retail price
    assert "wholesale 2.00 EUR" in texts(at.markdown).replace("\\", "")


def test_a_price_that_is_not_known_is_named_and_not_taken_for_nothing() -> None:
    text = demo().papers[COSTS_FILE].replace('"lid 70 mm" = 0.21', '"lid 70 mm" = ""')
    at = page("costs", paper(COSTS_FILE, text))
    assert not at.metric, "no figure of what is not known"
    assert "no price for lid" in texts(at.warning)
    assert not [each for each in at.dataframe if "sold at" in each.value.columns]


def test_without_costs_the_page_asks_for_them_and_an_empty_form_says_what_is_needed() -> None:
    at = page("costs", without_papers())
    assert "No figures yet" in texts(at.info)
    assert not at.metric
    number(at, "costs-month").set_value(260.0)
    hand_in(at)
    assert "Not used" in texts(at.error)
    assert "- Units made in the month, all products: “0” is not allowed here." in texts(at.markdown)
    assert COSTS_FILE not in texts(at.markdown), "nobody who fills in fields has a file"
    number(at, "costs-units").set_value(400.0)
    hand_in(at)
    assert at.metric  # all else may cost nothing


def test_a_month_that_costs_nothing_is_divided_by_nothing_and_asks_for_no_units() -> None:
    at = hand_in(page("costs", without_papers()))
    assert not at.error
    assert at.metric
    assert read_costs_of(on_paper(at, COSTS_FILE)).overhead == 0.0


def read_costs_of(text: str) -> Costs:
    found = brief()
    read = work.reading(COSTS_FILE, text, lambda path: read_costs(path, found.catalogue, found.currency))
    assert isinstance(read, Costs)
    return read


def test_what_was_typed_into_a_form_is_undone_in_words_and_by_no_files_name() -> None:
    dearer = {**EDITED, "edited_rows": {0: {"EUR": 1.58}}}
    at = hand_in(page("costs", state={**COSTS, "costs-packaging 0": dearer}))
    assert at.button("undo").label == "Undo: costs of a jar"
    at = page("batch", state=MAKING)
    number(at, "making-hot").set_value(75.0)
    assert hand_in(at).button("undo").label == "Undo: how it is made"


def test_handing_in_untouched_tables_changes_no_figure(tmp_path: Path) -> None:
    at = hand_in(page("costs", state=COSTS))
    found = brief()
    for name in ("before", "after"):
        (tmp_path / name).write_text(demo().papers[COSTS_FILE] if name == "before" else on_paper(at, COSTS_FILE))
    before, after = (read_costs(tmp_path / name, found.catalogue, found.currency) for name in ("before", "after"))
    assert after == before


def test_a_cell_of_a_table_changes_the_cost_and_a_missing_name_is_refused() -> None:
    dearer = {**EDITED, "edited_rows": {0: {"EUR": 1.58}}}
    at = hand_in(page("costs", state={**COSTS, "costs-packaging 0": dearer}))
    assert float(at.metric[0].value) == pytest.approx(float(page("costs").metric[0].value) + 1.0, abs=0.011)
    unknown = {**EDITED, "added_rows": [{"what": "unobtainium", "EUR": 3.0}]}
    at = hand_in(page("costs", state={**COSTS, "costs-packs 0": unknown}))
    assert "unobtainium" in texts(at.markdown)
    assert on_paper(at, COSTS_FILE) == demo().papers[COSTS_FILE]


LID = "lid 70 mm"


def test_rows_of_one_name_or_of_none_are_all_counted() -> None:
    twice = {**EDITED, "added_rows": [{"what": LID, "EUR": 0.5}, {"what": LID, "EUR": 0.25}, {"EUR": 0.25}]}
    at = hand_in(page("costs", state={**COSTS, "costs-packaging 0": twice}))
    packaging = tomllib.loads(on_paper(at, COSTS_FILE))["packaging"]
    assert [packaging[name] for name in (LID, f"{LID} (2)", f"{LID} (3)", "unnamed")] == [
        0.21, "0.5 EUR", "0.25 EUR", "0.25 EUR",
    ]  # fmt: skip


def test_the_demos_invented_figures_do_not_stand_beside_a_brief_of_ones_own() -> None:
    brief = {"brief.toml": BRIEF, **demo().files}
    own = gathered(demo(), brief)
    assert isinstance(own, Taken)
    assert own.bench.papers == {}
    mine = gathered(paper(COSTS_FILE, demo().papers[COSTS_FILE] + "# mine"), brief)
    assert isinstance(mine, Taken)
    assert mine.bench.papers == {COSTS_FILE: demo().papers[COSTS_FILE] + "# mine"}


# -- the file that fields write ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "document",
    [
        {"loss": "4 %", "retained": 1, "cools_fast": True, "cooling": {"room": "17 degC"}},
        {"part": [{"name": 'say "blue"\\', "jars": 2, "lines": {"a = b": "1 %", "é\x7f\n": 0.5}}, {"name": "b"}]},
        {"labour": {"steps": {"fill": {"jar": "1 min"}, "x": {}}}, "list": ["a", 1.5], "empty": {}, "": "nameless"},
    ],
)
def test_what_is_written_reads_back_as_it_was(document: dict[str, Any]) -> None:
    assert tomllib.loads(toml_text(document)) == document


def test_papers_change_no_formula() -> None:
    assert demo().content == without_papers().content
    assert state.demo().papers.keys() == {MAKING_FILE, COSTS_FILE}


# -- batches that are kept ---------------------------------------------------------------------------------------------


def keep_batch(at: AppTest, number: str) -> AppTest:
    next(each for each in at.text_input if each.label == "Number of the batch").set_value(number)
    next(each for each in at.button if each.label == "Save the batch").click().run()
    assert not at.exception
    return at


def test_a_batch_is_kept_once_with_the_lots_that_stand_beside_its_grams(given: dict[str, str]) -> None:
    at = page("batch", state={Key.FORMULA: TODAY, "lots-of-records": True})
    came = clock.now().replace(microsecond=0)
    with Workshop.open(at.session_state[Key.SHOP].place) as workshop:
        for number, ingredient in (("M-1", "mango butter"), ("U-1", "iron oxide, red")):
            workshop.add(Lot(number=number, ingredient=ingredient, received=came.date()))
            workshop.add(Movement(lot=number, when=came, kg=2.0, reason="received"))
    at.run()
    lotted = pd.read_csv(StringIO(given["csv"]))
    assert lotted["lot"].notna().all()
    mango = lotted[lotted["ingredient"] == "mango butter"]
    assert list(mango["lot"]) == ["M-1"]
    assert "M-1" in cells(at)
    keep_batch(at, "T-1")
    assert "batch T-1 of salt and oat foot polish" in texts(at.success)
    with Workshop.open(at.session_state[Key.SHOP].place) as workshop:
        gone = sum(-each.kg for each in workshop.read(Movement) if each.batch == "T-1")
        taken = sum(-each.kg for each in workshop.read(Movement) if (each.batch, each.lot) == ("T-1", "M-1"))
    assert gone == pytest.approx(lotted["grams"].sum() / 1000)
    assert taken == pytest.approx(mango["grams"].sum() / 1000)
    assert "T-1" in texts(keep_batch(at, "T-1").markdown).replace("\\", "")
    assert "Not saved" in texts(at.error)


def test_a_batch_with_a_line_in_no_lot_is_not_kept() -> None:
    at = keep_batch(page("batch", state={Key.FORMULA: TODAY, "lots-of-records": True}), "T-2")
    assert "Not saved" in texts(at.error)
    missing = r"mango butter: .* are missing\. Save a lot that has them"
    assert re.search(missing, texts(at.markdown).replace("\\", ""))
