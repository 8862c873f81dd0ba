"""A product is begun: from nothing to a printed sheet, from what is made today, from a label, from another product."""

import csv
import json
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from streamlit.testing.v1 import AppTest
from workbench.scope import done
from workbench.state import Key
from workbench.touch import NARROW

from optiform.brief.file import KEYS
from optiform.ingredients.catalogue import read_catalogue
from optiform.label.from_label import LabelRanges, from_label
from optiform.label.list_text import parse_label
from optiform.label.middle import middle
from optiform.reading import clock
from optiform.reading.paths import UI
from optiform.rules.law import Scope
from optiform.workshop.products import state_of
from optiform.workshop.records import Product, Step
from optiform.workshop.store import Workshop
from tests.sweeps import cases

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

PHONE_TABLE = 360  # pixels of a table in a window of 390
MOST, FIRST = 35, 10  # clicks to a printed sheet, and to a first formula


PASTE = "glycerin\t21.00\t5 kg\t6.2\nshea butter, refined\t15\t1 kg"


class Clicks:
    """Every click of a maker, counted."""

    def __init__(self, page: "Page") -> None:
        self.page, self.count = page, 0

    def on(self, what: "Locator") -> None:
        from tests.ui.browser import press, settled

        press(what)
        self.count += 1
        settled(self.page)

    def menu(self, section: str, page: str) -> None:
        """Two clicks: a menu of the head, and a page in it."""
        self.on(self.page.get_by_test_id("stTopNavSection").filter(has_text=section))
        link = self.page.get_by_test_id("stTopNavDropdownLink").filter(has_text=re.compile(f"{re.escape(page)}$"))
        self.on(link)

    def choose(self, key: str, option: str) -> None:
        """Two clicks: a list, and what stands in it."""
        from tests.ui.browser import keyed

        self.on(keyed(self.page, key).locator("input").first)
        self.on(self.page.get_by_role("option", name=option, exact=True).first)


@pytest.mark.parametrize("width", [1280, pytest.param(390, marks=pytest.mark.exhaustive)])
def test_from_nothing_to_a_printed_batch_sheet(page: "Page", kept: Path, width: int) -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, keyed, settled, write

    page.set_viewport_size({"width": width, "height": 900})
    clicks = Clicks(page)
    if width < 700:  # the menus are behind a button there
        clicks.on(page.get_by_test_id("stExpandSidebarButton"))
        clicks.on(page.get_by_role("link", name="New product"))
    else:
        clicks.menu("Products", "New product")
    expect(page.locator("h1").last).to_have_text("New product", timeout=PATIENCE)
    if width < 700:  # the menu closes by itself
        expect(page.get_by_test_id("stSidebarCollapseButton")).not_to_be_in_viewport(timeout=PATIENCE)
    write(keyed(page, "new-title").locator("input"), "Green clay lotion")
    clicks.choose("new-kind", "lotion")
    clicks.on(page.get_by_role("button", name="Paste from a spreadsheet"))
    write(keyed(page, "new-paste").locator("textarea"), PASTE, key="Control+Enter")
    expect(keyed(page, "paste-on-shelf").get_by_role("button")).to_be_enabled(timeout=PATIENCE)
    clicks.on(keyed(page, "paste-on-shelf").get_by_role("button"))
    clicks.on(keyed(page, "begin").get_by_role("button"))
    expect(page.locator("h1").first).to_have_text("Green clay lotion", timeout=PATIENCE)
    expect(page.get_by_text("Weigh this")).to_be_visible(timeout=PATIENCE)
    assert clicks.count <= FIRST
    page.reload()  # in the middle
    settled(page)
    expect(page.locator("h1").first).to_have_text("Green clay lotion", timeout=PATIENCE)
    expect(page.get_by_text("To decide next")).to_be_visible(timeout=PATIENCE)
    if width < 700:
        clicks.on(page.get_by_test_id("stExpandSidebarButton"))
        clicks.on(page.get_by_role("link", name="Batch", exact=True))
    else:
        clicks.menu("Make and sell", "Batch")
    expect(page.locator("h1").last).to_have_text("Batch", timeout=PATIENCE)
    expect(keyed(page, "html").get_by_role("button")).to_be_visible(timeout=PATIENCE)
    if width < 700:  # the menu closes by itself
        expect(page.get_by_test_id("stSidebarCollapseButton")).not_to_be_in_viewport(timeout=PATIENCE)
    with page.expect_download() as waiting:
        clicks.on(keyed(page, "html").get_by_role("button"))
    sheet = Path(waiting.value.path()).read_text(encoding="utf-8")
    assert "glycerin" in sheet
    assert "shea butter, refined" in sheet
    assert clicks.count <= MOST
    with Workshop.open(kept, create=False) as workshop:
        assert [product.name for product in workshop.read(Product)] == ["Green clay lotion"]


