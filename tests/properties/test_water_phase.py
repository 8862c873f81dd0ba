"""Water, humectants and actives as carried, and the grains that the water dissolves; values by hand.

Solubility in g per g of water: sucrose 2.039 at 20 degC and 2.381 at 40 degC, as in solubility.csv.
"""

from dataclasses import replace

import pytest

from optiform.design.answer import Designed
from optiform.design.design import design
from optiform.ingredients.formula import Formula, Line, mixed
from optiform.ingredients.ingredient import Evidence, Ingredient
from optiform.properties.base import TRACE, Mix, fractions
from optiform.properties.phases import mean_grain_size
from optiform.properties.registry import find_property
from optiform.properties.solubility import OutOfRange
from optiform.review.answer import Measured
from optiform.review.measures import measure
from optiform.telling.facts import in_words
from tests.builders import brief_of, ingredient

WATER = ingredient("water", 0, "water", {"water": 100, "density": 1.0}, contains={"Aqua": 100})
WATER_PRICED = ingredient("priced water", 1.0, "water", {"water": 100}, contains={"Aqua": 100})
BETAINE = ingredient("betaine", 5, "liquid surfactant", {"water": 64, "active surfactant": 30}, phase="water phase")
BARE = ingredient("bare surfactant", 5, "liquid surfactant", phase="water phase")
FLAKES = ingredient("flakes", 20, "solid surfactant", {"active surfactant": 85}, phase="water phase")
SYRUP = ingredient("syrup", 4, "humectant", {"water": 30, "humectant active": 70})
OIL = ingredient("oil", 8, "oil", {"density": 0.92})
SUGAR = ingredient("sugar", 1, "grain", {"density": 1.587}, solute="sucrose", contains={"Sucrose": 100})
PUMICE = ingredient("pumice", 9, "grain", {"density": 2.4})


def formula(*lines: tuple[Ingredient, float]) -> Formula:
    return Formula("f", tuple(Line(item, share, item.phase) for item, share in lines))


def value(words: str, found: Formula) -> float | None:
    return find_property(words, "EUR").of(found)


def lacking(words: str, found: Formula) -> tuple[str, ...]:
    return measure(find_property(words, "EUR"), Mix.of(found), fractions(found)).lacking


def test_water_carried_in_by_surfactants_and_syrups_counts() -> None:
    # 60 + 0.64 * 20 + 0.30 * 10
    found = formula((WATER, 0.6), (BETAINE, 0.2), (SYRUP, 0.1), (OIL, 0.1))
    assert value("water", found) == pytest.approx(75.8)
    assert value("water phase", found) == pytest.approx(90), "which is another thing"


def test_active_matter_counts_not_what_is_supplied() -> None:
    # 0.30 * 20 + 0.85 * 10 and 0.70 * 10
    found = formula((WATER, 0.6), (BETAINE, 0.2), (FLAKES, 0.1), (SYRUP, 0.1))
    assert value("active surfactant", found) == pytest.approx(14.5)
    assert value("humectant active", found) == pytest.approx(7)


def test_a_carrier_without_its_figure_is_named_and_the_sum_not_known() -> None:
    found = formula((WATER, 0.8), (BARE, 0.2))
    assert value("water", found) is None
    assert lacking("water", found) == ("bare surfactant",)
    assert lacking("active surfactant", found) == ("bare surfactant",)
    assert value("humectant active", found) == 0, "nothing of it is missing for this"


def test_what_carries_no_such_matter_needs_no_figure() -> None:
    assert value("water", formula((OIL, 1.0))) == 0


# -- grains ------------------------------------------------------------------------------------------------------------

SCRUB = formula((SUGAR, 0.6), (WATER, 0.2), (OIL, 0.2))


@pytest.mark.parametrize(
    ("temperature", "dissolved"),
    [("20 degC", 0.2 * 203.9), ("40 degC", 0.2 * 238.1)],  # 40.78 and 47.62
)
def test_sugar_at_two_temperatures(temperature: str, dissolved: float) -> None:
    assert value(f"dissolved sugar at {temperature}", SCRUB) == pytest.approx(dissolved)
    assert value(f"undissolved sugar at {temperature}", SCRUB) == pytest.approx(60 - dissolved)
    assert value(f"undissolved grains at {temperature}", SCRUB) == pytest.approx(60 - dissolved)


def test_where_there_is_water_enough_all_dissolves_and_no_more() -> None:
    found = formula((SUGAR, 0.3), (WATER, 0.7))
    assert value("dissolved sugar at 20 degC", found) == pytest.approx(30)
    assert value("undissolved sugar at 20 degC", found) == pytest.approx(0)


