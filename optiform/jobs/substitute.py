"""Substitute: what takes the place of an ingredient that is out of stock, too dear or banned."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from types import MappingProxyType

import numpy as np

from optiform.brief import Brief, Range
from optiform.faults import BadInput, Fault
from optiform.formula import Formula, Line
from optiform.ingredient import Ingredient
from optiform.jobs.answer import Report
from optiform.jobs.around import today_of
from optiform.jobs.design import setting_of
from optiform.jobs.measures import measure
from optiform.jobs.report import report
from optiform.program.build import Demand, cases, frame
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.solver import solve
from optiform.properties.base import Mix, Property, fractions
from optiform.properties.registry import find_property
from optiform.properties.texture import eutectic_pairs

#: How far each property may move before it counts as much as any other: its unit of distance, in its own unit. Common
#: practice, no source.
WEIGHTS: Mapping[str, float] = MappingProxyType(
    {
        "solid fat at 10 degC": 5.0,
        "solid fat at 20 degC": 4.0,
        "solid fat at 30 degC": 3.0,
        "solid fat at 35 degC": 2.0,
        "structuring solids at 20 degC": 1.0,
        "structuring solids at 35 degC": 0.7,
        "saturated share": 10.0,
        "monounsaturated share": 12.0,
        "polyunsaturated share": 10.0,
        "required hlb": 0.5,
        "iodine value": 10.0,
        "active surfactant": 0.3,
        "humectant active": 1.0,
        "water": 2.0,
        "undissolved grains at 20 degC": 1.5,
        "emulsifier per 100 of oil phase": 2.5,
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
        new_names: declared now and not before; `new_cautions`: cautions it brings (allergens among them).
        eutectics: pairs of fats it creates whose solids do not add up.
        broken: limits of the brief it does not keep, in words.
    """

    parts: tuple[tuple[str, float], ...]
    formula: Formula
    distance: float
    worst: Shift
    shifts: tuple[Shift, ...]
    new_names: tuple[str, ...]
    new_cautions: tuple[str, ...]
    eutectics: tuple[str, ...]
    broken: tuple[str, ...]

    @property
    def close(self) -> bool:
        """Whether no property moves further than its unit of distance and the brief's limits hold."""
        return self.worst.distance <= CLOSE and not self.broken


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
        BadInput: without a reference formula, or when it does not contain what is missing.
    """
    today = today_of(brief)
    gone = _gone(brief, today, missing)
    family = {word for item in gone for words in FAMILIES if item.functions[0] in words for word in words}
    shelf = [item for item in brief.mix.ingredients if item.functions[0] in family and item not in gone]
    task = _Task(brief, today, tuple(gone), follow, _wanted(brief, today, weights))
    able, unable = task.sort(shelf)
    blends = [pair for size in range(1, blend + 1) for pair in combinations(able, size)]
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
    if faults:
        raise BadInput(faults)
    return found


def _wanted(brief: Brief, today: Formula, weights: Mapping[str, float]) -> list[tuple[Property, float, float]]:
    """The properties to keep: each with its value today and its unit of distance."""
    mix, x = Mix.of(today), fractions(today)
    found = []
    for name, unit in weights.items():
        wanted = find_property(name, brief.currency)
        value = measure(wanted, mix, x).value
        if value is not None:
            found.append((wanted, value, unit))
    return found


def _ranked(swaps: list[Swap]) -> list[Swap]:
    """Nearest first; a blend of which one part is all but nothing is the single ingredient again and is left out."""
    real = [swap for swap in swaps if all(share > 0.05 for _, share in swap.parts)]
    return sorted(real, key=lambda swap: (len(swap.broken) > 0, swap.distance))


def _purchase(brief: Brief, task: "_Task", family: set[str], ranked: list[Swap]) -> Swap | None:
    """The single ingredient off the shelf that comes nearer than anything on it, if any; cost not counted."""
    known = {item.name for item in (*brief.mix.ingredients, *task.gone)}
    others = [
        item
        for item in brief.catalogue.ingredients.values()
        if item.functions[0] in family and item.name not in known and item.name not in dict(brief.left_out)
    ]
    unpriced = replace_wanted(task, "cost")
    able, _ = unpriced.sort(others)
    swaps = _ranked([swap for item in able if (swap := unpriced.swap((item,)))])
    best = ranked[0].distance if ranked else np.inf
    return swaps[0] if swaps and swaps[0].distance < best else None


def replace_wanted(task: "_Task", without: str) -> "_Task":
    """The same task with one property not counted."""
    return replace(task, wanted=[each for each in task.wanted if each[0].name != without])


@dataclass(frozen=True)
class _Task:
    brief: Brief
    today: Formula
    gone: tuple[Ingredient, ...]
    follow: float
    wanted: list[tuple[Property, float, float]]

    def sort(self, items: Sequence[Ingredient]) -> tuple[list[Ingredient], list[tuple[str, str]]]:
        """Those whose figures are all known, and the others with what they lack."""
        able, unable = [], []
        for item in items:
            mix = Mix((item,), (item.phase,))
            lacking = [w.name for w, _, _ in self.wanted if w.terms(mix, np.zeros(1)).missing.any()]
            (unable.append((item.name, ", ".join(lacking))) if lacking else able.append(item))
        return able, unable

    def swap(self, parts: Sequence[Ingredient]) -> Swap | None:
        """The amounts of these parts that move the product least; None where no amounts keep the rest of the frame."""
        lines = [line for line in self.today.lines if line.ingredient not in self.gone]
        extra = [item for item in parts if item.name not in {line.ingredient.name for line in lines}]
        at = {line.ingredient.name: line.phase for line in self.today.lines}
        phase = next(line.phase for line in self.today.lines if line.ingredient in self.gone)
        mix = Mix(
            (*(line.ingredient for line in lines), *extra),
            (*(line.phase for line in lines), *(at.get(item.name, _phase(item, phase)) for item in extra)),
        )
        x = self._amounts(mix, {item.name for item in parts})
        return None if x is None else self._told(mix, x, parts)

    def _amounts(self, mix: Mix, parts: set[str]) -> Vector | None:
        """Least weighted distance: |(p - v g) x| / (g r unit) summed, v the value today and g r the group today."""
        before = np.array([self.today.fraction(item.name) for item in mix.ingredients])
        free = np.array([item.name in parts for item in mix.ingredients])
        start = before / before.sum()
        base = frame(replace(self.brief, mix=mix), np.zeros(len(before)))
        low = np.where(free, before, np.maximum(0, before - self.follow))
        high = np.where(free, 1.0, np.minimum(1, before + self.follow))
        program = base.with_bounds(low, high)
        for wanted, value, unit in self.wanted:
            program = _distance(program, wanted, value, unit, mix, start)
        found = solve(program)
        return found.x[: len(before)] if found.feasible else None

    def _told(self, mix: Mix, x: Vector, parts: Sequence[Ingredient]) -> Swap:
        lines = [Line(item, float(share), at) for item, at, share in zip(mix.ingredients, mix.phases, x, strict=True)]
        formula = Formula(
            " + ".join(item.name for item in parts), tuple(line for line in lines if line.fraction > 1e-9)
        )
        shifts = sorted(self._shifts(formula), key=lambda shift: -abs(shift.distance))
        old = {inci for inci, _ in self.today.declaration()}
        names = tuple(inci for inci, _ in formula.declaration() if inci not in old)
        looked, before = report(formula, setting_of(self.brief)), report(self.today, setting_of(self.brief))
        cautions = {caution.text for caution in before.cautions}
        total = sum(abs(shift.distance) for shift in shifts) + NEW_NAME * len(names)
        added = {item.name: formula.fraction(item.name) - self.today.fraction(item.name) for item in parts}
        return Swap(
            parts=tuple((name, 100 * share) for name, share in added.items()),
            formula=formula,
            distance=total,
            worst=shifts[0],
            shifts=tuple(shift for shift in shifts if abs(shift.distance) > 1e-6),
            new_names=names,
            new_cautions=tuple(caution.text for caution in looked.cautions if caution.text not in cautions),
            eutectics=tuple(self._pairs(formula)),
            broken=tuple(self._broken(formula)),
        )

    def _shifts(self, formula: Formula) -> Iterator[Shift]:
        for wanted, value, unit in self.wanted:
            after = wanted.of(formula)
            after = value if after is None else after
            move = (after - value) / unit
            yield Shift(wanted.name, wanted.unit, value, after, max(0.0, move) if wanted.name == "cost" else move)

    def _pairs(self, formula: Formula) -> Iterator[str]:
        old = {pair[:2] for pair in eutectic_pairs(Mix.of(self.today), fractions(self.today))}
        for first, second, rule in eutectic_pairs(Mix.of(formula), fractions(formula)):
            if (first, second) not in old:
                yield f"{first} with {second}: {rule.effect}"

    def _broken(self, formula: Formula) -> Iterator[str]:
        """Demands of the brief that the new formula breaks and today's kept."""
        mix = Mix.of(formula)
        brief = replace(self.brief, mix=mix, ranges=tuple(self._ranges(mix)))
        x, was = fractions(formula), {item.name: self.today.fraction(item.name) for item in mix.ingredients}
        for demand in cases(brief)[0]:
            if not demand.held(x).met(x) and not _broken_before(demand, was):
                yield demand.words

    def _ranges(self, mix: Mix) -> Iterator[Range]:
        known = dict(zip((i.name for i in self.brief.mix.ingredients), self.brief.ranges, strict=True))
        yield from (known.get(item.name, Range()) for item in mix.ingredients)


