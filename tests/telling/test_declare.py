"""The declaration: everything is on the page, names are only text, and the terminal has the answer first."""

import datetime
from decimal import Decimal

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.label.declare import Declaration, declare
from optiform.label.net_content import net_content
from optiform.rules.law import Scope
from optiform.telling.declare import declaration
from optiform.telling.document import document
from optiform.telling.frame import comma_separated
from optiform.telling.parts import Telling
from optiform.telling.terminal import terminal
from tests.builders import ingredient
from tests.dates import ANY_DAY

HOSTILE = "<script>alert('x')</script>"


def drafted(name: str, *items: tuple[Ingredient, float]) -> Declaration:
    lines = tuple(Line(item, percent / 100, item.phase) for item, percent in items)
    scope = Scope("rinse-off", "body", ("EU",), ANY_DAY)
    return declare(Formula(name, lines), scope, net_content(Decimal(250), "g", "EU"), [f"note {HOSTILE}"])


def telling() -> Telling:
    water = ingredient(f"water {HOSTILE}", 1, "water", contains={"Aqua": 99, f"Hostile {HOSTILE}": 1})
    scent = ingredient(f"scent {HOSTILE}", 1, "fragrance", {"allergen limonene": 5}, contains={"Parfum": 100})
    bare = ingredient(f"bare {HOSTILE}", 1, "fragrance", contains={"Parfum": 100})
    draft = drafted(f"polish {HOSTILE}", (water, 98), (scent, 1), (bare, 1))
    return declaration(draft, read_catalogue().sources)


def page() -> str:
    return document(telling())


def test_names_are_only_text() -> None:
    html = page()
    assert "<script" not in html
    assert html.count("&lt;script&gt;") > 5


def test_the_page_holds_the_list_the_allergens_and_blanks_to_sign() -> None:
    html = page()
    assert "Ingredients: Aqua, Parfum," in html
    assert "Limonene (allergen)" in html
    assert "not known" in html
    assert "241 g" in html
    assert "<h2>Signature</h2>" in html
    assert "only with a signature here" in html
    assert html.count('class="blank"') > 10
    assert "Commission database of cosmetic substances" in html


def test_the_page_promises_nothing() -> None:
    html = page().casefold()
    assert "draft" in html
    assert not [words for words in ("is safe", "is stable", "is preserved", "shelf life") if words in html]


def test_the_terminal_has_the_list_first_and_the_rest_by_name() -> None:
    text = terminal(telling().brief(), 90)
    assert len(text.splitlines()) <= 40
    assert text.index("Ingredients: Aqua, Parfum,") < text.index("Settle first") < text.index("Allergens\n")
    for name in ("names", "cautions", "decisions"):
        assert f"--part {name}" in text
        assert terminal(telling().only(name), 90).count("\n") > 2
    assert "signature" not in terminal(telling(), 90).casefold()


def test_the_cautions_on_using_and_selling_are_told_here() -> None:
    draft = drafted("polish", (ingredient("water", 1, "water", contains={"Aqua": 100}), 100))
    told = declaration(draft, {}).only("cautions").sentences
    assert told == draft.precautions
    assert told


def test_the_table_has_every_name_in_its_place() -> None:
    rows = comma_separated(telling().table).splitlines()
    assert rows[0] == "place,name,percent,least percent,most percent,free order,colourant,allergen,from"
    assert rows[1].startswith("1,Aqua,")


def test_a_us_draft_tells_no_duty_that_it_has_already() -> None:
    """The net contents are among what a person decides, bithionol among the rules that the formula is held against."""
    scope = Scope("rinse-off", "body", ("US-NY",), ANY_DAY)
    water = ingredient("water", 1, "water", contains={"Aqua": 100})
    draft = declare(Formula("polish", (Line(water, 1.0, water.phase),)), scope)
    duties = terminal(declaration(draft, read_catalogue().sources).only("duties"), 10_000)
    assert "Net contents:" not in duties
    assert "Bithionol:" not in duties
    assert "held against these already, as check does: bithionol, 21 CFR 700.11" in duties
    assert "Only for other goods" in duties
    assert "nobody." not in duties
    assert "New York (US-NY), mercury:" in duties
    assert "From 20" not in duties


def test_what_is_a_bill_or_begins_later_is_named_as_that() -> None:
    water = ingredient("water", 1, "water", contains={"Aqua": 100})
    told = {}
    for market in ("US-NY", "US-CA"):
        scope = Scope("rinse-off", "body", (market,), datetime.date(2026, 11, 27))
        draft = declare(Formula("polish", (Line(water, 1.0, water.phase),)), scope)
        told[market] = declaration(draft, read_catalogue().sources).only("duties").sentences
    nothing = next(text for text in told["US-NY"] if text.startswith("Nothing to do so far: "))
    assert "Beauty Justice Act" in nothing
    assert "good manufacturing practice" in nothing
    held = next(text for text in told["US-CA"] if text.startswith("The formula is held against these already"))
    assert "26 more substances from 2027-01-01, California" in held
    assert not any("California" in text and "11 substances" in text for text in told["US-CA"])
