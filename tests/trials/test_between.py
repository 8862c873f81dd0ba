"""Two trials made one formula: the firmness wished, the brief, and what cannot be had; what each trial taught."""

import numpy as np
import pytest

from optiform.brief.file import read_brief
from optiform.ingredients.formula import Formula
from optiform.reading.faults import BadInput
from optiform.reading.paths import DEMO
from optiform.telling.tried import figure
from optiform.trials.between import between, mixture
from optiform.trials.cells import formulas_of
from optiform.trials.fit import Fitted, fit, fitted
from optiform.trials.posterior import posterior
from optiform.trials.prediction import bands_of
from optiform.workshop.exchange import import_from
from optiform.workshop.log import Log, log_of
from optiform.workshop.store import Workshop
from tests.sweeps import cases

BRIEF = read_brief(DEMO / "brief.toml")


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Log:
    with Workshop.open(tmp_path_factory.mktemp("shop")) as workshop:
        import_from(workshop, DEMO / "workshop")
        return log_of(workshop)


@pytest.fixture(scope="module")
def scale(log: Log) -> Fitted:
    return fit(log, BRIEF.catalogue, BRIEF.reference)


@pytest.fixture(scope="module")
def made(log: Log) -> dict[str, Formula]:
    return formulas_of(log, BRIEF.catalogue)


@pytest.mark.parametrize("wished", cases([100.0, 95.0, 105.0], 1, 2))
def test_the_mix_has_the_firmness_that_is_wished(scale: Fitted, made: dict[str, Formula], wished: float) -> None:
    answer = between(scale, made, ("F-2", "F-3"), wished, BRIEF)
    assert answer.prediction.after.typical == pytest.approx(wished, rel=1e-6)
    assert sum(line.fraction for line in answer.formula.lines) == pytest.approx(1.0)
    turned = between(scale, made, ("F-3", "F-2"), wished, BRIEF)
    assert turned.share == pytest.approx(1 - answer.share, abs=1e-6)


def test_every_line_lies_between_those_of_both_trials(scale: Fitted, made: dict[str, Formula]) -> None:
    answer = between(scale, made, ("F-2", "F-3"), 100.0, BRIEF)
    for line in answer.formula.lines:
        ends = sorted(end.fraction(line.ingredient.name) for end in answer.ends)
        assert ends[0] - 1e-12 <= answer.formula.fraction(line.ingredient.name) <= ends[1] + 1e-12


def test_an_end_of_the_line_is_the_trial_itself(scale: Fitted, made: dict[str, Formula]) -> None:
    firm = bands_of(scale, mixture(made["F-2"], made["F-3"], 1.0), 20.0)[1].typical
    assert between(scale, made, ("F-2", "F-3"), firm, BRIEF).share == pytest.approx(1.0, abs=1e-6)


def test_the_mix_is_held_to_the_brief_and_not_moved_by_it(scale: Fitted, made: dict[str, Formula]) -> None:
    strict = BRIEF.with_limit("structuring solids at 20 degC", low="20 %")
    free, held = (between(scale, made, ("F-2", "F-3"), 100.0, brief) for brief in (BRIEF, strict))
    assert free.share == held.share
    assert free.report.keeps_limits is True
    assert held.report.keeps_limits is False


@pytest.mark.parametrize(
    ("names", "wished", "words"),
    [
        (("F-2", "F-3"), 500.0, "which is what the line from F-2 to F-3"),
        (("F-2", "F-77"), 100.0, "one of the trials: F-1"),
        (("F-2", "F-2"), 100.0, "another trial than the first"),
        (("F-2", "F-3"), 0.0, "more than 0"),
        (("F-2", "F-3"), float("nan"), "more than 0"),
    ],
)
def test_what_cannot_be_had_is_told(
    scale: Fitted, made: dict[str, Formula], names: tuple[str, str], wished: float, words: str
) -> None:
    with pytest.raises(BadInput) as refused:
        between(scale, made, names, wished, BRIEF)
    assert any(words in fault.expected for fault in refused.value.faults)


# -- what each taught --------------------------------------------------------------------------------------------------


def test_what_a_trial_taught_is_what_a_fit_without_it_does_not_know(scale: Fitted) -> None:
    for number, seen in enumerate(scale.seen):
        alone = fitted(scale.taken.without(number), scale.reference)
        assert [figure(row) for row in seen.taught] == [figure(row) for row in scale.learned]
        for row, with_it, without in zip(seen.taught, scale.learned, alone.learned, strict=True):
            assert row.fitted == with_it.fitted
            assert row.without.low == pytest.approx(without.fitted.low, rel=0.02)
            assert row.without.high == pytest.approx(without.fitted.high, rel=0.02)


def test_without_the_only_trial_there_is_what_was_assumed(scale: Fitted) -> None:
    only = scale.taken
    for number in range(1, len(only.trials)):
        only = only.without(number)
    known, assumed = posterior(only), posterior(only.without(0))
    nothing = posterior(only.without(0), near=known)
    for spread in ("tau", "sigma"):
        told, due = (each.of(np.log(getattr(each, spread))) for each in (nothing, assumed))
        assert (told.mean, told.deviation) == pytest.approx((due.mean, due.deviation))
