"""Substitute: what takes the place of an ingredient that is out of stock, too dear or banned."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from optiform.brief.brief import Brief, Range, against
from optiform.design.around import NOTICED, today_of
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.program.build import Demand, frame, requirements
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.solver import solve
from optiform.properties.base import Mix, Property, fractions
from optiform.properties.cost import cost
from optiform.properties.registry import find_property
from optiform.properties.solubility import OutOfRange
from optiform.properties.texture import eutectic_pairs
from optiform.reading.faults import BadInput, Fault
from optiform.review.answer import Report
from optiform.review.measures import measure, setting_of
from optiform.review.report import new_warnings, report
from optiform.rules.kinds import ruled_out

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
NEW_NAME = 0.5  # distance for each name the declaration did not have before
CLOSE = 1.0  # no property further than its unit of distance: the hand will hardly tell

#: Ingredients that can stand in for each other, by what they are bought for.
FAMILIES = (
    ("butter", "oil", "ester", "wax", "fatty alcohol", "fatty acid"),
    ("solid surfactant", "liquid surfactant"),
    ("emulsifier",),
    ("humectant",),
    ("grain",),
    ("preservative",),
    ("antioxidant",),
    ("thickener",),
    ("powder", "clay"),
    ("chelator",),
    ("fragrance",),
    ("colourant",),
    ("active",),
)


@dataclass(frozen=True)
class Shift:
    """One property before and after, and the move in its unit of distance."""

    name: str
    unit: str
    before: float
    after: float
    distance: float


@dataclass(frozen=True)
class Swap:
    """One replacement: a single ingredient or a blend, and how far it moves the whole product.

    Attributes:
        parts: what comes in, % of the whole.
        distance: sum of the moves of all properties in their units of distance, and of new names.
        worst: the property that moves furthest.
        shifts: every property that moves, furthest first.
        new_names: declared now and not before; `new_cautions`: cautions it brings (allergens among them);
            `new_warnings`: what is unusual or missed now and was not, the pairs of fats apart.
        eutectics: pairs of fats it creates whose solids do not add up.
        broken: limits of the brief it does not keep, in words.
        cost: of the ingredients, currency per kg; `cost_change` against today's. None where a price is missing.
    """

    parts: tuple[tuple[str, float], ...]
    formula: Formula
    distance: float
    worst: Shift
    shifts: tuple[Shift, ...]
    new_names: tuple[str, ...]
    new_cautions: tuple[str, ...]
    new_warnings: tuple[str, ...]
    eutectics: tuple[str, ...]
    broken: tuple[str, ...]
    cost: float | None
    cost_change: float | None

    @property
    def close(self) -> bool:
        """Whether no property moves further than its unit of distance and the brief's limits hold."""
        return abs(self.worst.distance) <= CLOSE and not self.broken


@dataclass(frozen=True)
class Substitutes:
    """Replacements, nearest first; `purchase` is the best single ingredient that is not on the shelf."""

    brief: Brief
    today: Report
    missing: tuple[str, ...]
    swaps: tuple[Swap, ...]
    purchase: Swap | None
    without_figures: tuple[tuple[str, str], ...]

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
) -> Substitutes:
    """Rank what can replace `missing` in today's formula.

    Each single ingredient of the same family on the shelf, and each blend of up to `blend`, is given the amounts that
    move the whole product least (a linear program over the weighted distances); the other lines stay as they are, or
    follow within `follow` (mass fraction) each.

    Raises:
        BadInput: without a reference formula, when it does not contain what is missing, or when nothing else is left.
    """
    today = today_of(brief)
    gone = _gone(brief, today, missing)
    family = {word for item in gone for word in _family(item)}
    shelf = [item for item in brief.mix.ingredients if item.functions[0] in family and item not in gone]
    task = _Task(brief, today, tuple(gone), follow, _wanted(brief, today, weights))
    able, unable = task.sort(shelf)
    least = len({_family(item) for item in gone})
    blends = [pair for size in range(least, max(blend, least) + 1) for pair in combinations(able, size)]
    swaps = [swap for parts in blends if (swap := task.swap(parts))]
    ranked = _ranked(swaps)
    return Substitutes(
        brief=brief,
        today=report(today, setting_of(brief)),
        missing=tuple(item.name for item in gone),
        swaps=tuple(ranked[:most]),
        purchase=_purchase(brief, task, family, ranked),
        without_figures=tuple(unable),
    )


