"""What a trial takes off the doubt about a question, before it is made.

The question is a number q, ln of a firmness, and a range it must lie in; the answer now is the likelier one. A trial
gives readings y. Before it is made, q and y are known jointly, with their means and covariances taken over everything
the fit is unsure of, phi_m and slopes included. By best linear prediction (Bayes linear; exact where the joint
distribution is normal) the trial takes

    gain = c' V^-1 c,   c = cov(q, y),   V = cov(y)

off the variance of q, whatever it will read. The middle of q will then lie N(0, gain) from where it lies now, which
gives how often the answer would change and how much less often it would be wrong (preposterior analysis; Raiffa and
Schlaifer 1961).
"""

from collections.abc import Sequence
from dataclasses import replace
from math import sqrt
from statistics import NormalDist

import numpy as np

from optiform.ingredients.formula import Formula
from optiform.properties.base import Vector
from optiform.reading.frozen import frozen
from optiform.trials.fit import JARS
from optiform.trials.mixture import normal_below
from optiform.trials.posterior import Posterior

OUTCOMES = 2001  # of a trial, equally likely, over which an expectation is taken
SLIGHT = 1e-3  # weight of a node, relative to the largest, below which it does not rank candidates


@frozen
class Candidate:
    """A trial that could be made: formula, changed lines in g, and where it stands at each temperature it is read.

    `again`: it is the reference once more.
    """

    formula: Formula
    changes: tuple[tuple[str, float], ...]
    solids: tuple[float, ...]
    grains: tuple[float, ...]
    again: bool = False


@frozen
class Asked:
    """The question as a number: q = n solids + the thickening of `plus` less that of `minus`."""

    solids: float
    plus: float
    minus: float | None


def gains_of(
    known: Posterior, asked: Asked, candidates: Sequence[Candidate], gauge: int
) -> tuple[float, float, Vector]:
    """Mean and variance of q now, and what each candidate would take off that variance. Shape (candidates,)."""
    known = _heavy(known)
    weights, power = known.weights, known.mean[:, 0]
    thick = known.thickening(asked.plus) - (0.0 if asked.minus is None else known.thickening(asked.minus))
    q = power * asked.solids + thick
    middle = float(weights @ q)
    variance = float(weights @ (known.cov[:, 0, 0] * asked.solids**2 + (q - middle) ** 2))
    if not candidates:
        return middle, variance, np.zeros(0)
    solids, grains = (np.array([getattr(each, name) for each in candidates]) for name in ("solids", "grains"))
    slope, j = known.slopes[:, gauge, None, None], known.first + gauge
    y = slope * (power[:, None, None] * solids + known.thickening(grains)) + known.mean[:, j, None, None]
    n_n, n_a, a_a = (each[:, None, None] for each in (known.cov[:, 0, 0], known.cov[:, 0, j], known.cov[:, j, j]))
    c = asked.solids * (slope * solids * n_n + n_a) + (q - middle)[:, None, None] * y
    within = (
        slope[..., None] ** 2 * solids[..., :, None] * solids[..., None, :] * n_n[..., None]
        + slope[..., None] * (solids[..., :, None] + solids[..., None, :]) * n_a[..., None]
        + a_a[..., None]
        + (slope * known.tau[:, None, None])[..., None] ** 2
    )
    off = y - np.einsum("g,gck->ck", weights, y)
    total = np.einsum("g,gckl->ckl", weights, within + off[..., :, None] * off[..., None, :])
    total += np.eye(solids.shape[1]) * float(weights @ known.noise[:, gauge] ** 2) / JARS
    shared = np.einsum("g,gck->ck", weights, c)
    return middle, variance, np.einsum("ck,ck->c", shared, np.linalg.solve(total, shared[..., None])[..., 0])


def _heavy(known: Posterior) -> Posterior:
    """The posterior at its likelier nodes: what is dropped moves no ranking."""
    kept = known.weights > SLIGHT * known.weights.max()
    arrays = ("weights", "phi_m", "sigma", "tau", "slopes", "noise", "mean", "cov")
    parts = {name: getattr(known, name)[kept] for name in arrays}
    return replace(known, **{**parts, "weights": parts["weights"] / parts["weights"].sum()})


def inside(middles: Vector, deviation: float, low: float, high: float) -> Vector:
    """The probability of lying between two ends, for each of several middles."""
    if deviation <= 1e-9:
        return ((middles >= low) & (middles <= high)).astype(float)
    return normal_below((high - middles) / deviation) - normal_below((low - middles) / deviation)


def after_trial(middle: float, variance: float, gain: float, low: float, high: float) -> tuple[float, float]:
    """How often a trial of this gain would change the likelier answer, and how often it would be wrong after it.

    The expectation runs over the middle that q will have: N(middle, gain), at equally likely outcomes.
    """
    quantiles = np.array([NormalDist().inv_cdf((k + 0.5) / OUTCOMES) for k in range(OUTCOMES)])
    yes = inside(middle + sqrt(max(gain, 0.0)) * quantiles, sqrt(max(variance - gain, 0.0)), low, high)
    now = float(inside(np.array([middle]), sqrt(variance), low, high)[0]) > 0.5
    return float(np.mean((yes > 0.5) != now)), float(np.mean(np.minimum(yes, 1 - yes)))
