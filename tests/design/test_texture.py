"""Firmer and softer: every course measured anew, limits kept, seasons where one formula cannot serve both."""

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from optiform.brief.brief import Brief, Limit, Range
from optiform.brief.file import read_brief
from optiform.brief.leftout import Out
from optiform.design.answer import Designed
from optiform.design.around import with_lines_of
from optiform.design.design import design
from optiform.design.texture import Texture, TextureOption
from optiform.design.todays_firmness import COLD, HOT
from optiform.ingredients.formula import Formula, Line, mixed, read_formula
from optiform.program.usual import requirements
from optiform.properties.base import TRACE, Mix
from optiform.properties.firmness import firmness_band
from optiform.properties.registry import find_property
from optiform.reading.faults import BadInput
from optiform.reading.paths import DEMO
from optiform.telling.facts import in_words
from optiform.telling.noted import STILL
from optiform.telling.texture import texture as told
from tests.answers import texture
from tests.builders import brief_of, ingredient
from tests.kind_shelves import bare_brief
from tests.sweeps import cases


@cache
def demo() -> Brief:
    return read_brief(DEMO / "brief.toml")


@cache
def free() -> Brief:
    """The demo without limits of its own: lines, law and stock are left."""
    return replace(demo(), limits=())


def today(brief: Brief) -> Formula:
    assert brief.reference is not None
    return brief.reference


def firm(made: Formula, brief: Brief, at: float) -> float:
    band = firmness_band(made, today(brief), at)
    assert band is not None
    return band.typical


def check(brief: Brief, found: Texture, course: TextureOption, *, aimed: bool = True) -> None:
    """The wanted firmness, cold and hot, the brief's limits and the lines that may not move, measured anew."""
    made = course.formula
    if aimed:
        assert firm(made, brief, found.temperature) == pytest.approx(found.wanted, rel=1e-3)
    assert firm(made, brief, COLD) <= found.cold_most * (1 + 1e-5)
    assert firm(made, brief, HOT) >= found.hot_least * (1 - 1e-5)
    whole = with_lines_of(brief, today(brief))
    x, was = (np.array([f.fraction(item.name) for item in whole.mix.ingredients]) for f in (made, today(brief)))
    for demand in requirements(whole).branch({}):
        assert demand.met(x, 1e-5) or not demand.met(was)
    assert sum(line.fraction for line in made.lines) == pytest.approx(1)
    changed = {name for name in names(made, brief) if abs(made.fraction(name) - today(brief).fraction(name)) > 1e-5}
    assert {move.ingredient for move in course.moves} >= changed
    assert course.lines == len(course.moves)
    sold_out = {name for name, why in brief.left_out if why is Out.OUT_OF_STOCK}
    assert all(made.fraction(name) <= today(brief).fraction(name) + 1e-9 for name in sold_out)
    for at, band in course.firmness.items():
        again = firmness_band(made, today(brief), at)
        assert again is not None
        assert band.typical == pytest.approx(again.typical, rel=1e-6)


def names(made: Formula, brief: Brief) -> set[str]:
    return {line.ingredient.name for line in (*made.lines, *today(brief).lines)}


def emulsifiers(made: Formula) -> dict[str, float]:
    return {line.ingredient.name: line.fraction for line in made.lines if line.ingredient.functions[0] == "emulsifier"}


# -- pairs -------------------------------------------------------------------------------------------------------------


#: A step and where, softer and firmer in the cold, at 20 degC and in the warm.
STEPS = [
    (-20.0, 10.0), (10.0, 20.0), (30.0, 30.0),
    (10.0, 10.0), (30.0, 10.0), (-20.0, 20.0), (30.0, 20.0), (-20.0, 30.0), (10.0, 30.0),
]  # fmt: skip


@pytest.mark.parametrize(("step", "at"), cases(STEPS, 1, 4))
def test_courses_reach_what_was_asked_by_two_lines(step: float, at: float) -> None:
    found = texture(free(), step, at, most=50)
    assert found.wanted == pytest.approx(firm(today(free()), free(), at) * (1 + step / 100))
    assert found.courses
    assert in_words(found.note).startswith("one line up")
    for course in found.courses:
        check(free(), found, course)
        assert course.lines == 2
        up, down = sorted(course.moves, key=lambda move: -move.points)
        assert up.points == pytest.approx(-down.points, abs=1e-6)
        assert course.points == pytest.approx(up.points, abs=1e-6)
        assert emulsifiers(course.formula) == pytest.approx(emulsifiers(today(free())))


