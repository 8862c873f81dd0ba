"""Each page in each of its states, without a browser."""

import copy
from collections.abc import Callable, Mapping
from dataclasses import replace
from io import StringIO
from math import inf
from types import MappingProxyType
from typing import Any

import highspy
import pandas as pd
import pytest
from streamlit.delta_generator import DeltaGenerator
from streamlit.testing.v1 import AppTest
from workbench import scales, work
from workbench.charts import limit_rows, place
from workbench.lines import EVERY
from workbench.load import Taken, gathered
from workbench.state import Bench, Document, Key, Variant, demo
from workbench.touch import NARROW
from workbench.wording import on_page

from optiform.brief.new import Start, brief_text
from optiform.properties.registry import PLAIN, find_property
from optiform.reading.paths import DEMO, UI
from optiform.reading.toml_text import toml_text
from optiform.telling.parts import readable
from tests.every import every
from tests.sweeps import sweep

BRIEF = (DEMO / "brief.toml").read_text(encoding="utf-8")
QUESTIONS = ("cheaper", "substitute", "texture")
PAGES = ("bench", *QUESTIONS, "variants", "batch", "declaration", "costs", "buying", "ingredients")

#: The tab beside the limits that is open: the others are not drawn.
PRODUCT = {"parts": "Product"}


def bench(edit: Callable[[Document], Any] = lambda document: None) -> Bench:
    """The demo with its brief's document edited."""
    shipped = demo()
    document = copy.deepcopy(shipped.document)
    edit(document)
    return Bench(toml_text(document), shipped.files)


def limit(name: str, **ends: object) -> Callable[[Document], Any]:
    return lambda document: document["limits"].__setitem__(name, ends)


def page(name: str, on: Bench | None = None, state: Mapping[str, object] = MappingProxyType({})) -> AppTest:
    """A page as a new session meets it, with this on its bench and in its state."""
    at = AppTest.from_file(str(UI / "app.py"), default_timeout=60)
    at.session_state[Key.BENCH] = on or demo()
    for key, value in state.items():
        at.session_state[key] = value
    if name != "bench":
        at.switch_page(f"views/{name}.py")
    at.run()
    assert not at.exception, at.exception
    return at


def unfolded(at: AppTest) -> AppTest:
    """The page with everything open that is drawn when it is opened."""
    folds = [fold for fold in at.expander if fold.key]
    for fold in folds:
        at.session_state[f"{fold.key} is open"] = True
    if folds:
        at.run()
    assert not at.exception, at.exception
    return at


def texts(elements: Any) -> str:
    return "\n".join(str(each.value) for each in elements)


def table(at: AppTest, column: str) -> pd.DataFrame:
    """The one table on the page that has this column: to sort, or set as it stands for its long texts."""
    frames = [*(each.value for each in at.dataframe), *(each.value.reset_index() for each in at.table)]
    (frame,) = (frame for frame in frames if column in frame.columns)
    assert isinstance(frame, pd.DataFrame)
    return frame


def control(at: AppTest, key: str) -> Any:
    """The slider or number field of this key, however often the controls have started afresh."""
    (found,) = (each for each in (*at.select_slider, *at.number_input) if str(each.key).rpartition(" ")[0] == key)
    return found


def cost(at: AppTest) -> float:
    return float(at.metric[0].value)


def on_bench(at: AppTest) -> Document:
    found: Bench = at.session_state[Key.BENCH]
    return found.document


def expected_cost(on: Bench) -> float:
    """What the job itself says, for the same brief."""
    found = work.found(on)
    assert isinstance(found, work.Found)
    return float(found.data["cost"]["value"])


BROKEN = limit("water phase", low="abc")
IMPOSSIBLE = limit("solid fat at 30 degC", low=40)


# -- workbench ---------------------------------------------------------------------------------------------------------


def test_the_bench_answers_the_demo_at_once() -> None:
    at = page("bench")
    assert at.title[0].value == demo().document["title"]
    assert cost(at) == pytest.approx(expected_cost(demo()), abs=5e-4)
    formula = table(at, "% of today's")
    assert formula["% of the jar"].sum() == pytest.approx(100, abs=0.01), "what has a most is cut off, not rounded up"
    assert formula["weigh, g"].sum() == 4000  # the demo's batch is 4 kg
    assert not at.error
    assert "Could be missed" in texts(at.markdown)


def test_a_bench_that_is_drawn_again_solves_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    at, run, runs = page("bench"), highspy.Highs.run, list[highspy.Highs]()

    def counted(highs: highspy.Highs) -> object:
        runs.append(highs)
        return run(highs)

    monkeypatch.setattr(highspy.Highs, "run", counted)
    at.run()
    assert not at.exception
    assert not runs


def test_every_limit_of_the_brief_has_a_slider_that_stands_where_the_brief_does() -> None:
    at = page("bench")
    assert {s.key for s in at.select_slider} == {f"limit {name} 0" for name in demo().document["limits"]}
    assert control(at, "limit water phase").value == (38.0, 48.0)


