"""What a limit costs where something bends: a design of its own at each step."""

import pickle
from functools import cache

import pytest

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.design import stepped
from optiform.design.answer import NoFormula
from optiform.design.design import Best, best
from optiform.design.explore import TradeOff
from optiform.design.explore import explore_limit as explore_anew
from optiform.design.facts import Fact, NothingBetween
from optiform.design.stepped import FINEST, MOST, Stepped, Way
from optiform.program.certificate import NotCertified
from optiform.properties.registry import find_property
from optiform.reading.faults import Absent, BadInput, Unsettled
from optiform.reading.paths import DEMO
from optiform.telling.charts import trade_off_chart
from optiform.telling.explore import explore
from optiform.telling.json.explore import explored
from optiform.telling.terminal import terminal
from tests.answers import explore_limit
from tests.sweeps import cases, is_long

ACTIVITY = "water activity"
RANGES = ((0.7, 0.75), (0.6, 0.8))


@cache
def demo() -> Brief:
    return read_brief(DEMO / "brief.toml")


def taken(name: str, way: Way, start: float, end: float, brief: Brief | None = None) -> Stepped:
    curve = explore_limit(brief or demo(), name, way, start, end)
    assert isinstance(curve, Stepped)
    return curve


def designed(name: str, way: Way, target: float, brief: Brief | None = None) -> Best | NoFormula:
    low, high = None if way == "high" else target, None if way == "low" else target
    return best((brief or demo()).with_limit(name, low=low, high=high))


CASES: list[tuple[str, Way, float, float]] = [
    (ACTIVITY, "low", 0.7, 0.75),
    (ACTIVITY, "exactly", 0.72, 0.74),
    (ACTIVITY, "high", 0.6, 0.9),
    ("firmness at 20 degC", "low", 50.0, 300.0),
]


@pytest.mark.sweep
@pytest.mark.parametrize(("name", "way", "start", "end"), cases(CASES, 1))
def test_at_each_step_the_cost_is_that_of_design(name: str, way: Way, start: float, end: float) -> None:
    for corner in taken(name, way, start, end).corners[:: 1 if is_long() else 3]:
        answer = designed(name, way, corner.target)
        assert isinstance(answer, Best)
        assert corner.value == pytest.approx(answer.value, abs=1e-9)
        assert find_property("cost", "EUR").of(corner.formula) == pytest.approx(corner.value)
        reached = find_property(name, "EUR", demo().mix.ingredients, demo().reference).of(corner.formula)
        assert reached is not None
        assert way == "high" or reached >= corner.target - 1e-5 * (1 + corner.target)
        assert way == "low" or reached <= corner.target + 1e-5 * (1 + corner.target)


@pytest.mark.parametrize("asked", [RANGES[0], pytest.param(RANGES[1], marks=pytest.mark.long)])
def test_the_cost_next_to_the_end_is_the_proven_one(asked: tuple[float, float]) -> None:
    """A curve through the best formula says 5.1 to 5.2 there, as activity bends away from it."""
    curve = taken(ACTIVITY, "low", *asked)
    assert curve.at(0.74).value == pytest.approx(4.790022, abs=1e-5)
    assert next(step for step in curve.steps if step.target == 0.74).status == "proven"
    assert 0.74 < curve.fits[1] < 0.741
    beyond = [step for step in curve.steps if step.target > curve.fits[1]]
    assert {step.status for step in beyond} == {"nothing"}
    assert beyond[0].target - curve.fits[1] <= FINEST * (asked[1] - asked[0]) * (1 + 1e-9)
    with pytest.raises(Absent, match=r"no formula on the curve at 0\.741"):
        curve.at(0.741)


@pytest.mark.long
def test_two_ranges_agree() -> None:
    """At the targets of either, the other says the same, also between its own steps."""
    narrow, wide = (taken(ACTIVITY, "low", *asked) for asked in RANGES)
    for corner in narrow.corners:
        assert wide.value_at(corner.target) == pytest.approx(corner.value, abs=1e-9)
        assert wide.at(corner.target).formula.lines == corner.formula.lines


@pytest.mark.long
def test_steps_are_finer_where_the_cost_rises_most() -> None:
    curve = taken(ACTIVITY, "high", 0.6, 0.9)
    widths = [after.target - before.target for before, after in zip(curve.corners, curve.corners[1:], strict=False)]
    assert len(curve.steps) <= MOST
    assert widths[0] < max(widths) / 4
    assert curve.corners[0].value > curve.corners[-1].value + 0.3


@pytest.mark.long
def test_a_search_from_several_starts_is_said_to_be_one() -> None:
    curve = taken("firmness at 20 degC", "low", 200.0, 400.0)
    assert {step.status for step in curve.steps} == {"near", "none found"}
    words = " ".join(explore("", [curve]).sentences)
    assert "Best near itself only: the best formula found from several starts" in words
    assert "which is no proof that nothing fits" in words
    assert "roven best:" not in words
    assert "Nothing fits" not in words


