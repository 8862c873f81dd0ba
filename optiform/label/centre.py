"""Which of the compositions that a label allows is the most likely: by what is usual, and by the place in the list.

Three things are known before the label's order is looked at. A name that an ingredient of the catalogue brings mostly
has about what its usual use brings; one that none of them brings stays under the greatest legal maximum there is for
it. A name at place k of n has about c / k^1.7 of the whole, sum 100 %, within a factor of 2.5: what declarations look
like (from memory, not fitted here). And where the kind of product is stated, the names that serve one part of it, the
oils of a lotion, have together about what is usual of that part (`by_kind.py`). Each is taken as log-normal, usual
ranges with 95 % inside. The first two together are a middle mu and a spread s of the logarithm of each name's share x;
a part p of the kind has M and S of the total X of its names. The centre is the composition, %, of least

    sum_j D(x_j, mu_j) / (mu_j s_j^2) + sum_p D(X_p, M_p) / (M_p S_p^2),    D(x, m) = x ln(x / m) - x + m,

with the label's order, its 1 % line, and sum x = 100. D / (m s^2) is ((x - m) / (m s))^2 / 2 near m and convex
everywhere. Without parts, for a given price of the sum each run of names that the order ties together has its own
closed form (pooling adjacent violators), so one bisection over that price is all. With them it is done again: by the
log sum inequality X ln(X / M) is at most sum_j x_j ln(x_j / (q_j M)) for any split q, and equal to it at the split of
the last answer, so that each round has the same form and none is worse than the one before.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optiform.ingredients.ingredient import Ingredient, Value
from optiform.label.by_kind import Guess, KindPart, by_kind, usual_share
from optiform.label.caps import canonical, carriers, is_colourant
from optiform.program.linear import Program, Sense, Vector
from optiform.rules.law import rules
from optiform.rules.usual import usual_use

EXPONENT = 1.7  #: of the place
FACTOR = math.log(2.5)  #: spread of the logarithm about what the place says
COLOURANT = 0.01, 1.0  #: usual of a colour index number that the catalogue does not have, %, as of its pigments
STEPS = 60  # halvings of the price: to the last digit
ROUNDS = 200  # at most, of splitting the parts of a kind anew
CLOSE = 1e-6  # %, by which no share moves in a last round
LEAST = 1e-12  # %, in place of nothing under a logarithm


@dataclass(frozen=True)
class Prior:
    """What is known before the order is: of each name the logarithm of its share in %, and its spread; shape (names,).

    `parts`: of the kind of product, by the usual total of the names that serve them.
    """

    middle: Vector
    spread: Vector
    parts: tuple[KindPart, ...] = ()

    @property
    def weight(self) -> Vector:
        """1 / (mu s^2), by which a misfit counts."""
        weight: Vector = _weight(self.middle, self.spread)
        return weight

    def misfit(self, x: Vector) -> float:
        """How far a composition in % is from what is known."""
        totals = np.array([x[list(part.places)].sum() for part in self.parts])
        middle, spread = np.array([part.usual for part in self.parts]).reshape(-1, 2).T
        parts = _weight(middle, spread) @ _divergence(totals, middle)
        return float(self.weight @ _divergence(x, self.middle) + parts)

    def split_as(self, x: Vector) -> tuple[Vector, Vector]:
        """Weights and middles of the names alone, their parts split as in a composition: nowhere below the misfit."""
        weight = self.weight.copy()
        pulled = weight * self.middle
        for part in self.parts:
            places, (middle, spread) = list(part.places), part.usual
            shares = np.maximum(x[places], LEAST)
            own = float(_weight(middle, spread))
            weight[places] += own
            pulled[places] += own * (middle + np.log(shares / shares.sum()))
        return weight, pulled / weight


def _weight(middle: float | Vector, spread: float | Vector) -> Vector:
    return np.asarray(np.exp(-np.asarray(middle)) / np.square(spread))


def _divergence(x: Vector, middle: Vector) -> Vector:
    """D of each share from e^middle."""
    divergence: Vector = x * (np.log(np.maximum(x, LEAST)) - middle) - x + np.exp(middle)
    return divergence


def prior(names: Sequence[str], kind: str = "", ordered: int | None = None) -> Prior:
    """The prior of a declaration's names, in its order; `kind` of product, where it is known.

    Of those behind the first `ordered`, colourants that stand last whatever their amount, the place says nothing where
    their use does.

    Example:
        >>> known = prior(["Aqua", "Glycerin", "Phenoxyethanol"], "lotion")
        >>> [round(float(share), 1) for share in np.exp(known.middle)]
        [68.4, 3.3, 0.8]
        >>> [(part.places, round(math.exp(part.usual[0]), 1)) for part in known.parts]
        [((0,), 72.0), ((1,), 3.0), ((2,), 1.0)]
    """
    by_rank = np.arange(1, len(names) + 1) ** -EXPONENT
    by_place = np.log(100 * by_rank / by_rank.sum())
    in_order = len(names) if ordered is None else ordered
    usual = [_usual(name, kind) for name in names]
    both = [
        shares[0] if shares and place >= in_order else _joined(float(by_place[place]), shares)
        for place, shares in enumerate(usual)
    ]
    middle, spread = np.array(both).reshape(-1, 2).T
    return Prior(middle, spread, by_kind(names, kind))


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
    x = _nearest(known.weight, known.middle, above, low, high)
    for _ in range(ROUNDS if known.parts else 0):
        last, x = x, _nearest(*known.split_as(x), above, low, high)
        if np.abs(x - last).max() < CLOSE:
            break
    return x, known.misfit(x)


def _nearest(weight: Vector, middle: Vector, above: int, low: Vector, high: Vector) -> Vector:
    """The composition of least misfit by names alone; %."""
    cheap, dear = -1e3, 1e3
    for _ in range(STEPS):
        price = (cheap + dear) / 2
        too_much = _at(weight, middle, above, price, low, high).sum() > 100
        cheap, dear = (price, dear) if too_much else (cheap, price)
    return _at(weight, middle, above, (cheap + dear) / 2, low, high)


def _at(weight: Vector, middle: Vector, above: int, price: float, low: Vector, high: Vector) -> Vector:
    """The least misfit plus price times the sum: the names above the line in order, the others each for itself."""
    free = middle - price / weight
    logs = np.concatenate([_descending(weight[:above], middle[:above], price), free[above:]])
    shares: Vector = np.clip(np.exp(np.minimum(logs, 50.0)), low, high)
    return shares


def _descending(weights: Vector, middles: Vector, price: float) -> Vector:
    """Names pooled until none has more than the one before it; logarithms."""
    pools: list[tuple[float, float, int]] = []  # weight, weight times middle less price, names
    for weight, middle in zip(weights, middles, strict=True):
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
