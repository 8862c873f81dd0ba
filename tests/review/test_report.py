"""What every report shows: properties that apply, usual ranges as warnings, cautions."""

import datetime
from dataclasses import replace

import pytest

from optiform.brief.brief import KINDS
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.properties.grounds import ListsDisagree
from optiform.properties.registry import find_property
from optiform.review.answer import Measured
from optiform.review.measures import Setting
from optiform.review.report import report
from optiform.rules.law import Scope
from optiform.rules.usual import usual_ranges
from optiform.telling.facts import in_words
from optiform.telling.parts import Section, Table, Telling
from optiform.telling.report import law, properties
from optiform.telling.terminal import terminal
from tests.builders import ingredient, limit

CATALOGUE = read_catalogue()
SCRUB = {
    "water": 40.0,
    "glycerin": 5.0,
    "cocamidopropyl betaine, 30 %": 8.0,
    "cetyl alcohol": 4.0,
    "polysorbate 60": 3.0,
    "sweet almond oil": 10.0,
    "phenoxyethanol + ethylhexylglycerin": 1.0,
    "sea salt, fine": 29.0,
}


def formula(shares: dict[str, float]) -> Formula:
    total = sum(shares.values())
    items = {name: CATALOGUE.ingredients[name.casefold()] for name in shares}
    return Formula("test", tuple(Line(items[name], share / total, items[name].phase) for name, share in shares.items()))


def measured(found: Formula, setting: Setting | None = None) -> dict[str, Measured]:
    return {one.name: one for one in report(found, setting or Setting()).measures}


def unusual(found: Formula, kind: str) -> list[str]:
    return [text for text in map(str, report(found, Setting(kind=kind)).warnings) if text.startswith("Unusual")]


def test_only_what_applies_is_shown() -> None:
    names = set(measured(formula({"water": 100})))
    assert "water phase" in names
    assert not names & {"oil phase", "iodine value", "required hlb", "grains", "solid fat at 20 degC"}
    assert {"iodine value", "saturated share", "structuring solids at 20 degC"} <= set(measured(formula(SCRUB)))


def test_what_is_not_known_is_shown_with_who_lacks_it() -> None:
    mystery = ingredient("mystery oil", 5, "oil")
    known = CATALOGUE.ingredients["sweet almond oil"]
    found = measured(Formula("f", (Line(mystery, 0.4, "oil phase"), Line(known, 0.6, "oil phase"))))["iodine value"]
    assert found.value is None
    assert found.lacking == ("mystery oil",)
    assert found.span is None
    assert not found.missed


def test_a_cost_that_is_not_known_is_not_zero() -> None:
    found = measured(formula(SCRUB))["cost"]
    assert found.value is None
    assert set(found.lacking) == set(SCRUB)


def test_the_limits_of_a_brief_come_first_and_both_ends_count() -> None:
    low, high = limit("oil phase", [], low=20), limit("oil phase", [], high=25)
    setting = Setting(limits=(limit("grains", [], low=10), low, high))
    found = report(formula(SCRUB), setting)
    assert [one.name for one in found.measures[:2]] == ["grains", "oil phase"]
    assert (found.measures[1].low, found.measures[1].high) == (20, 25)
    assert found.measures[1].missed, "17 % is below 20"
    assert not found.measures[0].missed
    assert len([one for one in found.measures if one.name == "oil phase"]) == 1


def test_the_weakest_evidence_travels_and_the_span_follows_the_figures() -> None:
    # glycerin 99.5 % humectant, 99 at least (published), and honey 82 %, 80 to 83 (recalled)
    found = measured(formula({"water": 50, "glycerin": 40, "honey": 10}))["humectant active"]
    assert found.value == pytest.approx(48.0)
    assert found.span == pytest.approx((47.6, 48.1))
    assert str(found.evidence) == "recalled"
    alone = measured(formula({"water": 50, "glycerin": 50}))["humectant active"]
    assert str(alone.evidence) == "published"


def test_a_middle_that_no_list_of_required_hlb_has_is_told() -> None:
    """Triglyceride 5 or 11; beeswax has one mode that was read, and cetyl alcohol's lists are half a point apart."""
    emulsified = {"water": 60, "polysorbate 80": 5, "beeswax": 5, "cetyl alcohol": 10}
    note = measured(formula({**emulsified, "caprylic/capric triglyceride": 20}))["required hlb"].note
    assert note == ListsDisagree((("caprylic/capric triglyceride", 5.0, 11.0),))
    assert measured(formula({**emulsified, "olive oil": 20}))["required hlb"].note == ""


