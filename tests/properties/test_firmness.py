"""The firmness scale: its own arithmetic by hand, its slope by differences, and the directions of common practice.

Nothing in the model knows a direction: each comes out of solid fat, melting ranges and the volume of the grains.
"""

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from optiform.brief.brief import Limit, Range
from optiform.brief.goal import Highest
from optiform.design.answer import Designed
from optiform.design.design import design
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line, read_formula
from optiform.properties.base import TRACE, Mix, fractions
from optiform.properties.firmness import ASSUMED, Scale, firmness_band, grain_factor, no_figure, packed, state
from optiform.properties.grounds import Assumption, Relative
from optiform.properties.registry import find_property
from optiform.properties.tangent_planes import Model, firmness
from tests.builders import brief_of, figure, ingredient

PUBLISHED = Path(__file__).parent.parent / "published" / "formulas"
CATALOGUE = read_catalogue([PUBLISHED / "own.csv"])


def formula(parts: Mapping[str, float]) -> Formula:
    """Catalogue ingredients in any parts, brought to one."""
    items = {name: CATALOGUE.find(name) for name in parts}
    lines = tuple(
        Line(item, share / sum(parts.values()), item.phase)
        for (name, share), item in zip(parts.items(), items.values(), strict=True)
        if item is not None and share > 0
    )
    assert len(lines) == sum(share > 0 for share in parts.values()), items
    return Formula("scrub", lines)


def known(made: Formula, reference: Formula, at: float) -> float:
    band = firmness_band(made, reference, at)
    assert band is not None
    return band.typical


# -- by hand -----------------------------------------------------------------------------------------------------------

FAT = ingredient("fat", 9, "butter", {"density": 1.0}, curve={10: 80, 20: 40, 30: 20, 35: 10})
OIL = ingredient("oil", 5, "oil", {"density": 1.0}, curve={10: 0, 35: 0})
SAND = ingredient("sand", 1, "grain", {"density": 2.0})


def by_hand(fat: float, sand: float) -> Formula:
    return Formula(
        "f", (Line(FAT, fat, "oil phase"), Line(OIL, 1 - fat - sand, "oil phase"), Line(SAND, sand, "grains"))
    )


def test_solids_of_the_base_and_grains_by_hand() -> None:
    # base 0.6 of the whole, solids 40 % of 0.3: 12 % of the whole, 20 % of the base; grains 0.2 of 0.8 volumes: 0.25
    # reference: solids 40 % of 0.2 = 8 %, 10 % of its base of 0.8; grains 0.1 of 0.9 volumes
    made, reference = by_hand(0.3, 0.4), by_hand(0.2, 0.2)
    expected = 100 * 2.0**2.5 * grain_factor(0.25, 0.60) / grain_factor(1 / 9, 0.60)
    assert known(made, reference, 20.0) == pytest.approx(expected, rel=1e-9)
    assert known(made, reference, 10.0) == pytest.approx(expected * 2.0**2.5, rel=1e-9)


@pytest.mark.parametrize("made", [by_hand(0.2, 0.0), by_hand(0.1, 0.5)])
def test_the_reference_is_100_at_its_own_temperature(made: Formula) -> None:
    band = firmness_band(made, made, 20.0)
    assert band is not None
    assert (band.low, band.typical, band.high) == pytest.approx((100, 100, 100))


@pytest.mark.parametrize("temperature", [10.0, 20.0, 35.0])
def test_an_answer_that_changes_nothing_has_the_band_of_the_reference(temperature: float) -> None:
    """A solver's shares differ in the last digits."""
    made = by_hand(0.2, 0.2)
    fat, oil, sand = made.lines
    lines = replace(fat, fraction=fat.fraction + 1e-12), replace(oil, fraction=oil.fraction - 1e-12), sand
    band, own = firmness_band(Formula("changed", lines), made, temperature), firmness_band(made, made, temperature)
    assert band is not None
    assert own is not None
    assert (band.low, band.typical, band.high) == pytest.approx((own.low, own.typical, own.high))


def test_jammed_grains_are_told() -> None:
    with pytest.raises(ValueError, match="more than can move"):
        firmness_band(by_hand(0.1, 0.75), by_hand(0.2, 0.2), 20.0)


