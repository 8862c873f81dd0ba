"""What rounding to the scale can do is no breach of the maker's own limits and usual ranges; of the law it is."""

import datetime
from dataclasses import replace

import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Constituent
from optiform.review.measures import Setting, half_of
from optiform.review.report import report
from optiform.rules.law import Scope, applying
from tests.builders import figure, ingredient, limit

CATALOGUE = read_catalogue()
BLEND = CATALOGUE.ingredients["phenoxyethanol + ethylhexylglycerin"]
HALF = half_of(1.0, 1.0)


def formula(**shares: float) -> Formula:
    """Percent by the first word of an ingredient; the rest is oil."""
    names = {
        "water": "water",
        "glycerin": "glycerin",
        "phenoxyethanol": "phenoxyethanol + ethylhexylglycerin",
        "wax": "emulsifying wax nf",
    }
    parts = [(CATALOGUE.ingredients[names[word]], share / 100) for word, share in shares.items()]
    parts.append((CATALOGUE.ingredients["sweet almond oil"], 1 - sum(share for _, share in parts)))
    return Formula("test", tuple(Line(item, share, item.phase) for item, share in parts))


def told(formula: Formula, setting: Setting, *words: str) -> list[str]:
    return [text for text in map(str, report(formula, setting).warnings) if all(word in text for word in words)]


def setting(half: float) -> Setting:
    items = list(CATALOGUE.ingredients.values())
    return Setting(limits=(limit("water phase", items, low=80.0),), half_step=half)


def test_a_limit_of_the_brief_is_kept_within_half_a_step_of_every_line() -> None:
    near, far = formula(water=79.96), formula(water=79.9)
    assert told(near, setting(HALF), "outside the brief's") == []
    assert report(near, setting(HALF)).keeps_limits is True
    assert told(near, setting(0.0), "water phase is 79.96 %, outside the brief's least of 80")
    assert told(far, setting(HALF), "water phase is 79.9 %, outside the brief's least of 80")
    assert report(far, setting(HALF)).keeps_limits is False


def test_however_coarse_the_scale_no_more_than_2_percent_of_a_limit_is_forgiven() -> None:
    assert told(formula(water=78.5), setting(0.05), "outside the brief's") == []
    assert told(formula(water=78.3), setting(0.05), "outside the brief's")


def test_a_limit_that_is_missed_by_a_hair_shows_the_hair() -> None:
    (words,) = told(formula(water=79.9999), setting(0.0), "outside the brief's")
    assert words.startswith("water phase is 79.9999 %, outside the brief's least of 80")


def test_a_usual_range_and_a_usual_dose_are_kept_within_rounding_too() -> None:
    lotion = formula(water=70.0, glycerin=5.045, wax=6.0)
    exact, weighed = Setting(kind="lotion"), Setting(kind="lotion", half_step=HALF)
    assert told(lotion, exact, "humectant active")
    assert told(lotion, weighed, "humectant active") == []
    usual = CATALOGUE.ingredients["glycerin"].value("usual use")
    assert usual is not None
    assert usual.high is not None
    above = formula(water=50.0, glycerin=usual.high + 0.03)
    assert told(above, Setting(), "glycerin", "outside its usual use")
    assert told(above, Setting(half_step=HALF), "glycerin", "outside its usual use") == []


@pytest.mark.parametrize("half", [0.0, HALF])
def test_law_maxima_and_preservatives_have_no_room(half: float) -> None:
    scope = Scope("rinse-off", "body", ("EU",), datetime.date(2026, 11, 25))
    lotion = Setting(kind="lotion", scope=scope, half_step=half)
    assert told(formula(water=70.0, phenoxyethanol=1.13), lotion, "Over a legal limit: phenoxyethanol")
    assert told(formula(water=70.0, phenoxyethanol=1.102), lotion, "share of preservative")
    assert told(formula(water=70.0, phenoxyethanol=0.499), lotion, "share of preservative", "below")
    strong = replace(ingredient("strong", 1), values={("maximum use", None): figure(1.0, "%")})
    over = Formula("over", (Line(strong, 0.0101, "cool-down"), Line(CATALOGUE.ingredients["water"], 0.9899, "water")))
    assert told(over, lotion, "strong at 1.01 % is above its maximum use of 1 %")


def test_a_certificate_has_no_room_but_for_what_floating_point_leaves() -> None:
    scent = replace(
        ingredient("scent", 1, "fragrance"),
        constituents=(Constituent("Parfum", "", figure(100.0, "%")),),
        values={("certificate maximum 9", None): figure(0.7, "%")},
    )
    scope = Scope("rinse-off", "body", (), datetime.date(2026, 11, 25))

    def over(percent: float) -> list[str]:
        lines = (Line(scent, percent / 100, "cool-down"), Line(CATALOGUE.ingredients["water"], 1 - percent / 100, "w"))
        return told(Formula("scented", lines), Setting(scope=scope, half_step=HALF), "Over the certificate")

    assert over(0.7 * (1 + 5e-7)) == []
    assert over(0.7 * (1 + 5e-6)) == [
        "Over the certificate: the fragrance uses 100.001 % of what its certificate allows (certificate, class 9)."
    ]


def test_a_limit_of_the_law_that_is_missed_by_a_hair_shows_the_hair() -> None:
    scope = Scope("rinse-off", "body", ("EU",), datetime.date(2026, 11, 25))
    (rule,) = (rule for rule in applying(scope, [BLEND]) if rule.group == "phenoxyethanol")
    share = 100 / rule.content(BLEND)
    (words,) = told(formula(water=70.0, phenoxyethanol=1.00001 * share), Setting(scope=scope), "Over a legal limit")
    assert "phenoxyethanol at 1.00001 % is over 1 % (" in words
