"""A batch in whole steps: sums are exact, jars come out, no dose goes above its limit."""

from dataclasses import replace
from decimal import Decimal
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optiform.batch.dealing import Dealt, deal, part_formula, plan_batch, weighed, weighed_part
from optiform.batch.doses import highest
from optiform.batch.making import Making, OwnLine, Part
from optiform.brief.brief import Brief, Range
from optiform.brief.file import read_brief
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.properties.base import Mix, fractions
from optiform.reading.faults import BadInput
from optiform.reading.paths import DEMO
from optiform.review.law import rule_checks
from tests.builders import brief_of, ingredient

CATALOGUE = read_catalogue()
#: Of every kind: carriers, what is dosed, what the law limits, grains.
NAMES = (
    "water", "glycerin", "xanthan gum", "cocamidopropyl betaine, 30 %", "cetearyl alcohol", "sweet almond oil",
    "shea butter, refined", "phenoxyethanol + ethylhexylglycerin", "mixed tocopherols", "fragrance oil", "menthol",
    "iron oxide, red", "salicylic acid", "sea salt, fine", "pumice, fine",
)  # fmt: skip


def item(name: str) -> Line:
    found = CATALOGUE.ingredients[name.casefold()]
    return Line(found, 0.0, found.phase)


def formula_of(shares: dict[str, float]) -> Formula:
    total = sum(shares.values())
    return Formula("made", tuple(replace(item(name), fraction=share / total) for name, share in shares.items()))


@cache
def demo() -> Brief:
    return read_brief(DEMO / "brief.toml")


def lawful(step: float = 1.0) -> Brief:
    """A brief without ranges of its own, sold in three markets."""
    return replace(brief_of([ingredient("any", 1.0)], markets=("EU", "GB", "US")), step=step)


BLEND = "phenoxyethanol + ethylhexylglycerin"
AMOUNTS = st.dictionaries(st.sampled_from(NAMES[1:]), st.floats(0.02, 30.0), min_size=2, max_size=12)
SCALES = st.sampled_from([0.01, 0.1, 0.5, 1.0, 5.0])
MASSES = st.floats(150.0, 20_000.0)


@given(AMOUNTS, SCALES, MASSES)
@settings(max_examples=40)
def test_a_whole_batch(amounts: dict[str, float], step: float, grams: float) -> None:
    formula, brief = formula_of({"water": 40.0, **amounts}), lawful(step)
    plan = plan_batch(brief, Making(), round(grams, 2))
    dealt = deal(formula, brief, Making(), plan)
    assert sum(plan.grams(n) for _, n in dealt.shared) == plan.grams(plan.steps)
    assert abs(plan.grams(plan.steps) - Decimal(str(round(grams, 2)))) <= Decimal(str(step)) / 2
    for (line, n), most in zip(dealt.shared, highest(formula, brief), strict=True):
        assert n <= most * plan.steps + 1e-6
        assert n >= int(line.fraction * plan.steps + 1e-9)


@given(AMOUNTS, SCALES, MASSES, st.lists(st.integers(1, 9), min_size=2, max_size=4), st.floats(0, 0.3))
@settings(max_examples=40)
def test_parts_sum_to_the_whole(
    amounts: dict[str, float], step: float, grams: float, weights: list[int], loss: float
) -> None:
    scent = item("fragrance oil").ingredient
    parts = tuple(
        Part(f"part {k}", weight, (OwnLine(scent, 0.002 * k, "cool-down"),)) for k, weight in enumerate(weights)
    )
    making, brief = Making(parts=parts, loss=round(loss, 3)), lawful(step)
    formula = formula_of({"water": 40.0, **amounts})
    plan = plan_batch(brief, making, round(grams, 2))
    dealt = deal(formula, brief, making, plan)
    everything = sum(n for _, n in dealt.shared) + sum(n for own in dealt.own for _, n in own)
    assert everything == plan.steps == sum(dealt.part_total(k) for k in range(len(parts)))
    assert sum(dealt.portions) == sum(n for _, n in dealt.shared)
    assert [dealt.part_total(k) for k in range(len(parts))] == list(plan.sizes)
    assert float(plan.steps * plan.step * plan.keeps) >= grams - step - 0.01
    for k, part in enumerate(parts):
        most = dict(zip((x.ingredient.name for x in part_formula(formula, part, parts).lines),
                        highest(part_formula(formula, part, parts), brief), strict=True))  # fmt: skip
        for line in weighed_part(part.name, dealt, k).lines:
            asked = part_formula(formula, part, parts).fraction(line.ingredient.name)
            assert line.fraction <= max(most[line.ingredient.name], asked) + 1e-9


