"""What readings make of the assumptions: exact given five numbers, and those five on a grid laid where they are likely.

    y = a + s (n ln(S / S_ref) + ln G(phi) - ln G(phi_ref) + d ln(age / a week) + u) + e

y is the mean of `count` readings (logarithms, or scores) of one trial by one gauge at one temperature and age. a is the
gauge's offset, s its slope against ln F, u what the making did to all jars of one trial, u ~ N(0, tau^2), and
e ~ N(0, sigma^2 / count). Given phi_m, sigma, tau and the slopes this is a linear model with normal priors on n, d and
the offsets, so posterior, prediction and marginal likelihood are closed forms (Lindley and Smith 1972). The trial
effect is integrated out block by block with the formula of Sherman and Morrison. The rest is summed over a grid of
equal steps, weighted by prior times marginal likelihood, and laid again about its own mean until it rests: for
bell-shaped weights a sum over steps of a standard deviation is exact to six digits.

Structuring solids are taken at their typical figures: an error of theirs that all trials share goes into n, the rest
into tau.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from optiform.properties.base import Vector
from optiform.reading.frozen import frozen
from optiform.trials.cells import Readings
from optiform.trials.instruments import BATCHES, BATCHES_SPREAD, REPEAT_SHAPE, REPEATS, SPOON
from optiform.trials.mixture import Mixture

#: Priors as two standard deviations over the stated ranges of properties.firmness: n 1.5 to 3.5, phi_m 0.50 to 0.66.
N_PRIOR = (2.5, 0.5)
PHI_M_PRIOR = (0.58, 0.04)
PHI_M_ENDS = (0.42, 0.74)  # looser than any packing of grains that still moves; spheres in perfect order
MOVES = 0.02  # a product that was read moves, so phi_m lies at least this far above its grains
#: Change of ln F for each e-fold of age. Makers tell of firming over the first days; 10 % a week and as much doubt.
DRIFT_PRIOR = (0.05, 0.10)

PASSES = 12
AT_ONCE = 10_000  # cells times nodes: what stays in a processor's cache
SLIGHT = 1e-7  # weight, relative to the largest, below which a node is dropped

Mask = NDArray[np.bool_]
Places = tuple[tuple[float, float], ...]


@frozen
class Posterior:
    """A mixture over nodes of the grid. Arrays run over (nodes,), (nodes, gauges), (nodes, p) or (nodes, p, p).

    Attributes:
        mean, cov: of n, the drift where it is told, and the offset of each gauge, given the node.
        slopes: s of each gauge.
        noise: standard deviation of one reading by each gauge.
        reference_grains: volume fraction of grains in the reference.
        first: how many linear numbers come before the offsets.
        places: middle and spread of each axis of the grid, where the next search may begin.
    """

    weights: Vector
    phi_m: Vector
    sigma: Vector
    tau: Vector
    slopes: Vector
    noise: Vector
    mean: Vector
    cov: Vector
    reference_grains: float
    first: int
    places: Places

    def exponent(self) -> Mixture:
        """The power n."""
        return Mixture(self.weights, self.mean[:, 0], np.sqrt(self.cov[:, 0, 0]))

    def drift(self) -> Mixture:
        """d, where it is told."""
        return Mixture(self.weights, self.mean[:, 1], np.sqrt(self.cov[:, 1, 1]))

    def offset(self, gauge: int) -> Mixture:
        """Offset of a gauge: its reading (or the logarithm of it) of a product of firmness 100."""
        j = self.first + gauge
        return Mixture(self.weights, self.mean[:, j], np.sqrt(self.cov[:, j, j]))

    def of(self, values: Vector) -> Mixture:
        """A number that the nodes fix (phi_m, or the logarithm of sigma, tau or a slope), as one normal."""
        middle, spread = _moments(self.weights, values)
        return Mixture(np.ones(1), np.array([middle]), np.array([spread]))

    def thickening(self, grains: Vector | float) -> Vector:
        """By node, ln G(phi) - ln G(phi_ref); the nodes come first in the shape."""
        phi = np.asarray(grains, dtype=float)
        phi_m = self.phi_m.reshape(-1, *[1] * phi.ndim)
        return ln_grain_factor(phi, phi_m) - ln_grain_factor(self.reference_grains, phi_m)

    def firmness(self, solids: float, grains: float, batch: bool = False) -> Mixture:
        """Logarithm of firmness over the reference's: of the formula, or of one further batch of it."""
        variance = solids**2 * self.cov[:, 0, 0] + (self.tau**2 if batch else 0.0)
        return Mixture(self.weights, self.mean[:, 0] * solids + self.thickening(grains), np.sqrt(variance))

    def row(self, solids: float, gauge: int) -> Vector:
        """What multiplies the linear numbers in a reading: shape (nodes, p)."""
        row = np.zeros_like(self.mean)
        row[:, 0] = self.slopes[:, gauge] * solids
        row[:, self.first + gauge] = 1.0
        return row

    def reading(self, solids: float, grains: float, gauge: int, count: int = 1) -> Mixture:
        """The mean of `count` readings of one further batch by a gauge at the usual age, on the scale of the fit."""
        row, slope = self.row(solids, gauge), self.slopes[:, gauge]
        middle = np.sum(row * self.mean, axis=1) + slope * self.thickening(grains)
        known = np.einsum("gi,gij,gj->g", row, self.cov, row)
        return Mixture(
            self.weights, middle, np.sqrt(known + (slope * self.tau) ** 2 + self.noise[:, gauge] ** 2 / count)
        )