def test_usual_ranges_are_warnings_only_and_never_limits() -> None:
    plain, kind = (report(formula(SCRUB), Setting(kind=word)) for word in ("", "lotion"))
    assert unusual(formula(SCRUB), "lotion")
    assert [(one.low, one.high) for one in kind.measures] == [(one.low, one.high) for one in plain.measures]
    assert not [text for text in map(str, plain.warnings) if text.startswith("Unusual")]


def test_an_unusual_share_says_the_range_the_side_and_the_effect() -> None:
    (told,) = [text for text in unusual(formula(SCRUB), "lotion") if "water phase" in text]
    assert "53 %, below the usual 60 to 84 %" in told
    assert "(read second-hand)" in told
    assert told.rstrip(".").split(": ")[-1], "what happens outside is said"


def test_a_share_inside_its_range_is_not_remarked_on() -> None:
    assert not [text for text in unusual(formula(SCRUB), "cream scrub") if "water phase" in text]


def test_what_is_optional_is_not_missed() -> None:
    optional = [usual.property for usual in usual_ranges("cream scrub") if usual.if_used]
    assert "share of fragrance" in optional
    assert not [text for text in unusual(formula(SCRUB), "cream scrub") if "share of fragrance" in text]


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_ranges_on_properties_that_exist(kind: str) -> None:
    ranges = usual_ranges(kind)
    assert ranges
    for usual in ranges:
        if usual.property != "number of ingredients":
            assert find_property(usual.property, "EUR").name == usual.property
        assert usual.low <= usual.high


def test_a_dose_above_the_advised_maximum_is_told() -> None:
    share = {"phenoxyethanol + ethylhexylglycerin": 5.0, "water": 95.0}
    assert [
        text
        for text in map(str, report(formula(share), Setting()).warnings)
        if "phenoxyethanol" in text and "5 %" in text
    ]


def split(shares: dict[str, float], name: str, phase: str, part: float) -> Formula:
    """The formula with a part of an ingredient, in %, moved to another phase."""
    whole = formula(shares)
    moved = Line(CATALOGUE.ingredients[name.casefold()], part / 100, phase)
    kept = (
        replace(line, fraction=line.fraction - moved.fraction) if line.ingredient.name == name else line
        for line in whole.lines
    )
    return Formula("test", (*kept, moved))


def test_a_dose_in_two_phases_is_one_dose() -> None:
    name = "phenoxyethanol + ethylhexylglycerin"
    shares = {name: 1.8, "water": 98.2}
    told = [text for text in map(str, report(formula(shares), Setting()).warnings) if text.startswith(name)]
    assert len(told) == 1
    assert "1.8 %" in told[0]
    parted = [*map(str, report(split(shares, name, "water phase", 0.9), Setting()).warnings)]
    assert [text for text in parted if text.startswith(name)] == told


def test_what_two_phases_need_of_the_stock_is_one_need() -> None:
    item = ingredient("my oil", 5.0, "oil", {"stock": 0.5})
    lines = Line(item, 0.4, "oil phase"), Line(item, 0.3, "cool-down"), Line(CATALOGUE.ingredients["water"], 0.3, "")
    told = [*map(str, report(Formula("test", lines), Setting(batch=1.0)).warnings)]
    assert [text for text in told if "in stock" in text] == [
        "my oil: the batch needs 0.7 kg, and only 0.5 kg is in stock."
    ]


def test_water_that_is_not_known_does_not_silence_the_warning() -> None:
    foam = ingredient("my foam", 5.0, "liquid surfactant", {"active surfactant": 30.0}, phase="water phase")
    told = [*map(str, report(Formula("test", (Line(foam, 1.0, "water phase"),)), Setting()).warnings)]
    assert "No preservative, and how much water my foam brings is not known: microbes can grow in it." in told
    kept = Line(CATALOGUE.ingredients["phenoxyethanol + ethylhexylglycerin"], 0.01, "cool-down")
    preserved = [*map(str, report(Formula("test", (Line(foam, 0.99, "water phase"), kept)), Setting()).warnings)]
    assert not [text for text in preserved if "microbes" in text]


def test_glyceryl_stearate_that_counts_as_oil_is_not_said_to_be_an_emulsifier() -> None:
    lines = formula({"glyceryl stearate": 5.0, "polysorbate 60": 5.0, "sweet almond oil": 90.0}).lines
    as_oil = replace(lines[0].ingredient, functions=("fatty alcohol",))
    setting = Setting(limits=(limit("hlb of the emulsifiers", [], low=3),))
    told = [*map(str, report(Formula("test", (replace(lines[0], ingredient=as_oil), *lines[1:])), setting).warnings)]
    assert not [text for text in told if "count_as_oil" in text]