def test_a_slider_changes_the_answer_and_undo_brings_it_back() -> None:
    at = page("bench")
    before = cost(at)
    control(at, "limit solid fat at 30 degC").set_range(12.0, inf).run()
    assert on_bench(at)["limits"]["solid fat at 30 degC"] == {"low": 12.0}
    assert cost(at) > before + 0.01
    at.button("undo").click().run()
    assert cost(at) == before
    assert control(at, "limit solid fat at 30 degC").value[0] == 7.0
    assert at.button("undo").disabled
    at.button("redo").click().run()
    assert cost(at) > before + 0.01


def test_an_open_end_of_a_slider_says_so_and_stays_open_until_it_is_moved() -> None:
    at = page("bench")
    assert control(at, "limit share of butter").value == (6.0, inf)
    assert control(at, "limit solid fat at 10 degC").value == (-inf, 36.0)
    assert control(at, "limit share of butter").options[-1] == "no most"
    control(at, "limit share of butter").set_range(7.0, inf).run()
    assert on_bench(at)["limits"]["share of butter"] == {"low": 7.0}
    control(at, "limit share of butter").set_range(7.0, 9.0).run()
    assert on_bench(at)["limits"]["share of butter"] == {"low": 7.0, "high": 9.0}
    control(at, "limit share of butter").set_range(7.0, inf).run()
    assert on_bench(at)["limits"]["share of butter"] == {"low": 7.0}


def test_only_the_end_that_moved_is_written_and_a_step_back_leaves_what_was_there() -> None:
    at = page("bench", bench(limit("active surfactant", low="2.53 %", high=4)))
    shown = control(at, "limit active surfactant")
    assert shown.value == (2.53, 4.0)
    shown.set_range(2.6, 4.0).run()
    assert on_bench(at)["limits"]["active surfactant"] == {"low": 2.6, "high": 4}
    control(at, "limit active surfactant").set_range(2.53, 4.0).run()
    assert on_bench(at)["limits"]["active surfactant"] == {"low": 2.53, "high": 4}
    control(at, "limit active surfactant").set_range(2.53, 4.1).run()
    assert on_bench(at)["limits"]["active surfactant"] == {"low": 2.53, "high": 4.1}


def test_an_end_of_the_base_beside_the_one_that_moved_still_means_the_same() -> None:
    at = page("bench", bench(limit("share of butter in the base", low="9 % of base", high="20 % of base")))
    control(at, "limit share of butter in the base").set_range(9.0, 25.0).run()
    assert on_bench(at)["limits"]["share of butter in the base"] == {"low": 9.0, "high": 25.0}
    assert not at.error


def test_the_scale_of_a_slider_does_not_follow_the_brief_and_ends_where_nothing_more_is_possible() -> None:
    before = control(page("bench"), "limit oil phase")
    after = control(page("bench", bench(limit("oil phase", low=22, high=60))), "limit oil phase")
    assert before.options == after.options
    assert (before.options[0], before.options[-2], before.options[-1]) == ("no least", "100", "no most")


@every("name", [*PLAIN, "solid fat at 20 degC", "share of butter", "cost",
                                  "grains per 100 of base", "melted oil per 100 of solids at 35 degC"])  # fmt: skip
def test_every_property_that_is_offered_has_a_scale_of_rising_steps(name: str) -> None:
    points = scales.scale(find_property(name, "EUR"))
    assert list(points) == sorted(set(points))
    assert len(points) > 50
    assert points[-1] <= 100 or "share" not in name
    assert len({scales.words(at) for at in scales.options(points, ())}) == len(points) + 2  # each has words of its own


@pytest.mark.parametrize(
    ("value", "low", "high", "at"),
    [(44, 38, 48, 0.6), (38, 38, 48, 0), (50, 38, 48, 1.05), (9, 6, None, 0.5), (30, 6, None, 1), (5, 6, None, -0.05),
     (12, None, 16, 0.75), (0, None, 16, 0), (20, None, 16, 1.05), (0.5, -1, None, 1), (3, 3, 3, 0.5)],
)  # fmt: skip
def test_a_value_stands_in_its_bar_where_it_stands_in_its_range(
    value: float, low: float | None, high: float | None, at: float
) -> None:
    assert place(value, low, high) == pytest.approx(at)


def test_the_bars_of_limits_carry_both_ends_and_nothing_at_an_open_one() -> None:
    answered = work.answer(demo())
    assert isinstance(answered, work.Answered)
    rows = limit_rows(answered.data["properties"])
    assert list(rows["limit"]) == list(map(readable, demo().document["limits"]))
    ends = {name: (low, high) for name, low, high in zip(rows["limit"], rows["low"], rows["high"], strict=True)}
    assert ends["water phase"] == ("38", "48")
    assert ends["share of butter"] == ("6", "")
    assert ends["solid fat at 10 °C"] == ("", "36")


