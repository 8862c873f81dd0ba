"""What is known of a declaration before its order is looked at: what is usual of each name, each part and the kind.

Three things are known. A name that an ingredient of the catalogue brings mostly has about what its usual use brings;
one that none of them brings stays under the greatest legal maximum there is for it. A name at place k of n has about
c / k^1.7 of the whole, sum 100 %, within a factor of 2.5: what declarations look like (from memory, not fitted here).
And where the kind of product is known, the names that serve one part of it, the oils of a lotion, have together about
what is usual of that part (`by_kind.py`). Each is taken as log-normal, usual ranges with 95 % inside.

A kind that nobody states is the one that the list fits best: `Prior.surprise` is how ill what is usual of it fits the
places, with one in twenty for each part that it needs and no name serves, and for each function that none of its parts
has a use for. For that, and for no centre, parts count too of which only the most is usual.
"""

import math
from collections.abc import Sequence

import numpy as np

from optiform.ingredients.ingredient import Ingredient, Value
from optiform.label.by_kind import Guess, KindPart, by_kind, strangers, usual_share
from optiform.label.caps import canonical, carriers, is_colourant
from optiform.program.linear import Vector
from optiform.reading.frozen import frozen
from optiform.rules.law import rules
from optiform.rules.usual import usual_use

EXPONENT = 1.7  #: of the place
FACTOR = math.log(2.5)  #: spread of the logarithm about what the place says
COLOURANT = 0.01, 1.0  #: usual of a colour index number that the catalogue does not have, %, as of its pigments
STRANGE = math.log(20)  #: of a part that lacks or a function that is none of the kind: usual is 19 in 20


@frozen
class Prior:
    """What is known before the order is: of each name the logarithm of its share in %, and its spread; shape (names,).

    `parts`: of the kind of product, by the usual total of the names that serve them. `surprise`: how ill names, places
    and the kind fit, as the negative logarithm of a likelihood; to compare kinds of one list by.
    """

    middle: Vector
    spread: Vector
    parts: tuple[KindPart, ...] = ()
    surprise: float = 0.0


def prior(names: Sequence[str], kind: str = "", ordered: int | None = None, at_most: bool = False) -> Prior:
    """The prior of a declaration's names, in its order; `kind` of product, where it is known; `at_most` as in by_kind.

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
    parts = by_kind(names, kind, at_most)
    misfits = (min(_misfit(float(by_place[j]), *one) for one in shares) for j, shares in enumerate(usual) if shares)
    narrow = sum(math.log(part.usual[1]) for part in parts)
    return Prior(middle, spread, parts, sum(misfits) / 2 + narrow + STRANGE * strangers(names, kind))


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
