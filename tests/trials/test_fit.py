"""What trials teach: known numbers found again, bands that hold as often as they say, a planted outlier told."""

import datetime
from collections.abc import Sequence
from dataclasses import replace
from math import exp, log, nan

import numpy as np
import pytest

from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.reading.faults import BadInput
from optiform.telling.facts import in_words
from optiform.telling.tried import uncounted
from optiform.trials.cells import Cell, Gauge, Readings
from optiform.trials.fit import Fitted, fit, fitted
from optiform.trials.instruments import (
    BATCHES,
    BATCHES_SPREAD,
    INSTRUMENTS,
    REPEAT_SHAPE,
    REPEATS,
    SPOON,
)
from optiform.trials.posterior import N_PRIOR, PHI_M_ENDS, PHI_M_PRIOR, ln_grain_factor, posterior
from optiform.trials.prediction import predict
from optiform.trials.taught import Figure
from optiform.workshop.log import Log
from optiform.workshop.records import Reading, Trial, TrialWeight, Version
from tests.builders import ingredient

PUSH, PROBE, SPOONED = (INSTRUMENTS[name] for name in ("push on a scale", "flat probe", "spoon score"))
BASE = 0.25  # grains of the reference, by volume


class Truth:
    """A workshop whose numbers are known; by default drawn from the prior."""

    def __init__(self, rng: np.random.Generator, **given: float) -> None:
        self.rng = rng
        self.n = given.get("n", rng.normal(*N_PRIOR))
        self.phi_m = given.get("phi_m") or self._packing()
        self.sigma = given.get("sigma") or REPEATS * np.sqrt(REPEAT_SHAPE / rng.gamma(REPEAT_SHAPE))
        self.tau = given.get("tau") or BATCHES * exp(BATCHES_SPREAD * rng.normal())
        self.a = {each.name: rng.normal(*each.offset) for each in INSTRUMENTS.values()}
        self.s = {each.name: self._slope(each.name, given) for each in INSTRUMENTS.values()}

    def _packing(self) -> float:
        while True:
            phi_m = self.rng.normal(*PHI_M_PRIOR)
            if PHI_M_ENDS[0] <= phi_m <= PHI_M_ENDS[1]:
                return float(phi_m)

    def _slope(self, name: str, given: dict[str, float]) -> float:
        each = INSTRUMENTS[name]
        drawn = 1.0 if each.slope is None else each.sign * exp(self.rng.normal(*each.slope))
        return given.get(name.replace(" ", "_"), drawn)

    def firmness(self, solids: float, grains: float) -> float:
        thick = ln_grain_factor(grains, self.phi_m) - ln_grain_factor(BASE, self.phi_m)
        return float(self.n * solids + thick)

    def read(self, name: str, ln_firmness: float) -> float:
        noise = self.sigma if INSTRUMENTS[name].logged else SPOON
        return float(self.a[name] + self.s[name] * ln_firmness + noise * self.rng.normal())

    def trials(self, count: int, gauges: Sequence[str] = ("push on a scale",)) -> Readings:
        cells = []
        for trial in range(count):
            made, solids, grains = self.tau * self.rng.normal(), 0.3 * self.rng.normal(), self.rng.uniform(0.05, 0.4)
            for colder in (0.0, 0.5):
                for k, name in enumerate(gauges):
                    ln_firmness = self.firmness(solids + colder, grains) + made
                    y = np.array([self.read(name, ln_firmness) for _ in range(3)])
                    within = float(((y - y.mean()) ** 2).sum())
                    cells.append(
                        Cell(trial, k, 20 - 20 * colder, 168.0, 3, float(y.mean()), within, solids + colder, grains)
                    )
        names = tuple(f"T{trial}" for trial in range(count))
        return Readings(names, tuple(Gauge(INSTRUMENTS[n], "", "") for n in gauges), tuple(cells), BASE, False, 168.0)


# -- known numbers -----------------------------------------------------------------------------------------------------


