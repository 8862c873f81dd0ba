"""What must hold for every property on any formula of shipped ingredients."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Mix, fractions
from optiform.properties.registry import find_property
from optiform.review.measures import STANDARD

CATALOGUE = read_catalogue()
NAMES = (
    "water", "glycerin", "cocamidopropyl betaine, 30 %", "xanthan gum", "cetyl alcohol", "polysorbate 60",
    "glyceryl stearate", "emulsifying wax nf", "shea butter, refined", "cocoa butter", "coconut oil",
    "sweet almond oil", "beeswax", "sea salt, fine", "sugar, granulated", "kaolin",
)  # fmt: skip
ITEMS = tuple(item for name in NAMES if (item := CATALOGUE.find(name)) is not None)
PROPERTIES = tuple(find_property(name, "EUR") for name in STANDARD)
FORMULAS = st.dictionaries(st.sampled_from(range(len(ITEMS))), st.floats(0.01, 1.0), min_size=2, max_size=9).map(
    lambda shares: [(ITEMS[j], share / sum(shares.values())) for j, share in shares.items()]
)
Lines = list[tuple[Ingredient, float]]
thorough = settings(max_examples=60)


def formula(lines: Lines) -> Formula:
    return Formula("f", tuple(Line(item, share, item.phase) for item, share in lines))


def values(found: Formula) -> dict[str, float | None]:
    """Every property that its model covers; water activity leaves its range with much of one solute."""
    told = {}
    for wanted in PROPERTIES:
        try:
            told[wanted.name] = wanted.of(found)
        except ValueError:
            told[wanted.name] = None
    return told


def same(first: dict[str, float | None], second: dict[str, float | None]) -> bool:
    return first == {
        name: value if value is None else pytest.approx(value, rel=1e-6, abs=1e-6) for name, value in second.items()
    }


def test_the_ingredients_are_all_there() -> None:
    assert len(ITEMS) == len(NAMES)


@thorough
@given(FORMULAS)
def test_the_order_of_the_lines_changes_nothing(lines: Lines) -> None:
    assert same(values(formula(lines)), values(formula(lines[::-1])))


@thorough
@given(FORMULAS)
def test_weighing_an_ingredient_in_two_goes_changes_nothing(lines: Lines) -> None:
    (item, share), *rest = lines
    assert same(values(formula(lines)), values(formula([(item, 0.3 * share), *rest, (item, 0.7 * share)])))


@thorough
@given(FORMULAS)
def test_a_line_of_nothing_changes_nothing(lines: Lines) -> None:
    unused = next(item for item in ITEMS if item not in [used for used, _ in lines])
    assert same(values(formula(lines)), values(formula([*lines, (unused, 0.0)])))


@thorough
@given(FORMULAS)
def test_shares_lie_between_0_and_100_and_phases_sum_to_100(lines: Lines) -> None:
    told = values(formula(lines))
    phases = [told[name] for name in ("water phase", "oil phase", "cool-down", "grains")]
    assert sum(value for value in phases if value is not None) == pytest.approx(100)
    shares = [p.name for p in PROPERTIES if p.unit == "%" and not p.name.startswith("emulsifier")]
    outside = {name: value for name in shares if (value := told[name]) is not None and not -1e-9 <= value <= 100 + 1e-9}
    assert outside == {}


@thorough
@given(FORMULAS)
def test_the_value_lies_in_its_span(lines: Lines) -> None:
    found = formula(lines)
    mix, x = Mix.of(found), fractions(found)
    for wanted in PROPERTIES:
        if wanted.name == "water activity":  # has no span of its own and a range of validity
            continue
        terms = wanted.terms(mix, x)
        value, span = terms.at(x), terms.span(x)
        assert (value is None) == (span is None), wanted.name
        if value is not None and span is not None:
            assert min(span) - 1e-9 <= value <= max(span) + 1e-9, wanted.name


@thorough
@given(FORMULAS)
def test_a_figure_is_missing_or_there_never_both(lines: Lines) -> None:
    found = formula(lines)
    mix, x = Mix.of(found), fractions(found)
    for wanted in PROPERTIES:
        if wanted.name != "water activity":
            terms = wanted.terms(mix, x)
            assert not terms.lacking(x) or terms.at(x) is None, wanted.name
