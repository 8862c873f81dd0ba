"""The posterior of the trials against scipy: its closed forms against the full multivariate normal, its grid against
numerical integration over everything at once, and its normal distribution function against scipy's own."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import integrate, stats  # type: ignore[import-untyped, unused-ignore]

from optiform.properties.base import Vector
from optiform.trials.instruments import BATCHES, BATCHES_SPREAD, INSTRUMENTS, REPEAT_SHAPE, REPEATS
from optiform.trials.mixture import Mixture, normal_below
from optiform.trials.posterior import N_PRIOR, PHI_M_PRIOR, Posterior, ln_grain_factor, posterior
from tests.trials.test_fit import Truth

PUSH = INSTRUMENTS["push on a scale"]


def by_scipy(at: dict[str, float]) -> tuple[float, float, float]:
    """Log density of the readings of `READINGS` given phi_m, ln sigma and ln tau, and mean and variance of n then."""
    sigma, tau = np.exp(at["ln sigma"]), np.exp(at["ln tau"])
    solids = np.array([cell.solids for cell in READINGS.cells])
    thick = np.array(
        [ln_grain_factor(c.grains, at["phi_m"]) - ln_grain_factor(0.25, at["phi_m"]) for c in READINGS.cells]
    )
    rows = np.column_stack([solids, np.ones(len(solids))])
    prior = np.diag([N_PRIOR[1] ** 2, PUSH.offset[1] ** 2])
    middle = np.array([N_PRIOR[0], PUSH.offset[0]])
    noise = np.diag([sigma**2 / cell.count for cell in READINGS.cells]) + tau**2 * TOGETHER
    y = np.array([cell.mean for cell in READINGS.cells])
    total = rows @ prior @ rows.T + noise
    density = stats.multivariate_normal(rows @ middle + thick, total).logpdf(y)
    spare, squares = sum(c.count - 1 for c in READINGS.cells), sum(c.within for c in READINGS.cells)
    pull = prior @ rows.T @ np.linalg.inv(total)
    mean = middle + pull @ (y - rows @ middle - thick)
    variance = prior - pull @ rows @ prior
    return float(density - spare * at["ln sigma"] - squares / (2 * sigma**2)), float(mean[0]), float(variance[0, 0])


READINGS = Truth(np.random.default_rng(8), n=2.8, phi_m=0.6, sigma=0.12, tau=0.2).trials(4)
TOGETHER = np.array([[float(a.trial == b.trial) for b in READINGS.cells] for a in READINGS.cells])
FOUND: Posterior = posterior(READINGS)


def test_given_the_grid_the_closed_form_is_the_multivariate_normal() -> None:
    for k in (0, len(FOUND.weights) // 2, len(FOUND.weights) - 1):
        at = {"phi_m": FOUND.phi_m[k], "ln sigma": np.log(FOUND.sigma[k]), "ln tau": np.log(FOUND.tau[k])}
        _, mean, variance = by_scipy(at)
        assert FOUND.mean[k, 0] == pytest.approx(mean, rel=1e-7)
        assert FOUND.cov[k, 0, 0] == pytest.approx(variance, rel=1e-6)


def densities(points: Vector) -> Vector:
    """Posterior density in logarithms, not normed: prior densities of scipy times that of the readings."""
    phi_m, ln_sigma, ln_tau = points.T
    variance = np.exp(2 * ln_sigma)
    prior = (
        stats.norm(*PHI_M_PRIOR).logpdf(phi_m)
        + stats.invgamma(REPEAT_SHAPE, scale=REPEAT_SHAPE * REPEATS**2).logpdf(variance) + np.log(2 * variance)
        + stats.norm(np.log(BATCHES), BATCHES_SPREAD).logpdf(ln_tau)
    )  # fmt: skip
    return np.asarray(prior + givens(points)[:, 0])


def givens(points: Vector) -> Vector:
    """What `by_scipy` gives at every point."""
    return np.array([by_scipy(dict(zip(("phi_m", "ln sigma", "ln tau"), p, strict=True))) for p in points])


def test_the_weights_of_the_grid_are_prior_times_likelihood() -> None:
    points = np.column_stack([FOUND.phi_m, np.log(FOUND.sigma), np.log(FOUND.tau)])[::9]
    mine = np.log(FOUND.weights)[::9]
    theirs = densities(points)
    assert mine - mine[0] == pytest.approx(theirs - theirs[0], abs=1e-7)


def test_the_grid_is_fine_enough() -> None:
    """Means and spreads of n and tau against Simpson's rule of scipy over a box of 7 by 13 by 15 points."""
    axes = [
        np.linspace(0.52, 0.68, 7), np.log(REPEATS) + np.linspace(-0.75, 0.75, 13),
        np.log(BATCHES) + np.linspace(-1.9, 1.9, 15),
    ]  # fmt: skip
    mesh = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    given, logs = givens(mesh)[:, 1:], densities(mesh)
    weight = np.exp(logs - logs.max())

    def over(values: Vector) -> float:
        cube = (weight * values).reshape([len(axis) for axis in axes])
        for axis in reversed(axes):
            cube = integrate.simpson(cube, x=axis, axis=-1)
        return float(cube)

    whole = over(np.ones(len(mesh)))
    mean = over(given[:, 0]) / whole
    spread = np.sqrt(over(given[:, 1] + (given[:, 0] - mean) ** 2) / whole)
    n = FOUND.exponent()
    assert n.mean == pytest.approx(mean, abs=0.02 * spread)
    assert n.deviation == pytest.approx(spread, rel=0.02)
    tau = FOUND.of(np.log(FOUND.tau))
    assert tau.mean == pytest.approx(over(mesh[:, 2]) / whole, abs=0.03 * tau.deviation)


def test_mixtures_are_those_of_scipy() -> None:
    z = np.linspace(-6, 6, 49)
    assert normal_below(z) == pytest.approx(stats.norm.cdf(z), abs=1e-15)
    mixed = Mixture(np.array([0.3, 0.7]), np.array([-1.0, 2.0]), np.array([0.5, 1.5]))
    for p in (0.025, 0.1, 0.5, 0.9):
        at = mixed.quantile(p)
        assert 0.3 * stats.norm(-1, 0.5).cdf(at) + 0.7 * stats.norm(2, 1.5).cdf(at) == pytest.approx(p, abs=1e-12)


def test_order_of_the_cells_does_not_matter() -> None:
    turned = posterior(replace(READINGS, cells=READINGS.cells[::-1]))
    assert turned.exponent().mean == pytest.approx(FOUND.exponent().mean, rel=1e-9)