def test_the_smallest_change_of_what_is_there_comes_first() -> None:
    courses = texture(free(), 20.0, most=200).courses
    order = [(course.new, course.points) for course in courses]
    assert order == sorted(order)
    for course in courses:
        entered = {move.ingredient for move in course.moves if today(free()).fraction(move.ingredient) == 0}
        assert course.new == bool(entered)
    assert texture(free(), 20.0, most=3).courses == courses[:3]


@pytest.mark.parametrize("sign", cases([1.0, -1.0], 1))
def test_a_larger_step_takes_a_larger_change(sign: float) -> None:
    def pairs(step: float) -> dict[tuple[str, ...], float]:
        courses = texture(free(), step, cold_most=1e6, hot_least=0.0, most=500).courses
        found = {}
        for course in courses:
            rising = sorted(course.moves, key=lambda move: -move.points)
            found[tuple(move.ingredient for move in rising)] = course.points
        return found

    told = [pairs(sign * step) for step in (5.0, 10.0, 20.0, 40.0)]
    shared = set.intersection(*(set(each) for each in told))
    assert len(shared) >= 3
    for pair in shared:
        points = [each[pair] for each in told]
        assert points == sorted(points), pair


def test_the_emulsifier_moves_only_where_it_is_freed() -> None:
    held, freed = texture(free(), 15.0, most=500), texture(free(), 15.0, free_emulsifier=True, most=500)
    moved = [c for c in freed.courses if emulsifiers(c.formula) != pytest.approx(emulsifiers(today(free())))]
    assert moved
    assert len(freed.courses) == len(held.courses) + len(moved)
    for course in moved:
        check(free(), freed, course)


@pytest.mark.parametrize(("step", "sign"), [(20.0, 1), (-8.0, -1)])
@pytest.mark.parametrize("thickens", ["cetearyl alcohol", "sea salt, fine"])
def test_directions_of_the_courses(step: float, sign: int, thickens: str) -> None:
    # common practice, no source: more fatty alcohol or grains for liquid oil is firmer, less of them softer
    courses = texture(free(), step, most=500, cold_most=1e6, hot_least=0.0).courses
    found = [{m.ingredient: m.points for m in course.moves} for course in courses]
    (change,) = (moves for moves in found if set(moves) == {thickens, "sweet almond oil"})
    assert sign * change[thickens] > 0


def test_the_demo_keeps_its_own_limits() -> None:
    found = texture(demo(), 20.0, most=50)
    assert found.courses
    for course in found.courses:
        check(demo(), found, course)


def test_what_is_sold_out_is_not_added() -> None:
    # mango butter is sold out; a firmer course through more of it would be no help
    for course in texture(free(), 10.0, most=500).courses:
        assert all(move.points <= 0 for move in course.moves if move.ingredient == "mango butter")


def test_a_limit_that_bends_is_kept() -> None:
    wanted = find_property("water activity", "EUR")
    now = wanted.of(today(free()))
    assert now is not None
    brief = replace(free(), limits=(Limit(wanted, now - 0.002, now + 0.002),))
    found = texture(brief, 12.0, most=100)
    assert found.courses
    for course in found.courses:
        value = wanted.of(course.formula)
        assert value is not None
        assert now - 0.002 - 2e-6 <= value <= now + 0.002 + 2e-6
    assert len(found.courses) < len(texture(free(), 12.0, most=100).courses)


# -- cold and hot ------------------------------------------------------------------------------------------------------


def test_cold_and_hot_are_not_passed() -> None:
    loose = texture(free(), 20.0, most=500, cold_most=1e6, hot_least=0.0)
    cold, hot = ([course.firmness[at].typical for course in loose.courses] for at in (COLD, HOT))
    most, least = float(np.median(cold)), float(np.median(hot))
    tight = texture(free(), 20.0, most=500, cold_most=most, hot_least=least)
    assert 0 < len(tight.courses) < len(loose.courses)
    for course in tight.courses:
        check(free(), tight, course)


def test_nothing_asked_moves_nothing() -> None:
    found = texture(free(), 0.0, cold_most=1e6, hot_least=0.0)
    (course,) = found.courses
    assert course.points == pytest.approx(0, abs=1e-6)