def test_water_inside_a_surfactant_dissolves_too() -> None:
    # 0.64 * 20 = 12.8 of water hold 26.0992
    found = formula((SUGAR, 0.6), (BETAINE, 0.2), (OIL, 0.2))
    assert value("undissolved sugar at 20 degC", found) == pytest.approx(60 - 12.8 * 2.039)


def test_grains_that_never_dissolve_count_in_full_and_only_among_all_grains() -> None:
    found = formula((SUGAR, 0.5), (PUMICE, 0.1), (WATER, 0.2), (OIL, 0.2))
    assert value("undissolved grains at 20 degC", found) == pytest.approx(60 - 40.78)
    assert value("undissolved sugar at 20 degC", found) == pytest.approx(50 - 40.78)
    assert value("undissolved salt at 20 degC", found) == 0


def test_sugar_stirred_into_the_water_phase_is_no_grain() -> None:
    found = Formula("f", (Line(SUGAR, 0.5, "water phase"), Line(WATER, 0.5, "water phase")))
    assert value("undissolved sugar at 20 degC", found) == 0
    assert value("dissolved sugar at 20 degC", found) == 0


def test_the_volume_of_what_stays_undissolved() -> None:
    # 19.22 of sugar stay: 0.1922 / 1.587 = 0.12111 of 0.6 / 1.587 + 0.2 + 0.2 / 0.92 = 0.79546
    assert value("grain volume fraction at 20 degC", SCRUB) == pytest.approx(0.12111 / 0.79546, abs=2e-5)


def test_a_trace_counts_at_1_g_per_ml_and_is_told() -> None:
    """Two lines of 0.2 % each: 0.5976 / 1.587 of sugar less what dissolves; more than 0.5 % in all is named."""
    bare = ingredient("bare", 4, "active", phase="water phase")
    grains, rest = 0.6 - 2.039 * 0.2, (0.2 - 0.004) / 0.92
    few = formula((SUGAR, 0.6), (WATER, 0.2), (OIL, 0.196), (bare, 0.002), (BARE, 0.002))
    held = grains / 1.587 / (0.6 / 1.587 + 0.2 + rest + 0.004)
    assert value("grain volume fraction at 20 degC", few) == pytest.approx(held, rel=1e-4)
    told = measure(find_property("grain volume fraction at 20 degC", "EUR"), Mix.of(few), fractions(few))
    assert in_words(told.note).startswith("bare and bare surfactant have no density and count at 1 g/mL")
    more = formula((SUGAR, 0.6), (WATER, 0.2), (OIL, 0.194), (bare, 0.002), (BARE, 0.004))
    assert value("grain volume fraction at 20 degC", more) is None
    assert lacking("grain volume fraction at 20 degC", more) == ("bare", "bare surfactant")


@pytest.mark.parametrize("density", [0.5, 1.0, 3.0])
@pytest.mark.parametrize("grains", [0.3, 0.6, 0.9])
def test_whatever_the_density_of_a_trace_the_fraction_is_off_by_no_more_than_is_said(
    density: float, grains: float
) -> None:
    def made(trace: Ingredient) -> Formula:
        return formula((PUMICE, grains), (OIL, 1 - grains - TRACE), (trace, TRACE))

    bare, own = (ingredient("bare", 4, "active", values) for values in ({}, {"density": density}))
    taken, true = (value("grain volume fraction at 20 degC", made(each)) for each in (bare, own))
    assert taken is not None
    assert true is not None
    pumice = PUMICE.density
    assert pumice is not None
    room = grains / pumice.figure + (1 - grains - TRACE) / 0.92 + TRACE / density
    assert abs(taken / true - 1) <= TRACE / min(room, room + TRACE * (1 - 1 / density)) + 1e-12


def test_a_density_that_is_missing_is_named() -> None:
    found = formula((SUGAR, 0.6), (WATER, 0.2), (SYRUP, 0.2))
    assert value("grain volume fraction at 20 degC", found) is None
    assert lacking("grain volume fraction at 20 degC", found) == ("syrup",)


@pytest.mark.parametrize("words", ["undissolved sugar at 150 degC", "dissolved salt at -40 degC"])
def test_outside_the_table_nothing_is_said(words: str) -> None:
    salt = ingredient("salt", 1, "grain", solute="sodium chloride")
    found = formula((SUGAR, 0.3), (salt, 0.3), (WATER, 0.4))
    with pytest.raises(OutOfRange, match="outside"):
        value(words, found)
    told = measure(find_property(words, "EUR"), Mix.of(found), fractions(found))
    assert told.value is None
    assert told.state == "not given"
    assert "outside" in in_words(told.note)