@given(st.floats(0.2, 1.1), st.floats(0.1, 2.0), MASSES, SCALES)
@settings(max_examples=40)
def test_what_keeps_the_law_keeps_it_when_weighed(blend: float, acid: float, grams: float, step: float) -> None:
    """Two phenoxyethanol blends together count in one limit."""
    names = ("phenoxyethanol + ethylhexylglycerin", "phenoxyethanol + caprylyl glycol", "salicylic acid")
    shares = dict(zip(names, (blend / 2, blend / 2, acid), strict=True))
    formula, brief = formula_of({"water": 100 - sum(shares.values()), **shares}), lawful(step)
    dealt = deal(formula, brief, Making(), plan_batch(brief, Making(), round(grams, 1)))
    made = weighed("made", dealt)
    before = {c.id: c.kept for c in rule_checks(Mix.of(formula), fractions(formula), brief.scope)}
    after = {c.id: c.kept for c in rule_checks(Mix.of(made), fractions(made), brief.scope)}
    assert [id for id, kept in before.items() if kept and not after.get(id, True)] == []


# -- limits of a dose --------------------------------------------------------------------------------------------------


def steps_of(dealt: Dealt) -> dict[str, int]:
    return {line.ingredient.name: n for line, n in dealt.shared}


def test_a_preservative_at_its_maximum_is_rounded_down() -> None:
    """1 % of 190 g is 1.9 g: 2 g on a 1 g scale would be 1.05 %, above its maximum use of 1 %."""
    formula = formula_of({"water": 99.0, "phenoxyethanol + ethylhexylglycerin": 1.0})
    plan = plan_batch(lawful(), Making(), 190)
    assert steps_of(deal(formula, lawful(), Making(), plan)) == {
        "water": 189,
        "phenoxyethanol + ethylhexylglycerin": 1,
    }


def test_a_preservative_at_its_least_is_rounded_up() -> None:
    """0.52 % of 250 g is 1.3 g: 1 g on a 1 g scale would be 0.4 %, below its usual use of 0.5 to 1 %."""
    formula = formula_of({"water": 99.48, BLEND: 0.52})
    assert steps_of(deal(formula, lawful(), Making(), plan_batch(lawful(), Making(), 250)))[BLEND] == 2


def test_a_preservative_stays_in_the_brief_s_own_range_and_a_pin_in_its_usual_use() -> None:
    formula = formula_of({"water": 99.43, BLEND: 0.57})
    items = [line.ingredient for line in formula.lines]
    for low, high, grams in ((0.0055, 0.009, 2), (0.002, 0.0079, 1), (0.0057, 0.0057, 2)):
        brief = brief_of(items, ranges={BLEND: Range(low, high, "brief")})
        assert steps_of(deal(formula, brief, Making(), plan_batch(brief, Making(), 230)))[BLEND] == grams


def test_a_preservative_of_the_common_mass_is_enough_in_every_part() -> None:
    formula = formula_of({"water": 91.0, "sweet almond oil": 8.46, BLEND: 0.54})
    parts = (Part("plain", 1, ()), Part("scented", 1, (OwnLine(item("fragrance oil").ingredient, 0.05, "cool-down"),)))
    dealt = deal(formula, lawful(), Making(parts=parts), plan_batch(lawful(), Making(parts=parts), 260))
    assert min(weighed_part("", dealt, k).fraction(BLEND) for k in range(2)) >= 0.005


