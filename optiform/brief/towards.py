"""The goal of a brief that names little more than a kind of product: as near as possible to what is usual in it."""

from collections.abc import Iterator

from optiform.brief.goal import Aim, NearestUsual
from optiform.properties.base import Mix, Ratio
from optiform.properties.registry import find_property
from optiform.rules.certificates import uncertified
from optiform.rules.law import Scope
from optiform.rules.usual import COUNT, NO_RANK, UNLIKE_EACH_OTHER, rank, served, usual_ranges

#: Half ranges that a formula of the last ranks alone adds. A part that is as far off adds more (one that is 40 % wide
#: adds 5 at least), so that ranks choose between ingredients of a part and never how much there is of it.
RANKED = 4.0
COSTED = 0.01  #: half ranges that a formula of the dearest ingredients alone adds
STRAY = 100.0  #: likewise for what serves no part of the kind, and for a scent without the certificate that it needs
#: Likewise for what no maker of the kind takes, of functions whose ingredients do unlike things: more than a part adds
#: where it is left out, so that such an ingredient comes in only where the part is a must.
UNLIKE = 1000.0
SCENT = "share of fragrance"


def towards_usual(kind: str, grain: str, mix: Mix, scope: Scope, currency: str) -> NearestUsual:
    """The goal for these candidates.

    Args:
        kind: of product.
        grain: which of its sets of ranges.
        mix: the candidates.
        scope: of the product; a scent without a certificate for it is not aimed at.
        currency: of the prices that decide last.
    """
    bare = frozenset(uncertified(mix, scope))
    aims, ranks = _aims(kind, grain, mix, bare, currency), _ranks(kind, grain, mix, bare, currency)
    return NearestUsual(kind, tuple(aims), tuple(ranks))


def _aims(kind: str, grain: str, mix: Mix, bare: frozenset[str], currency: str) -> Iterator[Aim]:
    scents = {item.name for item in mix.ingredients if item.functions[0] == "fragrance"}
    for row in usual_ranges(kind, grain):
        if row.property == COUNT or not row.typical or (row.property == SCENT and scents <= bare):
            continue  # where none is usual the range says only how far one may go
        wanted = find_property(row.property, currency)
        if isinstance(wanted, Ratio):
            yield Aim(wanted, row.typical, row.half() * row.over / 100)


def _ranks(
    kind: str, grain: str, mix: Mix, bare: frozenset[str], currency: str
) -> Iterator[tuple[str, float]]:  # fmt: skip
    parts = served(kind, grain)
    prices = {item.name: price.figure for item in mix.ingredients if (price := item.price_in(currency))}
    dearest = max(prices.values(), default=1.0) or 1.0
    for item in mix.ingredients:
        cost = prices.get(item.name, dearest) / dearest
        stray = item.name in bare or item.functions[0] not in parts
        unlike = item.functions[0] in UNLIKE_EACH_OTHER and rank(kind, item) == NO_RANK
        yield item.name, RANKED * rank(kind, item) + COSTED * cost + STRAY * stray + UNLIKE * unlike