# -- water activity ----------------------------------------------------------------------------------------------------


def test_water_alone_has_an_activity_of_one_and_no_water_has_none() -> None:
    assert value("water activity", formula((WATER, 1.0))) == pytest.approx(1)
    assert value("water activity", formula((OIL, 1.0))) is None


def test_only_what_is_dissolved_lowers_the_water_activity() -> None:
    little, more, most = (formula((SUGAR, s), (WATER, 0.2), (OIL, 0.8 - s)) for s in (0.2, 0.5, 0.7))
    values = [value("water activity", found) for found in (little, more, most)]
    assert values[0] is not None
    assert values[1] is not None
    assert 1 > values[0] > values[1]
    assert values[2] == pytest.approx(values[1]), "beyond saturation more sugar changes nothing"


def test_an_estimate_never_looks_better_known_than_its_model() -> None:
    found = measure(find_property("water activity", "EUR"), Mix.of(SCRUB), fractions(SCRUB))
    assert found.evidence is Evidence.RECALLED
    assert "measure it" in in_words(found.note)


def aw(found: Formula) -> Measured:
    return measure(find_property("water activity", "EUR"), Mix.of(found), fractions(found))


def test_water_bound_in_powders_is_no_water_phase() -> None:
    starch = ingredient("starch", 2, "powder", {"water": 12}, contains={"Zea Mays Starch": 100})
    dry = formula((starch, 0.2), (OIL, 0.8))
    assert value("water", dry) == pytest.approx(2.4)
    assert aw(dry).state == "does not apply"


@pytest.mark.parametrize(("share", "state"), [(0.009, "does not apply"), (0.011, "known")])
def test_a_trace_of_water_is_no_water_phase(share: float, state: str) -> None:
    assert aw(formula((WATER, share), (OIL, 1 - share))).state == state


@pytest.mark.parametrize(("flakes", "state"), [(0.29, "known"), (0.31, "not given")])
def test_with_much_that_the_model_does_not_count_no_water_activity_is_given(flakes: float, state: str) -> None:
    named = replace(FLAKES, constituents=ingredient("x", 1, contains={"Flaky Sulfate": 100}).constituents)
    found = formula((WATER, 0.5 * (1 - flakes)), (named, 0.5 * flakes), (OIL, 0.5))
    assert aw(found).state == state
    if state == "not given":
        assert "31 % of the water phase is not counted by the model: Flaky Sulfate" in in_words(aw(found).note)


@pytest.mark.parametrize("part", [0.1, 0.3, 0.7, 1 / 3])
def test_at_the_edge_the_last_digit_does_not_decide(part: float) -> None:
    """Weighed in two goes, the share is 30 % and a rounding."""
    named = replace(FLAKES, constituents=ingredient("x", 1, contains={"Flaky Sulfate": 100}).constituents)
    found = formula((WATER, 0.35), (named, 0.15 * part), (named, 0.15 * (1 - part)), (OIL, 0.5))
    assert aw(found).state == "known"


def test_a_limit_on_water_activity_keeps_to_what_the_model_counts() -> None:
    """Cheap flakes would fill the water phase; with the limit they may not, and the words say why."""
    flakes = replace(
        ingredient("flakes", 0.1, "solid surfactant", phase="water phase"),
        constituents=ingredient("x", 1, contains={"Flaky Sulfate": 100}).constituents,
    )
    brief = brief_of([WATER_PRICED, flakes], {"water activity": (None, 1.0), "water": (20.0, None)})
    answer = design(brief)
    assert isinstance(answer, Designed)
    assert answer.report.formula.fraction("flakes") == pytest.approx(0.3, abs=1e-4)
    assert any("does not count" in bound.demand.words for bound in answer.binding)


def test_grains_of_another_size_are_told_apart_and_their_range_is_no_doubt_of_the_mean() -> None:
    fine, coarse = (mixed({salt: 40, "sunflower oil": 60}) for salt in ("sea salt, fine", "sea salt, coarse"))
    assert (mean_grain_size().of(fine), mean_grain_size().of(coarse)) == (500.0, 2000.0)
    mix = Mix.of(fine)
    assert mean_grain_size().terms(mix, fractions(fine)).span(fractions(fine)) == (500.0, 500.0)
    assert mean_grain_size().of(mixed({"sunflower oil": 100})) is None