def _gone(brief: Brief, today: Formula, missing: Sequence[str]) -> list[Ingredient]:
    found, faults = [], []
    for name in missing:
        item = brief.catalogue.find(name)
        if item is None or today.fraction(item.name) == 0:
            lines = ", ".join(line.ingredient.name for line in today.lines)
            faults.append(Fault(brief.title, "ingredient to replace", repr(name), f"a line of the formula: {lines}"))
        else:
            found.append(item)
    if not faults and {item.name for item in found} >= {line.ingredient.name for line in today.lines}:
        faults.append(Fault(brief.title, "ingredient to replace", "every line of the formula", "some line that stays"))
    if faults:
        raise BadInput(faults)
    return found


@dataclass(frozen=True)
class _Kept:
    """A property to keep: its value today, its unit of distance, and the share of the whole it is a mean over."""

    property: Property
    value: float
    unit: float
    group: float


def _family(item: Ingredient) -> tuple[str, ...]:
    """What it can stand in for; one of no family stands alone."""
    return next((words for words in FAMILIES if item.functions[0] in words), item.functions[:1])


def _wanted(brief: Brief, today: Formula, weights: Mapping[str, float]) -> list[_Kept]:
    mix, x = Mix.of(today), fractions(today)
    found = []
    for name, unit in weights.items():
        wanted = find_property(name, brief.currency)
        value = measure(wanted, mix, x).value
        if value is not None:
            found.append(_Kept(wanted, value, unit, float(wanted.terms(mix, x).denominator @ x)))
    return found


def _ranked(swaps: list[Swap]) -> list[Swap]:
    """Nearest first; a blend of which one part is all but nothing is the single ingredient again and is left out."""
    real = [swap for swap in swaps if len(swap.parts) == 1 or all(share > 0.05 for _, share in swap.parts)]
    return sorted(real, key=lambda swap: (len(swap.broken) > 0, swap.distance))


def _purchase(brief: Brief, task: "_Task", family: set[str], ranked: list[Swap]) -> Swap | None:
    """The single ingredient off the shelf that comes nearer than anything on it, if any; cost counted for neither."""
    known = {item.name for item in (*brief.mix.ingredients, *task.gone)}
    others = [
        item
        for item in brief.catalogue.ingredients.values()
        if item.functions[0] in family and item.name not in known and item.name not in dict(brief.left_out)
        and not any(against(claim, item) for claim in brief.claims) and not ruled_out(brief.kind, item)
    ]  # fmt: skip
    unpriced = task.without("cost")
    able, _ = unpriced.sort(others)
    swaps = _ranked([swap for item in able if (swap := unpriced.swap((item,)))])  # none where two families are gone
    shelf = [(len(swap.broken) > 0, swap.distance - _cost_part(swap)) for swap in ranked]
    nearer = bool(swaps) and (not shelf or (len(swaps[0].broken) > 0, swaps[0].distance) < min(shelf))
    return swaps[0] if nearer else None


def _cost_part(swap: Swap) -> float:
    """What the cost adds to a distance."""
    return sum(shift.distance for shift in swap.shifts if shift.name == "cost")