def test_the_foot_of_the_window_says_what_the_brief_gives() -> None:
    assert f"**{cost(page('bench')):.3f} EUR/kg** -" in texts(page("bench").markdown)
    assert "**No formula can meet this brief**" in texts(page("bench", bench(IMPOSSIBLE)).markdown)
    assert "**This brief cannot be used yet**" in texts(page("bench", bench(BROKEN)).markdown)


def test_on_a_phone_what_it_costs_and_how_firm_it_is_stand_before_the_formula() -> None:
    at = page("bench", state={NARROW: True})
    order = list(at.main)
    first, *_, firm = (place for place, x in enumerate(order) if x.type == "metric")
    checked = next(place for place, x in enumerate(order) if "Checked:" in str(getattr(x, "value", "")))
    cards = [card for card in at.expander if card.label.startswith("**")]
    opened = next(place for place, x in enumerate(order) if x.type == "toggle" and x.key == EVERY)
    assert at.metric[-1].label == "Firmness at 20 °C"
    assert first < firm < opened < checked
    assert " % of the jar · " in cards[0].label


def test_on_a_phone_limits_are_cards_those_that_hold_the_formula_first() -> None:
    at = page("bench", state={NARROW: True})
    heads = [card.label for card in at.expander if card.label.startswith("**") and "ingredient" not in card.label]
    limits = [head for head in heads if "°C" in head or "phase" in head or "share" in head]
    tight = [head.endswith("only just met") for head in limits]
    assert tight == sorted(tight, reverse=True)
    assert {True, False} == set(tight)
    assert "**oil phase**  \n22 to 28 % of the jar · only just met" in limits


def test_the_cost_is_said_once_as_figures_with_what_is_saved() -> None:
    at = page("bench")
    kg, jar = at.metric
    assert (kg.delta[:1], jar.delta[-len(" against today") :]) == ("-", " against today")
    assert "The ingredients cost" not in texts(at.markdown)


def test_a_figure_that_firmness_lacks_is_named_with_where_to_enter_it() -> None:
    salted = {"sea salt, fine": 40.0, "shea butter, refined": 59.0, "rosemary extract": 1.0}
    start = Start("Scrub", "anhydrous emulsified scrub", candidates=tuple(salted), today="today.csv")
    made = "ingredient,percent\n" + "".join(f'"{name}",{share}\n' for name, share in salted.items())
    at = page("bench", Bench(brief_text(start), {"today.csv": made}))
    assert "Not known: no figure for the density of rosemary extract. Enter it under Ingredients." in texts(at.markdown)


def test_where_nothing_changes_against_today_the_cost_shows_no_rise_and_what_is_taken_is_not_called_cheapest() -> None:
    def stands(document: Document) -> None:
        for key in ("limits", "lines"):
            document.pop(key)
        document["candidates"] = "owned"
        document["goal"] = {"nearest": "reference"}

    at = page("bench", bench(stands))
    assert [figure.delta for figure in at.metric] == ["as today", "as today"]
    at.button("take-bench").click().run()
    assert at.session_state[Key.TRAIL].here.words == "the best taken"


def test_an_impossible_brief_says_so_before_what_it_is_about() -> None:
    at = page("bench", bench(IMPOSSIBLE))
    order = list(at.main)
    clash = next(place for place, x in enumerate(order) if x.type == "error")
    about = next(place for place, x in enumerate(order) if "law in force" in str(getattr(x, "value", "")))
    assert clash < about


def test_exact_numbers_say_the_same_as_the_sliders() -> None:
    at = page("bench")
    at.toggle("exact").set_value(True).run()
    assert not at.select_slider
    assert (control(at, "low water phase").value, control(at, "high water phase").value) == (38.0, 48.0)
    assert control(at, "high share of butter").value is None
    control(at, "high water phase").set_value(44.0).run()
    assert on_bench(at)["limits"]["water phase"] == {"low": "38 %", "high": 44.0}  # the low end as it was written
    control(at, "low water phase").set_value(None).run()
    assert on_bench(at)["limits"]["water phase"] == {"high": 44.0}


def test_an_impossible_brief_is_explained_repaired_by_a_button_and_undone() -> None:
    at = page("bench", bench(IMPOSSIBLE))
    assert "No formula can meet this brief." in texts(at.error)
    assert not at.metric
    assert "solid fat at 30 °C at least 40 % of the fats" in texts(at.markdown).replace("\\", "")
    at.button("repair-0").click().run()
    assert not at.exception
    assert cost(at) > 0
    assert on_bench(at)["limits"]["solid fat at 30 degC"]["low"] < 40
    at.button("undo").click().run()
    assert on_bench(at)["limits"]["solid fat at 30 degC"] == {"low": 40}
    assert "No formula can meet this brief." in texts(at.error)


