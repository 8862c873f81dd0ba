"""A full cost to hit: what no formula moves, what is left for ingredients, and the nearest formula that keeps to it."""

from dataclasses import replace
from pathlib import Path

import pytest

from optiform import cli
from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.costs.file import read_costs
from optiform.costs.jar import cost_sheet
from optiform.costs.money import shown
from optiform.costs.sheet import CostSheet, Hit
from optiform.reading.demo import copy_demo
from optiform.reading.paths import DEMO
from optiform.telling.costed import why_none
from optiform.telling.costs import costs as told
from tests.builders import brief_of
from tests.costs.test_jar import BUTTER, COSTS, OIL, formula
from tests.dates import ANY_DAY


def hit_of(sheet: CostSheet) -> Hit:
    assert sheet.hit is not None
    return sheet.hit


@pytest.fixture(scope="module")
def demo() -> Brief:
    return read_brief(DEMO / "brief.toml")


def demo_sheet(demo: Brief, target: float | None) -> CostSheet:
    assert demo.reference is not None
    return cost_sheet(demo, demo.reference, read_costs(DEMO / "costs.toml", demo.catalogue, "EUR"), target=target)


def by_hand(target: float) -> Hit:
    """Half oil at 4, half butter at 24 EUR/kg; the brief wants a fifth of butter at least."""
    brief = replace(brief_of([OIL, BUTTER], {"share of butter": (20.0, None)}), jar=0.25)
    return hit_of(cost_sheet(brief, formula(0.5, 0.5), COSTS, jars=4, target=target))


def a_jar(butter: float) -> float:
    """What ingredients cost in a jar by hand: 0.25 kg net, 5 % lost, a tenth of shipping."""
    return 0.25 / 0.95 * 1.1 * (24 * butter + 4 * (1 - butter))


def test_the_nearest_formula_has_just_so_much_less_butter_by_hand() -> None:
    fixed = by_hand(100.0).fixed
    hit = by_hand(fixed + a_jar(0.3))
    assert hit.formula is not None
    assert hit.formula.fraction("butter") == pytest.approx(0.3)
    assert (hit.moved, hit.cost) == pytest.approx((20.0, hit.target))
    assert (hit.ingredients, hit.allowed) == pytest.approx((a_jar(0.5), a_jar(0.3)))


def test_below_the_cheapest_it_says_how_much_must_come_from_the_rest() -> None:
    fixed = by_hand(100.0).fixed
    hit = by_hand(fixed + a_jar(0.1))
    assert hit.formula is None
    assert hit.least == pytest.approx(fixed + a_jar(0.2))


def test_a_cost_that_is_met_changes_nothing() -> None:
    hit = by_hand(100.0)
    assert (hit.moved, hit.cost) == pytest.approx((0.0, hit.fixed + a_jar(0.5)))
    assert hit.formula is not None
    assert hit.formula.fraction("butter") == 0.5


def test_below_what_no_formula_moves_nothing_is_looked_for(demo: Brief) -> None:
    sheet = demo_sheet(demo, 2.0)
    assert hit_of(sheet).allowed < 0
    assert hit_of(sheet).formula is None
    more, rest = told(sheet).only("hit").sentences
    assert more.endswith(f"That alone is {shown(hit_of(sheet).fixed - 2.0)} EUR more than you ask for.")
    assert sheet.reach is not None
    assert sheet.reach.cost is not None
    assert f"makes a jar {shown(sheet.reach.cost)} EUR: {shown(sheet.reach.cost - 2.0)} EUR must come" in rest


def test_the_formula_that_hits_it_costs_that_when_it_is_costed_again(demo: Brief) -> None:
    today, cheapest = demo_sheet(demo, None), demo_sheet(demo, None).reach
    assert today.full is not None
    assert cheapest is not None
    assert cheapest.cost is not None
    target = (today.full + cheapest.cost) / 2
    hit = hit_of(demo_sheet(demo, target))
    assert hit.formula is not None
    again = cost_sheet(demo, hit.formula, read_costs(DEMO / "costs.toml", demo.catalogue, "EUR"))
    assert again.full == pytest.approx(target, abs=1e-5)
    assert again.full == pytest.approx(hit.cost, abs=1e-6)


def test_without_a_target_nothing_is_told_of_it(demo: Brief) -> None:
    sheet = demo_sheet(demo, None)
    assert sheet.hit is None
    assert "hit" not in told(sheet).names


def test_what_has_no_price_is_the_reason() -> None:
    poor = replace(BUTTER, values={})
    brief = replace(brief_of([OIL, poor]), jar=0.25)
    sheet = cost_sheet(brief, formula(1.0), COSTS, jars=4, target=1.5)
    assert hit_of(sheet).formula is None or hit_of(sheet).moved == 0.0
    low = hit_of(cost_sheet(brief, formula(1.0), COSTS, jars=4, target=hit_of(sheet).fixed + 0.1))
    assert "butter" in why_none(low.why)


def test_the_command_answers_shortly_and_saves_the_formula(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    copy_demo(tmp_path / "demo", ANY_DAY)
    monkeypatch.chdir(tmp_path / "demo")
    asked = ["costs", "today.csv", "--brief", "brief.toml", "--costs", "costs.toml"]
    assert cli.main([*asked, "--jar-cost", "4.55", "--write", "hit.csv"]) == 0
    assert len(capsys.readouterr().out.splitlines()) <= 40
    assert cli.main(["costs", "hit.csv", *asked[2:]]) == 0
    assert "A jar costs 4.55 EUR." in capsys.readouterr().out
    assert cli.main([*asked, "--jar-cost", "4.55", "--write", "hit.lp"]) == 2
    assert ".csv or .toml" in capsys.readouterr().err
    assert cli.main([*asked, "--write", "other.csv"]) == 2
    assert "--jar-cost beside it" in capsys.readouterr().err