@dataclass(frozen=True)
class _Task:
    brief: Brief
    today: Formula
    gone: tuple[Ingredient, ...]
    follow: float
    wanted: list[_Kept]

    def without(self, name: str) -> "_Task":
        """The same task with one property not counted."""
        return replace(self, wanted=[each for each in self.wanted if each.property.name != name])

    def sort(self, items: Sequence[Ingredient]) -> tuple[list[Ingredient], list[tuple[str, str]]]:
        """Those whose figures are all known, and the others with what they lack."""
        able, unable = [], []
        for item in items:
            mix = Mix((item,), (item.phase,))
            lacking = [k.property.name for k in self.wanted if k.property.terms(mix, np.zeros(1)).missing.any()]
            (unable.append((item.name, ", ".join(lacking))) if lacking else able.append(item))
        return able, unable

    def swap(self, parts: Sequence[Ingredient]) -> Swap | None:
        """The amounts of these parts that move the product least; None where no amounts keep the rest of the frame."""
        lines = [line for line in self.today.lines if line.ingredient not in self.gone]
        extra = [item for item in parts if item.name not in {line.ingredient.name for line in lines}]
        at = {line.ingredient.name: line.phase for line in self.today.lines}
        mix = Mix(
            (*(line.ingredient for line in lines), *extra),
            (*(line.phase for line in lines), *(at.get(item.name, self._phase(item)) for item in extra)),
        )
        x = self._amounts(mix, {item.name for item in parts})
        return None if x is None else self._told(mix, x, parts)

    def _phase(self, item: Ingredient) -> str:
        """Where it is weighed: with what it replaces of its family; grains stay grains."""
        gone = [line for line in self.today.lines if line.ingredient in self.gone]
        wanted = next(line.phase for line in gone if _family(line.ingredient) == _family(item))
        return item.phase if item.phase == "grains" else wanted

    def _amounts(self, mix: Mix, parts: set[str]) -> Vector | None:
        """Least weighted distance: sum of |(p - v g) x| / (g r unit), v the value today, r today's fractions."""
        before = np.array([self.today.fraction(item.name) for item in mix.ingredients])
        free = np.array([item.name in parts for item in mix.ingredients])
        start = before / before.sum()
        base = frame(replace(self.brief, mix=mix), np.zeros(len(before)))
        low = np.where(free, before, np.maximum(0, before - self.follow))
        high = np.where(free, 1.0, np.minimum(1, before + self.follow))
        program = base.with_bounds(low, high)
        program = program.with_rows([*program.rows, *self._shares(mix, free, before)])
        for kept in self.wanted:
            program = _distance(program, kept, mix, start)
        found = solve(program)
        return found.x[: len(before)] if found.feasible else None

    def _shares(self, mix: Mix, free: NDArray[np.bool_], before: Vector) -> Iterator[Row]:
        """Each family that goes is made up for by its own kin, give or take what may follow."""
        families = [_family(item) for item in mix.ingredients]
        for family in {_family(item) for item in self.gone}:
            own = np.array([float(each == family) for each in families]) * free
            total = float(own @ before) + sum(self.today.fraction(i.name) for i in self.gone if _family(i) == family)
            yield Row(f"{family[0]} again", own, Sense.AT_LEAST, total - self.follow)
            yield Row(f"{family[0]} again", own, Sense.AT_MOST, total + self.follow)

    def _told(self, mix: Mix, x: Vector, parts: Sequence[Ingredient]) -> Swap:
        whole = x / x.sum()  # the solver's rounding
        lines = [Line(item, float(s), at) for item, at, s in zip(mix.ingredients, mix.phases, whole, strict=True)]
        formula = Formula(
            " + ".join(item.name for item in parts), tuple(line for line in lines if line.fraction > 1e-9)
        )
        shifts = sorted(self._shifts(formula), key=lambda shift: -abs(shift.distance))
        old = {inci for inci, _ in self.today.declaration()}
        names = tuple(inci for inci, _ in formula.declaration() if inci not in old)
        looked = report(formula, setting_of(self.brief))
        total = sum(abs(shift.distance) for shift in shifts) + NEW_NAME * len(names)
        spent, today = (cost(self.brief.currency).of(each) for each in (formula, self.today))
        pairs = tuple(self._pairs(formula))
        added = {item.name: formula.fraction(item.name) - self.today.fraction(item.name) for item in parts}
        return Swap(
            parts=tuple((name, 100 * share) for name, share in added.items()),
            formula=formula,
            distance=total,
            worst=shifts[0],
            shifts=tuple(shift for shift in shifts if abs(shift.distance) > 1e-6),
            new_names=names,
            new_cautions=tuple(each.text for each in looked.cautions if each not in self._before.cautions),
            new_warnings=tuple(text for text in new_warnings(looked, self._before) if not text.startswith(pairs)),
            eutectics=pairs,
            broken=tuple(self._broken(formula)),
            cost=spent,
            cost_change=None if spent is None or today is None else spent - today,
        )

    def _shifts(self, formula: Formula) -> Iterator[Shift]:
        for kept in self.wanted:
            wanted, after = kept.property, kept.property.of(formula)
            after = kept.value if after is None else after
            move = (after - kept.value) / kept.unit
            yield Shift(wanted.name, wanted.unit, kept.value, after, max(0.0, move) if wanted.name == "cost" else move)

    def _pairs(self, formula: Formula) -> Iterator[str]:
        old = {pair[:2] for pair in eutectic_pairs(Mix.of(self.today), fractions(self.today))}
        for first, second, rule in eutectic_pairs(Mix.of(formula), fractions(formula)):
            if (first, second) not in old:
                yield f"{first} with {second}: {rule.effect}"

    def _broken(self, formula: Formula) -> Iterator[str]:
        """Demands of the brief that the new formula breaks and today's kept."""
        was = {item.name: self.today.fraction(item.name) for item in Mix.of(formula).ingredients}
        for demand in self._unmet(formula):
            if (demand.name, demand.side) not in self._unmet_today and not _broken_before(demand, was):
                yield demand.words

    @cached_property
    def _before(self) -> Report:
        return report(self.today, setting_of(self.brief))

    @cached_property
    def _unmet_today(self) -> frozenset[tuple[str, str]]:
        return frozenset((demand.name, demand.side) for demand in self._unmet(self.today))

    def _unmet(self, formula: Formula) -> list[Demand]:
        mix, x = Mix.of(formula), fractions(formula)
        brief = replace(self.brief, mix=mix, ranges=tuple(self._ranges(mix)))
        return [demand for demand in requirements(brief).near(x) if not _met(demand, x)]

    def _ranges(self, mix: Mix) -> Iterator[Range]:
        known = dict(zip((i.name for i in self.brief.mix.ingredients), self.brief.ranges, strict=True))
        yield from (known.get(item.name, Range()) for item in mix.ingredients)