def test_the_truth_is_found_as_readings_grow() -> None:
    truth = Truth(np.random.default_rng(1), n=3.1, phi_m=0.58, sigma=0.1, tau=0.15, flat_probe=-0.9, spoon_score=0.5)
    spreads = []
    for count in (4, 12, 60):
        found = posterior(truth.trials(count, ("push on a scale", "flat probe")))
        n = found.exponent()
        spreads.append(n.deviation)
        assert n.mean == pytest.approx(3.1, abs=3.5 * n.deviation)
    assert spreads == sorted(spreads, reverse=True)
    assert n.mean == pytest.approx(3.1, abs=0.1)
    assert exp(found.of(np.log(found.sigma)).mean) == pytest.approx(0.10, rel=0.15)
    assert exp(found.of(np.log(found.tau)).mean) == pytest.approx(0.15, rel=0.35)
    assert found.of(found.slopes[:, 1]).mean == pytest.approx(-0.9, abs=0.05)


def test_packing_is_learned_where_batches_are_alike_and_grains_differ() -> None:
    truth = Truth(np.random.default_rng(2), n=2.5, phi_m=0.55, sigma=0.03, tau=0.02)
    found = posterior(truth.trials(60))
    packing = found.of(found.phi_m)
    assert packing.deviation < 0.5 * PHI_M_PRIOR[1]
    assert packing.mean == pytest.approx(0.55, abs=3.5 * packing.deviation)


def test_a_spoon_has_its_own_slope() -> None:
    truth = Truth(np.random.default_rng(3), n=2.5, sigma=0.1, tau=0.1, spoon_score=1.0)
    found = posterior(truth.trials(40, ("push on a scale", "spoon score")))
    assert found.of(found.slopes[:, 1]).mean == pytest.approx(1.0, abs=0.12)


def test_without_readings_there_is_the_prior() -> None:
    found = posterior(Readings((), (), (), BASE, False, 168.0))
    n, packing = found.exponent(), found.of(found.phi_m)
    assert n.central(0.9545) == pytest.approx((1.5, 3.5), abs=0.01)
    assert (packing.mean, packing.deviation) == pytest.approx(PHI_M_PRIOR, abs=5e-4)


# -- calibration -------------------------------------------------------------------------------------------------------


@pytest.mark.long
def test_bands_hold_as_often_as_they_say() -> None:
    """Truth drawn from the prior, readings from the truth: 80 % bands hold 80 %, 95 % bands 95 %, within 3 points."""
    rng, rounds = np.random.default_rng(20), 500
    ranks: dict[str, list[float]] = {"n": [], "firmness": [], "reading": []}
    for round_ in range(rounds):
        truth = Truth(rng)
        gauges = ("push on a scale", "flat probe") if round_ % 10 == 0 else ("push on a scale",)
        found = posterior(truth.trials(int(rng.integers(1, 9)), gauges))
        solids, grains = 0.5 * rng.normal(), rng.uniform(0.05, 0.4)
        ln_firmness = truth.firmness(solids, grains)
        y = np.mean([truth.read(gauges[-1], ln_firmness + 0.0) for _ in range(3)])
        y += truth.s[gauges[-1]] * truth.tau * rng.normal()
        ranks["n"].append(found.exponent().below(truth.n))
        ranks["firmness"].append(found.firmness(solids, grains).below(ln_firmness))
        ranks["reading"].append(found.reading(solids, grains, len(gauges) - 1, 3).below(float(y)))
    for name, each in ranks.items():
        for level in (0.80, 0.95):
            off = np.abs(np.array(each) - 0.5)
            assert np.mean(off < level / 2) == pytest.approx(level, abs=0.03), (name, level)


# -- trials against each other -----------------------------------------------------------------------------------------


def moved(readings: Readings, trial: int, by: float) -> Readings:
    cells = tuple(replace(c, mean=c.mean + by) if c.trial == trial else c for c in readings.cells)
    return replace(readings, cells=cells)