def test_a_formula_that_only_just_keeps_its_limits_is_still_one_to_start_from(tmp_path: Path) -> None:
    """The proven best, which sits on many limits, written to a file and read again: off some of them by rounding."""
    best = design(demo())
    assert isinstance(best, Designed)
    path = tmp_path / "today.csv"
    best.report.formula.save(path)
    brief = replace(demo(), reference=read_formula(path, demo().catalogue).formula)
    (course,) = texture(brief, 0.0).courses
    assert course.points == pytest.approx(0.0, abs=1e-4)


def test_cold_and_hot_alone_are_met_by_the_nearest_formula() -> None:
    found = texture(free(), 0.0, cold_most=140.0, hot_least=60.0)
    (course,) = found.courses
    check(free(), found, course, aimed=False)
    assert course.lines > 2
    assert course.points > 0
    assert "nearest" in in_words(found.note)


@pytest.mark.exhaustive
def test_a_winter_and_a_summer_version_where_one_cannot_serve_both() -> None:
    found = texture(demo(), 0.0, cold_most=150.0, hot_least=40.0)
    assert found.courses == ()
    assert found.season is not None
    assert "winter" in in_words(found.note)
    winter, summer = found.season.winter.formula, found.season.summer.formula
    assert firm(winter, demo(), COLD) <= 150 * (1 + 1e-5)
    assert firm(summer, demo(), HOT) >= 40 * (1 - 1e-5)
    assert firm(winter, demo(), HOT) < 40  # neither would do alone
    assert firm(summer, demo(), COLD) > 150
    common = dict(found.season.common)
    for name, share in common.items():
        assert share == pytest.approx(100 * min(winter.fraction(name), summer.fraction(name)))
    # what is not common is what changes hands between the two
    assert 100 - sum(common.values()) == pytest.approx(found.season.apart, abs=1e-6)


@pytest.mark.exhaustive
def test_the_seasons_are_nearer_each_other_than_to_begin_with() -> None:
    found = texture(demo(), 0.0, cold_most=150.0, hot_least=40.0)
    assert found.season is not None
    alone = [texture(demo(), 0.0, cold_most=c, hot_least=h).courses for c, h in ((150.0, 0.0), (1e6, 40.0))]
    ((winter,), (summer,)) = alone
    lines = {line.ingredient.name for line in (*winter.formula.lines, *summer.formula.lines)}
    apart = sum(abs(winter.formula.fraction(name) - summer.formula.fraction(name)) for name in lines) * 50
    assert found.season.apart <= apart + 1e-4


@pytest.mark.exhaustive
def test_what_is_in_the_way_is_named() -> None:
    found = too_soft()
    assert found.courses == ()
    assert found.season is None
    assert "in the way" in in_words(found.note)
    assert "structuring solids at 20 degC at least 9" in in_words(found.note)


# -- by hand, and what it refuses --------------------------------------------------------------------------------------

FAT = ingredient("fat", 9, "butter", {"density": 1.0}, curve={10: 80, 20: 40, 30: 20, 35: 10})
OIL = ingredient("oil", 5, "oil", {"density": 1.0}, curve={10: 0, 35: 0})


def hand(parts: Mapping[str, float], ranges: Mapping[str, Range] | None = None) -> Brief:
    brief = brief_of((FAT, OIL), ranges=ranges)
    lines = tuple(Line(item, parts[item.name], item.phase) for item in (FAT, OIL))
    return replace(brief, kind="balm", reference=Formula("today", lines))


def test_a_kind_that_no_network_of_fat_carries_is_refused_in_a_sentence() -> None:
    with pytest.raises(BadInput, match="A lotion is carried by droplets in a gel of water, not by a network of fat"):
        texture(replace(hand({"fat": 0.3, "oil": 0.7}), kind="lotion"), 10.0)


def test_one_pair_by_hand() -> None:
    # no grains: F ~ S^2.5, S the fat's; twice as firm is 2^(1/2.5) the fat
    found = texture(hand({"fat": 0.3, "oil": 0.7}), 100.0)
    (course,) = found.courses
    assert course.formula.fraction("fat") == pytest.approx(0.3 * 2 ** (1 / 2.5), rel=1e-9)
    assert found.cold_most == pytest.approx(2 * 100 * 2**2.5)  # as much as was asked for, since that is over a half


