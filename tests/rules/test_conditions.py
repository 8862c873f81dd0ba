"""What is lawful only where what was bought is of some purity or origin is not known to be lawful; the supplier is."""

import datetime

import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.review.answer import Report
from optiform.review.facts import OpenRule
from optiform.review.measures import Setting
from optiform.review.report import report
from optiform.rules.law import Scope, rules
from tests.builders import ingredient

DAY = datetime.date(2026, 11, 27)
WATER = ingredient("water", 0.0, "water", contains={"Aqua": 100.0})


def looked_at(inci: str, percent: float, market: str, use: str = "rinse-off", day: datetime.date = DAY) -> Report:
    stuff = ingredient("stuff", 1.0, "active", contains={inci: 100.0})
    lines = (Line(stuff, percent / 100, "cool-down"), Line(WATER, 1 - percent / 100, "water phase"))
    return report(Formula("case", lines), Setting(scope=Scope(use, "body", (market,), day)))


@pytest.mark.parametrize("market", ["EU", "GB"])
@pytest.mark.parametrize(
    ("inci", "percent"),
    [
        ("Petrolatum", 30), ("Paraffinum Liquidum", 10), ("Paraffin", 5), ("Cera Microcristallina", 5),
        ("Cocamide DEA", 2), ("Lauramide DEA", 0.5), ("Ethanolamine", 0.5), ("Aminomethyl Propanol", 0.3),
        ("Triethanolamine", 0.8), ("Triisopropanolamine", 0.5), ("Polyquaternium-7", 0.5), ("Polyacrylamide", 1),
        ("Arachis Hypogaea Oil", 10), ("Hydrolyzed Wheat Protein", 1), ("Adeps Bovis", 60),
        ("Sodium Hydroxymethylglycinate", 0.4), ("Sodium Nitrite", 0.1), ("Lithium Hydroxide", 0.3),
    ],
)  # fmt: skip
def test_a_condition_on_what_was_bought_leaves_the_law_open_and_says_what_to_ask(
    inci: str, percent: float, market: str
) -> None:
    """All but the bases were kept, with a note only: nobody had asked the supplier."""
    looked = looked_at(inci, percent, market)
    assert looked.keeps_law is None
    facts = [point.fact for point in looked.unjudged if isinstance(point.fact, OpenRule)]
    assert facts
    assert all(fact.note for fact in facts)


@pytest.mark.parametrize(
    "oil", ["Pinus Sylvestris Leaf Oil", "Abies Sibirica Oil", "Tagetes Minuta Flower Oil", "Limonene"]
)
def test_an_oil_that_is_judged_as_bought_needs_its_certificate(oil: str) -> None:
    """Its peroxide value, or what it holds of a substance, stands there; needle oils bought as an active were kept."""
    assert looked_at(oil, 0.005, "EU").keeps_law is None


def test_a_ban_that_begins_with_a_purity_is_open_from_that_day() -> None:
    filtered = "Diethylamino Hydroxybenzoyl Hexyl Benzoate"
    before, after = datetime.date(2026, 12, 31), datetime.date(2027, 1, 1)
    notes = [looked_at(filtered, 2, "EU", day=day).unjudged for day in (before, after)]
    assert [any("uv" in point.what or "DHHB" in point.what for point in points) for points in notes] == [False, False]
    assert len(notes[1]) == len(notes[0]) + 1


@pytest.mark.parametrize("market", ["EU", "GB"])
@pytest.mark.parametrize("percent", [0.5, 15.0])
def test_what_is_over_a_limit_is_broken_whatever_else_is_asked(market: str, percent: float) -> None:
    """Triethanolamine: 2.5 % at most where it stays on, whatever its purity."""
    assert looked_at("Triethanolamine", percent, market, "leave-on").keeps_law is (None if percent < 2.5 else False)


def test_few_lines_of_the_catalogue_hang_on_what_a_supplier_says() -> None:
    """What everyday goods all meet is a note: carbomer, iron oxides of a cosmetic grade, kaolin, mica."""
    open_ = [rule for rule in rules() if rule.kind == "open" and not rule.only and rule.market in ("EU", "GB")]
    now = [rule for rule in open_ if rule.start is None or rule.start <= DAY]
    items = read_catalogue().ingredients.values()
    assert {item.name for item in items if any(rule.content(item) for rule in now)} == {
        "petrolatum", "mineral oil", "microcrystalline wax", "paraffin wax", "triethanolamine",
    }  # fmt: skip


def test_the_ph_that_settles_a_base_stands_in_the_row() -> None:
    asked = {rule.id: rule.highest_ph for rule in rules() if rule.highest_ph is not None}
    assert asked == {f"{market}-III-15{entry}": 11.0 for market in ("EU", "GB") for entry in "abc"}