def test_a_planted_trial_disagrees_and_no_other_does() -> None:
    readings = Truth(np.random.default_rng(4), n=2.6, phi_m=0.6, sigma=0.1, tau=0.15).trials(9)
    reference = scrub(0.3)
    assert fitted(readings, reference).disagreeing == ()
    found = fitted(moved(readings, 5, 1.4), reference)
    assert found.disagreeing == ("T5",)
    assert found.seen[5].expected_alone == pytest.approx(100 * (exp(1.4) - 1), rel=0.5)


# -- from a log --------------------------------------------------------------------------------------------------------

FAT = ingredient("fat", 9, "butter", {"density": 1.0}, curve={10: 80, 20: 40, 30: 20, 35: 0})
OIL = ingredient("oil", 5, "oil", {"density": 1.0}, curve={10: 0, 35: 0})
SAND = ingredient("sand", 1, "grain", {"density": 2.0})
ITEMS: dict[str, Ingredient] = {item.name: item for item in (FAT, OIL, SAND)}
CATALOGUE = Catalogue(ITEMS, {})
SHARES = (0.2, 0.3, 0.25, 0.4)
WHEN = datetime.datetime(2026, 9, 1)


def scrub(fat: float, sand: float = 0.3) -> Formula:
    parts = {"fat": fat, "oil": 1 - fat - sand, "sand": sand}
    return Formula("s", tuple(Line(ITEMS[name], share, ITEMS[name].phase) for name, share in parts.items()))


def reading(trial: str, number: int, value: float, **other: object) -> Reading:
    usual: dict[str, object] = {"age": 168.0, "temperature": 20.0, "instrument": "push on a scale", "unit": "g"}
    return Reading(trial=trial, number=number, value=value, **{**usual, **other})  # type: ignore[arg-type]


def log_with(*more: Reading, power: float = 3.0) -> Log:
    trials, weights, readings = [], [], []
    for k, share in enumerate(SHARES):
        name = f"T{k}"
        trials.append(Trial(name=name, product="p", version="v", made=WHEN.date(), aim="firmness", mass=200.0))
        weights += [
            TrialWeight(trial=name, ingredient=x.ingredient.name, phase=x.phase, actual=200 * x.fraction)
            for x in scrub(share).lines
        ]
        for j, at in enumerate((20.0, 10.0)):
            solids = share / SHARES[0] * (2 if at == 10 else 1)
            for jar in range(3):
                value = 100 * solids**power * (1 + 0.02 * (jar - 1))
                readings.append(reading(name, 3 * j + jar + 1, value, temperature=at))
    version = Version(product="p", name="v", parent="", reason="r", created=WHEN)
    return Log("log", (version,), (), tuple(trials), tuple(weights), (*readings, *more))


def fit_log(*more: Reading) -> Fitted:
    return fit(log_with(*more), CATALOGUE)


def test_a_log_without_scatter_gives_its_power_and_its_readings_back() -> None:
    found = fit_log()
    assert found.basis.trials == 4
    assert found.basis.readings == 24
    assert found.basis.temperatures == (10.0, 20.0)
    n = next(each for each in found.learned if each.figure is Figure.POWER).fitted
    assert n.low < 3.0 < n.high
    assert n.typical == pytest.approx(3.0, abs=0.1)
    told = predict(found, scrub(0.3), 10.0)
    assert told.gauges[0].band.typical == pytest.approx(100 * 3**3.0, rel=0.1)
    assert told.batch.low <= told.after.low < told.after.typical < told.after.high <= told.batch.high
    assert told.after.high / told.after.low < told.before.high / told.before.low


def test_the_reference_is_100_at_20_without_a_band() -> None:
    band = predict(fit_log(), scrub(SHARES[0]), 20.0).after
    assert (band.low, band.typical, band.high) == pytest.approx((100, 100, 100))


def test_the_texture_scale_is_the_fitted_one() -> None:
    known = fit_log().exponents
    assert known.typical.n == pytest.approx(3.0, abs=0.1)
    assert {scale.n for scale in known.corners} == {known.corners[0].n, known.corners[-1].n}
    assert known.corners[0].n < known.typical.n < known.corners[-1].n
    assert in_words(known.rests_on).startswith("its exponents are fitted to 4 trials")