@pytest.mark.sweep
def test_every_repair_that_is_offered_makes_the_brief_possible() -> None:
    hard = bench(limit("water phase", low=46, high=48))
    count = len([each for each in page("bench", hard).button if str(each.key).startswith("repair-")])
    assert count > 3
    for number in sweep(range(count)):
        at = page("bench", hard)
        at.button(f"repair-{number}").click().run()
        assert at.metric, f"repair {number}"
        assert not at.exception


def test_a_broken_brief_lists_every_fault() -> None:
    def edit(document: Document) -> None:
        BROKEN(document)
        document["limits"]["fluffiness *now*"] = {"low": 1}
        document["kind"] = "soup"

    on = bench(edit)
    refused = work.brief(on)
    assert isinstance(refused, work.Refused)
    assert len(refused.faults) == 3
    shown = texts(page("bench", on).markdown).replace("\\", "")
    assert [fault for fault in refused.faults if on_page(fault) not in shown] == []
    assert "fluffiness \\*now\\*" in texts(page("bench", on).markdown)  # as text, not as emphasis


def test_one_property_limited_twice_is_refused_not_half_kept() -> None:
    at = page("bench", bench(limit("Oil  Phase", low="23 %")))
    assert "oil phase: read 2 limits" in texts(at.markdown).replace("\\", "")


def test_a_limit_that_cannot_be_read_keeps_what_was_there() -> None:
    at = page("bench", state={"new-limit": "saturated share", "new-low": 30.0, "new-high": 20.0})
    before = on_bench(at)
    at.button("add-limit").click().run()
    assert "The low end must not be above the high one" in texts(at.error)
    assert on_bench(at) == before
    assert not at.session_state[Key.TRAIL] or at.session_state[Key.TRAIL].at == 1
    assert at.metric


def test_a_limit_can_be_added() -> None:
    at = page("bench", state={"new-limit": "saturated share", "new-high": 30.0})
    at.button("add-limit").click().run()
    assert on_bench(at)["limits"]["saturated share"] == {"high": 30.0}
    assert control(at, "limit saturated share").value[1] == 30.0


def test_a_percent_that_is_typed_fixes_the_line_and_counts_at_once() -> None:
    names = list(table(page("bench"), "fixed")["ingredient"])
    assert names.index("water") < names.index("kaolin"), "what the formula uses stands first"
    on = lines_edited({0: {"%": 2.0}, 1: {"out": True}}, ["cocoa butter", "kaolin"])
    assert on.document["lines"]["cocoa butter"] == {"low": 2.0, "high": 2.0}
    assert "kaolin" in on.document["exclude"]
    at = page("bench", on)
    formula = table(at, "% of today's").set_index("ingredient")["% of the jar"]
    assert formula["cocoa butter"] == pytest.approx(2.0, abs=1e-6)
    assert "kaolin" not in formula
    shown = table(at, "fixed").set_index("ingredient")
    assert shown.loc["cocoa butter", "%"] == 2.0
    assert shown.loc["cocoa butter", "fixed"]
    assert shown.loc["kaolin", "out"]


def test_the_table_says_of_each_line_what_one_point_more_does() -> None:
    shown = table(page("bench"), "fixed").set_index("ingredient")
    assert shown["g"].sum() == 4000
    assert shown["in 1 kg"].sum() == pytest.approx(expected_cost(demo()), abs=5e-4)
    assert shown["1 point more"].dropna().min() >= 0, "of the cheapest formula nothing more is cheaper"
    wax, oil = shown.loc["cetearyl alcohol"], shown.loc["sunflower oil, high oleic"]
    assert wax["firmness"] > 0 > oil["firmness"]
    full = shown.index[shown["1 point more"].isna() & shown["g"].notna()]
    assert list(full) == ["phenoxyethanol + ethylhexylglycerin"], "the law has no room for a point more"


def test_beside_the_formula_stands_what_the_makers_own_instrument_should_read() -> None:
    firm = table(page("bench"), "you should read")
    assert list(firm["°C"]) == ["10", "20", "35"]
    assert firm["you should read"].str.fullmatch(r"\d+ g \(\d+ to \d+\)").all()
    pushes = [int(cell.split()[0]) for cell in firm["you should read"]]
    assert pushes == sorted(pushes, reverse=True), "firmest in the cold"


def test_what_the_last_step_changed_is_told() -> None:
    at = page("bench")
    control(at, "limit solid fat at 30 degC").set_range(12.0, inf).run()
    (told,) = (each.value for each in at.markdown if each.value.startswith("limit on solid fat at 30 °C, at least 12:"))
    assert "% points; +0." in told


def test_a_limit_that_cannot_be_is_told_beside_its_control_with_the_repairs() -> None:
    at = page("bench")
    control(at, "limit solid fat at 30 degC").set_range(40.0, inf).run()
    assert "With this no formula can meet the brief." in texts(at.error)
    assert "With this" not in texts(page("bench", bench(IMPOSSIBLE)).error), "only where it was moved here"
    at.button("beside-0").click().run()
    assert not at.exception
    assert cost(at) > 0


