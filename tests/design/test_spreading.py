"""What a hand tells apart and nothing holds is told: oils of another thickness, and what has no figure."""

from dataclasses import replace

import pytest

from optiform.brief.brief import Brief
from optiform.design.cheaper import cheaper
from optiform.design.facts import OtherThickness, UnknownThickness
from optiform.design.spreading import spreading
from optiform.design.substitute import substitute
from optiform.ingredients.formula import Formula, Line, mixed
from optiform.telling.cheaper import cheaper as told
from optiform.telling.json.options import substitute as data
from optiform.telling.substitute import substitute as substituted
from tests.kind_shelves import bare_brief

SHELF = {
    "castor oil": 5.2, "cocoa butter": 24.0, "beeswax": 13.0, "jojoba oil": 29.0, "shea butter, refined": 11.5,
    "mixed tocopherols": 48.0, "sunflower oil": 3.8, "candelilla wax": 19.0,
}  # fmt: skip
TODAY = {"castor oil": 30, "cocoa butter": 25, "beeswax": 24, "jojoba oil": 16, "shea butter, refined": 4.6,
         "mixed tocopherols": 0.4}  # fmt: skip


def balm(today: dict[str, float]) -> Brief:
    brief = bare_brief("stick and lip balm", SHELF)
    items = ((brief.catalogue.ingredients[name], share / 100) for name, share in today.items() if share)
    return replace(brief, reference=Formula("today", tuple(Line(item, share, item.phase) for item, share in items)))


def test_what_has_no_figure_is_told_not_to_be_held() -> None:
    """Jojoba is an ester whose acids the tables do not give: how unsaturated today's oils are is not known."""
    answer = cheaper(balm(TODAY))
    assert [(each.name, each.lacking) for each in answer.not_held] == [
        (f"{which} share", ("jojoba oil",)) for which in ("saturated", "monounsaturated", "polyunsaturated")
    ]
    assert not {each.name for each in answer.held} & {each.name for each in answer.not_held}
    words = " ".join(told(answer).sentences)
    assert "Not held near today's: saturated share, monounsaturated share, polyunsaturated share" in words
    assert "no figure for jojoba oil" in words
    assert "moves no feel" not in words, "nobody knows"


def test_a_substitute_tells_what_its_distance_leaves_out() -> None:
    answer = substitute(balm(TODAY), ["cocoa butter"])
    assert ("saturated share", ("jojoba oil",)) in [(each.name, each.lacking) for each in answer.not_held]
    (said,) = [words for words in substituted(answer).sentences if words.startswith("Not in the distance: ")]
    assert "saturated share" in said
    assert said.endswith("(no figure for jojoba oil). Try it by hand.")
    assert data(answer)["not_held"][0]["lacking"] == ["jojoba oil"]


def test_where_all_is_known_nothing_is_said_of_it() -> None:
    known = TODAY | {"jojoba oil": 0.0, "castor oil": 46.0}
    answer = cheaper(balm(known))
    assert answer.not_held == ()
    assert "Not held" not in " ".join(told(answer).sentences)
    other = substitute(balm(known), ["cocoa butter"])
    assert other.not_held == ()
    assert "Not in the distance: " not in " ".join(substituted(other).sentences)


def test_each_option_says_how_thick_its_oils_are_against_todays() -> None:
    answer = cheaper(balm(TODAY))
    gone = [choice for choice in answer.rungs if any(move.ingredient == "jojoba oil" for move in choice.moves)]
    assert gone
    assert {choice.thickness for choice in gone} == {UnknownThickness(("jojoba oil",))}
    assert "Spreading: how thick jojoba oil is" in " ".join(told(answer).sentences)


def test_only_what_moves_is_compared() -> None:
    """Oils that stay as they are make no formula thicker or thinner."""
    rest = {"sweet almond oil": 5.0, "shea butter, refined": 3.0}
    today = mixed(rest | {"grapeseed oil": 1.0})
    assert spreading(today, today) is None
    assert spreading(today, mixed(rest | {"shea butter, refined": 4.0})) is None, "a butter is no oil"
    found = spreading(today, mixed(rest | {"olive oil": 1.0}))
    assert isinstance(found, OtherThickness)
    assert found.thickness.times == pytest.approx(58 / 43, abs=0.03), "as `worked_out` has them"


def test_where_nothing_can_be_had_that_is_said() -> None:
    """The shelf has one antioxidant, and no line may save as much as this."""
    brief = balm(TODAY)
    words = " ".join(substituted(substitute(brief, ["mixed tocopherols"])).sentences)
    assert "Nothing on the shelf can take the place of mixed tocopherols." in words
    words = " ".join(told(cheaper(brief, least_saving=99.0)).sentences)
    assert words.startswith("Changed lines save less than 99 EUR/kg each.")