def without(lacking: str, sand: float) -> Formula:
    """Half fat, of which a figure is missing, with oil and grains."""
    fat = replace(FAT, values={key: value for key, value in FAT.values.items() if key[0] != lacking})
    lines = (Line(fat, 0.5, "oil phase"), Line(OIL, 0.5 - sand, "oil phase"), Line(SAND, sand, "grains"))
    return Formula("f", tuple(line for line in lines if line.fraction))


@pytest.mark.parametrize(("lacking", "sand"), [("density", 0.1), ("solid fat", 0.1), ("solid fat", 0.0)])
def test_without_a_figure_there_is_no_firmness(lacking: str, sand: float) -> None:
    made = without(lacking, sand)
    assert firmness_band(made, by_hand(0.2, 0.2), 20.0) is None
    assert firmness_band(by_hand(0.2, 0.2), made, 20.0) is None
    assert firmness(by_hand(0.2, 0.2), 20.0).of(made) is None
    figure = {"density": "density", "solid fat": "structuring solids"}[lacking]
    assert no_figure(Mix.of(made), 20.0) == {"fat": figure}


def test_grains_that_are_not_there_take_no_room_however_dense_all_else_is() -> None:
    made, whole = without("density", 0.0), by_hand(0.5, 0.0)
    assert known(made, by_hand(0.2, 0.2), 20.0) == known(whole, by_hand(0.2, 0.2), 20.0)
    assert no_figure(Mix.of(made), 20.0) == {}


def test_without_structure_the_reference_gives_no_scale_and_the_formula_nothing() -> None:
    loose, body = by_hand(0.0, 0.2), by_hand(0.2, 0.2)
    assert firmness_band(body, loose, 20.0) is None
    assert known(loose, body, 20.0) == 0


def test_a_span_of_a_figure_widens_the_band() -> None:
    loose = replace(FAT, values={**FAT.values, ("solid fat", 10.0): replace(figure(80.0, "%"), low=60.0, high=90.0)})
    sharp, wide = (Formula("f", (Line(item, 0.3, "oil phase"), Line(OIL, 0.7, "oil phase"))) for item in (FAT, loose))
    narrow, band = firmness_band(sharp, sharp, 10.0), firmness_band(wide, wide, 10.0)
    assert narrow is not None
    assert band is not None
    assert narrow.typical == pytest.approx(band.typical)
    assert band.high > narrow.high
    between = firmness_band(sharp, sharp, 30.0), firmness_band(wide, wide, 30.0)
    assert between[0] == between[1], "no figure there has a range"


def test_a_jar_that_warms_gets_no_firmer_and_one_that_cools_no_softer() -> None:
    """The model's own error is of products made apart; today's jar in a hot room is that jar."""
    today = formula({"shea butter, refined": 80, "beeswax": 20})
    bands = [firmness_band(today, today, at) for at in (5.0, 10.0, 20.0, 30.0, 35.0)]
    ends = [(band.low, band.typical, band.high) for band in bands if band is not None]
    assert len(ends) == 5
    assert ends[2] == (100.0, 100.0, 100.0)
    assert all(low >= 100.0 for low, _, _ in ends[:2])
    assert all(high <= 100.0 for _, _, high in ends[3:])
    assert all(low <= typical <= high for low, typical, high in ends)


# -- how grains pack ---------------------------------------------------------------------------------------------------


def test_a_tapped_cup_of_the_grain_takes_the_place_of_the_assumed_packing() -> None:
    # sand of 2.0 g/mL, 110 g in 100 mL: 0.55
    weighed = replace(SAND, values={**SAND.values, ("bulk density", None): figure(1.1, "g/mL")})

    def with_it(sand: float) -> Formula:
        lines = (Line(FAT, 0.2, "oil phase"), Line(OIL, 0.8 - sand, "oil phase"), Line(weighed, sand, "grains"))
        return Formula("f", lines)

    less, more = with_it(0.3), with_it(0.5)
    wide, narrow = firmness_band(by_hand(0.2, 0.5), by_hand(0.2, 0.3), 20.0), firmness_band(more, less, 20.0)
    assert narrow is not None
    assert wide is not None
    assert packed(less).typical.phi_m == pytest.approx(0.55)
    solids = (0.08 / 0.5) / (0.08 / 0.7)
    fill = [(share / 2) / (share / 2 + 1 - share) for share in (0.5, 0.3)]
    expected = 100 * solids**2.5 * grain_factor(fill[0], 0.55) / grain_factor(fill[1], 0.55)
    assert narrow.typical == pytest.approx(expected, rel=1e-9)
    assert narrow.high / narrow.low < wide.high / wide.low
    assert firmness(less, 20.0).of(more) == pytest.approx(expected, rel=1e-9)
    assert firmness(less, 20.0).note == Relative(Assumption.WEIGHED)


