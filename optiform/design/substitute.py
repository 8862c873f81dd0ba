"""Substitute: what takes the place of an ingredient that is out of stock, too dear or banned."""

from bisect import insort
from collections.abc import Hashable, Mapping, Sequence
from types import MappingProxyType

import numpy as np

from optiform.brief.brief import Brief
from optiform.design.amounts import Weighed, weighed
from optiform.design.around import NOTICED, NotHeld, not_held, today_of
from optiform.design.blends import Blends
from optiform.design.companions import Companion, companions
from optiform.design.exchange import Exchange
from optiform.design.function import family_of, known_dose
from optiform.design.makeup import own_parts
from optiform.design.replacement import Judge, Replacement
from optiform.design.task import Kept, Task
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Mix, fractions
from optiform.properties.registry import find_property
from optiform.reading.answer import Ranked
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.reading.progress import Progress
from optiform.review.answer import FormulaWarning, Report
from optiform.review.measures import measure
from optiform.rules.claims import against
from optiform.rules.kinds import ruled_out

ROUNDING = 1e-6  # of a distance: a bound is above it only beyond the rounding of a linear program
#: Beyond this distance nothing is looked at while there are options at hand: where few blends keep the limits, not all
#: of them are weighed out. Common practice, no source: five properties that each move six times what a hand can tell.
FAR = 30.0

#: What customers notice, but a substitute may shift: what is bought as butter, oil or ester.
_FREE = ("oil phase", "share of butter", "share of oil", "share of ester")
#: How far each property may move before it counts as much as any other: its unit of distance, in its own unit. Common
#: practice, no source.
WEIGHTS: Mapping[str, float] = MappingProxyType(
    {
        **{name: unit for name, unit in NOTICED.items() if name not in _FREE},
        "required hlb": 0.5,
        "iodine value": 10.0,
        "water": 2.0,
        "cost": 0.5,
    }
)


@frozen
class Substitutes(Ranked[Replacement]):
    """Replacements, nearest first; `purchase` is the best single ingredient that is not on the shelf.

    `by_mass`: what goes of which nobody knows how much of another does the same; the same mass takes its place.
    `own_parts`: what a blend that goes is made of, % of the jar, where the shelf holds all of it (design/makeup.py).
    `not_held`: what the distance does not count, as a figure of today's formula is missing.
    """

    brief: Brief
    today: Report
    missing: tuple[str, ...]
    swaps: tuple[Replacement, ...]
    purchase: Replacement | None
    without_figures: tuple[tuple[str, Hashable], ...]
    by_mass: tuple[str, ...] = ()
    own_parts: tuple[tuple[str, float], ...] = ()
    not_held: tuple[NotHeld, ...] = ()

    def ranked(self) -> tuple[Replacement, ...]:
        """The nearest first."""
        return self.swaps

    @property
    def any_close(self) -> bool:
        """Whether anything on the shelf comes close."""
        return any(swap.close for swap in self.swaps)


def substitute(
    brief: Brief,
    missing: Sequence[str],
    blend: int = 2,
    follow: float = 0.0,
    most: int = 10,
    weights: Mapping[str, float] = WEIGHTS,
    progress: Progress | None = None,
) -> Substitutes:
    """Rank what can replace `missing` in today's formula.

    Each single ingredient of the same family on the shelf, and each blend of up to `blend`, is given the amounts that
    do what has gone did (see function.py) and move the whole product least (a linear program over the weighted
    distances, limits missed above all). Where they weigh more or less the water makes room or fills up, in an oily
    family the main oil. The other lines stay as they are, or follow within `follow` (mass fraction) each. Blends that a
    bound shows to be further than the `most` nearest are not looked at one by one (see blends.py).

    Args:
        brief: with a reference formula; its candidates are the shelf.
        missing: names of what has to be replaced.
        blend: most ingredients in its place.
        follow: how far each other line may follow, mass fraction.
        most: how many replacements to give.
        weights: the unit of distance of each property, in its own unit.
        progress: called with the number of blends settled so far and of all.

    Raises:
        BadInput: without a reference formula, when it does not contain what is missing, when nothing else is left, or
            without a weight of something that today's formula has.
    """
    today = today_of(brief)
    gone = _gone(brief, today, missing)
    task = Task(brief, today, tuple(gone), follow, _wanted(brief, today, weights))
    exchange, unable = _allowed(task, [x for x in brief.mix.ingredients if task.family(x) and x not in gone])
    least = len(task.families)
    search = _Search(exchange, range(least, max(blend, least) + 1), progress)
    judge = Judge(exchange)
    options = map(judge.replacement, search.nearest(most))
    return Substitutes(
        brief=brief,
        today=judge.before,
        missing=tuple(item.name for item in gone),
        swaps=tuple(option for option in options if not option.against),
        purchase=_purchase(brief, task.without("cost"), search),
        without_figures=tuple(unable),
        by_mass=tuple(item.name for item in gone if family_of(item).measure and not known_dose(item)),
        own_parts=own_parts(brief, today, gone[0]) if len(gone) == 1 else (),
        not_held=not_held(brief, weights),
    )


def _gone(brief: Brief, today: Formula, missing: Sequence[str]) -> list[Ingredient]:
    items, faults = [], []
    for name in missing:
        item = brief.catalogue.find(name)
        if item is None or today.fraction(item.name) == 0:
            lines = "; ".join(line.ingredient.name for line in today.lines)
            faults.append(Fault(brief.title, "ingredient to replace", repr(name), f"a line of the formula: {lines}"))
        else:
            items.append(item)
    if not faults and {item.name for item in items} >= {line.ingredient.name for line in today.lines}:
        faults.append(Fault(brief.title, "ingredient to replace", "every line of the formula", "some line that stays"))
    if faults:
        raise BadInput(faults)
    return items


