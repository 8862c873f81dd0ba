"""The declaration as a page: everything is there, and names are only text."""

from decimal import Decimal

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.label.declare import Declaration, declare
from optiform.label.net_content import net_content
from optiform.rules.law import Scope
from optiform.telling.papers.declaration import document
from tests.builders import ingredient
from tests.dates import ANY_DAY

HOSTILE = "<script>alert('x')</script>"


def drafted(name: str, *items: tuple[Ingredient, float]) -> Declaration:
    lines = tuple(Line(item, percent / 100, item.phase) for item, percent in items)
    scope = Scope("rinse-off", "body", ("EU",), ANY_DAY)
    return declare(Formula(name, lines), scope, net_content(Decimal(250), "g", "EU"), [f"note {HOSTILE}"])


def page() -> str:
    water = ingredient(f"water {HOSTILE}", 1, "water", contains={"Aqua": 99, f"Hostile {HOSTILE}": 1})
    scent = ingredient(f"scent {HOSTILE}", 1, "fragrance", {"allergen limonene": 5}, contains={"Parfum": 100})
    bare = ingredient(f"bare {HOSTILE}", 1, "fragrance", contains={"Parfum": 100})
    return document(drafted(f"polish {HOSTILE}", (water, 98), (scent, 1), (bare, 1)), read_catalogue().sources)


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
    assert "Signature" in html
    assert html.count('class="blank"') > 10
    assert "Commission database of cosmetic substances" in html


def test_the_page_promises_nothing() -> None:
    html = page().casefold()
    assert "draft" in html
    assert not [words for words in ("is safe", "is stable", "is preserved", "shelf life") if words in html]