def test_a_line_is_fixed_where_it_stands_and_free_again() -> None:
    fixed = lines_edited({0: {"fixed": True}}, ["glycerin"], {"glycerin": 5.03})
    assert fixed.document["lines"]["glycerin"] == {"low": 5.03, "high": 5.03}
    free = lines_edited({0: {"fixed": False}}, ["glycerin"], {"glycerin": 5.03}, fixed)
    assert "glycerin" not in free.document["lines"]


def test_what_was_typed_before_is_not_typed_again() -> None:
    """The table goes on telling every cell that was typed: only what is new is taken."""
    on = lines_edited({0: {"%": 2.0}}, ["cocoa butter"], seen={0: {"%": 2.0}})
    assert on.document["lines"]["cocoa butter"] == {"high": "3 %"}


def test_a_new_price_is_one_number() -> None:
    on = lines_edited({0: {"price": 5.0}}, ["glycerin"])
    assert "glycerin,25,5," in on.files["workshop.csv"].replace('"', "")  # a pack of 5 kg
    read = work.brief(on)
    assert not isinstance(read, work.Refused)
    price = read.catalogue.ingredients["glycerin"].price_in("EUR")
    assert price is not None
    assert price.figure == pytest.approx(5.0)


def test_a_new_price_is_told_beside_the_one_it_was() -> None:
    """A grid drops the mark that is not the browser's own: 4,2 comes as 42, and is seen where it was typed."""

    def script() -> None:
        from workbench import lines, state, work

        brief = work.brief(state.bench())
        assert not isinstance(brief, work.Refused)
        lines.change("glycerin", {"price": 42.0}, None, brief)

    at = AppTest.from_function(script, default_timeout=60)
    at.session_state[Key.BENCH] = bench()
    assert at.run().session_state[Key.TRAIL].here.words == "price of glycerin: 42 EUR/kg, was 4.2"


def test_a_percent_that_cannot_be_is_refused_and_changes_nothing() -> None:
    on = lines_edited({0: {"%": 250.0}}, ["cocoa butter"])
    assert on.document["lines"]["cocoa butter"] == {"high": "3 %"}


def test_a_line_that_is_left_out_asks_for_no_amount_any_more() -> None:
    on = lines_edited({0: {"out": True}}, ["cocoa butter"])
    assert "cocoa butter" in on.document["exclude"]
    assert "cocoa butter" not in on.document["lines"]
    assert not isinstance(work.brief(on), work.Refused)


def lines_edited(
    cells: dict[int, Any],
    names: list[str],
    shown: dict[str, float] | None = None,
    on: Bench | None = None,
    seen: dict[int, Any] | None = None,
) -> Bench:
    """The bench after the callback of the table of lines."""

    def script(names: list[str], shown: dict[str, float]) -> None:
        from workbench import lines, state, work

        brief = work.brief(state.bench())
        assert not isinstance(brief, work.Refused)
        lines._edited("cells", names, shown, brief)

    at = AppTest.from_function(script, kwargs={"names": names, "shown": shown or {}}, default_timeout=60)
    at.session_state["cells"] = {"edited_rows": cells, "added_rows": [], "deleted_rows": []}
    at.session_state["cells seen"] = seen or {}
    if on is not None:
        at.session_state[Key.BENCH] = on
    at.run()
    assert not at.exception
    changed: Bench = at.session_state[Key.BENCH]
    return changed


def test_a_line_that_is_emptied_is_free_and_a_line_is_taken_back_in() -> None:
    names = ["fragrance oil", "stearic acid"]
    on = lines_edited({0: {"%": None}, 1: {"out": False}}, names)
    assert "fragrance oil" not in on.document["lines"]
    assert on.document["exclude"] == ["decyl glucoside, 50 %"]


def test_a_brief_in_other_spellings_shows_and_edits_the_same_entries() -> None:
    text = BRIEF.replace('"cocoa butter"', '"Cocoa Butter"').replace('"oil phase"', '"Oil  phase"')
    found = gathered(demo(), {"brief.toml": text, **demo().files})
    assert isinstance(found, Taken)
    at = page("bench", found.bench)
    assert table(at, "fixed").set_index("ingredient").loc["cocoa butter", "most"] == 3.0
    control(at, "limit oil phase").set_range(23.0, 28.0).run()
    assert on_bench(at)["limits"]["oil phase"] == {"low": 23.0, "high": demo().document["limits"]["oil phase"]["high"]}
    assert len(on_bench(at)["limits"]) == len(demo().document["limits"])
    assert at.metric