def _broken_before(demand: Demand, was: Mapping[str, float]) -> bool:
    """Whether it is a range of one line that today's amount breaks already."""
    share = 100 * was.get(demand.name, 0.0)
    if demand.kind != "line":
        return False
    return share < demand.target - 1e-6 if demand.side == "low" else share > demand.target + 1e-6


def _phase(item: Ingredient, wanted: str) -> str:
    return wanted if item.phase == wanted or item.phase != "grains" else item.phase


def _distance(program: Program, wanted: Property, value: float, unit: float, mix: Mix, at: Vector) -> Program:
    """The program with one property's distance from its value added to the objective, through two helper columns.

    To cost less is no distance.
    """
    terms = wanted.terms(mix, at)
    group = max(float(terms.denominator @ at), 1e-6)
    row = (terms.numerator - value * terms.denominator) / (group * unit)
    width = len(program.columns)
    counted = np.array([1.0, 0.0 if wanted.name == "cost" else 1.0])
    wide = program.widened([f"{wanted.name} up", f"{wanted.name} down"], counted, np.zeros(2), np.full(2, 1e6))
    coefficients = np.concatenate([row, np.zeros(width - len(row)), [-1.0, 1.0]])
    return wide.with_rows([*wide.rows, Row(f"distance of {wanted.name}", coefficients, Sense.EQUAL, 0.0)])
