"""Which of the compositions that a label allows is the most likely: by what is usual, and by the place in the list.

Two things are known before the label's order is looked at. Where the kind of product is stated, a name has about its
part's usual share in that kind (`by_kind.py`); else a name that an ingredient of the catalogue brings mostly has about
what its usual use brings, and one that none of them brings stays under the greatest legal maximum there is for
it. Either is taken as log-normal with 95 % inside the range. And a name at place k of n has
about c / k^1.7 of the whole, sum 100 %, within a factor of 2.5: what declarations look like (from memory, not fitted
here). Both together are a middle mu and a spread s of the logarithm. The centre is the composition x, %, of least

    sum_j (x_j ln(x_j / mu_j) - x_j + mu_j) / (mu_j s_j^2)     with the label's order, its 1 % line, and sum x = 100,

which is ((x - mu) / (mu s))^2 / 2 near mu and convex everywhere. For a given price of the sum each run of names that
the order ties together has its own closed form (pooling adjacent violators), so one bisection over that price is all.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optiform.ingredients.ingredient import Ingredient, Value
from optiform.label.by_kind import Guess, by_kind, usual_share
from optiform.label.caps import canonical, carriers, is_colourant
from optiform.program.linear import Program, Sense, Vector
from optiform.rules.law import rules
from optiform.rules.usual import usual_use

EXPONENT = 1.7  #: of the place
FACTOR = math.log(2.5)  #: spread of the logarithm about what the place says
COLOURANT = 0.01, 1.0  #: usual of a colour index number that the catalogue does not have, %, as of its pigments
STEPS = 200  # halvings of the price: beyond the last digit


@dataclass(frozen=True)
class Prior:
    """What is known of each name before the order is: the logarithm of a share in %, and its spread. Shape (names,)."""

    middle: Vector
    spread: Vector

    @property
    def weight(self) -> Vector:
        """1 / (mu s^2), by which a misfit counts."""
        weight: Vector = np.exp(-self.middle) / self.spread**2
        return weight


def prior(names: Sequence[str], kind: str = "", ordered: int | None = None) -> Prior:
    """The prior of a declaration's names, in its order; `kind` of product, where it is known.

    Of those behind the first `ordered`, colourants that stand last whatever their amount, the place says nothing where
    their use does.

    Example:
        >>> known = prior(["Aqua", "Glycerin", "Phenoxyethanol"])
        >>> [round(float(share), 1) for share in np.exp(known.middle)]
        [68.4, 12.0, 0.8]
        >>> known = prior(["Aqua", "Glycerin", "Phenoxyethanol"], "lotion")
        >>> [round(float(share), 1) for share in np.exp(known.middle)]
        [71.8, 3.4, 1.1]
    """
    places = np.arange(1, len(names) + 1) ** -EXPONENT
    by_place = np.log(100 * places / places.sum())
    parts = by_kind(names, kind, FACTOR)
    usual = [[part] if part else _usual(name, kind) for part, name in zip(parts, names, strict=True)]
    in_order = len(names) if ordered is None else ordered
    both = [
        shares[0] if shares and place >= in_order else _joined(float(by_place[place]), shares)
        for place, shares in enumerate(usual)
    ]
    middle, spread = np.array(both).reshape(-1, 2).T
    return Prior(middle, spread)


def _joined(place: float, usual: Sequence[Guess]) -> Guess:
    """The place's word joined with the usual share that fits it best: (logarithm of the share, its spread)."""
    if not usual:
        return place, FACTOR
    middle, spread = min(usual, key=lambda one: _misfit(place, *one))
    own, other = spread**-2, FACTOR**-2
    return (own * middle + other * place) / (own + other), (own + other) ** -0.5


def _misfit(place: float, middle: float, spread: float) -> float:
    variance = spread**2 + FACTOR**2
    return (middle - place) ** 2 / variance + math.log(variance)


def _usual(name: str, kind: str) -> list[Guess]:
    """Logarithm of the share that the usual use of each carrier in a kind (or at large) brings, and its spread.

    Empty where an ingredient that is mostly this name has no usual use, as water.
    """
    shares: list[Guess] = []
    for item, share in carriers(name):
        use = usual_use(kind, item)
        if use is not None and use.high and share.figure > 0:
            shares.append(usual_share(use.least, use.most, share.figure, use.typical))
        elif _mostly(item, share):
            return []
    return shares or ([usual_share(*COLOURANT)] if is_colourant(name) else _lawful(name))


def _lawful(name: str) -> list[Guess]:
    """What a name that nothing in the catalogue brings may have at most by law, as a share."""
    substance = canonical(name)
    most = [
        rule.limit / rule.factors[substance]
        for rule in rules()
        if rule.kind == "maximum" and rule.limit and substance and substance in rule.factors
    ]
    return [usual_share(0.0, max(most))] if most else []


def _mostly(item: Ingredient, share: Value) -> bool:
    return share.figure >= max(part.share.figure for part in item.constituents)


def most_likely(known: Prior, above: int, low: Vector, high: Vector) -> tuple[Vector, float]:
    """The most likely composition in %, and its misfit.

    Args:
        known: the prior of the names.
        above: how many names stand in order above the 1 % line.
        low: least of each name with the line there, %; shape (names,).
        high: most of each, likewise.
    """
    cheap, dear = -1e3, 1e3
    for _ in range(STEPS):
        price = (cheap + dear) / 2
        cheap, dear = (price, dear) if _at(known, above, price, low, high).sum() > 100 else (cheap, price)
    x = _at(known, above, (cheap + dear) / 2, low, high)
    mu = np.exp(known.middle)
    terms = x * (np.log(np.maximum(x, 1e-12)) - known.middle) - x + mu
    return x, float(known.weight @ terms)


def _at(known: Prior, above: int, price: float, low: Vector, high: Vector) -> Vector:
    """The least misfit plus price times the sum: the names above the line in order, the others each for itself."""
    free = known.middle - price / known.weight
    logs = np.concatenate([_descending(known, above, price), free[above:]])
    shares: Vector = np.clip(np.exp(np.minimum(logs, 50.0)), low, high)
    return shares


def _descending(known: Prior, count: int, price: float) -> Vector:
    """The first names pooled until none has more than the one before it; logarithms."""
    pools: list[tuple[float, float, int]] = []  # weight, weight times middle less price, names
    for weight, middle in zip(known.weight[:count], known.middle[:count], strict=True):
        pools.append((weight, weight * middle - price, 1))
        while len(pools) > 1 and pools[-1][1] / pools[-1][0] > pools[-2][1] / pools[-2][0]:
            last, before = pools.pop(), pools.pop()
            pools.append((last[0] + before[0], last[1] + before[1], last[2] + before[2]))
    return np.concatenate([np.full(names, pulled / weight) for weight, pulled, names in pools] or [np.zeros(0)])


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