# -- without a browser -------------------------------------------------------------------------------------------------


def new(way: str = "", **state: object) -> AppTest:
    at = AppTest.from_file(str(UI / "app.py"), default_timeout=60)
    at.switch_page("views/new.py")
    at.run()
    if way:
        at.session_state["new-way"] = way
        for key, value in state.items():
            at.session_state[key] = value
        at.run()
    assert not at.exception, at.exception
    return at


def records(data: Path) -> Workshop:
    return Workshop.open(data, create=False)


def test_a_kind_lays_its_shelf_and_a_formula_stands(data: Path) -> None:
    at = new()
    at.text_input("new-title").set_value("Winter balm").run()
    at.selectbox("new-kind").set_value("balm").run()
    assert sum(row.ticked for row in at.session_state[Key.NEW].rows.values()) >= 3
    at.button("begin").click().run()
    assert not at.exception
    with records(data) as workshop:
        (product,) = workshop.read(Product)
        (step,) = workshop.read(Step)
        content = state_of(workshop, step)
    assert product.name == "Winter balm"
    assert 'kind = "balm"' in content.brief
    assert "# " in content.brief, "commented"
    assert content.files["shelf.csv"].startswith("ingredient")


def test_what_is_typed_on_the_shelf_stays_when_another_kind_is_looked_at() -> None:
    at = new()
    at.selectbox("new-kind").set_value("balm").run()
    rows = at.session_state[Key.NEW].rows
    laid = at.session_state[Key.NEW].laid
    number = list(rows).index("olive oil")
    at.session_state[f"shelf {laid}"] = {
        "edited_rows": {number: {"price of a pack": 9.0, "on the shelf": True}}, "added_rows": [], "deleted_rows": [],
    }  # fmt: skip
    from workbench import shelf

    changed = dict(rows) | {"olive oil": shelf.Row(True, 9.0)}
    at.session_state[Key.NEW] = shelf.Shelf(changed, laid)
    at.selectbox("new-kind").set_value("body butter").run()
    assert at.session_state[Key.NEW].rows["olive oil"].price == 9.0


def test_what_is_pasted_goes_to_the_shelf_counted_and_what_does_not_stays_in_the_field() -> None:
    at = new()
    at.selectbox("new-kind").set_value("balm").run()
    at.text_area("new-paste").set_value("glycerin\t21.00\t5 kg\nolive oil\t£9.00\t5 kg\nbeeswax\t12\nbeeswax\t13").run()
    assert any("olive oil: “£9.00” says £, and prices are in EUR here" in str(text.value) for text in at.markdown)
    at.button("paste-on-shelf").click().run()
    assert not at.exception
    rows = at.session_state[Key.NEW].rows
    assert (rows["glycerin"].price, rows["beeswax"].price, rows["olive oil"].price) == (21.0, 12.0, None)
    assert at.text_area("new-paste").value == "olive oil\t£9.00\t5 kg\nbeeswax\t13"
    told = "2 rows are on the shelf now. 2 rows are not: they stay in the field, and below is why."
    assert any(told in str(text.value) for text in at.markdown)
    at.text_area("new-paste").set_value("olive oil\t9.00\t5 kg").run()
    at.button("paste-on-shelf").click().run()
    assert at.session_state[Key.NEW].rows["olive oil"].price == 9.0
    assert at.text_area("new-paste").value == ""
    assert any("1 row is on the shelf now." in str(text.value) for text in at.markdown)


def test_a_paste_is_read_in_the_currency_of_the_product() -> None:
    at = new()
    at.text_input("new-currency").set_value("gbp").run()
    at.selectbox("new-kind").set_value("balm").run()
    at.text_area("new-paste").set_value("olive oil\t£9.00\t5 kg\nbeeswax\t12 EUR").run()
    at.button("paste-on-shelf").click().run()
    assert at.session_state[Key.NEW].rows["olive oil"].price == 9.0
    assert at.text_area("new-paste").value == "beeswax\t12 EUR"


def test_a_maker_of_no_kind_that_there_is_is_told_what_to_do() -> None:
    at = new()
    told = " ".join(str(text.value) for text in at.markdown)
    assert "**body butter**, for whipped butter" in told
    assert "shower gel" in told
    assert "Leave the kind empty and begin from “a formula of mine” or “a label”" in told
    at.selectbox("new-kind").set_value("balm").run()
    assert "Leave the kind empty" not in " ".join(str(text.value) for text in at.markdown)


