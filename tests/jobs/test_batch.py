"""The batch sheet: what is on it, and that it agrees with itself."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from functools import cache

import pytest

from optiform.brief import Brief
from optiform.brieffile import read_brief
from optiform.formula import Formula
from optiform.jobs.batch import BatchSheet, batch_sheet
from optiform.jobs.design import setting_of
from optiform.jobs.report import report
from optiform.making import Making, OwnLine, Part
from optiform.makingfile import read_making
from optiform.paths import DEMO


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
    assert [(part.name, part.jars) for part in made.parts] == [("Sea fennel", 14), ("Sea fennel, blue", 12)]
    assert sum(part.weighed_g for part in made.parts) == made.batch.weighed_g
    common = sum(phase.grams for phase in made.phases if not phase.part)
    assert sum(part.shared_g for part in made.parts) == common
    for part in made.parts:
        own = sum(phase.grams for phase in made.phases if phase.part == part.name)
        assert part.shared_g + own == part.weighed_g
    assert sum(part.share for part in made.parts) == pytest.approx(100)
    blue = [x.ingredient for phase in made.phases if phase.part == "Sea fennel, blue" for x in phase.lines]
    assert blue == ["ultramarine blue", "fragrance oil", "sea salt, fine"]


def test_a_heat_limit_and_a_fast_cooling_mass_are_on_the_sheet() -> None:
    late = [step for step in parted().steps if step.words.startswith("Stir")]
    assert [step.temperature for step in late] == [45, 43, 43, 43]


def test_small_doses_are_warned_of_with_what_helps() -> None:
    told = [words for words in plain().warnings if words.startswith("tetrasodium glutamate diacetate")]
    assert told == [
        "tetrasodium glutamate diacetate, 40 %: 8 g are 8 steps of the scale, weighed as 8 g. Rounding can be 6.25 % "
        "of such a dose, here +0 % (house rule: 20 steps, 2.5 %). What helps: a batch 2.5 times as large, a scale that "
        "shows 0.4 g, or a premix: stir 20 g of it into 40 g of glycerin, take 24 g of that, and weigh 16 g less "
        "glycerin."
    ]
    assert not [words for words in plain().warnings if words.startswith("phenoxyethanol")]  # 40 steps
    assert not [w for w in batch_sheet(today(), replace(demo(), step=0.1)).warnings if "house rule" in w]


def test_a_dose_below_half_a_step_is_told() -> None:
    made = batch_sheet(today(), demo(), grams=150)
    (told,) = [words for words in made.warnings if words.startswith("tetrasodium")]
    assert "0.3 g are 0.3 steps of the scale, weighed as 0 g" in told
    assert "here -100 %" in told
    assert "premix" not in told  # more dilute than 1 in 20


def test_a_small_dose_of_a_part_is_counted_against_that_part() -> None:
    scent = next(line.ingredient for line in today().lines if line.ingredient.name == "fragrance oil")
    base = replace(today(), lines=tuple(replace(x, fraction=x.fraction / 0.68) for x in today().lines[:-1]))
    parts = Part("mild", 50, (OwnLine(scent, 0.0085, "cool-down"),)), Part("as it is", 50)
    told = batch_sheet(base, demo(), Making(parts=parts), grams=3000).warnings
    (words,) = [each for each in told if each.startswith("fragrance oil (mild)")]
    assert "12.8 g are 12.8 steps of the scale, weighed as 1" in words


def test_warnings_of_the_report_are_those_of_what_is_weighed() -> None:
    assert "mango butter: the batch needs 0.16 kg, 0 kg are in stock." in plain().warnings
    twice = batch_sheet(today(), demo(), grams=8000)
    assert "mango butter: the batch needs 0.32 kg, 0 kg are in stock." in twice.warnings


def test_a_part_that_breaks_the_certificate_is_named() -> None:
    """Class 9 of the demo's fragrance is 8.9 %."""
    scent = next(line.ingredient for line in today().lines if line.ingredient.name == "fragrance oil")
    parts = Part("mild", 50), Part("strong", 50, (OwnLine(scent, 0.1, "cool-down"),))
    told = batch_sheet(today(), demo(), Making(parts=parts)).warnings
    assert [words for words in told if words.startswith("strong: Over the certificate")]
    assert not [words for words in told if words.startswith("mild: Over the certificate")]


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
    assert parted().steps[found.step - 1].words.startswith(step)