def _wanted(brief: Brief, today: Formula, weights: Mapping[str, float]) -> tuple[Kept, ...]:
    mix, x = Mix.of(today), fractions(today)
    properties = []
    for name, unit in weights.items():
        wanted = find_property(name, brief.currency)
        value = measure(wanted, mix, x).value
        if value is not None:
            properties.append(Kept(wanted, value, unit, float(wanted.terms(mix, x).denominator @ x)))
    if not properties:
        words = "; ".join(weights) or "none"
        raise BadInput([Fault(brief.title, "weights", words, "a property that today's formula has a value of")])
    return tuple(properties)


def _allowed(task: Task, items: Sequence[Ingredient]) -> tuple[Exchange, list[tuple[str, Hashable]]]:
    """The exchange of those that may come in, with what comes along with them, and the others with why not.

    Why not is a figure that lacks, another kind of its function, or what the tool would warn of in the formula that
    it makes where it alone takes the place, with what its rules ask for beside it.
    """
    reasons: dict[Ingredient, Hashable] = {item: task.lacking(item) for item in items}
    able, along = [item for item in items if not reasons[item]], list[Companion]()
    if len(task.families) == 1:
        judge = Judge(Exchange(task, tuple(able)))
        for place, item in enumerate(able):
            swap = weighed(judge.exchange, (place,))
            if swap is not None:
                own, reasons[item] = _complete(judge, item, swap)
                along.extend(own)
    exchange = Exchange(task, tuple(x for x in able if not reasons[x]), tuple(along))
    return exchange, [(item.name, why) for item, why in reasons.items() if why]


def _complete(judge: Judge, item: Ingredient, swap: Weighed) -> tuple[tuple[Companion, ...], FormulaWarning | None]:
    """What comes along with an ingredient that takes the place alone, and what is against it all the same."""
    formula = judge.exchange.formula(swap.x, item.name)
    return companions(judge.exchange.task, item, formula, lambda made: judge.against(made, (item.name,)))


def _purchase(brief: Brief, task: Task, search: "_Search") -> Replacement | None:
    """The nearest single ingredient off the shelf, cost not counted; none where something on it is as near.

    None either where nothing but the cost is looked at.
    """
    known = {item.name for item in (*brief.mix.ingredients, *task.gone)}
    others = [
        item
        for item in brief.catalogue.ingredients.values()
        if task.family(item) and item.name not in known and item.name not in dict(brief.left_out)
        and not any(against(claim, item) for claim in brief.claims) and not ruled_out(brief.kind, item)
    ]  # fmt: skip
    if len(task.families) > 1 or not task.wanted:
        return None
    exchange = Exchange(task, tuple(item for item in others if not task.lacking(item)))
    judge = Judge(exchange)
    swaps = [(item, swap) for place, item in enumerate(exchange.able) if (swap := weighed(exchange, (place,)))]
    for item, swap in sorted(swaps, key=lambda pair: pair[1].order):
        along, grave = _complete(judge, item, swap)
        option = None if grave else _with_companions(task, item, along) if along else judge.replacement(swap)
        if option is not None and not option.against:
            return None if search.as_near(swap) else option
    return None


def _with_companions(task: Task, item: Ingredient, along: tuple[Companion, ...]) -> Replacement | None:
    """An ingredient in the place of what goes, with what comes along; None where there is no room for it."""
    exchange = Exchange(task, (item,), along)
    swap = weighed(exchange, (0,))
    return Judge(exchange).replacement(swap) if swap else None


class _Search:
    """Blends of what is on the shelf, weighed out one by one as long as one could still be among the nearest."""

    def __init__(self, exchange: Exchange, sizes: Sequence[int], progress: Progress | None) -> None:
        shelf = exchange.shelf
        self._exchange, self._progress = exchange, progress
        self._blends, self._unpriced = Blends(shelf, sizes), Blends(shelf.unpriced, sizes)
        self._ranked: list[Weighed] = []
        self._nearest_but_for_cost = True, np.inf

    def nearest(self, most: int) -> list[Weighed]:
        """Nearest first, those that break the brief last; of as near ones the one that comes first by name."""
        more = True
        while more:
            more = self._weigh(self._blends, self._beaten(most))
        return self._ranked[:most]

    def _beaten(self, most: int) -> float:
        """The rank from which on no blend is looked at: the last of the best at hand.

        Where that one misses a limit, one that keeps them all goes before it however far it is, up to `FAR`.
        """
        if len(self._ranked) < most:
            return np.inf
        last = self._ranked[most - 1]
        return max(last.rank, FAR) if last.broken else last.rank

    def as_near(self, bought: Weighed) -> bool:
        """Whether anything on the shelf is as near as this, the cost aside."""
        limit = bool(bought.broken), bought.rank
        more = True
        while more and self._nearest_but_for_cost > limit:
            more = self._weigh(self._unpriced, max(bought.rank, FAR) if bought.broken else bought.rank)
        return self._nearest_but_for_cost <= limit

    def _weigh(self, blends: Blends, beaten: float) -> bool:
        """Weigh out the most promising blend that may come as near as this; false where there is none."""
        place = blends.most_promising(beaten + ROUNDING)
        if self._progress is not None:
            self._progress(blends.settled(beaten), len(blends))
        if place is None:
            return False
        swap = weighed(self._exchange, blends.parts(place))
        for known in (self._blends, self._unpriced):
            known.close(place)
            if swap is not None:
                known.learn(swap.u, swap.v)
        if swap is not None and swap.real:
            insort(self._ranked, swap, key=lambda swap: swap.order)
            rank = bool(swap.broken), swap.rank - (swap.distance - swap.unpriced)
            self._nearest_but_for_cost = min(self._nearest_but_for_cost, rank)
        return True
