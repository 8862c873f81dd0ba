"""The batch sheet: what is on it, and that it agrees with itself."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from functools import cache

import pytest

from optiform.batch.batch import BatchSheet, batch_sheet
from optiform.batch.doses import SmallDose
from optiform.batch.file import read_making
from optiform.batch.making import Making, OwnLine, Part
from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.design.answer import Designed
from optiform.design.design import design
from optiform.ingredients.formula import Formula
from optiform.reading.paths import DEMO
from optiform.review.measures import setting_of
from optiform.review.report import report
from optiform.telling.doses import helps
from optiform.telling.method import done, minded


@cache
def demo() -> Brief:
    return read_brief(DEMO / "brief.toml")


def today() -> Formula:
    found = demo().reference
    assert found is not None
    return found


@cache
def plain() -> BatchSheet:
    """Today's formula, all of it common practice."""
    return batch_sheet(today(), demo())


@cache
def parted() -> BatchSheet:
    """The demo's own way, in two parts."""
    return batch_sheet(today(), demo(), read_making(DEMO / "making.toml", demo().catalogue, today()))


@pytest.mark.parametrize("sheet", [plain, parted])
def test_grams_and_steps_sum_to_what_is_weighed(sheet: Callable[[], BatchSheet]) -> None:
    made = sheet()
    assert sum(phase.grams for phase in made.phases) == made.batch.weighed_g
    lines = [line for phase in made.phases for line in phase.lines]
    assert all(line.grams == line.steps * made.batch.scale_g for line in lines)


def test_a_plain_batch() -> None:
    made = plain()
    assert made.batch.planned_g == made.batch.weighed_g == Decimal(4000)
    assert (made.batch.jars, made.batch.jar_g, made.batch.left_g, made.batch.loss) == (26, 150, 100, 0)
    assert [phase.phase for phase in made.phases] == ["water phase", "oil phase", "cool-down", "grains"]
    assert [line.ingredient for line in made.phases[1].lines] == [
        "cetearyl alcohol", "emulsifying wax NF", "shea butter, refined", "mango butter", "sweet almond oil",
    ]  # fmt: skip
    assert made.parts == ()


def test_parts_of_the_demo() -> None:
    made = parted()
    assert (made.batch.jars, made.batch.fill_g, made.batch.retained, made.batch.loss) == (26, 151, 1, 4)
    assert [(part.name, part.jars) for part in made.parts] == [("Juniper", 14), ("Juniper, red", 12)]
    assert sum(part.weighed_g for part in made.parts) == made.batch.weighed_g
    common = sum(phase.grams for phase in made.phases if not phase.part)
    assert sum(part.shared_g for part in made.parts) == common
    for part in made.parts:
        own = sum(phase.grams for phase in made.phases if phase.part == part.name)
        assert part.shared_g + own == part.weighed_g
    assert sum(part.share for part in made.parts) == pytest.approx(100)
    red = [x.ingredient for phase in made.phases if phase.part == "Juniper, red" for x in phase.lines]
    assert red == ["iron oxide, red", "fragrance oil", "sea salt, fine"]


def test_a_heat_limit_and_a_fast_cooling_mass_are_on_the_sheet() -> None:
    late = [step for step in parted().steps if done(step).startswith("Stir")]
    assert [step.temperature for step in late] == [45, 43, 43, 43]


def small(made: BatchSheet, name: str, part: str = "") -> SmallDose:
    (found,) = (dose for where, dose in made.small if (where, dose.ingredient) == (part, name))
    return found


def test_small_doses_are_told_with_what_helps() -> None:
    found = small(plain(), "tetrasodium glutamate diacetate, 40 %")
    assert (round(found.due, 9), float(found.weighed), found.off, found.finer) == (8, 8, 0, 0.1)
    assert helps(found) == (
        "a scale that shows 0.1 g; or a batch 2.5 times as large; or a premix: stir 20 g of it into 40 g of glycerin, "
        "take 24 g of that, and weigh 16 g less glycerin"
    )
    assert "phenoxyethanol + ethylhexylglycerin" not in [dose.ingredient for _, dose in plain().small]  # 40 steps
    assert batch_sheet(today(), replace(demo(), step=0.1)).small == ()


def test_a_dose_that_no_scale_shows_is_not_helped_by_a_batch_that_nobody_makes() -> None:
    found = small(batch_sheet(today(), demo(), grams=5), "tetrasodium glutamate diacetate, 40 %")
    assert (found.finer, found.larger > 5) == (None, True)
    assert helps(found).startswith("a larger dose, by a low end for it under [lines] of the brief")