def test_without_today_and_with_a_price_missing_today_nothing_is_compared() -> None:
    assert page("bench").metric[0].delta
    assert not page("bench", bench(lambda document: document.pop("reference"))).metric[0].delta
    shipped = demo()
    lines = [line for line in shipped.files["workshop.csv"].splitlines() if not line.startswith("mango butter")]
    unpriced = Bench(shipped.text, {**shipped.files, "workshop.csv": "\n".join(lines) + "\n"})
    assert not page("bench", unpriced).metric[0].delta


def test_law_that_is_switched_on_is_shown_and_switched_off_with_its_market() -> None:
    law = {"about": "Law"}
    assert len(table(page("bench", state=law), "limit in law")) > 0
    at = page("bench", bench(lambda document: document.__setitem__("markets", [])), law)
    shown = [each for each in at.dataframe if "limit in law" in each.value.columns]
    assert not any(where.startswith("EU") for each in shown for where in each.value["where"])


def test_only_the_part_of_the_brief_that_is_open_is_drawn() -> None:
    """What a step of a slider sends is what is in sight: its limits, and not the forms and texts behind them."""
    limits, product, files = (page("bench", state={"parts": tab}) for tab in ("Limits", "Product", "Files"))
    sliders, titles, loads = ([len(at.get(kind)) for at in (limits, product, files)]
                              for kind in ("select_slider", "multiselect", "file_uploader"))  # fmt: skip
    assert min(sliders[0], titles[1], loads[2]) > 0
    assert sliders[1:] == titles[::2] == loads[:2] == [0, 0]


@pytest.mark.parametrize(
    ("tab", "column"), [("What limits cost", "only just met"), ("Law", "limit in law"), ("How sure", "your limit")]
)
def test_only_the_opened_tab_is_drawn(tab: str, column: str) -> None:
    at = page("bench", state={"about": tab})
    told = {"only just met", "limit in law", "your limit"} & {
        name for each in at.dataframe for name in each.value.columns
    }
    assert len(told) == 1
    assert len(table(at, column)) > 0


def test_cautions_are_told_in_their_tab() -> None:
    at = page("bench", state={"about": "Cautions"})
    assert "When making" in texts(at.markdown)
    assert "When making" not in texts(page("bench").markdown)


# -- the three questions -----------------------------------------------------------------------------------------------


def test_cheaper_shows_options_that_save_and_keeps_one() -> None:
    at = page("cheaper")
    options = table(at, "saves, EUR/kg")
    assert len(options) > 1
    assert (options["saves, EUR/kg"] > 0).all()
    assert options["costs, EUR/kg"].is_monotonic_decreasing
    number = int(at.select_slider("option").options[1])
    at.select_slider("option").set_value(number).run()
    shown = [each.value for each in at.dataframe if f"option {number}" in each.value.columns]
    detail, beside = shown[0], shown[-1]
    assert "option 1" in beside.columns
    assert "option 1" not in detail.columns
    assert len(detail) >= 2
    at.button("keep-do-cheaper").click().run()
    (kept,) = at.session_state[Key.VARIANTS]
    lines = int(options["lines changed"][options["option"] == number].iloc[0])
    assert kept.name == f"cheaper, {lines} changed"
    assert sum(percent for _, percent, _ in kept.lines) == pytest.approx(100, abs=1e-6)


def test_cheaper_says_when_nothing_saves_enough() -> None:
    at = page("cheaper")
    at.number_input("least-saving").set_value(99.0).run()
    assert not at.exception
    assert "Changed lines save less than 99 EUR/kg each." in texts(at.markdown)
    assert not [each for each in at.dataframe if "saves, EUR/kg" in each.value.columns]


def test_cheaper_says_why_a_brief_cannot_be_met() -> None:
    at = page("cheaper", bench(limit("solid fat at 30 degC", low="40 %")))
    assert "nothing on the shelf" not in texts(at.markdown).casefold()
    assert "No formula can meet this brief." in texts(at.error)
    assert "solid fat at 30 °C at least 40 % of the fats" in texts(at.markdown)
    assert "No formula meets this brief yet" in texts(at.warning)
    at.button("repair-0").click().run()
    assert not at.exception
    assert "not together with what is held near today" in texts(at.warning)


@pytest.mark.parametrize("name", QUESTIONS)
def test_a_question_without_todays_formula_says_how_to_give_one(name: str) -> None:
    at = page(name, bench(lambda document: document.pop("reference")))
    assert "Load it on the Workbench" in texts(at.info)
    assert not at.dataframe


@pytest.mark.parametrize("name", QUESTIONS)
def test_a_question_on_a_broken_brief_lists_its_faults(name: str) -> None:
    at = page(name, bench(BROKEN))
    assert "Everything that is wrong with it" in texts(at.error)
    assert "Write a share such as" in texts(at.markdown)