def test_a_line_without_a_limit_near_is_rounded_as_usual() -> None:
    formula = formula_of({"water": 99.0, "glycerin": 1.0})
    assert steps_of(deal(formula, lawful(), Making(), plan_batch(lawful(), Making(), 190)))["glycerin"] == 2


def test_the_brief_s_own_range_binds_what_is_dosed() -> None:
    brief = demo()
    reference = brief.reference
    assert reference is not None
    most = dict(zip((x.ingredient.name for x in reference.lines), highest(reference, brief), strict=True))
    assert most["fragrance oil"] == pytest.approx(0.006)
    assert most["sweet almond oil"] == pytest.approx(1.0)


def test_a_formula_with_every_line_pinned_can_still_be_weighed() -> None:
    """What is dosed stays at its pin; the other lines share what rounding leaves."""
    shares = {"water": 61.3, "glycerin": 5.9, "sweet almond oil": 31.9, "fragrance oil": 0.9}
    formula = formula_of(shares)
    items = [line.ingredient for line in formula.lines]
    pins = {line.ingredient.name: Range(line.fraction, line.fraction, "brief") for line in formula.lines}
    dealt = deal(formula, brief_of(items, ranges=pins), Making(), plan_batch(brief_of(items), Making(), 177))
    assert steps_of(dealt) == {"water": 109, "glycerin": 10, "sweet almond oil": 57, "fragrance oil": 1}


def test_a_fragrance_may_go_up_to_its_certificate() -> None:
    """2 % on the certificate, and a brief that allows it 5 %."""
    scent = ingredient("scent", 1.0, "fragrance", {"certificate maximum 9": 2.0})
    water = ingredient("rain", 1.0, "water")
    brief = replace(brief_of([scent, water], ranges={"scent": Range(0.0, 0.05, "brief")}))
    formula = Formula("f", (Line(water, 0.985, "water phase"), Line(scent, 0.015, "cool-down")))
    assert highest(formula, brief)[1] == pytest.approx(0.02)


def test_what_is_over_its_limit_already_is_not_rounded_up_further() -> None:
    formula = formula_of({"water": 97.0, "phenoxyethanol + ethylhexylglycerin": 3.0})
    assert highest(formula, lawful())[1] == pytest.approx(0.03)


def test_a_batch_in_which_every_line_is_at_its_limit_is_refused() -> None:
    scent = ingredient("scent", 1.0, "fragrance", {"certificate maximum 9": 100.0})
    brief = brief_of([scent], ranges={"scent": Range(0.5, 0.5, "brief")})
    other = replace(scent, name="other")
    formula = Formula("f", (Line(scent, 0.5, "cool-down"), Line(other, 0.5, "cool-down")))
    assert deal(formula, brief, Making(), plan_batch(brief, Making(), 100)).total == 100
    with pytest.raises(BadInput, match="Every line is at its limit"):
        deal(formula, brief, Making(), plan_batch(brief, Making(), 101))


# -- jars and loss -----------------------------------------------------------------------------------------------------


def test_loss_raises_what_is_weighed() -> None:
    """26 jars of 151 g are 3926 g; with 4 % loss 3926 / 0.96 = 4089.58, so 4090 g on a 1 g scale."""
    plan = plan_batch(demo(), Making(fill=151.0, loss=0.04), jars=26)
    count, left = plan.jars(plan.steps)
    assert (float(plan.planned), plan.steps, count) == (3926, 4090, 26)
    assert left == pytest.approx(0.4)


def test_without_loss_the_batch_is_what_is_weighed() -> None:
    plan = plan_batch(demo(), Making())
    assert (float(plan.planned), plan.steps) == (4000, 4000)
    assert plan.jars(4000) == (26, 100)  # of 150 g