def test_a_dose_that_the_scale_distorts_is_told_first_of_all_and_beside_its_line() -> None:
    made = batch_sheet(today(), demo(), grams=150)
    first = "On a scale that shows 1 g these doses come out wrong: xanthan gum +122.2 %; tetrasodium"
    assert [words for words in map(str, made.warnings) if words.startswith(first)] == [
        made.warnings[len(made.short)].text
    ]
    lines = [line for phase in made.phases for line in phase.lines]
    (line,) = (line for line in lines if line.ingredient.startswith("tetrasodium"))
    assert minded(line).startswith("-100 %: see small doses")
    found = small(made, "tetrasodium glutamate diacetate, 40 %")
    assert (round(found.due, 9), float(found.weighed), found.finer) == (0.3, 0, 0.01)
    assert helps(found) == "a scale that shows 0.01 g"  # a premix would be more dilute than 1 in 20
    assert not [line for line in lines if line.small is None and "small doses" in minded(line)]


def test_a_small_dose_of_a_part_is_counted_against_that_part() -> None:
    scent = next(line.ingredient for line in today().lines if line.ingredient.name == "fragrance oil")
    base = replace(today(), lines=tuple(replace(x, fraction=x.fraction / 0.68) for x in today().lines[:-1]))
    parts = Part("mild", 50, (OwnLine(scent, 0.0085, "cool-down"),)), Part("as it is", 50)
    made = batch_sheet(base, demo(), Making(parts=parts), grams=3000)
    assert small(made, "fragrance oil", "mild").due == pytest.approx(12.75)


def test_what_is_not_in_stock_stands_first() -> None:
    assert plain().short == ("mango butter: the batch needs 0.16 kg, and none is in stock.",)
    texts = [*map(str, plain().warnings)]
    assert texts[0] == plain().short[0]
    assert texts.count(plain().short[0]) == 1


def test_warnings_of_the_report_are_those_of_what_is_weighed() -> None:
    assert "mango butter: the batch needs 0.16 kg, and none is in stock." in map(str, plain().warnings)
    twice = batch_sheet(today(), demo(), grams=8000)
    assert "mango butter: the batch needs 0.32 kg, and none is in stock." in [*map(str, twice.warnings)]


@pytest.mark.parametrize("grams", [500, 777, 1000, 1500, 2000, 4000, 7000])
def test_rounding_an_answer_to_the_scale_breaks_no_limit(grams: int) -> None:
    """The best formula stands on its limits; in whole grams it is off some, and that is the scale's doing."""
    brief = read_brief(DEMO / "brief.toml")
    answer = design(brief)
    assert isinstance(answer, Designed)
    told = [*map(str, batch_sheet(answer.report.formula, brief, grams=grams).warnings)]
    assert [words for words in told if "outside the brief's" in words] == []


def test_a_scale_too_coarse_for_the_batch_is_a_breach_all_the_same() -> None:
    brief = replace(read_brief(DEMO / "brief.toml"), step=5.0)
    answer = design(brief)
    assert isinstance(answer, Designed)
    told = [*map(str, batch_sheet(answer.report.formula, brief, grams=120).warnings)]
    assert [words for words in told if words.startswith("humectant active is 4.146 %, outside the brief's 5 to 8")]


def test_a_part_that_breaks_the_certificate_is_named() -> None:
    """Class 9 of the demo's fragrance is 8.9 %."""
    scent = next(line.ingredient for line in today().lines if line.ingredient.name == "fragrance oil")
    parts = Part("mild", 50), Part("strong", 50, (OwnLine(scent, 0.1, "cool-down"),))
    told = [*map(str, batch_sheet(today(), demo(), Making(parts=parts)).warnings)]
    assert [words for words in told if words.startswith("strong: Over the certificate")]
    assert not [words for words in told if words.startswith("mild: Over the certificate")]


def test_a_batch_that_does_not_fit_the_vessel_says_in_how_many_goes_it_is_made() -> None:
    making = Making(vessel=1500.0, stated=frozenset({"vessel"}))
    (told,) = [words for words in map(str, batch_sheet(today(), demo(), making).warnings) if "vessel" in words]
    assert told.startswith("4000 g do not fit your vessel of 1500 g. Make it in 3 goes of about 1333 g.")
    fits = batch_sheet(today(), demo(), replace(making, vessel=4000.0))
    assert not [words for words in map(str, fits.warnings) if "vessel" in words]


# -- cautions ----------------------------------------------------------------------------------------------------------


def test_every_caution_is_there_once_and_those_on_making_stand_at_a_step() -> None:
    made = plain()
    asked = [(c.where, c.text) for c in report(today(), setting_of(demo())).cautions]
    assert [(c.where, c.text) for c in made.cautions] == asked
    assert all((c.step > 0) == (c.where == "making") for c in made.cautions)


@pytest.mark.parametrize(
    ("caution", "step"),
    [
        ("Weigh what goes in below 1 %", "Clean and dry"),
        ("Hot fats and waxes burn", "Oil phase"),
        ("Raise no dust clouds", "Water phase"),
        ("Neat preservatives", "Stir in phenoxyethanol"),
        ("Add fragrance and essential oils", "Stir in fragrance oil"),
    ],
)
def test_a_caution_stands_where_it_belongs(caution: str, step: str) -> None:
    (found,) = (c for c in parted().cautions if c.text.startswith(caution))
    assert done(parted().steps[found.step - 1]).startswith(step)
