"""The exchange of what goes for what may come: one table of rows for all blends, and each blend weighed out on it.

What goes is made up for by its function's measure (function.py). A property counts by how far it is known to move: what
comes in at one end of its figures against what goes at the other, so that a butter whose figures range widely is not
far for that. Each limit that today's formula keeps is a row too, with a weight that no property has.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from optiform.brief.doses import least_doses
from optiform.design.blends import Makeup, Shelf
from optiform.design.companions import Companion
from optiform.design.function import family_of
from optiform.design.task import Task, ranges_of
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.program.build import Demand, Requirements
from optiform.program.linear import Vector
from optiform.program.tolerances import UNUSED
from optiform.program.usual import requirements
from optiform.properties.base import Mix, Ratio, Terms, possible
from optiform.reading.frozen import frozen

NEW_NAME = 0.5  # distance for each name the declaration did not have before
NEW_GRAIN = 6.0  # likewise for grains of another kind: salt stings where sugar does not, and shells do not dissolve
GRAINS = " as grains"
LEAST_PART = 0.05  # % of the whole: less of a part is none
MISSED = 1000.0  # distance of a limit missed by as much as it is: no property comes near it
MOVED = 25.0  # per mass fraction of a line that makes room: 4 % points count as a property. Common practice, no source
WIDE = 1e-9  # of a property: figures whose ends are no further apart leave nothing open


@frozen
class Ends:
    """A property as it is, and with what comes in at the low and the high end of its figures.

    `more` and `less` (below 0): by how much today's may differ by the figures of what goes.
    """

    value: float
    low: float
    high: float
    more: float
    less: float

    def known_move(self, before: float) -> float:
        """By how much it is known to have moved from a value, in its own unit; 0 where it may not have moved at all."""
        rise, fall = self.low - before - self.more, before + self.less - self.high
        return rise if rise > 0 else -fall if fall > 0 else 0.0


@dataclass(frozen=True, eq=False)
class Exchange:
    """A task with the parts that may come in, and what comes along with some.

    Columns are the parts, then the other lines that stay, then what comes along and is none of both.
    """

    task: Task
    able: tuple[Ingredient, ...]
    along: tuple[Companion, ...] = ()

    # -- columns ---------------------------------------------------------------------------------------------------

    @cached_property
    def mix(self) -> Mix:
        """The parts, then what stays of today's formula and is none of them; a line that stays keeps its phase."""
        parts = {item.name for item in self.able}
        stays = [line for line in self.task.today.lines if line.ingredient not in self.task.gone]
        at = {line.ingredient.name: line.phase for line in stays}
        others = [line for line in stays if line.ingredient.name not in parts]
        new = [x for x in dict.fromkeys(x.item for x in self.along) if x.name not in parts and x.name not in at]
        return Mix(
            (*self.able, *(line.ingredient for line in others), *new),
            (
                *(at.get(item.name) or self._phase(item) for item in self.able),
                *(line.phase for line in others),
                *(item.phase for item in new),
            ),
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
    def part(self) -> NDArray[np.bool_]:
        """Which columns are parts that may come in."""
        return np.arange(len(self.mix.ingredients)) < len(self.able)

    def dose(self, places: Sequence[int]) -> Vector:
        """The least of each column that these parts bring along, mass fraction. Shape (columns,)."""
        dose, names = np.zeros(len(self.before)), {self.able[place].name for place in places}
        for companion in self.along:
            if companion.of in names:
                column = self.mix.ingredients.index(companion.item)
                dose[column] = max(dose[column], companion.share)
        return dose

    @cached_property
    def room(self) -> NDArray[np.bool_]:
        """Which columns make room or fill up."""
        names = [item.name in self.task.makes_room for item in self.mix.ingredients]
        return np.array(names, dtype=bool) & ~self.part

    @cached_property
    def band(self) -> tuple[Vector, Vector]:
        """How far each line that stays may go, mass fraction."""
        follow = self.task.follow * (self.before > 0)
        spare = self.room * (sum(self.task.today.fraction(item.name) for item in self.task.gone) + float(follow.sum()))
        low = np.where(self.room, 0.0, np.maximum(0, self.before - follow))
        return low, np.minimum(1, self.before + np.maximum(follow, spare))

    @cached_property
    def widest(self) -> tuple[Vector, Vector]:
        """How far each line may go in any blend: its band, or what some part brings along."""
        low, high = self.band
        return low, np.maximum(high, self.dose(range(len(self.able))))

    @cached_property
    def least(self) -> Vector:
        """The least dose of each part that comes in and is not there today, mass fraction. Shape (columns,)."""
        brief = self.task.brief
        doses = dict(zip((item.name for item in brief.mix.ingredients), least_doses(brief).tolist(), strict=True))
        return np.array([doses.get(item.name, 0.0) for item in self.mix.ingredients]) * (self.part & (self.before <= 0))

    # -- rows ------------------------------------------------------------------------------------------------------

    @cached_property
    def _terms(self) -> list[Terms]:
        return [kept.property.terms(self.mix, self.before / self.before.sum()) for kept in self.task.wanted]

    @cached_property
    def _slack(self) -> list[tuple[float, float]]:
        """By how much each property's sum may have been higher, and lower, today than its figures say: what goes."""
        gone = [line for line in self.task.today.lines if line.ingredient in self.task.gone]
        mix, x = (
            Mix(tuple(x.ingredient for x in gone), tuple(x.phase for x in gone)),
            np.array([y.fraction for y in gone]),
        )
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
        """Rows of a property's least known rise and fall: p - v g, with parts at one end, what goes at the other."""
        kept, terms = self.task.wanted[k], self._terms[k]
        more, less = self._slack[k]
        wide = self.part & isinstance(kept.property, Ratio)
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
    def needed(self) -> Requirements:
        """What the brief asks for, over all columns."""
        brief = self.task.brief
        return requirements(replace(brief, mix=self.mix, ranges=tuple(ranges_of(brief, self.mix))))

    def counts(self, demand: Demand) -> bool:
        """Whether a new formula has to keep it: today's keeps it, or there was nothing of it to keep.

        What is usual of all that is bought for something yields to a rule that asks for some of it.
        """
        if (demand.name, demand.side) in self.task.unmet_today:
            return False
        if demand.kind == "usual" and demand.name in {f"share of {x.item.functions[0]}" for x in self.along}:
            return False
        if demand.kind != "line":
            return True
        share = 100 * self.task.today.fraction(demand.name)
        return share >= demand.target - 1e-6 if demand.side == "low" else share <= demand.target + 1e-6

    @cached_property
    def _misses(self) -> list[Vector]:
        """Limits that run straight, as rows that are above 0 where the limit is missed, in parts of its size."""
        ways = [kinds[0] for kinds in self.needed.limits if len(kinds) == 1]
        demands = [demand for way in (*ways, self.needed.rest) for demand in way if not demand.bends]
        return [self._miss(demand) for demand in demands if self.counts(demand)]

    def _miss(self, demand: Demand) -> Vector:
        terms = demand.terms(self.before)
        over = terms.numerator - demand.target * terms.denominator
        group = 1.0 if terms.whole else max(1e-3, float(terms.denominator @ self.before))
        return np.asarray((over if demand.side == "high" else -over) / (group * (1 + abs(demand.target))))

    # -- the shelf, for the search ---------------------------------------------------------------------------------

    @cached_property
    def shelf(self) -> Shelf:
        """The parts that may come in, and the other lines that stay, as blends.py needs them."""
        labels = [{*(part.inci.casefold() for part in item.constituents), *_grain(item)} for item in self.able]
        old = {inci.casefold() for inci, _ in self.task.today.declaration()}
        old |= {kind for item in self.task.gone for kind in _grain(item)}
        for companion in self.along:
            place = next(k for k, item in enumerate(self.able) if item.name == companion.of)
            labels[place] |= {part.inci.casefold() for part in companion.item.constituents}
        new = sorted(set().union(*labels) - old)
        low, high = self.widest
        cost = [kept.property.name == "cost" for kept in self.task.wanted for _ in range(2)]
        return Shelf(
            rows=self.rows,
            weights=np.array([*self._least_weights(), *self.price[2 * len(self.task.wanted) :]]),
            cost=np.array([*cost, *[False] * len(self._misses)], dtype=bool),
            before=self.before,
            low=low,
            high=high,
            makeups=self.makeups,
            names=np.array([[name in label for name in new] for label in labels], dtype=bool).reshape(
                len(labels), len(new)
            ),
            name=np.array([NEW_GRAIN if name.endswith(GRAINS) else NEW_NAME for name in new]),
        )

    @cached_property
    def makeups(self) -> tuple[Makeup, ...]:
        """What has gone; a butter by its mass, whose solids the linear program looks at."""
        makeups = []
        for family, amount in self.task.families.items():
            own = [item.functions[0] in family.functions for item in self.able]
            strength = [(family.strength(x) or 0.0) * kin for x, kin in zip(self.able, own, strict=True)]
            least, most = family.span
            makeups.append(Makeup(np.array(strength, dtype=float), least * amount, most * amount, family.alone))
        return tuple(makeups)

    def _least_weights(self) -> Iterator[float]:
        """The least that one unit of each move of the linear program is in distance: a mean's group may grow."""
        for k, kept in enumerate(self.task.wanted):
            weight = (
                1.0 if self._terms[k].whole else kept.group / max(kept.group, self._most(self._terms[k].denominator))
            )
            straight = isinstance(kept.property, Ratio)
            yield from (weight * straight * price for price in self.price[2 * k : 2 * k + 2])

    def _most(self, group: Vector) -> float:
        """The most that there can be of a group: every line of the frame at its most, and the parts that count most."""
        own, most = group[: len(self.able)], float(group @ self.widest[1])
        for makeup in self.makeups:
            kin = makeup.strength > 0
            most += makeup.most * float((own[kin] / makeup.strength[kin]).max(initial=0.0))
        return min(most, 1.0)

    # -- what it is ------------------------------------------------------------------------------------------------

    def ends(self, k: int, x: Vector) -> "Ends | None":
        """What is known of a property with these amounts; None where it has no value."""
        wanted = self.task.wanted[k].property
        straight = isinstance(wanted, Ratio)
        terms = self._terms[k] if straight else wanted.at(self.mix, x)
        value = terms.at(x)
        if value is None:
            return None
        if not straight:
            return Ends(value, value, value, 0.0, 0.0)
        group, came = float(terms.denominator @ x), np.where(self.part, x - self.before, 0.0)
        low, high = (float((end - terms.numerator) @ came) / group for end in (terms.low, terms.high))
        more, less = (slack / group for slack in self._slack[k])
        return Ends(value, value + low, value + high, more, less)

    def value(self, k: int, x: Vector) -> float | None:
        """A property with these amounts."""
        ends = self.ends(k, x)
        return None if ends is None else ends.value

    def could_be(self, k: int, x: Vector) -> tuple[float, float] | None:
        """Between what a property may come to lie, seen from today's figure; None where its figures leave nothing open.

        What is not known of what goes counts as much as what is not known of what comes.
        """
        ends = self.ends(k, x)
        if ends is None:
            return None
        wanted = self.task.wanted[k].property
        low, high = (possible(end, wanted.unit) for end in (ends.low - ends.more, ends.high - ends.less))
        if high - low <= WIDE:
            return None
        positive = isinstance(wanted, Ratio) and bool((self._terms[k].low >= 0).all())  # then so is any mean of it
        return max(low, 0.0) if positive else low, high

    def formula(self, x: Vector, name: str) -> Formula:
        """The lines of a column of fractions, today's in their order, then what comes in."""
        lines = {
            item.name: Line(item, float(share), at)
            for item, share, at in zip(self.mix.ingredients, x, self.mix.phases, strict=True)
            if share > UNUSED
        }
        old = [line.ingredient.name for line in self.task.today.lines if line.ingredient.name in lines]
        return Formula(name, tuple(lines[name] for name in dict.fromkeys([*old, *lines])))


def _grain(item: Ingredient) -> tuple[str, ...]:
    """What kind of grain it is, as a name that it brings; none of anything else."""
    return (f"{item.solute or 'insoluble'}{GRAINS}",) if item.functions[0] == "grain" else ()
