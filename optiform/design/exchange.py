"""The exchange of what goes for what may come: one table of rows for all blends, and each blend weighed out on it.

What goes is made up for by its function's measure (function.py). A property counts by how far it is known to move: what
comes in at one end of its figures against what goes at the other, so that a butter whose figures range widely is not
far for that. Each limit that today's formula keeps is a row too, with a weight that no property has.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from optiform.brief.brief import Brief, Range
from optiform.design.blends import Makeup, Shelf
from optiform.design.function import BUTTER, Family, counter_line, family_of, wrong_kind
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.program.build import Demand, Requirements, requirements
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.solver import solve
from optiform.program.tolerances import UNUSED
from optiform.properties.base import Mix, Property, Ratio, Terms, fractions
from optiform.properties.oil_phase import solid_fat_value
from optiform.properties.solubility import OutOfRange

NEW_NAME = 0.5  # distance for each name the declaration did not have before
LEAST_PART = 0.05  # % of the whole: less of a part is none
MISSED = 1000.0  # distance of a limit missed by as much as it is: no property comes near it
MOVED = 25.0  # per mass fraction of a line that makes room: 4 % points of it count as one property. Common practice, no source
#: How much of a butter may come for one part of another: common practice, no source. The solids decide within it.
BUTTER_SPAN = (0.4, 2.5)
SOLIDS_AT = 20.0  # degC
WIDE = 1e-9  # of a property: figures whose ends are no further apart leave nothing open


@dataclass(frozen=True)
class Kept:
    """A property to keep: its value today, its unit of distance, and the share of the whole it is a mean over."""

    property: Property
    value: float
    unit: float
    group: float


@dataclass(frozen=True, eq=False)
class Weighed:
    """One substitution with its amounts, before everything is said of it.

    Attributes:
        parts: what comes in, % of the whole. `x` is the mass fraction of every column.
        moves: how far each property moves, in its unit of distance; to cost less is no distance.
        distance: of all properties and new names together. `unpriced` without what the cost adds.
        rank: what decides between two that both keep the limits, or both miss some; limits missed are in it.
        broken: limits it misses and today's formula keeps.
        u, v: what its linear program says of others (see blends.py).
    """

    parts: tuple[tuple[str, float], ...]
    x: Vector
    moves: tuple[float, ...]
    distance: float
    unpriced: float
    rank: float
    broken: tuple[str, ...]
    u: Vector
    v: float

    @property
    def order(self) -> tuple[bool, float, tuple[str, ...]]:
        """Those that keep the limits first, then the nearest; of as near ones the first by name.

        Rounded, so that equal answers do not hang on the last digit of a solver.
        """
        return bool(self.broken), round(self.rank, 6), tuple(name for name, _ in self.parts)

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

    @cached_property
    def families(self) -> Mapping[Family, float]:
        """Of each family that goes, how much of its measure there is, mass fraction times strength.

        A family is taken by its mass where nobody knows how much one of what goes does.
        """
        gone: dict[Family, list[Ingredient]] = {}
        for item in self.gone:
            gone.setdefault(family_of(item), []).append(item)
        amounts = {}
        for family, items in gone.items():
            known = family if all(map(self._known, items)) else family.by_mass()
            amounts[known] = sum((known.strength(item) or 0.0) * self.today.fraction(item.name) for item in items)
        return amounts

    @staticmethod
    def _known(item: Ingredient) -> bool:
        """Whether it is known how much of its family's measure it brings."""
        family = family_of(item)
        return family.strength(item) is not None and (family is not BUTTER or solid_fat_value(item, SOLIDS_AT) is not None)

    def family(self, item: Ingredient) -> Family | None:
        """The family that goes and that it belongs to."""
        return next((known for known in self.families if item.functions[0] in known.functions), None)

    def lacking(self, item: Ingredient) -> str:
        """Why an ingredient cannot be judged, in words; empty where it can."""
        family = self.family(item)
        if family is None:
            return "another function"
        if family.measure and not self._known(item):
            return f"no figure for {family.measure}"
        mix, none = Mix((item,), (item.phase,)), np.zeros(1)
        asked = [limit.property for limit in self.brief.limits if isinstance(limit.property, Ratio)]
        properties = {wanted.name: wanted for wanted in (*(kept.property for kept in self.wanted), *asked)}.values()
        gaps = [wanted.name for wanted in properties if wanted.terms(mix, none).missing.any()]
        return f"no figure for {', '.join(gaps)}" if gaps else wrong_kind(family, self.gone, item, self.today)

    @cached_property
    def makes_room(self) -> frozenset[str]:
        """Lines that make room or fill up."""
        lines = (counter_line(family, self.today, self.gone, self.brief) for family in self.families if family.measure)
        return frozenset(line.ingredient.name for line in lines if line)

    @cached_property
    def unmet_today(self) -> frozenset[tuple[str, str]]:
        """Name and side of the demands that today's formula does not keep."""
        mix, x = Mix.of(self.today), fractions(self.today)
        demands = requirements(replace(self.brief, mix=mix, ranges=tuple(_ranges(self.brief, mix)))).near(x)
        return frozenset((demand.name, demand.side) for demand in demands if not _met(demand, x))


