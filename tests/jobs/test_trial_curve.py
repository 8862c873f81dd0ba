"""Firmness over temperature, readings on the same scale, and a proposal as lines to weigh."""

import datetime
from math import isclose

import pytest

from optiform.brieffile import read_brief
from optiform.jobs.kept import formula_from
from optiform.jobs.next_trial import Proposal, Question, next_trial
from optiform.jobs.trials.curve import curve, points
from optiform.jobs.trials.fit import Fitted, fit, predict
from optiform.jobs.trials.weighable import weighable
from optiform.paths import DEMO
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
    assert drawn.left_out[0].startswith("20 degC: ")


def test_readings_of_a_push_stand_in_proportion_to_what_was_read(found: Fitted) -> None:
    at_20, at_30 = points(found)
    assert (at_20.count, at_30.count, at_30.unit) == (2, 1, "g")
    assert at_30.read == pytest.approx(120.0)
    assert isclose(at_20.firmness / at_30.firmness, at_20.read / at_30.read, rel_tol=1e-9)
    assert 60 < at_20.firmness < 160  # today's own jars at 20 degC, on a scale on which that is 100


def test_a_proposal_is_weighed_in_whole_steps_that_sum_to_its_mass(found: Fitted) -> None:
    answer = next_trial(found, Question(found.reference, 10.0, high=140.0), BRIEF, mass=250.0, step=0.5)
    proposal: Proposal = answer.proposals[0]
    lines = weighable(proposal, answer.mass, answer.step)
    assert sum(line.grams for line in lines) == pytest.approx(250.0)
    assert all(isclose(line.grams / 0.5, round(line.grams / 0.5), abs_tol=1e-9) for line in lines)
    shares = {line.ingredient.name: 250.0 * line.fraction for line in proposal.formula.lines}
    assert all(abs(line.grams - shares[line.ingredient]) < 0.5 for line in lines)
    assert {line.ingredient: line.change for line in lines if line.change} == {n: g for n, g, _ in proposal.changes}


def test_a_formula_with_an_ingredient_nobody_knows_any_more_is_none() -> None:
    assert formula_from("x", [("water", 60.0, "water phase"), ("moon dust", 40.0, "grains")], BRIEF.catalogue) is None