def _met(demand: Demand, x: Vector) -> bool:
    """Whether it is kept, as far as its model can tell."""
    try:
        return demand.met(x)
    except OutOfRange:
        return False


def _broken_before(demand: Demand, was: Mapping[str, float]) -> bool:
    """Whether it is a range of one line that today's amount breaks already."""
    share = 100 * was.get(demand.name, 0.0)
    if demand.kind != "line":
        return False
    return share < demand.target - 1e-6 if demand.side == "low" else share > demand.target + 1e-6


def _distance(program: Program, kept: _Kept, mix: Mix, at: Vector) -> Program:
    """The program with one property's distance from its value added to the objective, through two helper columns.

    To cost less is no distance.
    """
    wanted, terms = kept.property, kept.property.terms(mix, at)
    row = (terms.numerator - kept.value * terms.denominator) / (kept.group * kept.unit)
    width = len(program.columns)
    counted = np.array([1.0, 0.0 if wanted.name == "cost" else 1.0])
    wide = program.widened([f"{wanted.name} up", f"{wanted.name} down"], counted, np.zeros(2), np.full(2, 1e6))
    coefficients = np.concatenate([row, np.zeros(width - len(row)), [-1.0, 1.0]])
    return wide.with_rows([*wide.rows, Row(f"distance of {wanted.name}", coefficients, Sense.EQUAL, 0.0)])
