"""The centre of what a label allows: the mean of what is likely there, by what is usual and by the place in the list.

What is known of each name (`prior.py`) is a density f_j of its share x_j, %. Of all distributions of
compositions in the label's order the one is taken that tells least beyond that: of least

    relative entropy to prod_j f_j    +    sum_p D(X_p, M_p) / (M_p S_p^2),    D(X, M) = X ln(X / M) - X + M,

X_p the mean of the total of a part of the kind, M_p and S_p its usual share and spread, and the means summing to 100.
D / (M S^2) is ((X - M) / (M S))^2 / 2 near M and convex everywhere. Its solution is prod_j f_j(x_j) exp(-t_j x_j), with
t_j a price of the sum and one of each part that the name serves, and for each part ln(X_p / M_p) / (M_p S_p^2) equal to
its price: as many equations as prices, solved by Newton's method. In the label's order,

    x_(j+1) <= max(1, x_j),

which holds of every place of the 1 % line at once, each name hangs on the one before it only. So means come from one
pass forward and one back along the list (Baum's algorithm), on shares in steps of the logarithm. Nothing is drawn at
random. The mean, not the most likely composition: that has many names equal, as no maker weighs them out.
"""

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from optiform.label.prior import Prior
from optiform.program.linear import Program, Sense, Vector
from optiform.reading.frozen import frozen

Table = npt.NDArray[np.float64]

SHARES = np.geomspace(1e-3, 100.0, 240)  #: %, of which a name has one
HALF = (SHARES[1] / SHARES[0]) ** 0.5 * (1 + 1e-9)  #: from a share to the end of its step
ABOVE = int(np.searchsorted(SHARES, 1.0, side="right"))  #: the first share above the 1 % line
STEPS = 60  # of Newton's method, at most; some five are taken
CLOSE = 1e-7  # relative, of sums
NEAR_ENOUGH = 1e-3  # likewise, to speak of a solution at all
NUDGE = 1e-5  # of a price, for a slope
SHORTER = 0.5 ** np.arange(8)  # steps that are tried where the whole one overshoots
NOTHING = 1e-9  # %, in place of nothing under a logarithm
FAR = 200.0  # logarithm of a share that is none, where a price overshoots
TINY = 1e-300  # in place of a likelihood of nothing, where a price overshoots


@frozen
class Belief:
    """What is likely of a declaration.

    `mean`: of each name, %; `above`: how likely it has more than 1 %; `misfit`: how ill all that is known fits, to
    compare kinds of one list by; infinite where no such distribution was found.
    """

    mean: Vector
    above: Vector
    misfit: float


def belief(known: Prior, ordered: int, low: Vector, high: Vector, beat: float = np.inf) -> Belief:
    """What is likely of a declaration's names.

    Args:
        known: their prior.
        ordered: how many of them stand in order; each of the others may have any share.
        low: least of each name, %; shape (names,).
        high: most of each, likewise, in the same order.
        beat: a misfit. Where the own one is proven to be greater it counts as infinite and is not worked out: it is
            nowhere less than the dual, -log Z - 100 t_0 - sum_p M_p (exp(...) - 1) / (M_p S_p^2), at any prices.

    Example:
        >>> import math
        >>> known = Prior(np.log([60.0, 30.0, 0.9]), np.array([0.3, 0.3, 0.3]))
        >>> likely = belief(known, 3, np.zeros(3), np.full(3, 100.0))
        >>> likely.mean.round(1).tolist(), math.isclose(likely.mean.sum(), 100.0, rel_tol=1e-6)
        ([67.3, 31.8, 0.9], True)
    """
    logs = _densities(known, low, high)
    served = np.zeros((1 + len(known.parts), len(low)))
    served[0] = 1.0
    for row, part in enumerate(known.parts, 1):
        served[row, list(part.places)] = 1.0
    usual, spread = np.array([part.usual for part in known.parts]).reshape(-1, 2).T
    middle, weight = np.exp(usual), np.exp(-usual) / np.square(spread)
    proven = [-np.inf]  # of the misfit, by the prices so far: it is no less

    def off(prices: Table) -> Table:
        """By how much, relative, the sum of each row of prices and its parts miss what they should be."""
        mean, _, logs_of_sums = _along(logs, prices @ served, ordered)
        totals = np.maximum(mean @ served.T, NOTHING)
        wanted = np.log(middle) + prices[:, 1:] / weight
        dual = -logs_of_sums - 100.0 * prices[:, 0] - (np.exp(np.minimum(wanted, FAR)) - middle) @ weight
        proven[0] = max(proven[0], float(dual.max()) + known.surprise)
        missed: Table = np.log(totals) - np.hstack([np.full((len(prices), 1), np.log(100.0)), wanted])
        return missed

    prices = _root(off, np.zeros(len(served)), lambda: proven[0] > beat + CLOSE * (1 + abs(beat)))
    mean, above, logs_of_sums = _along(logs, prices[None] @ served, ordered)
    totals = served @ mean[0]
    parts = weight @ (totals[1:] * np.log(np.maximum(totals[1:], NOTHING) / middle) - totals[1:] + middle)
    misfit = float(parts - logs_of_sums[0] - prices @ totals) + known.surprise
    if not np.abs(off(prices[None])).max() < NEAR_ENOUGH:
        misfit = np.inf
    return Belief(_whole(mean[0], low, high), above[0], misfit)