def test_on_a_phone_the_shelf_shows_the_price_beside_the_name_and_says_where_the_rest_is() -> None:
    at = new()
    at.selectbox("new-kind").set_value("lotion").run()
    assert "farther right" not in " ".join(each.value for each in at.caption)
    at = new()
    at.session_state[NARROW] = True
    at.selectbox("new-kind").set_value("lotion").run()
    assert not at.exception
    (table,) = (each.proto for each in at.dataframe)
    columns = json.loads(table.columns)
    first = ("on the shelf", "ingredient", "price of a pack")
    assert sum(columns[name]["width"] for name in first) <= PHONE_TABLE
    assert "farther right" in " ".join(each.value for each in at.caption)


def test_a_formula_that_is_pasted_asks_back_what_is_not_certain(data: Path) -> None:
    at = new("a formula of mine", **{"new-formula": "shea butter 20\nolive oil 70\nbeeswax 10"})
    assert "begin" not in [button.key for button in at.button]
    at.selectbox("new-which formula 0 shea butter").set_value("shea butter, unrefined").run()
    assert any("The amounts were read as % of the jar; they add up to 100." in str(text.value) for text in at.markdown)
    at.button("begin").click().run()
    assert not at.exception
    with records(data) as workshop:
        content = state_of(workshop, workshop.read(Step)[0])
    assert '"shea butter, unrefined",20' in content.files["today.csv"]
    assert 'reference = "today.csv"' in content.brief


def test_a_sum_that_is_not_whole_is_told_and_not_trusted() -> None:
    at = new("a formula of mine", **{"new-formula": "olive oil 70\nbeeswax 20"})
    assert any("sum to 90, not 100" in str(text.value) for text in at.markdown)


def test_a_label_begins_a_product_from_its_centre(data: Path) -> None:
    at = new("a label", **{"new-label": "Olea Europaea Fruit Oil, Cera Alba"})
    for box in [each for each in at.selectbox if str(each.key).startswith("new-which label")]:
        box.set_value(box.options[0]).run()
    at.button("begin").click().run()
    assert not at.exception
    with records(data) as workshop:
        content = state_of(workshop, workshop.read(Step)[0])
    assert "olive oil" in content.files["today.csv"]


def test_a_label_begins_with_what_is_weighed_of_each_and_says_what_it_took_and_left_out(data: Path) -> None:
    """As `from-label --write`: a surfactant in water with its water, the first of several, no name that nobody has."""
    label = "Aqua, Cocamidopropyl Betaine, Glycerin, Butyrospermum Parkii Butter, Moon Dust"
    at = new("a label", **{"new-label": label})
    said = " ".join(str(text.value) for text in at.markdown)
    assert "Butyrospermum Parkii Butter is taken as shea butter, refined; it may be shea butter, unrefined" in said
    assert "no ingredient here is declared so: Moon Dust" in said
    at.button("begin").click().run()
    assert not at.exception
    with records(data) as workshop:
        content = state_of(workshop, workshop.read(Step)[0])
    percent = {name: float(share) for name, share, *_ in list(csv.reader(content.files["today.csv"].splitlines()))[1:]}
    ranges = from_label(parse_label(label).names, Scope("rinse-off", "body", ("EU",), clock.today()))
    assert isinstance(ranges, LabelRanges)
    centre = middle(ranges.ranges, read_catalogue(), "x").formula
    assert percent == {line.ingredient.name: pytest.approx(100 * line.fraction, abs=1e-6) for line in centre.lines}
    share = next(x.centre for x in ranges.ranges if x.inci == "Cocamidopropyl Betaine")
    assert percent["cocamidopropyl betaine, 30 %"] > 3 * share
    assert "shea butter, unrefined" not in percent


def test_a_copy_of_another_product_leaves_the_other_as_it_is(data: Path) -> None:
    at = new()
    at.selectbox("new-kind").set_value("balm").run()
    at.button("begin").click().run()
    at.switch_page("views/new.py").run()
    at.session_state["new-way"] = "another product"
    at.run()
    at.text_input("new-title").set_value("Summer balm").run()
    at.button("begin").click().run()
    assert not at.exception
    with records(data) as workshop:
        assert [product.name for product in workshop.read(Product)] == ["Balm", "Summer balm"]


def product() -> AppTest:
    """The workbench with the part of the brief open that says what the product is."""
    at = AppTest.from_file(str(UI / "app.py"), default_timeout=60)
    at.session_state["parts"] = "Product"
    return at.run()


CONTROLS = {"title", "kind", "use", "area", "markets", "date", "batch", "jar", "scale", "currency", "usual", "goal",
            "candidates", "claims", "missing", "count_as_oil", "ph", "overrule", "pack", "wet_fingers"}  # fmt: skip