def test_another_limit_is_taken_in_steps_where_the_brief_bends() -> None:
    bends = demo().with_limit(ACTIVITY, high=0.72)
    curve = taken("solid fat at 30 degC", "low", 3.0, 16.0, bends)
    assert curve.today == 7.0
    assert 7.0 in [step.target for step in curve.steps]
    for corner in curve.corners[::4]:
        answer = designed("solid fat at 30 degC", "low", corner.target, bends)
        assert isinstance(answer, Best)
        assert corner.value == pytest.approx(answer.value, abs=1e-9)
    assert isinstance(explore_limit(demo(), "solid fat at 30 degC", "low", 3.0, 16.0), TradeOff)


@pytest.mark.long
def test_an_ingredient_is_taken_in_steps_too() -> None:
    curve = taken("glycerin", "low", 0.0, 5.0, demo().with_limit(ACTIVITY, high=0.75))
    assert all(100 * corner.formula.fraction("glycerin") >= corner.target - 1e-6 for corner in curve.corners)


@pytest.mark.parametrize("error", cases([Unsettled, NotCertified], 1))
def test_a_step_that_is_given_up_says_so(error: type[Exception], monkeypatch: pytest.MonkeyPatch) -> None:
    def give_up(brief: Brief, why: bool) -> Best | NoFormula:
        high = next(limit.high for limit in brief.limits if limit.property.name == ACTIVITY)
        if high is not None and 0.74 < high < 0.76:
            raise error("too many ways")
        return best(brief, why=why)

    monkeypatch.setattr(stepped, "best", give_up)
    curve = explore_anew(demo(), ACTIVITY, "high", 0.7, 0.8)
    assert isinstance(curve, Stepped)
    undecided = [step for step in curve.steps if step.status == "undecided"]
    assert [step.target for step in undecided] == [0.75]
    with pytest.raises(Unsettled, match="too many ways"):
        curve.at(0.75)
    telling = explore("", [curve])
    assert any("not decided" in row for table in telling.tables for row in table.rows)
    assert "0.75: too many ways" in terminal(telling, 90)
    assert (0.75, None, False) in trade_off_chart(curve).data.rows
    assert any("Not decided: the search was given up" in sentence for sentence in telling.sentences)


def test_where_no_step_has_a_formula_none_is_said_to_fit() -> None:
    nothing = explore_limit(demo(), ACTIVITY, "low", 0.8, 0.9)
    assert isinstance(nothing, NoFormula)
    assert nothing.reason == NothingBetween(ACTIVITY, "low", 0.8, 0.9, "")


@pytest.mark.long
def test_where_a_search_finds_no_formula_that_is_no_proof() -> None:
    unknown = explore_limit(demo(), "firmness at 20 degC", "low", 500.0, 600.0)
    assert isinstance(unknown, NoFormula)
    assert unknown.reason == Fact.NOT_PROVEN


def test_targets_that_no_formula_can_have_are_refused() -> None:
    with pytest.raises(BadInput, match="over 0 and at most 1"):
        explore_limit(demo(), ACTIVITY, "high", 0.5, 1.5)
    with pytest.raises(BadInput, match="0 to 100 %"):
        explore_limit(demo().with_limit(ACTIVITY, high=0.75), "glycerin", "low", 0.0, 120.0)
    with pytest.raises(Absent, match=r"no formula on the curve at 0\.9"):
        taken(ACTIVITY, "low", 0.7, 0.75).at(0.9)


def test_chart_table_and_json_say_the_same_steps() -> None:
    curve = taken(ACTIVITY, "low", 0.7, 0.75)
    values = {corner.target: corner.value for corner in curve.corners}
    data = explored("explored", "", {"trade_off": curve})["trade_off"]
    assert {row["target"]: row["value"] for row in data["steps"] if row["status"] == "proven"} == values
    assert {row["target"]: row["value"] for row in data["corners"]} == values
    assert data["stretches"] == []
    assert data["met"] == list(curve.fits)
    chart = trade_off_chart(curve)
    assert {row[0]: row[1] for row in chart.data.rows if row[1] is not None} == values
    assert "between dots only drawn" in chart.title
    telling = explore("", [curve])
    assert {row[0]: row[1] for row in telling.table.rows if row[1] is not None} == values
    (shown,) = telling.tables
    assert {row[0]: row[1] for row in shown.rows if row[1] is not None} == values
    first = telling.sentences[0]
    assert "With 0.7407 nothing fits." in first
    assert "drawn straight: what lies there was not worked out" in " ".join(telling.sentences)


def test_steps_are_a_value() -> None:
    curve = taken(ACTIVITY, "low", 0.7, 0.75)
    again = pickle.loads(pickle.dumps(curve))
    assert again == curve
    assert hash(again) == hash(curve)
    assert len(repr(curve)) < 2000


def test_how_far_the_work_is_is_told() -> None:
    seen: list[tuple[int, int]] = []
    curve = explore_anew(demo(), ACTIVITY, "low", 0.7, 0.72, lambda done, total: seen.append((done, total)))
    assert isinstance(curve, Stepped)
    assert seen == [(count, MOST) for count in range(1, len(curve.steps) + 1)]