def test_the_range_of_a_line_stops_it() -> None:
    brief = hand({"fat": 0.3, "oil": 0.7}, {"fat": Range(0.0, 0.32, "brief")})
    assert len(texture(brief, 10.0).courses) == 1
    stopped = texture(brief, 30.0)
    assert stopped.courses == ()
    assert "fat at most 32 %" in in_words(stopped.note)


def test_two_seasons_by_hand() -> None:
    """Of fat 80 % is solid cold and 10 % hot; firmness goes with the 2.5th power of what is, against 12 % of today."""
    found = texture(hand({"fat": 0.3, "oil": 0.7}), 0.0, cold_most=400.0, hot_least=3.0)
    assert found.courses == ()
    assert found.season is not None
    assert in_words(found.note).startswith("no one formula serves cold and hot")
    winter, summer = found.season.winter.formula.fraction("fat"), found.season.summer.formula.fraction("fat")
    assert winter == pytest.approx(0.12 / 0.8 * 4**0.4, rel=1e-6)
    assert summer == pytest.approx(0.12 / 0.1 * 0.03**0.4, rel=1e-6)
    assert dict(found.season.common) == pytest.approx({"fat": 100 * winter, "oil": 100 * (1 - summer)})
    assert found.season.apart == pytest.approx(100 * (summer - winter))


def test_out_of_reach_by_hand() -> None:
    """Half as firm is 22.7 % of the fat, of which there is to be 28 %: (28 / 30)^2.5 of today is the softest."""
    brief = hand({"fat": 0.3, "oil": 0.7}, {"fat": Range(0.28, 1.0, "brief")})
    found = texture(brief, -50.0)
    assert found.courses == ()
    assert not found.reached
    softest = 100 * (0.28 / 0.3) ** 2.5
    assert in_words(found.note).split("in the way: ")[1].startswith("fat at least 28 % of the jar. The softest")
    assert f"The softest found within them is {softest:.0f}" in in_words(found.note)
    assert found.furthest is not None
    assert found.furthest.formula.fraction("fat") == pytest.approx(0.28)
    assert found.furthest.firmness[20.0].typical == pytest.approx(softest)
    assert texture(brief, softest - 100 + 0.1).reached


@pytest.mark.parametrize("step", [-100.0, -150.0, float("nan"), float("inf")])
def test_no_such_step(step: float) -> None:
    with pytest.raises(BadInput, match="more than -100 %"):
        texture(hand({"fat": 0.3, "oil": 0.7}), step)


def test_no_reference_no_structure_no_temperature() -> None:
    with pytest.raises(BadInput, match="reference"):
        texture(brief_of((FAT, OIL)), 10.0)
    with pytest.raises(BadInput, match="nothing in it is solid at 20 °C"):
        texture(hand({"fat": 0.0, "oil": 1.0}), 10.0)
    with pytest.raises(BadInput, match="-20 °C is outside 0 to 100 °C"):
        texture(demo(), 10.0, -20.0)


BALM = {"sunflower oil": 4.0, "cocoa butter": 24.0, "beeswax": 13.0, "sea salt, fine": 1.2, "rosemary extract": 30.0}


def balm(grains: float = 0.0, extract: float = 0.2) -> Brief:
    """A balm of today with some rosemary extract, and perhaps with salt; what is on the shelf with its price."""
    brief = bare_brief("stick and lip balm", BALM)
    shares = {"cocoa butter": 30.0, "beeswax": 20.0, "sea salt, fine": grains, "rosemary extract": extract}
    shares["sunflower oil"] = 100 - sum(shares.values())
    items = [(brief.catalogue.ingredients[name], share / 100) for name, share in shares.items() if share]
    return replace(brief, reference=Formula("today", tuple(Line(item, x, item.phase) for item, x in items)))


def test_without_grains_no_density_is_needed() -> None:
    """How dense rosemary extract is nobody knows; grains that are not there take no room all the same."""
    assert texture(balm(), 10.0).reached


def test_with_grains_a_trace_needs_no_density() -> None:
    """What 0.2 % of it can move the room of the grains by is far less than what nobody knows of firmness anyway."""
    found = texture(balm(40.0), 10.0)
    assert found.reached
    for course in found.courses:
        assert course.formula.fraction("rosemary extract") <= TRACE + 1e-7


def test_what_firmness_lacks_of_todays_formula_is_named() -> None:
    with pytest.raises(BadInput, match="no figure for the density of rosemary extract"):
        texture(balm(40.0, 0.6), 10.0)