def test_the_making_file_s_jar_goes_before_the_brief_s() -> None:
    assert plan_batch(demo(), Making(jar=200.0), jars=3).planned == 600


def test_parts_that_count_jars_are_the_batch_and_a_number_divides_by_them() -> None:
    parts = Part("A", 14), Part("B", 12)
    making = Making(parts=parts, counted=True)
    assert plan_batch(demo(), making).sizes == (14 * 150, 12 * 150)
    assert plan_batch(demo(), making, jars=13).sizes == (7 * 150, 6 * 150)
    assert sum(plan_batch(demo(), making, grams=1000.0).sizes) == 1000


@given(st.integers(1, 500), st.floats(20, 500), st.floats(0, 0.4), SCALES)
@settings(max_examples=40)
def test_the_jars_asked_for_come_out(jars: int, fill: float, loss: float, step: float) -> None:
    making = Making(jar=round(fill, 1), loss=round(loss, 3))
    plan = plan_batch(lawful(step), making, jars=jars)
    count, left = plan.jars(plan.steps)
    assert count is not None
    assert left is not None
    assert count >= jars
    assert (count - jars) * fill + left <= step + 1e-6


@pytest.mark.parametrize(
    ("making", "grams", "jars", "words"),
    [
        (Making(), None, 5, "a key jar in the brief or the making file"),
        (Making(jar=150.0, fill=140.0), None, None, "the net mass of a jar"),
        (Making(), 0.2, None, "a step of the scale"),
        (Making(parts=(Part("A", 99.9), Part("B", 0.1))), 100.0, None, "for each part"),
    ],
)
def test_a_batch_that_cannot_be(making: Making, grams: float | None, jars: int | None, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        plan_batch(lawful(), making, grams, jars)


# -- parts -------------------------------------------------------------------------------------------------------------


def test_the_formula_of_a_part() -> None:
    """One part has its own scent at less, one goes without, one is as the formula says; the rest fills up."""
    formula = formula_of({"water": 70.0, "glycerin": 28.0, "fragrance oil": 2.0})
    scent = item("fragrance oil").ingredient
    parts = (
        Part("less", 1, (OwnLine(scent, 0.01, "cool-down"),)),
        Part("none", 1, (), ("fragrance oil",)),
        Part("same", 1),
    )
    less, none, same = (part_formula(formula, part, parts) for part in parts)
    assert less.fraction("fragrance oil") == pytest.approx(0.01)
    assert less.fraction("water") == pytest.approx(0.99 * 70 / 98)
    assert none.fraction("fragrance oil") == 0
    assert none.fraction("glycerin") == pytest.approx(28 / 98)
    assert same.fraction("fragrance oil") == pytest.approx(0.02)
    assert all(sum(line.fraction for line in blend.lines) == pytest.approx(1) for blend in (less, none, same))


def test_own_lines_that_leave_no_room_are_refused() -> None:
    formula = formula_of({"water": 40.0, "sea salt, fine": 60.0})
    scent = item("fragrance oil").ingredient
    salt = item("sea salt, fine").ingredient
    making = Making(
        parts=(Part("A", 1, (OwnLine(scent, 0.5, "cool-down"),)), Part("B", 1, (OwnLine(salt, 0.7, "grains"),)))
    )
    with pytest.raises(BadInput, match=r"\[\[part\]\] A: own lines of 100 % or more\. Needed: room"):
        deal(formula, lawful(), making, plan_batch(lawful(), making, 1000.0))


def test_parts_need_something_in_common() -> None:
    formula = formula_of({"sea salt, fine": 60.0})
    making = Making(parts=(Part("A", 1), Part("B", 1)))
    with pytest.raises(BadInput, match="lines that all parts share"):
        deal(formula, lawful(), making, plan_batch(lawful(), making, 1000.0))