def test_substitute_starts_from_what_is_out_of_stock() -> None:
    at = page("substitute")
    assert at.multiselect("missing").value == ["mango butter"]
    ranking = table(at, "distance")
    for _, alike in ranking.groupby("close", sort=False):  # those that meet every limit come first
        assert alike["distance"].round(2).is_monotonic_increasing
    assert not ranking["in its place, % of the jar"].str.contains("mango butter").any()
    at.button("keep-do-substitute").click().run()
    (kept,) = at.session_state[Key.VARIANTS]
    assert kept.reason == "in place of mango butter"
    assert "mango butter" not in [name for name, _, _ in kept.lines]


def test_substitute_with_nothing_chosen_asks() -> None:
    at = page("substitute")
    at.multiselect("missing").set_value([]).run()
    assert not at.exception
    assert texts(at.info) == "Choose what is missing."
    assert not at.dataframe


def test_texture_offers_options_firmer_and_keeps_one() -> None:
    at = page("texture")
    firmness = table(at, "20 °C")
    assert firmness["20 °C"][0] == pytest.approx(100)
    assert firmness["20 °C"][1:].to_numpy() == pytest.approx(120, abs=0.01)
    assert firmness["what changes"].is_unique
    assert "cetearyl alcohol +1.52; water -1.52" in set(firmness["what changes"])
    bands = table(at, "could be from")
    assert (bands["could be from"] <= bands["option 1"]).all()
    at.button("keep-do-texture").click().run()
    assert len(at.session_state[Key.VARIANTS]) == 1
    at.button("take-texture").click().run()
    assert at.button("undo").label == "Undo: option 1 taken"


def test_texture_says_when_there_is_nothing_to_offer() -> None:
    at = page("texture")
    at.slider("step").set_value(0).run()
    assert not at.exception
    only = bench(lambda document: document.__setitem__("exclude", []))
    pins = {name: f"{percent} %" for name, percent, _ in today_lines()}
    only.document["lines"] = pins
    at = page("texture", only)
    assert "No formula was found with firmness 120 at 20 °C" in texts(at.warning)


def today_lines() -> list[tuple[str, float, str]]:
    frame = pd.read_csv(StringIO(demo().files["today.csv"]))
    return [(str(n), float(p), str(phase)) for n, p, phase in frame.itertuples(index=False)]


# -- variants ----------------------------------------------------------------------------------------------------------


def variant(name: str, points: float = 0.0) -> Variant:
    """Today's formula with points moved from sweet almond oil to shea butter."""
    moved = {"sweet almond oil": -points, "shea butter, refined": points}
    lines = tuple((each, percent + moved.get(each, 0.0), phase) for each, percent, phase in today_lines())
    return Variant(name, "today", "a try", lines)


def test_no_variants_says_where_they_come_from() -> None:
    at = page("variants")
    assert "No draft is here yet" in texts(at.info)
    assert not at.dataframe
    at.button("to-bench").click().run()
    assert not at.exception
    assert at.button("take-bench"), "the Workbench, with its formula"


def test_one_variant_stands_beside_today() -> None:
    at = page("variants", state={Key.VARIANTS: [variant("softer", -1.0)]})
    assert at.multiselect("picked").value == ["today", "softer"]
    different = table(at, "ingredient").set_index("ingredient")
    assert set(different.index) == {"sweet almond oil", "shea butter, refined"}
    assert different.loc["shea butter, refined", "softer"] == pytest.approx(2.0)
    at.multiselect("picked").set_value(["softer"]).run()
    assert "Choose at least two." in texts(at.caption)


def test_two_variants_compared_downloaded_and_printed_with_every_text_escaped(monkeypatch: pytest.MonkeyPatch) -> None:
    given: dict[str, str] = {}

    def record(
        _self: DeltaGenerator, _label: str, data: str | Callable[[], str], *_rest: object, key: str, **_: object
    ) -> bool:
        given[key] = data if isinstance(data, str) else data()
        return False

    monkeypatch.setattr(DeltaGenerator, "download_button", record)
    at = page("variants", state={Key.VARIANTS: [variant("<b>x</b>", 1.0), variant("b & c", -1.0)]})
    assert next(list(each.value.columns) for each in at.dataframe if "<b>x</b>" in each.value.columns) == [
        "ingredient",
        "today",
        "<b>x</b>",
        "b & c",
    ]
    read = pd.read_csv(StringIO(given["csv"])).set_index("ingredient")
    apart = read["<b>x</b>, % of the jar"] - read["b & c, % of the jar"]
    assert apart[apart.abs() > 1e-9].to_dict() == pytest.approx({"sweet almond oil": -2.0, "shea butter, refined": 2.0})
    assert "<b>" not in given["html"]
    assert "&lt;b&gt;x&lt;/b&gt;" in given["html"]
    assert "b &amp; c" in given["html"]
    assert given["html"].count("<table>") >= 3


def test_a_name_that_is_taken_gets_a_number() -> None:
    at = page("bench")
    for _ in range(3):
        at.button("keep-do-bench").click().run()
    names = [each.name for each in at.session_state[Key.VARIANTS]]
    assert names == ["cheapest", "cheapest 2", "cheapest 3"]
    assert "Saved as cheapest 3" in texts(at.success)