def test_an_hlb_limit_says_what_it_leaves_out() -> None:
    shares = {"water": 80.0, "emulsifying wax NF": 5.0, "glyceryl stearate": 5.0, "sweet almond oil": 10.0}
    setting = Setting(limits=(limit("hlb of the emulsifiers", [], low=3),))
    told = [*map(str, report(formula(shares), setting).warnings)]
    assert [text for text in told if "The HLB leaves out" in text and "emulsifying wax NF" in text]
    assert [text for text in told if "count_as_oil" in text]
    assert not [text for text in map(str, report(formula(shares), Setting()).warnings) if "count_as_oil" in text]


def test_a_temperature_no_table_reaches_is_said_not_guessed() -> None:
    setting = Setting(limits=(limit("undissolved salt at 150 degC", [], low=5),))
    found = report(formula(SCRUB), setting).measures[0]
    assert found.value is None
    assert "150 degC is outside" in in_words(found.note)


def texts(shares: dict[str, float], scope: Scope | None = None) -> list[str]:
    return [caution.text for caution in report(formula(shares), Setting(scope=scope)).cautions]


def test_cautions_go_with_what_is_in_use() -> None:
    salted, plain = texts(SCRUB), texts({"water": 100})
    assert any(text.startswith("Salt stings") for text in salted)
    assert not any(text.startswith("Salt stings") for text in plain)
    assert plain, "some cautions hold always"
    assert len(set(salted)) == len(salted)


def test_cautions_say_where_they_belong_and_hear_of_use_and_area() -> None:
    assert {caution.where for caution in report(formula(SCRUB), Setting()).cautions} == {"making", "using", "selling"}
    rinsed = Scope("rinse-off", "feet", ("EU",), datetime.date(2026, 11, 25))
    assert set(texts(SCRUB)) < set(texts(SCRUB, rinsed))


def test_what_is_usual_in_the_kind_goes_before_what_is_usual_of_the_ingredient() -> None:
    def doses(name: str, kind: str) -> list[str]:
        found = report(formula({name: 60.0, "kaolin": 40.0}), Setting(kind=kind)).warnings
        return [text for text in map(str, found) if f"{name} at" in text]

    powder, sulfate = "sodium lauryl sulfate, powder", "sodium coco-sulfate"
    assert doses(powder, ""), "60 % is far above the usual 15 %"
    assert not doses(powder, "solid cleansing bar"), "where solid surfactants have a range of their own"
    assert "0 to 30 %" in doses(sulfate, "solid cleansing bar")[0], "which has a row for this very one"


def test_the_kind_does_not_raise_the_usual_dose_of_one_preservative() -> None:
    shares = {"water": 99.0, "sorbic acid": 1.0}
    told = [*map(str, report(formula(shares), Setting(kind="cream scrub")).warnings)]
    assert [text for text in told if text.startswith("sorbic acid at 1 %")]


def test_a_required_hlb_is_shown_only_where_an_emulsifier_has_an_hlb() -> None:
    oils = {"sweet almond oil": 50.0, "water": 50.0}
    assert "required hlb" not in measured(formula(oils))
    assert "required hlb" in measured(formula({**oils, "polysorbate 60": 5.0}))
    assert "required hlb" in measured(formula(oils), Setting(limits=(limit("required hlb", [], high=12),)))


def test_a_rule_check_names_its_row_and_what_it_counts_as() -> None:
    scope = Scope("rinse-off", "body", ("EU",), datetime.date(2026, 11, 25))
    checks = report(formula({"water": 99.5, "sodium benzoate": 0.5}), Setting(scope=scope)).rules
    (one,) = [rule for rule in checks if rule.id == "EU-V-1-rinse"]
    assert one.expressed_as == "benzoic acid"
    assert one.content == pytest.approx(0.5 * 0.8475, rel=0.02)


def words_of(section: Section) -> str:
    return " ".join(terminal(Telling("", (section,), Table((), ())), 90).split())


def test_notes_stand_below_the_table_whole() -> None:
    names = [f"mystery oil of the {word} kind" for word in ("first", "second", "third", "fourth")]
    lines = [Line(ingredient(name, 5, "oil"), 0.25, "oil phase") for name in names]
    text = words_of(properties(report(Formula("f", tuple(lines)), Setting())))
    assert "..." not in text
    assert all(name in text.split("- iodine value: ")[1] for name in names)
    wet = words_of(properties(report(formula(SCRUB), Setting())))
    assert "from memory" in wet
    assert "no proof of preservation" in wet


def test_a_market_without_a_number_says_so() -> None:
    scope = Scope("rinse-off", "body", ("EU", "US"), datetime.date(2026, 11, 25))
    told = words_of(law(report(formula({"water": 99.5, "sodium benzoate": 0.5}), Setting(scope=scope))))
    assert "US: no numeric limit in the tables applies." in told
    assert "EU: no numeric limit" not in told
    assert words_of(law(report(formula({"water": 100.0}), Setting()))) == (
        "Law No market is given, so no law was looked at."
    )
