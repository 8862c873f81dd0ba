"""Substitute: what takes the place of an ingredient that is out of stock, too dear or banned."""

from bisect import insort
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from optiform.brief.brief import Brief, against
from optiform.design.around import NOTICED, today_of
from optiform.design.blends import Blends, Family, Shelf
from optiform.design.replacement import NEW_NAME, Kept, Replacement, Task, Weighed, family_of
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Mix, Property, Ratio, fractions
from optiform.properties.registry import find_property
from optiform.reading.answer import Ranked
from optiform.reading.faults import BadInput, Fault
from optiform.review.answer import Report
from optiform.review.measures import measure, setting_of
from optiform.review.report import report
from optiform.rules.kinds import ruled_out

Progress = Callable[[int, int], None]
ROUNDING = 1e-6  # of a distance: a bound is above it only beyond the rounding of a linear program

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


@dataclass(frozen=True, eq=False, repr=False)
class Substitutes(Ranked[Replacement]):
    """Replacements, nearest first; `purchase` is the best single ingredient that is not on the shelf."""

    brief: Brief
    today: Report
    missing: tuple[str, ...]
    swaps: tuple[Replacement, ...]
    purchase: Replacement | None
    without_figures: tuple[tuple[str, str], ...]

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
    move the whole product least (a linear program over the weighted distances); the other lines stay as they are, or
    follow within `follow` (mass fraction) each. Blends that a bound shows to be further than the `most` nearest are
    not looked at one by one (see blends.py).

    Args:
        brief: with a reference formula; its candidates are the shelf.
        missing: names of what has to be replaced.
        blend: most ingredients in its place.
        follow: how far each other line may follow, mass fraction.
        most: how many replacements to give.
        weights: the unit of distance of each property, in its own unit.
        progress: called with the number of blends settled so far and of all.

    Raises:
        BadInput: without a reference formula, when it does not contain what is missing, or when nothing else is left.
    """
    today = today_of(brief)
    gone = _gone(brief, today, missing)
    family = {word for item in gone for word in family_of(item)}
    shelf = [item for item in brief.mix.ingredients if item.functions[0] in family and item not in gone]
    task = Task(brief, today, tuple(gone), follow, _wanted(brief, today, weights))
    able, unable = task.sort(shelf)
    least = len({family_of(item) for item in gone})
    bought = _bought(brief, task.without("cost"), family)
    search = _Search(task, able, range(least, max(blend, least) + 1), progress)
    swaps = search.nearest(most)
    return Substitutes(
        brief=brief,
        today=report(today, setting_of(brief)),
        missing=tuple(item.name for item in gone),
        swaps=tuple(task.told(swap) for swap in swaps),
        purchase=None if bought is None or search.as_near(bought) else task.without("cost").told(bought),
        without_figures=tuple(unable),
    )


def _gone(brief: Brief, today: Formula, missing: Sequence[str]) -> list[Ingredient]:
    items, faults = [], []
    for name in missing:
        item = brief.catalogue.find(name)
        if item is None or today.fraction(item.name) == 0:
            lines = ", ".join(line.ingredient.name for line in today.lines)
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
    return tuple(properties)


def _bought(brief: Brief, task: Task, family: set[str]) -> Weighed | None:
    """The nearest single ingredient off the shelf, if any, cost not counted."""
    known = {item.name for item in (*brief.mix.ingredients, *task.gone)}
    others = [
        item
        for item in brief.catalogue.ingredients.values()
        if item.functions[0] in family and item.name not in known and item.name not in dict(brief.left_out)
        and not any(against(claim, item) for claim in brief.claims) and not ruled_out(brief.kind, item)
    ]  # fmt: skip
    able, _ = task.sort(others)
    swaps = [swap for item in able if (swap := task.weighed((item,)))]  # none where two families are gone
    return min(swaps, key=lambda swap: (bool(swap.broken), swap.distance), default=None)


class _Search:
    """Blends of what is on the shelf, weighed out one by one as long as one could still be among the nearest."""

    def __init__(self, task: Task, able: Sequence[Ingredient], sizes: Sequence[int], progress: Progress | None) -> None:
        shelf = _shelf(task, able)
        self._task, self._able, self._progress = task, able, progress
        self._blends, self._unpriced = Blends(shelf, sizes), Blends(shelf.unpriced, sizes)
        self._weighed: dict[int, Weighed] = {}
        self._ranked: list[tuple[bool, float, int]] = []
        self._nearest_but_for_cost = True, np.inf

    def nearest(self, most: int) -> list[Weighed]:
        """Nearest first, those that break the brief last; of as near ones the one that comes first on the shelf."""
        more = True
        while more:
            broken, distance, _ = self._ranked[most - 1] if len(self._ranked) >= most else (True, np.inf, 0)
            more = self._weigh(self._blends, np.inf if broken else distance)
        return [self._weighed[place] for _, _, place in self._ranked[:most]]

    def as_near(self, bought: Weighed) -> bool:
        """Whether anything on the shelf is as near as this, the cost aside."""
        broken, distance = bool(bought.broken), bought.distance
        more = True
        while more and self._nearest_but_for_cost > (broken, distance):
            more = self._weigh(self._unpriced, np.inf if broken else distance)
        return self._nearest_but_for_cost <= (broken, distance)

    def _weigh(self, blends: Blends, beaten: float) -> bool:
        """Weigh out the most promising blend that may come as near as this; false where there is none."""
        place = blends.most_promising(beaten + ROUNDING)
        if self._progress is not None:
            self._progress(blends.settled(beaten), len(blends))
        if place is None:
            return False
        swap = self._task.weighed([self._able[part] for part in blends.parts(place)])
        for each in (self._blends, self._unpriced):
            each.close(place)
            if swap is not None:
                each.learn(swap.u, swap.v)
        if swap is not None and swap.real:
            self._weighed[place] = swap
            insort(self._ranked, (bool(swap.broken), swap.distance, place))
            self._nearest_but_for_cost = min(self._nearest_but_for_cost, (bool(swap.broken), swap.but_for_cost))
        return True


def _straight(wanted: Property) -> bool:
    """Whether each line moves it by as much wherever the others are."""
    return isinstance(wanted, Ratio)


def _shelf(task: Task, able: Sequence[Ingredient]) -> Shelf:
    """The parts that may come in, and the other lines that stay, as blends.py needs them."""
    parts = {item.name for item in able}
    mix = task.mix(able)
    order = [mix.ingredients.index(item) for item in able]
    order += [j for j, item in enumerate(mix.ingredients) if item.name not in parts]
    before = mix.vector(task.today)
    straight = [k for k, kept in enumerate(task.wanted) if _straight(kept.property)]
    groups = [kept.property.terms(mix, before).denominator for kept in task.wanted]
    labels = [{part.inci.casefold() for part in item.constituents} for item in able]
    old = {inci.casefold() for inci, _ in task.today.declaration()}
    new = sorted(set().union(*labels) - old)
    return Shelf(
        rows=np.where(np.isin(range(len(groups)), straight)[:, None], task.rows(mix), 0.0)[:, order],
        groups=np.array(groups).reshape(len(groups), len(before))[:, order],
        today=np.array([kept.group for kept in task.wanted]),
        cost=np.array([kept.property.name == "cost" for kept in task.wanted], dtype=bool),
        before=before[order],
        follow=task.follow,
        families=tuple(
            Family(np.array([family_of(item) == family for item in able], dtype=bool), gone)
            for family, gone in task.families.items()
        ),
        names=np.array([[name in label for name in new] for label in labels], dtype=bool).reshape(len(able), len(new)),
        name=NEW_NAME,
    )