def _ranges(brief: Brief, mix: Mix) -> Iterator[Range]:
    known = dict(zip((i.name for i in brief.mix.ingredients), brief.ranges, strict=True))
    yield from (known.get(item.name, Range()) for item in mix.ingredients)


def _met(demand: Demand, x: Vector) -> bool:
    """Whether it is kept, as far as its model can tell."""
    try:
        return demand.met(x)
    except OutOfRange:
        return False


@dataclass(frozen=True)
class _Ends:
    """A property as it is, with what comes in at the low and the high end of its figures; by how much more, and less
    (below 0), today's may be by the figures of what goes."""

    value: float
    low: float
    high: float
    more: float
    less: float


@dataclass(frozen=True, eq=False)
class Exchange:
    """A task with the parts that may come in. Columns are the parts, then the other lines that stay."""

    task: Task
    able: tuple[Ingredient, ...]

    # -- columns ---------------------------------------------------------------------------------------------------

    @cached_property
    def mix(self) -> Mix:
        """The parts, then what stays of today's formula and is none of them; a line that stays keeps its phase."""
        parts = {item.name for item in self.able}
        stays = [line for line in self.task.today.lines if line.ingredient not in self.task.gone]
        at = {line.ingredient.name: line.phase for line in stays}
        others = [line for line in stays if line.ingredient.name not in parts]
        return Mix(
            (*self.able, *(line.ingredient for line in others)),
            (*(at.get(item.name) or self._phase(item) for item in self.able), *(line.phase for line in others)),
        )

    def _phase(self, item: Ingredient) -> str:
        """Where it is weighed: with what it replaces of its family; grains stay grains."""
        gone = [line for line in self.task.today.lines if line.ingredient in self.task.gone]
        family = family_of(item)
        phase = next(line.phase for line in gone if family_of(line.ingredient) == family)
        return item.phase if item.phase == "grains" else phase

    @cached_property
    def before(self) -> Vector:
        """Today's mass fraction of each column."""
        return self.mix.vector(self.task.today)

    @cached_property
    def _part(self) -> NDArray[np.bool_]:
        return np.arange(len(self.mix.ingredients)) < len(self.able)

    @cached_property
    def _room(self) -> NDArray[np.bool_]:
        names = [item.name in self.task.makes_room for item in self.mix.ingredients]
        return np.array(names, dtype=bool) & ~self._part

    @cached_property
    def _band(self) -> tuple[Vector, Vector]:
        """How far each line that stays may go, mass fraction."""
        follow = self.task.follow * (self.before > 0)
        spare = self._room * (sum(self.task.today.fraction(item.name) for item in self.task.gone) + float(follow.sum()))
        low = np.where(self._room, 0.0, np.maximum(0, self.before - follow))
        return low, np.minimum(1, self.before + np.maximum(follow, spare))

    # -- rows ------------------------------------------------------------------------------------------------------

    @cached_property
    def _terms(self) -> list[Terms]:
        return [kept.property.terms(self.mix, self.before / self.before.sum()) for kept in self.task.wanted]

    @cached_property
    def _slack(self) -> list[tuple[float, float]]:
        """By how much each property's sum may have been higher, and lower, today than its figures say: what goes."""
        gone = [line for line in self.task.today.lines if line.ingredient in self.task.gone]
        mix, x = Mix(tuple(x.ingredient for x in gone), tuple(x.phase for x in gone)), np.array([y.fraction for y in gone])
        slack = []
        for kept in self.task.wanted:
            terms = kept.property.terms(mix, x) if isinstance(kept.property, Ratio) else None
            slack.append(
                (float((terms.high - terms.numerator) @ x), float((terms.low - terms.numerator) @ x))
                if terms
                else (0.0, 0.0)
            )
        return slack

    def _known_move(self, k: int) -> tuple[Vector, Vector]:
        """Rows of a property's least known rise, and least known fall: p - v g, parts at one end, what goes at the other."""
        kept, terms = self.task.wanted[k], self._terms[k]
        more, less = self._slack[k]
        wide = self._part & isinstance(kept.property, Ratio)
        plain = terms.numerator - kept.value * terms.denominator
        low, high = (np.where(wide, end - terms.numerator, 0.0) for end in (terms.low, terms.high))
        rise = plain + low - float(low @ self.before) - more
        fall = -(plain + high - float(high @ self.before) - less)
        scale = kept.group * kept.unit
        return rise / scale, fall / scale

    @cached_property
    def rows(self) -> Vector:
        """Each property's rise and fall, then how far each limit is missed. Shape (rows, columns)."""
        moves = [row for k in range(len(self.task.wanted)) for row in self._known_move(k)]
        return np.array([*moves, *self._misses]).reshape(-1, len(self.before))

    @cached_property
    def price(self) -> Vector:
        """What one of each row counts in the linear program."""
        moves = [1.0, 1.0] * len(self.task.wanted)
        for k, kept in enumerate(self.task.wanted):
            moves[2 * k + 1] = 0.0 if kept.property.name == "cost" else 1.0
        return np.array([*moves, *[MISSED] * len(self._misses)])

    @cached_property
    def _needed(self) -> Requirements:
        brief = self.task.brief
        return requirements(replace(brief, mix=self.mix, ranges=tuple(_ranges(brief, self.mix))))

    def _counts(self, demand: Demand) -> bool:
        """Whether a new formula has to keep it: today's keeps it, or there was nothing of it to keep."""
        if (demand.name, demand.side) in self.task.unmet_today:
            return False
        if demand.kind != "line":
            return True
        share = 100 * self.task.today.fraction(demand.name)
        return share >= demand.target - 1e-6 if demand.side == "low" else share <= demand.target + 1e-6

    @cached_property
    def _misses(self) -> list[Vector]:
        """Limits that run straight, as rows that are above 0 where the limit is missed, in parts of its size."""
        ways = [kinds[0] for kinds in self._needed.limits if len(kinds) == 1]
        demands = [demand for way in (*ways, self._needed.rest) for demand in way if not demand.bends]
        return [self._miss(demand) for demand in demands if self._counts(demand)]

    def _miss(self, demand: Demand) -> Vector:
        terms = demand.terms(self.before)
        over = terms.numerator - demand.target * terms.denominator
        group = 1.0 if terms.whole else max(1e-3, float(terms.denominator @ self.before))
        return np.asarray((over if demand.side == "high" else -over) / (group * (1 + abs(demand.target))))

    # -- the shelf, for the search ---------------------------------------------------------------------------------

    @cached_property
    def shelf(self) -> Shelf:
        """The parts that may come in, and the other lines that stay, as blends.py needs them."""
        labels = [{part.inci.casefold() for part in item.constituents} for item in self.able]
        old = {inci.casefold() for inci, _ in self.task.today.declaration()}
        new = sorted(set().union(*labels) - old)
        low, high = self._band
        cost = [kept.property.name == "cost" for kept in self.task.wanted for _ in range(2)]
        return Shelf(
            rows=self.rows,
            weights=np.array([*self._least_weights(), *self.price[2 * len(self.task.wanted) :]]),
            cost=np.array([*cost, *[False] * len(self._misses)], dtype=bool),
            before=self.before,
            low=low,
            high=high,
            makeups=self._makeups,
            names=np.array([[name in label for name in new] for label in labels], dtype=bool).reshape(len(labels), len(new)),
            name=NEW_NAME,
        )

    @cached_property
    def _makeups(self) -> tuple[Makeup, ...]:
        """What has gone; a butter by its mass, whose solids the linear program looks at."""
        makeups = []
        for family, amount in self.task.families.items():
            own = [item.functions[0] in family.functions for item in self.able]
            strength = [(family.strength(x) or 0.0) * kin for x, kin in zip(self.able, own, strict=True)]
            least, most = BUTTER_SPAN if family is BUTTER else (1.0, 1.0)
            makeups.append(Makeup(np.array(strength, dtype=float), least * amount, most * amount, family.alone))
        return tuple(makeups)

    def _least_weights(self) -> Iterator[float]:
        """The least that one unit of each move of the linear program is in distance: a mean's group may grow."""
        for k, kept in enumerate(self.task.wanted):
            weight = 1.0 if self._terms[k].whole else kept.group / max(kept.group, self._most(self._terms[k].denominator))
            straight = isinstance(kept.property, Ratio)
            yield from (weight * straight * price for price in self.price[2 * k : 2 * k + 2])

    def _most(self, group: Vector) -> float:
        """The most that there can be of a group: every line of the frame at its most, and the parts that count most."""
        own, most = group[: len(self.able)], float(group @ self._band[1])
        for makeup in self._makeups:
            kin = makeup.strength > 0
            most += makeup.most * float((own[kin] / makeup.strength[kin]).max(initial=0.0))
        return min(most, 1.0)

    # -- weighing out ----------------------------------------------------------------------------------------------

    def weighed(self, places: Sequence[int]) -> Weighed | None:
        """The amounts of these parts that move the product least; None where no amounts do what has gone did."""
        blend = np.zeros(len(self.before), dtype=bool)
        blend[list(places)] = True
        program, columns = self._program(blend)
        solution = solve(program)
        if not solution.feasible:
            return None
        x = np.zeros(len(self.before))
        x[columns] = np.round(solution.x[: len(columns)], 9)  # the solver's last digits are no amounts
        x[x < UNUSED] = 0.0
        x /= x.sum()
        return self._told(places, x, -solution.y[: len(self.rows)], float(solution.y[len(self.rows)]))

    def _told(self, places: Sequence[int], x: Vector, u: Vector, v: float) -> Weighed:
        moves = tuple(self._moves(x))
        fresh = float(self.shelf.new_names(np.array([places]))[0])
        distance = sum(map(abs, moves)) + fresh
        spent = sum(m for m, kept in zip(moves, self.task.wanted, strict=True) if kept.property.name == "cost")
        missed = self.rows[2 * len(self.task.wanted) :] @ x
        return Weighed(
            parts=tuple((self.able[j].name, 100 * float(x[j] - self.before[j])) for j in places),
            x=x,
            moves=moves,
            distance=distance,
            unpriced=distance - spent,
            rank=distance + MISSED * float(missed[missed > 0].sum()),
            broken=tuple(d.words for d in self._needed.near(x) if self._counts(d) and not _met(d, x)),
            u=u,
            v=v,
        )

    def _program(self, blend: NDArray[np.bool_]) -> tuple[Program, NDArray[np.intp]]:
        """Least sum of what moves and is missed, over the lines that stay and these parts; and their columns."""
        columns = np.flatnonzero(blend | (self.before > 0))
        low, high = (np.where(blend, end, band)[columns] for end, band in zip((self.before, 1.0), self._band, strict=True))
        rows, width, room = self.rows[:, columns], len(columns), np.flatnonzero(self._room[columns])
        count = len(rows)
        total = width + count + 2 * len(room)
        names = [self.mix.ingredients[j].name for j in columns]
        program = Program(
            tuple([*names, *(f"helper {k}" for k in range(total - width))]),
            np.concatenate([np.zeros(width), self.price, np.full(2 * len(room), MOVED)]),
            np.concatenate([low, np.zeros(total - width)]),
            np.concatenate([high, 1 + np.abs(rows).max(axis=1, initial=0), np.ones(2 * len(room))]),
            (),
        )
        wide = np.hstack([rows, -np.eye(count), np.zeros((count, total - width - count))])
        moved = [Row(f"row {k}", row, Sense.AT_MOST, 0.0) for k, row in enumerate(wide)]
        balance = Row("everything sums to 100 %", np.where(np.arange(total) < width, 1.0, 0.0), Sense.EQUAL, 1.0)
        kept = list(self._made_up_for(blend, columns, total))
        follows = [
            Row.of("makes room", total, {int(j): 1.0, width + count + 2 * n: -1.0, width + count + 2 * n + 1: 1.0},
                   Sense.EQUAL, float(self.before[columns[j]]))
            for n, j in enumerate(room)
        ]  # fmt: skip
        return program.with_rows([*moved, balance, *kept, *follows]), columns

    def _made_up_for(self, blend: NDArray[np.bool_], columns: NDArray[np.intp], total: int) -> Iterator[Row]:
        """What has gone is brought again by the parts of its family."""
        for (family, amount), makeup in zip(self.task.families.items(), self._makeups, strict=True):
            strength = np.zeros(len(self.before))
            strength[: len(self.able)] = makeup.strength
            yield from _between(strength * blend, self.before, columns, total, makeup.least, makeup.most)
            if family is BUTTER:
                yield from self._solids(blend, columns, total, amount)

    def _solids(self, blend: NDArray[np.bool_], columns: NDArray[np.intp], total: int, amount: float) -> Iterator[Row]:
        """A butter's solids at 20 degC, as far as both figures are known; nothing where one is not."""
        gone = [item for item in self.task.gone if item.functions[0] in BUTTER.functions]
        old = [solid_fat_value(item, SOLIDS_AT) for item in gone]
        new = [solid_fat_value(self.mix.ingredients[j], SOLIDS_AT) for j in np.flatnonzero(blend)]
        if not all(old) or not all(new) or not amount:
            return
        shares = [self.task.today.fraction(item.name) for item in gone]
        least = sum(share * value.least for share, value in zip(shares, old, strict=True) if value)
        most = sum(share * value.most for share, value in zip(shares, old, strict=True) if value)
        for end, sense, target in (("most", Sense.AT_LEAST, least), ("least", Sense.AT_MOST, most)):
            figures = np.zeros(len(self.before))
            figures[blend] = [getattr(value, end) * (item.functions[0] in BUTTER.functions) for value, item in
                              zip(new, np.array(self.mix.ingredients, dtype=object)[blend], strict=True)]  # fmt: skip
            yield _padded("solids at 20 degC again", figures, columns, total, sense, target + float(figures @ self.before))

    # -- what it is ------------------------------------------------------------------------------------------------

    def _moves(self, x: Vector) -> Iterator[float]:
        """How far each property is known to move, in its unit of distance."""
        for k, kept in enumerate(self.task.wanted):
            ends = self._ends(k, x)
            rise, fall = (0.0, 0.0) if ends is None else (ends.low - kept.value - ends.more, kept.value + ends.less - ends.high)
            move = rise if rise > 0 else -fall if fall > 0 else 0.0
            yield max(0.0, move / kept.unit) if kept.property.name == "cost" else move / kept.unit

    def _ends(self, k: int, x: Vector) -> "_Ends | None":
        """What is known of a property with these amounts; None where it has no value."""
        wanted = self.task.wanted[k].property
        straight = isinstance(wanted, Ratio)
        terms = self._terms[k] if straight else wanted.at(self.mix, x)
        value = terms.at(x)
        if value is None:
            return None
        if not straight:
            return _Ends(value, value, value, 0.0, 0.0)
        group, came = float(terms.denominator @ x), np.where(self._part, x - self.before, 0.0)
        low, high = (float((end - terms.numerator) @ came) / group for end in (terms.low, terms.high))
        more, less = (slack / group for slack in self._slack[k])
        return _Ends(value, value + low, value + high, more, less)

    def value(self, k: int, x: Vector) -> float | None:
        """A property with these amounts."""
        ends = self._ends(k, x)
        return None if ends is None else ends.value

    def could_be(self, k: int, x: Vector) -> tuple[float, float] | None:
        """Between what a property may come to lie, seen from today's figure; None where its figures leave nothing open.

        What is not known of what goes counts as much as what is not known of what comes.
        """
        ends = self._ends(k, x)
        if ends is None:
            return None
        low, high = ends.low - ends.more, ends.high - ends.less
        return (low, high) if high - low > WIDE else None

    def formula(self, x: Vector, name: str) -> Formula:
        """The lines of a column of fractions, today's in their order, then what comes in."""
        lines = {
            item.name: Line(item, float(share), at)
            for item, share, at in zip(self.mix.ingredients, x, self.mix.phases, strict=True)
            if share > UNUSED
        }
        old = [line.ingredient.name for line in self.task.today.lines if line.ingredient.name in lines]
        return Formula(name, tuple(lines[name] for name in dict.fromkeys([*old, *lines])))


def _padded(words: str, row: Vector, columns: NDArray[np.intp], total: int, sense: Sense, rhs: float) -> Row:
    return Row(words, np.concatenate([row[columns], np.zeros(total - len(columns))]), sense, rhs)


def _between(
    row: Vector, before: Vector, columns: NDArray[np.intp], total: int, least: float, most: float
) -> Iterator[Row]:
    """Rows that keep what comes in between two ends; one where they are the same."""
    there = float(row @ before)
    if least == most:
        yield _padded("made up for", row, columns, total, Sense.EQUAL, there + least)
        return
    yield _padded("made up for", row, columns, total, Sense.AT_LEAST, there + least)
    yield _padded("made up for", row, columns, total, Sense.AT_MOST, there + most)
