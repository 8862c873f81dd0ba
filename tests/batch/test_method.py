"""The steps of the work: their order, temperatures and times."""

from dataclasses import replace

import pytest

from optiform.batch.acts import StirIn
from optiform.batch.by_kind import made_as
from optiform.batch.cooling import minutes_to, rate
from optiform.batch.making import PRACTICE, Making, Observed
from optiform.batch.method import flash_warnings, method, method_warnings
from optiform.batch.pots import Pot, Step
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Line
from optiform.telling.method import SAID_BY, done, said_by

CATALOGUE = read_catalogue()
SEEN = Observed(room=17, start=72, later=58, after=15)
CREAM = ("water", "cocamidopropyl betaine, 30 %", "cetearyl alcohol", "sweet almond oil")
PHENOXY = "phenoxyethanol + caprylyl glycol"


def pot(*names: str, part: str = "", portion: str = "", phase: str = "") -> Pot:
    items = [CATALOGUE.ingredients[name.casefold()] for name in names]
    return Pot(tuple(Line(item, 0.1, phase or item.phase) for item in items), part, portion)


def steps(common: Pot, *parts: Pot, making: Making | None = None) -> tuple[Step, ...]:
    return method(common, parts, making or Making(), None)


def starting(found: tuple[Step, ...], words: str) -> Step:
    (step,) = (each for each in found if done(each).startswith(words))
    return step


def test_both_phases_are_melted_and_held_before_they_are_combined() -> None:
    found = steps(pot(*CREAM))
    words = [done(step).split(":")[0].split(" only")[0] for step in found]
    assert words[1:4] == ["Water phase", "Oil phase", "Combine the phases"]
    assert "fully melted" in done(found[3])
    assert [(step.temperature, step.minutes) for step in found[1:4]] == [(70, 20), (70, 20), (70, 5)]
    assert {said_by(step) for step in found} == {SAID_BY[PRACTICE], "read, X-S17"}, "only how the pH is set was read"


def test_a_foaming_betaine_is_not_mixed_at_high_shear() -> None:
    assert "by whisk or spatula, not at high shear" in done(starting(steps(pot(*CREAM)), "Combine"))
    without = pot("water", "cetearyl alcohol", "sweet almond oil")
    assert "not at high shear" not in done(starting(steps(without), "Combine"))


def test_additions_come_in_falling_temperature_each_after_its_cooling() -> None:
    making = Making(hot=72, cools_fast=True, observed=SEEN, stated=frozenset({"hot"}))
    found = steps(pot(*CREAM, "urea", "fragrance oil", PHENOXY), making=making)
    late = [step for step in found if done(step).startswith(("Cool", "Stir"))]
    assert [step.temperature for step in late] == [49, 49, 43, 43, 40, 40]
    assert [step.uses for step in late[1::2]] == [(PHENOXY,), ("fragrance oil",), ("urea",)]
    spent = [step.minutes or 0.0 for step in late[::2]]
    assert sum(spent) == pytest.approx(minutes_to(17, 72, rate(SEEN), 40))
    assert said_by(late[0]) == "worked out from your observed point"
    assert said_by(late[5]) == "heat limit of urea (from memory)"
    assert "Not at 43 degC: urea stands 40 degC at most." in done(late[5])


def test_a_preservative_s_heat_limit_goes_before_what_is_usual() -> None:
    found = steps(pot(*CREAM, "benzyl alcohol + dehydroacetic acid"), making=Making(addition=48))
    step = starting(found, "Stir")
    assert step.temperature == 45
    assert "Not at 48 degC: benzyl alcohol + dehydroacetic acid stands 45 degC at most." in done(step)


def test_a_fast_cooling_room_is_told_of_once() -> None:
    found = steps(pot(*CREAM, "urea", "fragrance oil"))
    told = [done(step) for step in found if "weep oil" in done(step)]
    assert len(told) == 1
    assert "where the room cools the mass fast, add warmer" in told[0]


def test_grains_come_last_after_mixing_and_the_jar_is_looked_at_cold() -> None:
    found = steps(pot(*CREAM, "fragrance oil", "sea salt, fine"), making=Making(grains_at=35))
    words = [done(step).split(" ")[0] for step in found]
    assert words[-6:] == ["Mix", "Fold", "Measure", "Fill.", "Clean", "Keep"]
    assert (found[-6].minutes, found[-5].temperature) == (5, 35)
    assert (found[-1].temperature, found[-1].time) == (10, "14 days")
    assert "pliable" in done(found[-1])