def test_grains_of_which_one_was_not_weighed_keep_the_assumed_packing() -> None:
    assert packed(by_hand(0.2, 0.3)) is ASSUMED
    assert packed(by_hand(0.2, 0.0)) is ASSUMED


def test_water_in_one_of_two_formulas_makes_them_hard_to_compare() -> None:
    dry, wet, wetter = (
        formula({"shea butter, refined": 60, "sweet almond oil": 40, "water": water}) for water in (0, 5, 10)
    )
    bands = [firmness_band(wet, other, 20.0) for other in (dry, wetter)]
    assert bands[0] is not None
    assert bands[1] is not None
    dried, watered = (band.high / band.typical for band in bands if band is not None)
    assert dried > 3.9 * watered


# -- over formulas -----------------------------------------------------------------------------------------------------

SCRUB = {
    "sugar, granulated": 50.0, "shea butter, refined": 8.0, "cocoa butter": 6.0, "sweet almond oil": 23.0,
    "emulsifying wax NF": 8.0, "cetyl alcohol": 4.0, "phenoxyethanol + caprylyl glycol": 1.0,
}  # fmt: skip
WET = {**SCRUB, "water": 12.0, "sea salt, fine": 10.0}
PARTS = st.lists(st.floats(0.3, 3.0), min_size=len(WET), max_size=len(WET)).map(
    lambda factors: {name: share * factor for (name, share), factor in zip(WET.items(), factors, strict=True)}
)
TEMPERATURES = st.sampled_from([10.0, 20.0, 30.0, 35.0])
thorough = settings(max_examples=40)


@thorough
@given(PARTS, TEMPERATURES)
def test_the_tangent_plane_is_the_slope(parts: dict[str, float], at: float) -> None:
    made, reference = formula(parts), formula(SCRUB)
    mix, x = Mix.of(made), fractions(made)
    model = Model(mix, reference, at)
    plane, here = model.plane(x), model.value(x)
    assume(plane is not None and here > 1 and _filled(made, at) < 0.95 * model.scale.phi_m)
    assert plane is not None
    assert plane @ x == pytest.approx(here, rel=1e-9)
    rng = np.random.default_rng(0)
    for _ in range(3):
        way = rng.normal(size=len(x)) * x
        way -= x * way.sum()  # fractions go on summing to one
        step = 1e-5
        slope = (model.value(x + step * way) - model.value(x - step * way)) / (2 * step)
        assert plane @ way == pytest.approx(slope, rel=2e-4, abs=1e-4 * here)


def _filled(made: Formula, at: float) -> float:
    return find_property(f"grain volume fraction at {at:g} degC", "EUR").of(made) or 0.0


@thorough
@given(PARTS, TEMPERATURES)
def test_band_model_and_property_agree(parts: dict[str, float], at: float) -> None:
    made, reference = formula(parts), formula(SCRUB)
    assume(_filled(made, at) < 0.55)
    band = firmness_band(made, reference, at)
    assert band is not None
    assert band.low <= band.typical <= band.high
    assert Model(Mix.of(made), reference, at).value(fractions(made)) == pytest.approx(band.typical, rel=1e-9)
    assert firmness(reference, at).of(made) == pytest.approx(band.typical, rel=1e-9)


def test_beyond_jamming_the_model_stays_finite_and_high() -> None:
    jammed, reference = by_hand(0.05, 0.9), by_hand(0.05, 0.2)
    value = Model(Mix.of(jammed), reference, 20.0, Scale()).value(fractions(jammed))
    assert known(by_hand(0.05, 0.6), reference, 20.0) < value < np.inf


# -- directions: common practice, no source ----------------------------------------------------------------------------