@pytest.mark.parametrize(
    ("other", "why"),
    [
        ({"age": 3.0}, "3 h old"),
        ({"condition": "freeze-thaw"}, "not plain"),
        ({"excluded": "cracked jar"}, "cracked jar"),
        ({"instrument": "coin press"}, "coin press"),
        ({"temperature": 35.0}, "no structuring solids at 35"),
    ],
)
def test_what_does_not_count_is_told_and_changes_nothing(other: dict[str, object], why: str) -> None:
    found = fit_log(reading("T0", 99, 5000.0, **other))
    assert [(each.trial, each.number) for each in found.left_out] == [("T0", 99)]
    assert why in uncounted(found.left_out[0].why)
    assert found.learned == fit_log().learned


@pytest.mark.parametrize(
    ("other", "why"),
    [
        ({"value": 0.0}, "value “0” is not a reading of 0.1 to 100000 g"),
        ({"value": -5.0}, "value “-5” is not a reading of 0.1 to 100000 g"),
        (
            {"value": 190175.0},
            "value “190175” is not a reading of 0.1 to 100000 g; the right one can be saved beside it",
        ),
        ({"value": nan}, "value "),
        ({"unit": "mm"}, "unit “mm”"),
        ({"value": 6.0, "instrument": "spoon score", "unit": ""}, "value “6” is not a reading of 1 to 5"),
        ({"instrument": "flat prob"}, "instrument “flat prob”"),
        ({"instrument": " "}, "instrument "),
        ({"age": nan}, "age "),
        ({"age": 1e6}, "age "),
        ({"temperature": -45.0}, "temperature "),
        ({"value": 190175.0, "excluded": "cracked jar"}, "excluded: cracked jar"),
    ],
)
def test_a_kept_reading_that_no_jar_gives_ends_no_fit_and_is_told(other: dict[str, object], why: str) -> None:
    """It was saved before that was refused, and none is ever taken back: all others still teach what they teach."""
    found = fit_log(reading("T0", 99, **{"value": 200.0, **other}))  # type: ignore[arg-type]
    assert [(each.trial, each.number) for each in found.left_out] == [("T0", 99)]
    assert why in uncounted(found.left_out[0].why)
    assert found.learned == fit_log().learned


def test_readings_of_no_trial_are_told_with_their_place() -> None:
    with pytest.raises(BadInput) as caught:
        fit_log(reading("T9", 9, 200.0), reading("T8", 1, 1.0))
    assert [fault.place for fault in caught.value.faults] == ["trial T9, reading 9", "trial T8, reading 1"]


def test_a_trial_of_nothing_and_of_unknown_things_is_told() -> None:
    log = log_with()
    bare = Trial(name="T9", product="p", version="v", made=WHEN.date(), aim="a")
    odd = TrialWeight(trial="T0", ingredient="moon dust", phase="grains", actual=1.0)
    with pytest.raises(BadInput) as caught:
        fit(replace(log, trials=(*log.trials, bare), weights=(*log.weights, odd)), CATALOGUE)
    assert {fault.place for fault in caught.value.faults} == {"trial T9", "trial T0, ingredient"}


def test_no_reading_that_counts_is_no_fit() -> None:
    log = log_with()
    with pytest.raises(BadInput, match="24 h old"):
        fit(replace(log, readings=tuple(replace(each, age=1.0) for each in log.readings)), CATALOGUE)


def test_drift_is_told_only_where_ages_differ_within_a_trial() -> None:
    young = [reading(f"T{k}", 50 + k, 50 * (share / 0.2) ** 3, age=24.0) for k, share in enumerate(SHARES)]
    found = fit_log(*young)
    drift = next(each for each in found.learned if each.figure is Figure.AGING).fitted
    assert 0 < drift.low < 100 * (2 ** (log(2) / log(7)) - 1) < 1.3 * drift.high
    assert not [each for each in fit_log().learned if each.figure is Figure.AGING]