def test_no_grains_no_scrub_steps() -> None:
    found = steps(pot(*CREAM))
    assert not [step for step in found if "grains last" in done(step) or "pliable" in done(step)]


def test_parts_are_divided_and_finished_one_by_one() -> None:
    making = Making(cools_fast=True)
    one = pot("fragrance oil", "sea salt, fine", part="One", portion="600 g")
    two = pot("urea", "sea salt, fine", part="Two", portion="400 g")
    found = steps(pot(*CREAM, PHENOXY), one, two, making=making)
    assert "One 600 g; Two 400 g" in done(starting(found, "Divide"))
    assert [(step.part, step.temperature) for step in found if done(step).startswith("Stir")] == [
        ("", 49), ("One", 43), ("Two", 40),
    ]  # fmt: skip
    assert [step.part for step in found if done(step).startswith("Fold")] == ["One", "Two"]


def test_a_part_is_never_warmer_than_the_common_mass_has_become() -> None:
    found = steps(pot(*CREAM, "urea"), pot(PHENOXY, part="One", portion="9 g"), making=Making(cools_fast=True))
    assert [step.temperature for step in found if done(step).startswith("Stir")] == [40, 40]


def test_what_is_not_heated_has_no_temperatures() -> None:
    found = steps(pot("sweet almond oil", "fragrance oil", "sugar, granulated"))
    assert [step.temperature for step in found] == [None, None, None, None, None, None, None, 10]
    assert not [step for step in found if done(step).startswith(("Cool", "Combine", "Water"))]


def test_a_balm_is_melted_and_nothing_is_combined() -> None:
    found = steps(pot("beeswax", "sweet almond oil"))
    assert starting(found, "Oil phase").temperature == 70
    assert not [step for step in found if done(step).startswith("Combine")]


# -- warnings ----------------------------------------------------------------------------------------------------------


def test_a_wax_that_the_heat_does_not_melt_is_told() -> None:
    told = [*map(str, method_warnings(pot("carnauba wax", "sweet almond oil"), Making()))]
    assert told == ["carnauba wax melts at up to 86 degC, and the phases are heated to 70 degC only: heat them higher."]
    assert [*map(str, method_warnings(pot("carnauba wax", "sweet almond oil"), Making(hot=90)))] == []


def test_what_goes_into_a_mass_as_hot_as_its_flash_point_is_told() -> None:
    balm = pot("beeswax", "sweet almond oil", "lavender essential oil")
    poured = method(balm, (), made_as("stick and lip balm", Making()), None, "stick and lip balm")
    (told,) = map(str, flash_warnings(balm.lines, poured))
    assert told == (
        "lavender essential oil has its flash point at 70 degC (read) and goes into a mass of 75 degC: its vapour can "
        "catch fire. Let the mass cool below that first. Where it no longer pours then, leave it out."
    )


@pytest.mark.parametrize(("addition", "warned"), [(43.0, 0), (54.0, 1)])
def test_the_lowest_flash_point_counts(addition: float, warned: int) -> None:
    balm = pot("beeswax", "tea tree essential oil")
    item = balm.lines[1].ingredient
    flash = item.value("flash point")
    assert flash is not None
    assert flash.least == 54
    stirred = Step(StirIn((item.name,), (), False), addition, None, (), "", (item.name,))
    assert len([*flash_warnings(balm.lines, [stirred])]) == warned
    assert [*flash_warnings(balm.lines, [replace(stirred, temperature=None)])] == []


def test_what_the_heat_harms_is_told() -> None:
    (told,) = map(str, method_warnings(pot("honey", "beeswax"), Making()))
    assert told == (
        "honey is heated to 70 degC in the water phase; heat limit 45 degC (custom): keep the heating short, or add "
        "it to the cooling mass."
    )


def test_a_room_too_warm_to_cool_in_and_what_the_minutes_depend_on() -> None:
    hot_room = Making(observed=Observed(room=45, start=72, later=58, after=15))
    told = [*map(str, method_warnings(pot("beeswax"), hot_room))]
    assert told[0] == "In a room of 45 degC the mass never cools to 43 degC by itself."
    assert "Another pot, batch size, lid" in told[1]
    found = steps(pot("beeswax", "fragrance oil"), making=hot_room)
    assert starting(found, "Cool").minutes is None