def test_variants_of_a_broken_brief_point_to_the_bench() -> None:
    at = page("variants", bench(BROKEN), {Key.VARIANTS: [variant("softer")]})
    assert "mend it there first" in texts(at.error)


# -- ingredients -------------------------------------------------------------------------------------------------------


def test_ingredients_can_be_searched_and_looked_at() -> None:
    at = page("ingredients")
    everything = len(table(at, "bought as"))
    at.text_input("search").set_value("cocoa butter").run()
    found = table(at, "bought as")
    assert 0 < len(found) < everything
    assert at.header[0].value == found["ingredient"][0]
    figures = table(at, "figure")
    assert {"typical", "unit", "how sure", "source"} <= set(figures.columns)
    assert (figures["source"].str.len() > 0).all()


def test_a_search_that_finds_nothing_names_what_is_near() -> None:
    at = page("ingredients")
    at.text_input("search").set_value("manggo buter").run()
    assert "Near: mango butter" in texts(at.info)


def test_the_own_table_stands_as_loaded_and_a_fault_in_it_is_told() -> None:
    at = page("ingredients")
    own = table(at, "pack price (EUR)")
    assert len(own) == len(demo().files["workshop.csv"].splitlines()) - 1
    water = own.index[own["ingredient"] == "water"][0]
    key = "own workshop.csv 0"
    at = page("ingredients", state={key: {"edited_rows": {int(water): {"pack price (EUR)": "dear"}}}})
    before = on_bench(at)
    at.button("use-own").click().run()
    assert "Not used; what was there stays" in texts(at.error)
    assert "dear" in texts(at.markdown)
    assert on_bench(at) == before


def test_a_guarded_cell_of_the_own_table_is_shown_as_it_is_meant_and_guarded_once_in_what_is_taken_along(
    given: dict[str, str],
) -> None:
    shipped = demo()
    rows = pd.read_csv(StringIO(shipped.files["workshop.csv"]), dtype=str, keep_default_na=False)
    text = rows.assign(note="'=1+1").to_csv(index=False)
    at = page("ingredients", replace(shipped, files={**shipped.files, "workshop.csv": text}))
    assert set(table(at, "pack price (EUR)")["note"]) == {"=1+1"}
    assert given["own-csv"] == text
    key = "own workshop.csv 0"
    at = page("ingredients", at.session_state[Key.BENCH], {key: {"edited_rows": {0: {"note": "'=2"}}}})
    at.button("use-own").click().run()
    taken = at.session_state[Key.BENCH].files["workshop.csv"]
    assert list(pd.read_csv(StringIO(taken))["note"][:2]) == ["''=2", "'=1+1"]
    assert at.button("undo").label == "Undo: own table"


def test_without_an_own_file_the_page_says_how_to_load_one() -> None:
    def edit(document: Document) -> None:
        del document["own_files"]
        document["candidates"] = ["water", "glycerin"]
        document["limits"] = {}
        document["lines"] = {}
        document["goal"] = {"highest": "water"}
        document.pop("reference")

    at = page("ingredients", bench(edit))
    assert "No table of your own yet" in texts(at.info)


# -- all ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("edit", [BROKEN, IMPOSSIBLE], ids=["broken", "impossible"])
def test_no_page_ends_in_a_traceback(name: str, edit: Callable[[Document], Any]) -> None:
    unfolded(page(name, bench(edit), {Key.VARIANTS: [variant("a", 1.0)]}))  # both of which assert it


@pytest.mark.parametrize("name", ["batch", "buying", "check", "costs", "declaration", "range", "trials", *QUESTIONS])
def test_what_stands_behind_a_line_is_drawn_when_that_is_opened_and_stays(name: str) -> None:
    at = page(name)
    shut = {fold.key for fold in at.expander if fold.key and not fold.children}
    assert shut
    opened = {fold.key for fold in unfolded(at).run().expander if fold.key and fold.children}
    assert opened >= shut


def test_a_limit_that_is_only_just_met_opens_on_its_curve_and_is_eased_by_a_step_of_its_scale() -> None:
    shut = page("bench")
    rows = [each.label for each in shut.expander]
    assert {"oil phase at least 22 % of the jar: 0.052", "active surfactant at least 2.5 % of the jar: 0.14"} <= set(
        rows
    )
    assert not [each for each in shut.button if str(each.key).startswith("ease-it")], "a click shows it"
    at = page("bench", state={"ease oil phase low is open": True})
    before = cost(at)
    assert len(at.get("vega_lite_chart")) > len(shut.get("vega_lite_chart")), "with the curve of what it costs"
    at.button("ease-it oil phase").click().run()
    assert on_bench(at)["limits"]["oil phase"]["low"] == 21.5
    assert cost(at) < before