def test_what_could_come_in_and_has_no_figure_is_told() -> None:
    """An own butter whose melting nobody entered makes the formula nobody knows how firm: it is no option."""
    unknown = ingredient("house butter", 9, "butter")
    brief = hand({"fat": 0.3, "oil": 0.7})
    mix = Mix((*brief.mix.ingredients, unknown), (*brief.mix.phases, unknown.phase))
    found = texture(replace(brief, mix=mix, ranges=(*brief.ranges, Range())), 10.0)
    assert found.reached
    assert "house butter" not in {move.ingredient for course in found.courses for move in course.moves}
    (said,) = [words for words in told(found).sentences if words.startswith("Left out, because a figure is missing")]
    assert "house butter (no figure for structuring solids)" in said
    assert not any("figure is missing" in words for words in told(texture(brief, 10.0)).sentences)


def test_jammed_grains_are_told_as_such() -> None:
    sand = ingredient("sand", 1, "grain", {"density": 2.0})
    brief = brief_of((FAT, OIL, sand))
    lines = tuple(Line(item, share, item.phase) for item, share in ((FAT, 0.2), (sand, 0.8)))
    with pytest.raises(BadInput, match="more than can move"):
        texture(replace(brief, kind="balm", reference=Formula("today", lines)), 10.0)


# -- out of reach ------------------------------------------------------------------------------------------------------


@cache
def too_soft() -> Texture:
    return texture(demo(), -20.0)


@pytest.mark.exhaustive
def test_out_of_reach_names_only_what_the_maker_set() -> None:
    found = too_soft()
    assert not found.reached
    asked = [*(limit.property.name for limit in demo().limits), "firmness at 10 degC", "firmness at 35 degC", STILL]
    lines = zip(demo().mix.ingredients, demo().ranges, strict=True)
    asked += [item.name for item, each in lines if each.source == "brief"]
    told = in_words(found.note).split("in the way: ")[1].split(". The softest")[0].split("; ")
    assert told
    for words in told:
        assert any(words.startswith(name) for name in asked) or words.endswith("(usual in a cream scrub)"), words
    assert "at most 0 %" not in in_words(found.note)


@pytest.mark.exhaustive
def test_out_of_reach_says_how_far_it_goes() -> None:
    found = too_soft()
    assert found.furthest is not None
    check(demo(), found, found.furthest, aimed=False)
    reach = found.furthest.firmness[20.0].typical
    assert found.wanted < reach < found.before[20.0].typical
    assert f"The softest found within them is {reach:.0f}" in in_words(found.note)
    nearer = texture(demo(), reach - 100 + 0.1)
    assert nearer.reached, "a tenth above what is said to be the softest can be reached"
    assert nearer.furthest is None


def test_of_options_that_differ_by_which_oil_only_the_one_that_makers_take_is_told() -> None:
    """Not the first of the alphabet, and not all of them: castor oil does as much in a balm as almond oil."""
    oils = ("castor oil", "hempseed oil", "sweet almond oil")
    shelf = dict.fromkeys(("beeswax", "shea butter, refined", "sunflower oil, high oleic", *oils), 9.0)
    made = {"beeswax": 17.0, "shea butter, refined": 15.0, "sunflower oil, high oleic": 68.0}
    enough = {"sunflower oil, high oleic": {"high": "70 %"}}  # or it alone would do
    courses = texture(replace(bare_brief("balm", shelf, lines=enough), reference=mixed(made)), -20.0).courses
    entered = [move.ingredient for course in courses if course.new for move in course.moves if move.before == 0]
    assert [name for name in entered if name in oils] == ["sweet almond oil"]


def test_a_formula_that_water_carries_is_refused_in_a_sentence() -> None:
    """Its kind has firm ones too, so the formula says it, not the kind."""
    shelf = {"water": 0.3, "shea butter, refined": 11.5, "emulsifying wax NF": 11.2}
    brief = bare_brief("emulsified body butter", shelf)
    items = {item.name: item for item in brief.mix.ingredients}
    shares = zip(shelf, (0.7, 0.25, 0.05), strict=True)
    today = Formula("night", tuple(Line(items[name], share, items[name].phase) for name, share in shares))
    with pytest.raises(
        BadInput, match=r"formula of today, night, has no firmness to go by: water carries it .*, not a network"
    ):
        texture(replace(brief, reference=today), 10.0)