def ln_grain_factor(phi: Vector | float, phi_m: Vector | float) -> Vector:
    """Logarithm of firmness.grain_factor, over arrays; grains are held just below jamming."""
    held = np.minimum(phi, 0.98 * phi_m)
    return np.asarray(0.5 * (np.log1p(-held) - 2.5 * phi_m * np.log1p(-held / phi_m)))


# -- the grid ----------------------------------------------------------------------------------------------------------


@frozen
class _Axis:
    """One number of the grid: prior middle and spread, ends, and steps of a spread between its nodes."""

    middle: float
    spread: float
    reach: float
    count: int
    low: float = -np.inf
    high: float = np.inf
    shape: float = 0.0  # inverse gamma for the variance, in the logarithm of the deviation; else normal

    def log_prior(self, at: Vector) -> Vector:
        off = at - self.middle
        if self.shape:
            density = -2 * self.shape * off - self.shape * (np.exp(-2 * off) - 1)
        else:
            density = -0.5 * (off / self.spread) ** 2
        return np.where((at >= self.low) & (at <= self.high), density, -np.inf)

    def nodes(self, middle: float, spread: float) -> Vector:
        return np.linspace(middle - self.reach * spread, middle + self.reach * spread, self.count)


def _axes(readings: Readings) -> list[_Axis]:
    """phi_m, ln sigma, ln tau, then ln of the size of each slope that is not known by mechanics."""
    fullest = max((cell.grains for cell in readings.cells), default=0.0)
    least = max(PHI_M_ENDS[0], fullest + MOVES)
    return [
        _Axis(*PHI_M_PRIOR, 2.5, 5, low=least, high=PHI_M_ENDS[1]),
        _Axis(float(np.log(REPEATS)), 0.5 / np.sqrt(REPEAT_SHAPE), 2.5, 5, shape=REPEAT_SHAPE),
        _Axis(float(np.log(BATCHES)), BATCHES_SPREAD, 3.0, 7),
        *(_Axis(*spread, 2.5, 5) for spread in _sloped(readings).values()),
    ]


def _sloped(readings: Readings) -> dict[str, tuple[float, float]]:
    return {g.instrument.name: g.instrument.slope for g in readings.gauges if g.instrument.slope is not None}


def posterior(readings: Readings, near: Posterior | None = None) -> Posterior:
    """The posterior of everything, or of a fit without cells the prior.

    Args:
        readings: what to learn from.
        near: of almost the same readings, where the search begins.
    """
    model, axes = _Model(readings), _axes(readings)
    near = near if readings.cells else None
    places = near.places if near else tuple((max(axis.middle, axis.low), axis.spread) for axis in axes)
    for _ in range(PASSES):
        grid = [axis.nodes(*place) for axis, place in zip(axes, places, strict=True)]
        known, moved = _laid(model, axes, grid)
        if not readings.cells or _at_rest(places, moved):
            break
        places = moved
    return replace(known, places=moved)


def _laid(model: "_Model", axes: Sequence[_Axis], grid: Sequence[Vector]) -> tuple[Posterior, Places]:
    """The posterior over one grid, and where the next one belongs. A spread shrinks to a third of a step at most."""
    nodes = np.stack([each.ravel() for each in np.meshgrid(*grid, indexing="ij")], axis=1)
    prior = np.sum([axis.log_prior(nodes[:, k]) for k, axis in enumerate(axes)], axis=0)
    nodes, prior = nodes[np.isfinite(prior)], prior[np.isfinite(prior)]
    kept, fitted = model.given(nodes, prior)
    moved = [_moments(fitted.weights, nodes[kept, k]) for k in range(len(axes))]
    least = [0.3 * (each[1] - each[0]) for each in grid]
    return fitted, tuple((middle, max(spread, low)) for (middle, spread), low in zip(moved, least, strict=True))


def _moments(weights: Vector, values: Vector) -> tuple[float, float]:
    middle = float(weights @ values)
    return middle, float(np.sqrt(weights @ (values - middle) ** 2))


def _at_rest(before: Sequence[tuple[float, float]], now: Sequence[tuple[float, float]]) -> bool:
    return all(abs(b[0] - a[0]) < 0.15 * a[1] and 0.85 < b[1] / a[1] < 1.15 for a, b in zip(before, now, strict=True))


# -- given the grid ----------------------------------------------------------------------------------------------------


