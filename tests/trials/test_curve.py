"""Firmness over temperature, readings on the same scale, and a proposal as lines to weigh."""

import datetime
from math import isclose
from typing import Any

import pytest

from optiform.brief.file import read_brief
from optiform.ingredients.recorded import formula_from
from optiform.reading.paths import DEMO
from optiform.telling.trial import against, distorted, readings, whether
from optiform.telling.tried import beyond_readings
from optiform.trials.curve import curve, points
from optiform.trials.fit import Fitted, fit
from optiform.trials.next_trial import next_trial
from optiform.trials.prediction import predict
from optiform.trials.question import Proposal, Question
from optiform.trials.weighable import weighable
from optiform.workshop.log import Log
from optiform.workshop.records import Reading, Trial, Version, VersionLine

BRIEF = read_brief(DEMO / "brief.toml")
PUSH = "push on a scale"


@pytest.fixture(scope="module")
def found() -> Fitted:
    """A fit to one trial of today's formula: 200 g at 20 degC in two jars, 120 g at 30 degC."""
    assert BRIEF.reference is not None
    now = datetime.datetime(2026, 11, 1, 9)
    version = Version(product="polish", name="a", parent="", reason="first", created=now)
    lines = tuple(
        VersionLine(product="polish", version="a", position=k, ingredient=x.ingredient.name, percent=100 * x.fraction,
                    phase=x.phase)
        for k, x in enumerate(BRIEF.reference.lines, 1)
    )  # fmt: skip
    trial = Trial(name="F-1", product="polish", version="a", made=now.date(), aim="see")
    read = tuple(
        Reading(trial="F-1", number=k, age=168.0, temperature=at, instrument=PUSH, value=value, unit="g")
        for k, (at, value) in enumerate([(20.0, 190.0), (20.0, 210.0), (30.0, 120.0)], 1)
    )
    return fit(Log("here", (version,), lines, (trial,), (), read), BRIEF.catalogue, BRIEF.reference)


def test_the_curve_says_what_a_prediction_says(found: Fitted) -> None:
    drawn = curve(found, found.reference, (10.0, 30.0))
    assert [x.temperature for x in drawn.predicted] == [10.0, 30.0]
    alone = predict(found, found.reference, 30.0)
    assert (drawn.predicted[1].before, drawn.predicted[1].after, drawn.predicted[1].batch) == (
        alone.before, alone.after, alone.batch)  # fmt: skip
    assert drawn.left_out == ()


def test_where_the_scale_has_no_firmness_the_curve_says_why(found: Fitted) -> None:
    bare = formula_from("oil", [("sweet almond oil", 100.0, "oil phase")], BRIEF.catalogue)
    assert bare is not None
    drawn = curve(found, bare, (20.0,))
    assert drawn.predicted == ()
    assert drawn.left_out[0] == (20.0, "no structuring solids")


def test_readings_of_a_push_stand_in_proportion_to_what_was_read(found: Fitted) -> None:
    at_20, at_30 = points(found)
    assert (at_20.count, at_30.count, at_30.unit) == (2, 1, "g")
    assert at_30.read == pytest.approx(120.0)
    assert isclose(at_20.firmness / at_30.firmness, at_20.read / at_30.read, rel_tol=1e-9)
    assert 60 < at_20.firmness < 160  # today's own jars at 20 degC, on a scale on which that is 100


def test_a_proposal_is_weighed_in_whole_steps_that_sum_to_its_mass(found: Fitted) -> None:
    answer = next_trial(found, Question(found.reference, 10.0, high=140.0), BRIEF, mass=250.0, step=0.5)
    proposal: Proposal = answer.proposals[0]
    lines = weighable(proposal, answer.mass, answer.step, BRIEF).lines
    assert sum(line.grams for line in lines) == pytest.approx(250.0)
    assert all(isclose(line.grams / 0.5, round(line.grams / 0.5), abs_tol=1e-9) for line in lines)
    shares = {line.ingredient.name: 250.0 * line.fraction for line in proposal.formula.lines}
    assert all(line.due == pytest.approx(shares[line.ingredient]) for line in lines)
    assert {line.ingredient: line.change for line in lines if line.change} == {n: g for n, g, _ in proposal.changes}


def test_what_a_coarse_scale_changes_beside_the_one_thing_asked_is_named(found: Fitted) -> None:
    answer = next_trial(found, Question(found.reference, 10.0, high=140.0), BRIEF, mass=300.0, step=1.0)
    made = weighable(answer.proposals[0], 300.0, 1.0, BRIEF)
    chelator, scent = (next(x for x in made.lines if x.ingredient.startswith(word)) for word in ("tetra", "fragrance"))
    assert (round(chelator.due, 9), chelator.grams, against(chelator)) == (0.6, 1.0, "as it is, but +66.7 % off")
    assert scent.grams <= scent.due  # what is dosed is not rounded above its own range
    assert distorted(made).startswith(
        "On a scale that shows 1 g these are too far off: tetrasodium glutamate diacetate, 40 % +66.7 %"
    )
    assert distorted(made).endswith("A scale that shows 0.01 g is fine enough.")
    assert weighable(answer.proposals[0], 300.0, 0.01, BRIEF).off == ()


def test_nobody_is_told_to_stop_where_no_reading_counts(found: Fitted) -> None:
    """The demo's readings at 10 degC are of a cold room; those at 20 are plain."""
    cold, warm = (next_trial(found, Question(found.reference, at, high=400.0), BRIEF) for at in (10.0, 20.0))
    assert not cold.worth_it
    assert not warm.worth_it
    assert whether(warm) == "No, you can stop"
    assert warm.beyond == ()
    assert "stop" not in whether(cold)
    told = list(beyond_readings(cold))
    assert told[0] == "10 degC lies beyond your trials: the model says this, not your readings."
    assert told[-1].startswith("Read a plain jar of a trial that you have made")


def test_the_log_says_why_a_reading_does_not_count() -> None:
    """Not only what the maker excluded: conditions, ages and instruments too."""
    odd: list[dict[str, Any]] = [
        {}, {"condition": "cold room"}, {"age": 3.0}, {"instrument": "tea spoon"}, {"excluded": "jar fell"},
    ]  # fmt: skip
    whole: dict[str, Any] = {"trial": "F-1", "age": 168.0, "temperature": 10.0, "instrument": PUSH, "unit": "g"}
    made = datetime.date(2026, 11, 1)
    trial = Trial(name="F-1", product="polish", version="a", made=made, aim="see")
    read = tuple(Reading(number=k, value=9.0, **(whole | each)) for k, each in enumerate(odd, 1))
    table = readings(Log("here", (), (), (trial,), (), read))
    place = [column.head for column in table.columns].index("not counted")
    assert sorted(str(row[place]) for row in table.rows) == [
        "",
        "3 h old; firmness counts from 24 h on",
        "condition cold room, not plain",
        "excluded: jar fell",
        "how 'tea spoon' answers to firmness is not known",
    ]


def test_a_formula_with_an_ingredient_nobody_knows_any_more_is_none() -> None:
    assert formula_from("x", [("water", 60.0, "water phase"), ("moon dust", 40.0, "grains")], BRIEF.catalogue) is None
