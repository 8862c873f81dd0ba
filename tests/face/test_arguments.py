"""What a verb is called with by mistake: every answer is a sentence that names the argument, none a traceback."""

import datetime
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

import optiform as of
from optiform.ingredients.formula import Line
from optiform.reading.paths import DEMO
from tests.kind_shelves import bare_brief

BRIEF = of.demo()
TODAY = DEMO / "today.csv"
COSTS = DEMO / "costs.toml"
DAY = datetime.date(2026, 11, 27)

#: A call, and what its sentence says.
WRONG: dict[str, tuple[Callable[[], object], str]] = {
    "no kind": (lambda: of.check(TODAY, kind="rocket"), "kind: “rocket” is not known here"),
    "no basis": (lambda: of.check(TODAY, BRIEF, basis="half"), "basis: “half” is not known here. Write one of: whole"),
    "no scope": (lambda: of.check(TODAY, scope="EU"), "scope: “EU” does not go here. It must be a Scope"),  # type: ignore[arg-type]
    "no use": (lambda: of.check(TODAY, scope=of.Scope("leave on", "body", ("EU",), DAY)), "Did you mean leave-on"),
    "no area": (lambda: of.declare(TODAY, BRIEF, scope=of.Scope("leave-on", "arm", ("EU",), DAY)), "area: “arm”"),
    "no market": (lambda: of.check(TODAY, scope=of.Scope("leave-on", "body", ("eu",), DAY)), "market: “eu”"),
    "another market": (lambda: of.declare(TODAY, BRIEF, market="MARS"), "“MARS” is not known here.*EU, GB, US, US-CA"),
    "nothing gone": (lambda: of.substitute(BRIEF), "missing: nothing is written here"),
    "a list gone": (lambda: of.substitute(BRIEF, ["mango butter"]), "a name as text"),  # type: ignore[arg-type]
    "no blend": (lambda: of.substitute(BRIEF, "mango butter", blend=0), "blend: 0 does not go here. Write a whole"),
    "half a jar": (lambda: of.costs(TODAY, COSTS, BRIEF, jars=1.5), "jars: 1.5"),  # type: ignore[arg-type]
    "jars in words": (lambda: of.batch(TODAY, BRIEF, jars="20"), "jars: “20”"),  # type: ignore[arg-type]
    "jars below none": (lambda: of.batch(TODAY, BRIEF, jars=-3), "jars: -3"),
    "too many jars": (lambda: of.batch(TODAY, BRIEF, jars=10**9), "1000000000 is too many. Write 1000000 or fewer"),
    "no making": (lambda: of.batch(TODAY, BRIEF, making=3), "a file on making"),  # type: ignore[arg-type]
    "no offers": (lambda: of.costs(TODAY, COSTS, BRIEF, offers=3), "a table of offers"),  # type: ignore[arg-type]
    "no way": (lambda: of.explore(BRIEF, "oil phase", 22, 25, way="up"), "way: “up”"),  # type: ignore[arg-type]
    "no property": (lambda: of.explore(BRIEF, 3, 22, 25), "property: 3 does not go here"),  # type: ignore[arg-type]
    "nobody's name": (lambda: of.why_not(BRIEF, "mango buter"), "not a known ingredient. Did you mean mango butter"),
    "no file": (lambda: of.why_not(BRIEF, "gone.csv"), "gone.csv: there is no such file"),
    "one alone": (lambda: of.weigh(BRIEF, apart=[("glycerin",)]), "two names of which"),  # type: ignore[list-item]
    "no whole most": (lambda: of.weigh(BRIEF, most=2.5), "most: 2.5"),  # type: ignore[arg-type]
    "a dose of two": (lambda: of.weigh(BRIEF, least_dose="200 %"), "least_dose: “200 %” is too much"),
    "no words": (lambda: of.ingredients(3), "words: 3 does not go here"),  # type: ignore[arg-type]
    "no place": (lambda: of.workshop(3), "a workshop, or the path of one"),  # type: ignore[arg-type]
    "limit of 3": (lambda: BRIEF.with_limit(3, low=1), "with_limit: 3 does not go here"),  # type: ignore[arg-type]
    "without 3": (lambda: BRIEF.without(3), "without: 3 does not go here"),  # type: ignore[arg-type]
    "goal of 3": (lambda: BRIEF.with_goal(lowest=3), "with_goal: 3 does not go here"),  # type: ignore[arg-type]
    "near a path": (lambda: BRIEF.with_goal(nearest="today.csv"), "is not a formula"),  # type: ignore[arg-type]
    "a target in g": (lambda: of.explore(BRIEF, "active surfactant", 2.5, 4).at("3 g"), "target: “3 g” is not a share"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_argument_is_answered_by_a_sentence(name: str) -> None:
    call, words = WRONG[name]
    with pytest.raises(of.BadInput, match=words):
        call()


def formula(**percent: float) -> of.Formula:
    """A formula made by hand, of fractions as they are given."""
    items = [(BRIEF.catalogue.find(name), share) for name, share in percent.items()]
    return of.Formula("mine", tuple(Line(item, share, item.phase) for item, share in items if item))


@pytest.mark.parametrize(
    "wrong", [formula(water=95, glycerin=5), formula(water=1.2, glycerin=-0.2), formula(water=float("nan")), formula()]
)
def test_a_formula_whose_fractions_make_no_whole_is_not_judged(wrong: of.Formula) -> None:
    for verb in (of.check, of.declare, of.batch):
        with pytest.raises(of.BadInput, match="mass fractions of 0 or more that sum to 1"):
            verb(wrong, BRIEF)
    assert of.check(formula(water=0.95, glycerin=0.05)).formula.fraction("glycerin") == 0.05


def test_one_own_table_may_be_given_as_it_is(tmp_path: Path) -> None:
    own = tmp_path / "own.csv"
    own.write_text("ingredient,phase,functions,price\nMoon oil,oil phase,oil,4 EUR/kg\n", encoding="utf-8")
    assert [item.name for item in of.ingredients("moon oil", own=own)] == ["Moon oil"]
    assert of.ingredients("moon oil", own=str(own)) == of.ingredients("moon oil", own=[own])


@pytest.mark.parametrize("number", [np.float64(27), np.float32(27), np.int64(27), 27])
def test_a_number_of_numpy_is_a_number(number: float) -> None:
    assert BRIEF.with_limit("oil phase", high=number) == BRIEF.with_limit("oil phase", high="27 %")
    assert of.texture(BRIEF, number, at=number) == of.texture(BRIEF, 27, at=27)
    assert of.cheaper(BRIEF, saving=number) == of.cheaper(BRIEF, saving=27)


def test_a_count_of_numpy_is_a_count() -> None:
    twelve: int = np.arange(13)[-1]
    assert of.batch(TODAY, BRIEF, jars=twelve) == of.batch(TODAY, BRIEF, jars=12)


def test_a_curve_takes_targets_as_it_was_asked_for() -> None:
    curve = of.explore(BRIEF, "active surfactant", "2.5 %", "4 %")
    assert curve.at("3.1 %") == curve.at(3.1)
    assert curve.value_at("3.1 %") == curve.value_at(3.1) == curve.value_at(np.float64(3.1))


def test_a_shelf_that_lacks_parts_of_its_kind_says_so_in_the_error() -> None:
    with pytest.raises(of.Impossible, match=r"A lotion needs water, 60 to 80 %.*Buy for instance water\."):
        of.design(bare_brief("lotion", {"glycerin": 2.0}))
