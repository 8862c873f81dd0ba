"""The least change of prices that makes one formula the cheapest of all that fit: inverse optimisation by cuts.

    minimise  sum_j |d_j| / c_j    where  (c + d) x >= (c + d) f  for every formula x that fits,   c + d >= 0

f is the formula, c the prices, d their change, each counted against its price. The formulas x are over every branch of
what is needed, so there is no list of them; they come one at a time, each the cheapest at the prices of the round
before (Wang, "Cutting plane algorithms for the inverse mixed integer linear programming problem", Operations Research
Letters 37, 2009). A round whose cheapest formula costs what f does is the last, and its proof is that formula's own.
With one price for everything all formulas cost the same, so some change always does it.
"""

from collections.abc import Callable

import numpy as np

from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.solver import solve
from optiform.reading.faults import Unsettled

ROUNDS = 300
SAME = 1e-7  # relative: costs that are the same
LEAST = 0.01  # of the dearest: a price below counts as this, so that a change of what is free has a size


def least_price_change(prices: Vector, formula: Vector, cheapest: Callable[[Vector], Vector]) -> Vector:
    """The prices nearest to these at which no formula is cheaper than this one.

    Args:
        prices: of each candidate, above or equal to 0. Shape (candidates,).
        formula: its mass fractions; keeps what is needed.
        cheapest: the mass fractions of the cheapest formula at given prices, over every branch.

    Raises:
        Unsettled: when `ROUNDS` cuts are not enough.
        NotCertified: when a proof does not check.

    Example:
        Olive oil at 8 would be chosen over sunflower oil at 5 if it cost 5 as well: 3 of 8 less. To have sunflower oil
        dearer by 3 of 5 is the larger change.

        >>> cheapest = lambda prices: np.eye(2)[int(np.argmin(prices))]
        >>> least_price_change(np.array([8.0, 5.0]), np.array([1.0, 0.0]), cheapest).round(6).tolist()
        [5.0, 5.0]
    """
    cuts: list[Vector] = []
    now = prices
    for _ in range(ROUNDS):
        other = cheapest(now)
        own = float(now @ formula)
        if own - float(now @ other) <= SAME * (1 + abs(own)):
            return now
        cuts.append(other - formula)
        now = _nearest(prices, cuts)
    raise Unsettled("the prices at which this formula is the cheapest were not settled")


def _nearest(prices: Vector, cuts: list[Vector]) -> Vector:
    """The prices nearest to these at which no cut is cheaper. Columns: what each price rises by, then falls by."""
    count, dearest = len(prices), float(prices.max())
    sizes = 1 / np.maximum(prices, LEAST * dearest)
    names = tuple(f"{way} of price {j}" for way in ("rise", "fall") for j in range(count))
    rows = tuple(
        Row(f"not cheaper: formula {k}", np.concatenate([cut, -cut]), Sense.AT_LEAST, -float(prices @ cut))
        for k, cut in enumerate(cuts)
    )
    high = np.concatenate([np.full(count, dearest), prices])
    program = Program(names, np.concatenate([sizes, sizes]), np.zeros(2 * count), high, rows)
    x = solve(program).x
    return np.clip(prices + x[:count] - x[count:], 0.0, None)
