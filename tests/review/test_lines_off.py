"""What a brief fixes of a line counts as a limit: a formula that is off it does not keep the brief."""

from dataclasses import replace

import pytest

from optiform.brief.file import read_brief
from optiform.ingredients.formula import Formula
from optiform.reading.paths import DEMO
from optiform.review.check import check_against
from optiform.review.measures import setting_of
from optiform.review.report import report
from optiform.telling.check import checked
from optiform.telling.report import limits_line

BRIEF = read_brief(DEMO / "brief.toml")


def moved(name: str, to: float) -> Formula:
    """Today's formula with a line at another share, % of the jar, and water filling up."""
    today = BRIEF.reference
    assert today is not None
    change = to / 100 - today.fraction(name)
    lines = [
        replace(line, fraction=line.fraction + {name: change, "water": -change}.get(line.ingredient.name, 0.0))
        for line in today.lines
    ]
    return Formula("moved", tuple(lines))


@pytest.mark.parametrize(
    ("name", "to", "wanted"),
    [("fragrance oil", 0.8, "exactly 0.6"), ("xanthan gum", 0.5, "0.2 to 0.4"), ("sweet almond oil", 2, "at least 3")],
)
def test_a_line_off_what_the_brief_says_is_told_and_counts(name: str, to: float, wanted: str) -> None:
    looked = report(moved(name, to), setting_of(BRIEF))
    assert looked.keeps_limits is False
    words = limits_line(looked).text
    assert f"not as your brief fixes it: {name} {to:g}, not {wanted} % of the jar" in words
    assert "all 13 are met" not in words
    assert any(warning.text.startswith(f"{name} is {to:g} %") for warning in looked.warnings)


def test_a_line_as_the_brief_says_is_none_that_is_off() -> None:
    looked = report(moved("fragrance oil", 0.6), setting_of(BRIEF))
    assert looked.lines == ()
    assert "your brief fixes" not in limits_line(looked).text


def test_check_begins_with_whether_the_limits_are_met() -> None:
    looked = check_against(DEMO / "today.csv", BRIEF)
    first, *_ = checked(looked, setting_of(BRIEF)).sentences
    assert first.startswith("Limits: ")


def test_what_the_brief_excludes_is_none_as_the_brief_says() -> None:
    asked = replace(BRIEF, limits=()).with_limit("sweet almond oil", low=0).without("sweet almond oil")
    looked = report(moved("sweet almond oil", 2), setting_of(asked))
    assert looked.keeps_limits is False
    told = "not as your brief fixes it: sweet almond oil 2 % of the jar, and it asks for none"
    assert told in limits_line(looked).text
    assert [str(warning) for warning in looked.warnings if "almond" in str(warning)] == [
        "sweet almond oil is 2 %, and the brief asks for none."
    ]
    assert report(moved("sweet almond oil", 0), setting_of(asked)).lines == ()