def _whole(mean: Vector, low: Vector, high: Vector) -> Vector:
    """Means within their ends that sum to 100 to the last digit: where the ends leave less than a step, they do not."""
    inside = np.clip(mean, low, high)
    lacking = 100.0 - inside.sum()
    room = high - inside if lacking > 0 else inside - low
    whole: Vector = inside + lacking * room / max(float(room.sum()), NOTHING)
    return whole


def _root(off: Callable[[Table], Table], prices: Vector, hopeless: Callable[[], bool]) -> Vector:
    """Where what is off by prices is nothing: Newton's method, its steps shortened until they bring something."""
    for _ in range(STEPS):
        here = off(np.vstack([prices, prices + NUDGE * np.eye(len(prices))]))
        if np.abs(here[0]).max() < CLOSE or hopeless():
            break
        step = np.linalg.lstsq((here[1:] - here[0]).T / NUDGE, -here[0], rcond=None)[0]
        tried = prices + SHORTER[:, None] * step
        prices = tried[np.nan_to_num(np.abs(off(tried)).max(axis=1), nan=np.inf).argmin()]
    return prices


def _densities(known: Prior, low: Vector, high: Vector) -> Table:
    """Logarithm of the density of each name at each share; none beyond its ends. Shape (names, shares).

    Below its middle as a log-normal, above it as D: faster than any price, so that no name runs off to the far end.
    """
    off = np.log(SHARES) - known.middle[:, None]
    above = np.maximum(off, 0.0)
    misfit = np.where(off < 0, off**2 / 2, (above - 1) * np.exp(above) + 1)
    logs = -misfit / known.spread[:, None] ** 2 - np.log(known.spread)[:, None]
    last = np.maximum(np.searchsorted(SHARES, high, side="right") - 1, 0)[:, None]
    first = np.minimum(np.searchsorted(SHARES * HALF, low)[:, None], last)
    place = np.arange(len(SHARES))
    return np.where((first <= place) & (place <= last), logs, -np.inf)


def _along(logs: Table, tilts: Table, ordered: int) -> tuple[Table, Table, Vector]:
    """Means, chances above 1 % and the logarithm of all likelihood, for each row of tilts; shape (tilts, names)."""
    tilted = logs - tilts[:, :, None] * SHARES
    top = tilted.max(axis=2, keepdims=True)
    own = np.exp(tilted - top)
    chance, scale = own.copy(), top[:, :, 0].sum(axis=1)
    before = np.ones_like(own[:, 0])
    for j in range(ordered):  # forward: what the names before leave of each share
        chance[:, j] *= before
        before = chance[:, j, ::-1].cumsum(axis=1)[:, ::-1].copy()
        before[:, :ABOVE] = before[:, :1]
        whole = np.maximum(before[:, :1], TINY)
        scale += np.where(before[:, 0] > TINY, np.log(whole[:, 0]), np.inf)  # there it is not known
        before /= whole
    after = np.ones_like(before)
    for j in reversed(range(ordered)):  # and back: what those behind do
        chance[:, j] *= after
        after = (own[:, j] * after).cumsum(axis=1)
        after[:, :ABOVE] = after[:, ABOVE - 1 : ABOVE]
        after /= np.maximum(after[:, -1:], TINY)
    scale += np.log(chance[:, ordered:].sum(axis=2)).sum(axis=1)
    chance /= np.maximum(chance.sum(axis=2, keepdims=True), TINY)
    return chance @ SHARES, chance[:, :, ABOVE:].sum(axis=2), scale


def toward(inside: Vector, wanted: Vector, program: Program) -> Vector:
    """The farthest point from one inside toward another that keeps every row; fractions, which go on to sum to one."""
    step, way = 1.0, wanted - inside
    for row in program.rows:
        if row.sense is not Sense.EQUAL:
            sign = 1.0 if row.sense is Sense.AT_LEAST else -1.0
            room, change = sign * (row.coefficients @ inside - row.rhs), sign * (row.coefficients @ way)
            if change < 0 and room + change < 0:
                step = min(step, max(0.0, float(-room / change)))
    return inside + step * way
