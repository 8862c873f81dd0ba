"""One substitution: what stands in for what has gone, in which amounts, and how far the whole product moves."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from optiform.brief.brief import Brief, Range
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.program.build import Demand, frame, requirements
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.solver import solve
from optiform.program.tolerances import UNUSED
from optiform.properties.base import Mix, Property, fractions
from optiform.properties.cost import cost
from optiform.properties.solubility import OutOfRange
from optiform.properties.texture import eutectic_pairs
from optiform.review.answer import Report
from optiform.review.measures import setting_of
from optiform.review.report import new_warnings, report

NEW_NAME = 0.5  # distance for each name the declaration did not have before
LEAST_PART = 0.05  # % of the whole: less of a part is none
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
class Replacement:
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
class Kept:
    """A property to keep: its value today, its unit of distance, and the share of the whole it is a mean over."""

    property: Property
    value: float
    unit: float
    group: float


def family_of(item: Ingredient) -> tuple[str, ...]:
    """What it can stand in for; one of no family stands alone."""
    return next((words for words in FAMILIES if item.functions[0] in words), item.functions[:1])


@dataclass(frozen=True, eq=False)
class Weighed:
    """One substitution with its amounts, before everything is said of it. `parts`, `shifts`... as in `Replacement`.

    `u` and `v` are what its linear program says of others (see blends.py).
    """

    parts: tuple[tuple[str, float], ...]
    formula: Formula
    shifts: tuple[Shift, ...]
    new_names: tuple[str, ...]
    broken: tuple[str, ...]
    u: Vector
    v: float

    @property
    def distance(self) -> float:
        """Of all properties and new names together."""
        return sum(abs(shift.distance) for shift in self.shifts) + NEW_NAME * len(self.new_names)

    @property
    def but_for_cost(self) -> float:
        """The distance without what the cost adds."""
        return self.distance - sum(shift.distance for shift in self.shifts if shift.name == "cost")

    @property
    def real(self) -> bool:
        """Whether it is a blend at all; one of which a part is all but nothing is a smaller one again."""
        return len(self.parts) == 1 or all(percent > LEAST_PART for _, percent in self.parts)


@dataclass(frozen=True)
class Task:
    """What has to be replaced in which formula, and which properties are to stay."""

    brief: Brief
    today: Formula
    gone: tuple[Ingredient, ...]
    follow: float
    wanted: tuple[Kept, ...]

    def without(self, name: str) -> "Task":
        """The same task with one property not counted."""
        return replace(self, wanted=tuple(kept for kept in self.wanted if kept.property.name != name))

    def sort(self, items: Sequence[Ingredient]) -> tuple[list[Ingredient], list[tuple[str, str]]]:
        """Those whose figures are all known, and the others with what they lack."""
        able, unable = [], []
        for item in items:
            mix = Mix((item,), (item.phase,))
            lacking = [k.property.name for k in self.wanted if k.property.terms(mix, np.zeros(1)).missing.any()]
            (unable.append((item.name, ", ".join(lacking))) if lacking else able.append(item))
        return able, unable

    def weighed(self, parts: Sequence[Ingredient]) -> "Weighed | None":
        """The amounts of these parts that move the product least; None where no amounts keep the rest of the frame."""
        mix = self.mix(parts)
        program, rows = self._program(mix, {item.name for item in parts})
        solution = solve(program)
        if not solution.feasible:
            return None
        x = solution.x[: len(mix.ingredients)]
        formula = _formula(mix, x, " + ".join(item.name for item in parts))
        return Weighed(
            parts=tuple((item.name, 100 * self._gain(formula, item.name)) for item in parts),
            formula=formula,
            shifts=tuple(sorted(self._shifts(formula), key=lambda shift: -abs(shift.distance))),
            new_names=tuple(inci for inci, _ in formula.declaration() if inci not in self._declared),
            broken=tuple(self._broken(formula)),
            u=-solution.y[rows:],
            v=float(solution.y[0]),
        )

    def _gain(self, formula: Formula, name: str) -> float:
        return formula.fraction(name) - self.today.fraction(name)

    @cached_property
    def families(self) -> Mapping[tuple[str, ...], float]:
        """Of each family that goes, how much, mass fraction."""
        gone: dict[tuple[str, ...], float] = {}
        for item in self.gone:
            gone[family_of(item)] = gone.get(family_of(item), 0.0) + self.today.fraction(item.name)
        return gone

    def mix(self, parts: Sequence[Ingredient]) -> Mix:
        """What stays of today's formula, then the parts that are not in it."""
        lines = [line for line in self.today.lines if line.ingredient not in self.gone]
        extra = [item for item in parts if item.name not in {line.ingredient.name for line in lines}]
        return Mix(
            (*(line.ingredient for line in lines), *extra),
            (*(line.phase for line in lines), *(self._phase(item) for item in extra)),
        )

    def _phase(self, item: Ingredient) -> str:
        """Where it is weighed: with what it replaces of its family; grains stay grains."""
        gone = [line for line in self.today.lines if line.ingredient in self.gone]
        wanted = next(line.phase for line in gone if family_of(line.ingredient) == family_of(item))
        return item.phase if item.phase == "grains" else wanted

    def _program(self, mix: Mix, parts: set[str]) -> tuple[Program, int]:
        """Least weighted distance: sum of |(p - v g) x| / (g r unit), v the value today, r today's fractions.

        The rows of distance come last; with it, how many stand before them.
        """
        before = mix.vector(self.today)
        free = np.array([item.name in parts for item in mix.ingredients])
        base = frame(replace(self.brief, mix=mix), np.zeros(len(before)))
        low = np.where(free, before, np.maximum(0, before - self.follow))
        high = np.where(free, 1.0, np.minimum(1, before + self.follow))
        program = base.with_bounds(low, high)
        program = program.with_rows([*program.rows, *self._shares(mix, free, before)])
        names = [kept.property.name for kept in self.wanted]
        return _with_distances(program, names, self.rows(mix)), len(program.rows)

    def rows(self, mix: Mix) -> Vector:
        """How far one of each line moves each property, in its unit of distance. Shape (properties, lines)."""
        before = mix.vector(self.today)
        terms = [kept.property.terms(mix, before / before.sum()) for kept in self.wanted]
        rows = [
            (each.numerator - kept.value * each.denominator) / (kept.group * kept.unit)
            for kept, each in zip(self.wanted, terms, strict=True)
        ]
        return np.array(rows).reshape(len(rows), len(before))

    def _shares(self, mix: Mix, free: NDArray[np.bool_], before: Vector) -> Iterator[Row]:
        """Each family that goes is made up for by its own kin, give or take what may follow."""
        kin = [family_of(item) for item in mix.ingredients]
        for family, gone in self.families.items():
            own = np.array([float(each == family) for each in kin]) * free
            total = float(own @ before) + gone
            yield Row(f"{family[0]} again", own, Sense.AT_LEAST, total - self.follow)
            yield Row(f"{family[0]} again", own, Sense.AT_MOST, total + self.follow)

    def told(self, swap: "Weighed") -> Replacement:
        """The substitution with all there is to say of it."""
        looked = report(swap.formula, setting_of(self.brief))
        spent, today = (cost(self.brief.currency).of(formula) for formula in (swap.formula, self.today))
        pairs = tuple(self._pairs(swap.formula))
        return Replacement(
            parts=swap.parts,
            formula=swap.formula,
            distance=swap.distance,
            worst=swap.shifts[0],
            shifts=tuple(shift for shift in swap.shifts if abs(shift.distance) > 1e-6),
            new_names=swap.new_names,
            new_cautions=tuple(caution.text for caution in looked.cautions if caution not in self._before.cautions),
            new_warnings=tuple(text for text in new_warnings(looked, self._before) if not text.startswith(pairs)),
            eutectics=pairs,
            broken=swap.broken,
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
    def _declared(self) -> frozenset[str]:
        return frozenset(inci for inci, _ in self.today.declaration())

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


def _formula(mix: Mix, x: Vector, name: str) -> Formula:
    whole = x / x.sum()  # the solver's rounding
    lines = [Line(item, float(s), at) for item, at, s in zip(mix.ingredients, mix.phases, whole, strict=True)]
    return Formula(name, tuple(line for line in lines if line.fraction > UNUSED))


def _with_distances(program: Program, names: Sequence[str], rows: Vector) -> Program:
    """The program with each property's distance from its value as its objective, through two helper columns each.

    To cost less is no distance.
    """
    count, width = len(names), len(program.columns)
    columns = [f"{name} {way}" for name in names for way in ("up", "down")]
    counted = np.array([[1.0, 0.0 if name == "cost" else 1.0] for name in names]).reshape(2 * count)
    wide = program.widened(columns, counted, np.zeros(2 * count), np.full(2 * count, 1e6))
    helpers = np.kron(np.eye(count), [-1.0, 1.0]).reshape(count, 2 * count)
    distances = [
        Row(f"distance of {name}", np.concatenate([row, helper]), Sense.EQUAL, 0.0)
        for name, row, helper in zip(names, rows.reshape(count, width), helpers, strict=True)
    ]
    return wide.with_rows([*wide.rows, *distances])
