"""Which line changed what: the parts against the change, a sum over many small steps, and by hand."""

from math import log
from pathlib import Path

import numpy as np
import pytest

from optiform.brief.file import read_brief
from optiform.ingredients.formula import Formula, Line, mixed, read_formula
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Ratio, Terms, Vector
from optiform.properties.registry import find_property
from optiform.review.causes import causes
from optiform.review.compare import Comparison, compare
from optiform.review.measures import setting_of
from optiform.telling.compare import FELT, compared
from optiform.telling.terminal import terminal
from tests.builders import ingredient
from tests.every import every

DEMO = Path(__file__).resolve().parents[2] / "optiform" / "demo"
STEPS = 20_000


def demo_compared() -> Comparison:
    brief = read_brief(DEMO / "brief.toml")
    second = read_formula(DEMO / "hand_polish.csv", brief.catalogue).formula
    assert brief.reference is not None
    return compare([brief.reference, second], setting_of(brief), brief.step)


def test_the_parts_of_every_property_add_up_to_its_change() -> None:
    answer = demo_compared()
    assert len(answer.causes) > 15
    for cause in answer.causes:
        parts = sum(share for _, share in cause.lines)
        assert parts == pytest.approx(cause.change, rel=1e-9, abs=1e-9), cause.name


def test_a_line_that_stays_has_no_part() -> None:
    answer = demo_compared()
    stay = {row.ingredient for row in answer.lines if row.percents[0] == row.percents[1]}
    assert stay
    assert not {name for cause in answer.causes for name, _ in cause.lines} & stay


def test_a_property_that_is_the_same_or_bends_is_left_out() -> None:
    answer = demo_compared()
    same = {row.name for row in answer.properties if row.same}
    assert not {cause.name for cause in answer.causes} & (same | {"water activity", "hlb difference"})


def test_the_parts_of_an_amount_are_what_each_line_brings() -> None:
    names = ("water", "glycerin")
    one, two = (mixed(dict(zip(names, shares, strict=True))) for shares in ((75, 25), (60, 40)))
    (cause,) = causes(one, two, [find_property("humectant active", "EUR")])
    assert dict(cause.lines) == {"glycerin": pytest.approx(0.995 * 15)}


def ratio(p: Vector, g: Vector) -> Ratio:
    return Ratio("ratio", "-", "group", lambda _: Terms.exact(p, g))


@every("seed", range(30))
def test_the_parts_of_a_ratio_are_what_many_small_steps_come_to(seed: int) -> None:
    """By the midpoint rule, with the slope of the ratio alone: nothing of the closed form."""
    rng = np.random.default_rng(seed)
    p, g = rng.uniform(0, 10, 5), rng.uniform(0, 1, 5)
    g[4] = g[4] if seed % 2 else 1e-5 * g[4]
    a, b = rng.dirichlet(np.ones(5)), rng.dirichlet(np.ones(5))
    b = a + 1e-6 * (b - a) if seed % 5 == 0 else b  # a group that hardly moves
    items = [ingredient(f"line {j}", 1.0) for j in range(5)]
    one, two = (formula(items, x) for x in (a, b))
    (cause,) = causes(one, two, [ratio(p, g)])
    t = (np.arange(STEPS) + 0.5)[:, np.newaxis] / STEPS
    x = a + t * (b - a)
    group = (x @ g)[:, np.newaxis]
    slow = (b - a) * ((p - (x @ p)[:, np.newaxis] / group * g) / group).mean(axis=0)
    size = float(np.abs(slow).max())
    parts = [dict(cause.lines).get(item.name, 0.0) for item in items]
    assert parts == pytest.approx(slow.tolist(), rel=1e-5, abs=1e-6 * size)
    assert sum(parts) == pytest.approx(cause.change, rel=1e-9, abs=1e-12)


def formula(items: list[Ingredient], x: Vector) -> Formula:
    return Formula("made", tuple(Line(item, float(share), item.phase) for item, share in zip(items, x, strict=True)))


def test_a_ratio_by_hand() -> None:
    """0.75 over a group of 0.25 becomes 0.5 over 0.5: the integral of 1 / G is ln 2 / 0.25, the group has the rest."""
    items = [ingredient("value", 1.0), ingredient("group", 1.0), ingredient("rest", 1.0)]
    one, two = formula(items, np.array([0.25, 0.25, 0.5])), formula(items, np.array([0.5, 0.5, 0.0]))
    (cause,) = causes(one, two, [ratio(np.array([1.0, 0.0, 1.0]), np.array([0.0, 1.0, 0.0]))])
    parts = dict(cause.lines)
    assert cause.change == pytest.approx(1.0 - 3.0)
    assert parts["value"] == pytest.approx(0.25 * log(2) / 0.25)
    assert parts["rest"] == pytest.approx(-0.5 * log(2) / 0.25)
    assert parts["group"] == pytest.approx(-2.0 - parts["value"] - parts["rest"])


def test_a_largest_of_several_is_followed_past_the_point_where_they_cross() -> None:
    """Salt beyond what the water dissolves: from none to some, so the first part of the way counts for nothing."""
    names = ("water", "sea salt, fine")
    one, two = (mixed(dict(zip(names, shares, strict=True))) for shares in ((95, 5), (40, 60)))
    undissolved = find_property("undissolved salt at 20 degC", "EUR")
    (cause,) = causes(one, two, [undissolved])
    assert cause.before == pytest.approx(0.0)
    assert sum(share for _, share in cause.lines) == pytest.approx(cause.after)
    assert all(share > 0 for _, share in cause.lines)  # salt that comes, and water that goes


def test_three_formulas_are_not_shared_out() -> None:
    brief = read_brief(DEMO / "brief.toml")
    assert brief.reference is not None
    assert compare([brief.reference] * 3, setting_of(brief), 1.0).causes == ()


def test_the_part_why_tells_first_what_is_felt_and_one_line_for_each_property() -> None:
    told = terminal(compared(demo_compared()).only("why"))
    assert len(told.splitlines()) <= 40
    first = " ".join(told.split("Which line changed what")[1].split())
    assert first.startswith("- structuring solids at 20 °C")
    assert "moved most by cetearyl alcohol -0.4; against it emulsifying wax NF +0.2" in first
    assert (
        "butters together -0.79" in told
    )  # mango butter for shea butter: each alone says the opposite, ten times as much
    (table,) = compared(demo_compared()).only("why").tables
    told_once = {row[0] for row in table.rows} | {name for name in FELT if name.replace("degC", "°C") in first}
    assert told_once == {cause.name for cause in demo_compared().causes}


def test_the_part_shares_tells_lines_whose_parts_add_up() -> None:
    (table,) = compared(demo_compared()).only("shares").tables
    heads = sorted(table.strong)
    for head, after in zip(heads, [*heads[1:], len(table.rows)], strict=True):
        parts = [row[1] for row in table.rows[head + 1 : after]]
        assert sum(parts) == pytest.approx(table.rows[head][1], abs=1e-9)  # type: ignore[arg-type]