#: Sliders, the table of lines, Ingredients, Files; choices and how many lines at most are written in the file.
ELSEWHERE = {"limits", "lines", "exclude", "own_files", "reference", "choose", "when", "most_ingredients"}


def test_every_key_of_a_brief_has_a_control() -> None:
    assert set(KEYS) == CONTROLS | ELSEWHERE
    at = product()
    keys = {str(each.key).rpartition(" ")[0].removeprefix("several ")
            for kind in ("selectbox", "text_input", "number_input", "multiselect", "date_input", "segmented_control",
                         "button_group")
            for each in at.get(kind)}  # fmt: skip
    assert CONTROLS - keys <= {"candidates"}, "which is a group of buttons"


@pytest.mark.parametrize(
    ("key", "value", "written"),
    cases(
        [
            ("jar", "250 g", "250 g"), ("usual", "warn", "warn"), ("scale", "0.01 g", "0.01 g"),
            ("title", "Foot polish", "Foot polish"), ("missing", "leave out", "leave out"),
        ],
        2,
        3,
    ),
)  # fmt: skip
def test_a_control_writes_its_key_and_undo_takes_it_back(key: str, value: str, written: str) -> None:
    at = product()
    before = at.session_state[Key.BENCH].document.get(key)
    kinds = [*at.text_input, *at.selectbox]
    (control,) = (each for each in kinds if str(each.key).rpartition(" ")[0] == key)
    control.set_value(value).run()
    assert not at.exception
    assert at.session_state[Key.BENCH].document[key] == written
    assert written in at.button("undo").label, "undo says what it takes back"
    at.button("undo").click().run()
    assert at.session_state[Key.BENCH].document.get(key) == before


def test_what_was_done_to_a_key_is_told_in_words() -> None:
    said = {("jar", "200 g"): "net mass of a jar: 200 g", ("claims", ("vegan", "no palm")): "claims: vegan, no palm",
            ("ph", ""): "pH: not said", ("batch", 1.0): "batch, kg: 1",
            ("wet_fingers", True): "wet fingers reach into it: yes"}  # fmt: skip
    for (key, value), words in said.items():
        assert done(key, list(value) if isinstance(value, tuple) else value) == words


def test_a_value_that_cannot_be_read_is_told_and_changes_nothing() -> None:
    at = product()
    (jar,) = (each for each in at.text_input if str(each.key).startswith("jar "))
    jar.set_value("a lot").run()
    assert at.session_state[Key.BENCH].document["jar"] == "150 g"
    (said,) = (str(toast.value) for toast in at.toast if "Not taken" in str(toast.value))
    assert said.startswith("Not taken: jar: a lot is not a mass."), "who fills in a field has no file"


def test_the_goal_can_be_another() -> None:
    at = product()
    (goal,) = (each for each in at.selectbox if str(each.key).rpartition(" ")[0] == "goal")
    goal.set_value("nearest to today's formula").run()
    assert not at.exception
    assert at.session_state[Key.BENCH].document["goal"] == {"nearest": "reference"}


def ingredients() -> AppTest:
    at = AppTest.from_file(str(UI / "app.py"), default_timeout=60)
    at.switch_page("views/ingredients.py")
    return at.run()


def put_there(at: AppTest) -> AppTest:
    (button,) = (each for each in at.button if each.label == "Put it in my table")
    return button.click().run()


def test_an_ingredient_of_ones_own_is_put_into_the_table_with_a_form() -> None:
    at = ingredients()
    at.text_input("own-name 0").set_value("marsh balm")
    at.selectbox("own-phase 0").set_value("oil phase")
    at.multiselect("own-functions 0").set_value(["butter"])
    at.selectbox("own-like 0").set_value("mango butter")
    at.number_input("own-price 0").set_value(9.0)
    at.text_input("own-pack 0").set_value("1 kg")
    at.text_input("own-statement 0").set_value("refining history: a.pdf")
    put_there(at)
    assert not at.exception
    assert not at.error
    text = at.session_state[Key.BENCH].files["workshop.csv"]
    assert "marsh balm" in text
    assert "mango butter" in text.partition("marsh balm")[2]
    assert "refining history: a.pdf" in text.partition("marsh balm")[2]
    assert at.text_input("own-name 1").value == "", "the form is empty again"
    at.button("undo").click().run()
    assert "marsh balm" not in at.session_state[Key.BENCH].files["workshop.csv"]


def test_an_ingredient_that_says_too_little_is_not_put_there() -> None:
    at = ingredients()
    before = at.session_state[Key.BENCH]
    at.text_input("own-name 0").set_value("marsh balm")
    put_there(at)
    assert "phase and functions" in "".join(str(each.value) for each in at.markdown)
    assert at.session_state[Key.BENCH] == before