@cache
def scrub() -> Formula:
    return formula(SCRUB)


def changed(**moves: float) -> Formula:
    """The scrub with parts added or taken; words with _ for a blank, the rest in proportion."""
    parts = dict(SCRUB)
    for word, points in moves.items():
        name = {"sugar": "sugar, granulated", "shea": "shea butter, refined", "oil": "sweet almond oil"}.get(
            word, word.replace("_", " ")
        )
        parts[name] = parts.get(name, 0.0) + points
    return formula(parts)


@pytest.mark.parametrize("at", [10.0, 20.0, 30.0])
@pytest.mark.parametrize("instead", ["the rest in proportion", "oil"])
def test_less_sugar_is_softer_more_sugar_thicker(at: float, instead: str) -> None:
    # common practice, no source
    firmnesses = [
        known(changed(sugar=points, **({"oil": -points} if instead == "oil" else {})), scrub(), at)
        for points in (-15, -8, 0, 8, 15)
    ]
    assert firmnesses == sorted(firmnesses)
    assert firmnesses[0] < 0.9 * firmnesses[2] < 0.95 * firmnesses[-1]


@pytest.mark.parametrize("at", [10.0, 20.0, 30.0])
def test_more_cetyl_alcohol_thickens(at: float) -> None:
    # common practice, no source
    firmnesses = [known(changed(cetyl_alcohol=points, oil=-points), scrub(), at) for points in (-2, 0, 2, 4)]
    assert firmnesses == sorted(firmnesses)
    assert firmnesses[2] > 1.1 * firmnesses[1]


def test_shea_for_a_hard_butter_keeps_it_soft_in_the_cold() -> None:
    # common practice, no source
    hard = {**SCRUB, "cocoa butter": 14.0, "shea butter, refined": 0.0}
    soft = {**SCRUB, "cocoa butter": 0.0, "shea butter, refined": 14.0}
    for at in (10.0, 20.0):
        assert known(formula(soft), formula(hard), at) < known(formula(hard), formula(hard), at)


@pytest.mark.parametrize("at", [10.0, 20.0, 35.0])
def test_waxes_count_as_the_fat_they_stand_for_alike_in_a_limit_and_in_a_band(at: float) -> None:
    """Several of them dissolve in the oil, each by itself."""
    shares = {
        "beeswax": 8,
        "candelilla wax": 3,
        "paraffin wax": 5,
        "cetyl alcohol": 6,
        "coconut oil": 30,
        "olive oil": 48,
    }
    today, waxed = formula(shares), formula(shares | {"beeswax": 11, "olive oil": 45})
    assert firmness(today, at).of(waxed) == pytest.approx(known(waxed, today, at), rel=1e-9)
    solids = [state(made, 20.0) for made in (today, waxed)]
    assert solids[0] is not None
    assert solids[1] is not None
    assert solids[1].body - solids[0].body > 2.5 * (solids[1].solids[1] - solids[0].solids[1])


def test_beeswax_for_butter_holds_up_better_in_the_heat() -> None:
    # common practice, no source; the oil dissolves some 5 % of beeswax at 35 degC, so that not all of it helps
    waxed = changed(cocoa_butter=-3, beeswax=3)
    assert known(waxed, scrub(), 35.0) > 1.1 * known(scrub(), scrub(), 35.0)
    assert known(changed(shea=-3, beeswax=3), scrub(), 35.0) > 1.1 * known(scrub(), scrub(), 35.0)


def published(name: str) -> Formula:
    """A published scrub without its fraction of a per cent of colouring powder, whose density is not known."""
    read = read_formula(PUBLISHED / f"{name}.csv", CATALOGUE).formula
    return formula({line.ingredient.name: line.fraction for line in read.lines if "powder" not in line.ingredient.name})