class _Model:
    """The cells as arrays, and the linear model over them at many nodes at once."""

    def __init__(self, readings: Readings) -> None:
        cells, gauges = sorted(readings.cells, key=lambda cell: cell.trial), readings.gauges
        self.readings, self.first = readings, 2 if readings.drift else 1
        self.y, self.solids, self.grains, self.count, within = (
            np.array([getattr(cell, name) for cell in cells], dtype=float)
            for name in ("mean", "solids", "grains", "count", "within")
        )
        self.gauge = np.array([cell.gauge for cell in cells], dtype=int)
        self.starts = np.flatnonzero(np.diff([-1, *(cell.trial for cell in cells)]))
        self.aged = np.log(np.array([cell.age for cell in cells], dtype=float) / readings.age)
        self.logged = np.array([gauge.instrument.logged for gauge in gauges], dtype=bool)
        counted = self.logged[self.gauge]
        self.spare, self.squares = float((self.count - 1)[counted].sum()), float(within[counted].sum())
        offsets = [gauge.instrument.offset for gauge in gauges]
        linear = [N_PRIOR, *([DRIFT_PRIOR] if readings.drift else []), *offsets]
        self.middle, self.precision = (
            np.array([each[0] for each in linear]),
            np.diag([each[1] ** -2.0 for each in linear]),
        )

    def slopes(self, nodes: Vector) -> Vector:
        """Slope of each gauge at each node."""
        free = list(_sloped(self.readings))
        columns = [
            gauge.instrument.sign * np.exp(nodes[:, 3 + free.index(gauge.instrument.name)])
            if gauge.instrument.slope is not None
            else np.ones(len(nodes))
            for gauge in self.readings.gauges
        ]
        return np.stack(columns, axis=1) if columns else np.zeros((len(nodes), 0))

    def given(self, nodes: Vector, log_prior: Vector) -> tuple[Mask, Posterior]:
        """Everything at these nodes, those of slight weight dropped, and which were kept."""
        phi_m, sigma, tau, slopes = nodes[:, 0], np.exp(nodes[:, 1]), np.exp(nodes[:, 2]), self.slopes(nodes)
        noise = np.where(self.logged, sigma[:, None], SPOON)
        parts = [
            self._linear(phi_m[k], tau[k], slopes[k][:, self.gauge], noise[k][:, self.gauge])
            for k in np.array_split(np.arange(len(tau)), 1 + len(tau) * len(self.y) // AT_ONCE)
        ]
        mean, cov, score = (np.concatenate([part[j] for part in parts]) for j in range(3))
        score = score + log_prior - self.spare * np.log(sigma) - 0.5 * self.squares / sigma**2
        weights = np.exp(score - score.max())
        kept = weights > SLIGHT
        weights = weights[kept] / weights[kept].sum()
        fitted = Posterior(
            weights, phi_m[kept], sigma[kept], tau[kept], slopes[kept], noise[kept], mean[kept], cov[kept],
            self.readings.reference_grains, self.first, (),
        )  # fmt: skip
        return kept, fitted

    def _linear(self, phi_m: Vector, tau: Vector, slope: Vector, noise: Vector) -> tuple[Vector, Vector, Vector]:
        """Mean and covariance of the linear numbers and the log marginal likelihood, by nodes."""
        rows = np.zeros((len(tau), len(self.y), len(self.middle)))
        rows[:, :, 0] = slope * self.solids
        if self.readings.drift:
            rows[:, :, 1] = slope * self.aged
        rows[:, np.arange(len(self.y)), self.first + self.gauge] = 1.0
        thick = ln_grain_factor(self.grains[None, :], phi_m[:, None]) - ln_grain_factor(
            self.readings.reference_grains, phi_m[:, None]
        )
        off = self.y - slope * thick - rows @ self.middle
        variance = noise**2 / self.count
        products, log_size = self._whitened(np.concatenate([rows, off[:, :, None]], axis=2), slope, variance, tau)
        cov = np.linalg.inv(self.precision + products[:, :-1, :-1])
        pull = products[:, :-1, -1]
        shift = np.einsum("gij,gj->gi", cov, pull)
        fit = products[:, -1, -1] - np.sum(pull * shift, axis=1)
        size = log_size - np.linalg.slogdet(cov)[1]
        return np.asarray(self.middle + shift), np.asarray(cov), np.asarray(-0.5 * (fit + size))

    def _whitened(self, columns: Vector, slope: Vector, variance: Vector, tau: Vector) -> tuple[Vector, Vector]:
        """X' C^-1 X and ln |C| for C = diag(variance) + tau^2 s s' within each trial."""
        per = columns / variance[:, :, None]
        shared, pull = self._by_trial(slope[:, :, None] * per), self._by_trial(slope**2 / variance)
        weight = tau[:, None] ** 2 / (1 + tau[:, None] ** 2 * pull)
        products = np.swapaxes(columns, 1, 2) @ per - np.swapaxes(shared, 1, 2) @ (weight[:, :, None] * shared)
        return products, np.log(variance).sum(axis=1) + np.log1p(tau[:, None] ** 2 * pull).sum(axis=1)

    def _by_trial(self, values: Vector) -> Vector:
        """Sums over the cells of each trial, which stand side by side on the second axis."""
        return np.add.reduceat(values, self.starts, axis=1) if len(self.starts) else values