def test_a_published_light_scrub_is_not_predicted_hard_in_the_cold() -> None:
    # E03 (5 % shea in liquid oils, no problem reported) against one whose butters set like a brick in a cold bathroom:
    # a third hard butter and stearic acid in the base (ranges on makers' pages; common practice)
    light = published("E03")
    brick = formula(
        {"cocoa butter": 15, "shea butter, refined": 10, "sweet almond oil": 8, "stearic acid": 5,
         "emulsifying wax NF": 8, "phenoxyethanol + caprylyl glycol": 1.5, "sugar, granulated": 51.3}
    )  # fmt: skip
    cold = firmness_band(light, brick, 10.0)
    assert cold is not None
    assert cold.typical < 100 / 4  # softer in the cold than the other in a warm room
    assert cold.typical < 0.55 / 4 * known(brick, brick, 10.0)
    assert known(light, light, 10.0) < 2 * known(light, light, 20.0)
    assert known(published("E01"), light, 10.0) > known(light, light, 10.0)


def test_colder_is_firmer() -> None:
    # common practice, no source
    for made in (scrub(), published("E01"), published("E12")):
        firmnesses = [known(made, scrub(), at) for at in (10.0, 20.0, 30.0, 35.0)]
        assert firmnesses == sorted(firmnesses, reverse=True)


# -- a trace without a density -----------------------------------------------------------------------------------------


def with_trace(share: float, density: float | None = None) -> Formula:
    trace = ingredient("trace", 5, "active", {"density": density} if density else {}, phase="water phase")
    lines = by_hand(0.3, 0.4).lines
    return Formula("f", (*lines[:1], replace(lines[1], fraction=lines[1].fraction - share), lines[2],
                         Line(trace, share, "water phase")))  # fmt: skip


@pytest.mark.parametrize("density", [0.5, 3.0])
def test_what_a_trace_may_weigh_moves_firmness_by_less_than_the_band(density: float) -> None:
    reference = by_hand(0.3, 0.4)
    taken, true = (firmness_band(made, reference, 20.0) for made in (with_trace(0.005), with_trace(0.005, density)))
    assert taken is not None
    assert true is not None
    assert taken.typical == pytest.approx(true.typical, rel=0.02)
    assert taken.low < true.typical < taken.high


def test_a_trace_counts_alike_in_a_review_and_in_the_rows_of_a_program() -> None:
    made, reference = with_trace(0.004), by_hand(0.25, 0.4)
    band = firmness_band(made, reference, 20.0)
    assert band is not None
    near = firmness(reference, 20.0).terms(Mix.of(made), fractions(made)).at(fractions(made))
    assert firmness(reference, 20.0).of(made) == pytest.approx(band.typical, rel=1e-9)
    assert near == pytest.approx(band.typical, rel=1e-9)


def test_more_than_a_trace_is_no_firmness_and_no_formula_of_a_design() -> None:
    much, reference = with_trace(0.006), by_hand(0.25, 0.4)
    assert firmness(reference, 20.0).of(much) is None
    assert no_figure(Mix.of(much), 20.0, fractions(much)) == {"trace": "density"}
    assert no_figure(Mix.of(much), 20.0, fractions(with_trace(0.004))) == {}
    wanted = firmness(reference, 20.0)
    assert wanted.holds is not None
    ((words, terms, most),) = wanted.holds(Mix.of(much))
    assert words == "trace, of no known density,"
    assert terms.at(fractions(much)) == pytest.approx(0.6)
    assert most == 0.5


@pytest.mark.parametrize("goal", [False, True])
def test_a_design_with_a_limit_on_firmness_takes_no_more_than_a_trace_of_it(goal: bool) -> None:
    """It costs nothing, so that without the row all of it would come in."""
    cheap = ingredient("trace", 0, "active", phase="water phase")
    reference, items = by_hand(0.3, 0.4), [FAT, OIL, SAND, cheap]
    wanted = firmness(reference, 20.0)
    brief = replace(brief_of(items, {"share of grain": (40, 40)}, {"fat": Range(low=0.1)}), reference=reference)
    asked = replace(brief, limits=(*brief.limits, Limit(wanted, 90.0, None)))
    if goal:
        asked = replace(
            brief, goal=Highest(wanted), limits=(*brief.limits, Limit(find_property("cost", "EUR"), None, 5))
        )
    found = design(asked)
    assert isinstance(found, Designed)
    share = found.formula.fraction("trace")
    assert share <= TRACE + 1e-7
    if not goal:
        assert share == pytest.approx(TRACE, rel=1e-3)
        assert (wanted.of(found.formula) or 0.0) >= 90 * (1 - 1e-4)
