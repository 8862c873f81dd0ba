"""What is wanted: candidates, limits and a goal, for a use, a market and a date."""

from collections.abc import Sequence
from dataclasses import field, replace

from optiform.brief.goal import Goal, Highest, Lowest, Nearest, NearestUsual
from optiform.brief.leftout import LeftOut, Out, clashes, left_out_by
from optiform.brief.limits import Amount, Ends, judge, no_value
from optiform.brief.limits import Limit as Limit
from optiform.brief.limits import Range as Range
from optiform.brief.towards import towards_usual
from optiform.brief.usual import UsualLimit, grain_of, usual_limits
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Mix, Property
from optiform.properties.registry import find_property
from optiform.reading.faults import Inspection
from optiform.reading.frozen import frozen
from optiform.reading.values import Comparable
from optiform.rules.forms import Either
from optiform.rules.kinds import Exclusion, ruled_out
from optiform.rules.law import Scope
from optiform.rules.packs import exposure

KINDS = (
    "cream scrub", "anhydrous emulsified scrub", "foaming scrub", "bath salt scrub", "solid scrub bar", "lotion",
    "hand and foot cream", "body butter", "emulsified body butter", "balm", "stick and lip balm",
    "solid cleansing bar", "whipped foaming base",
)  # fmt: skip


@frozen
class Brief(Comparable):
    """Everything a job needs to know. `ranges` runs parallel to the lines of `mix`.

    Attributes:
        batch: mass to make, kg.
        step: what the scale can show, g.
        left_out: candidates that cannot be used, each with the reason.
        against_kind: candidates that stay because the maker names them, each with why their kind is made without.
        reference: the formula made today, if there is one.
        jar: net mass of one jar, kg; None where not given.
        claims: claims of the label that every candidate keeps, of `rules.claims.CLAIMS`.
        ph: that the product is to have; None where none is set.
        overrule: ids of rules that are not asked for; what breaks them is told all the same.
        usual: the usual ranges of its kind that hold; none where it says `usual = "warn"`.
        choices: what it asks of the choice of ingredients, each kept in at least one of several ways.
        most_ingredients: how many lines a formula may have; None for any number.
        pack: what it is filled into, of `rules.packs.PACKS`; empty where it is not said.
        wet_fingers: whether wet fingers reach into it; None where it is not said.
        doses: candidates of which there is none or their least dose (brief/doses.py), properties whose usual range can
            be kept in several ways, and rules that only note; a job adds to them as it goes (design/doses.py).
    """

    title: str
    kind: str
    scope: Scope
    currency: str
    batch: float
    step: float
    mix: Mix
    ranges: tuple[Range, ...]
    limits: tuple[Limit, ...]
    goal: Goal
    catalogue: Catalogue = field(hash=False)
    left_out: tuple[LeftOut, ...] = ()
    against_kind: tuple[tuple[str, Exclusion], ...] = ()
    reference: Formula | None = None
    jar: float | None = None
    claims: tuple[str, ...] = ()
    ph: float | None = None
    overrule: tuple[str, ...] = ()
    usual: tuple[UsualLimit, ...] = ()
    choices: tuple[Either, ...] = ()
    most_ingredients: int | None = None
    pack: str = ""
    wet_fingers: bool | None = None
    doses: tuple[str, ...] = ()

    @property
    def exposure(self) -> str:
        """How far air and light reach its oils, of `rules.packs.EXPOSURES`."""
        return exposure(self.pack, self.scope.use, self.wet_fingers)

    def with_limit(self, name: str, *, low: Amount | None = None, high: Amount | None = None) -> "Brief":
        """A new brief with another limit on a property, or another range of an ingredient.

        An end that clashes with what the brief asks already is no bad input: `design` says what clashes. An ingredient
        that is no candidate becomes one, as it does under `[lines]` of a file.

        Args:
            name: a property in a brief's words, or an ingredient.
            low: at least so much: a text such as `30 %`, or a number in the property's unit, for an ingredient in %.
            high: at most so much, likewise. An end that is left out stays as it was.

        Raises:
            BadInput: a name that is neither, an amount in another unit, low above high, a figure that lacks, or an
                amount of what the brief excludes, what breaks one of its claims or what its law does not allow.
        """
        inspection, place = Inspection(self.title), f"with_limit {name}"
        _named("with_limit", [name], inspection)
        item = self.catalogue.called(name)
        if item is not None and item not in self.mix.ingredients and not self._is_property(name):
            amounts = {side: end for side, end in (("low", low), ("high", high)) if end is not None}
            named = self._with_named(item, amounts, place, inspection)
            return self if named is self else named.with_limit(name, low=low, high=high)
        if item in self.mix.ingredients:
            at = self.mix.ingredients.index(item)
            ends = Ends.read(low, high, "%", place, inspection).around(self.ranges[at], place, inspection)
            changed = replace(self, ranges=(*self.ranges[:at], ends, *self.ranges[at + 1 :]))
        else:
            wanted = self._property(name, place, inspection)
            asked = Ends.read(low, high, wanted.unit, place, inspection)
            if expected := no_value(wanted, asked.low, asked.high):
                inspection.fault(place, f"low {low}, high {high}", expected)
            changed = replace(self, limits=asked.of(self.limits, wanted))
        inspection.finish()
        return changed._yielded() if self.usual else changed

    def _is_property(self, name: str) -> bool:
        try:
            find_property(name, self.currency, self.catalogue.ingredients.values(), self.reference)
        except ValueError:
            return False
        return True

    def _with_named(
        self, item: Ingredient, asked: dict[str, Amount], place: str, inspection: Inspection
    ) -> "Brief":  # fmt: skip
        """The same with one more candidate, of which an amount is asked; itself where none of it may be used."""
        left_out, name = dict(self.left_out), item.name
        out = left_out.get(name) is Out.EXCLUDED
        why = Out.EXCLUDED if out else left_out_by(item, self.claims, self.scope)
        for _, read, expected in clashes({name: asked}, [(name, why)] if why else [], [name], self.catalogue):
            inspection.fault(place, read, expected)
        today = {line.ingredient.name: line.phase for line in self.reference.lines} if self.reference else {}
        mix = Mix((*self.mix.ingredients, item), (*self.mix.phases, today.get(name, item.phase)))
        for wanted in (*(limit.property for limit in self.limits), self.goal.wanted) if not why else ():
            if wanted is not None:
                judge(wanted, mix, place, inspection)
        inspection.finish()
        if why:
            return self
        goal, ranges = self.goal, (*self.ranges, Range())
        if isinstance(goal, NearestUsual):
            grain = grain_of(self.kind, mix, ranges, self.limits, self.reference)
            goal = towards_usual(self.kind, grain, mix, self.scope, self.currency)
        foreign = ruled_out(self.kind, item)
        return replace(
            self,
            mix=mix,
            ranges=ranges,
            goal=goal,
            left_out=tuple(pair for pair in self.left_out if pair[0] != name),
            against_kind=(*self.against_kind, *([(name, foreign)] if foreign else [])),
        )

    def _yielded(self) -> "Brief":
        """The same with its usual ranges as far as they hold beside its words now."""
        goal = self.goal.wanted.name if self.goal.wanted else ""
        usual = usual_limits(self.kind, self.mix, self.ranges, self.limits, self.reference, self.currency, goal)
        return replace(self, usual=usual)

    def with_goal(
        self, *, lowest: str | None = None, highest: str | None = None, nearest: Formula | None = None
    ) -> "Brief":
        """A new brief that reaches for something else: one of the three.

        Args:
            lowest: as little as possible of this property.
            highest: as much as possible of it.
            nearest: as little change as possible against this formula, for instance the brief's `reference`.

        Raises:
            BadInput: none of the three or several, an unknown property, or a figure that lacks.
        """
        inspection, place = Inspection(self.title), "with_goal"
        count = sum(aim is not None for aim in (lowest, highest, nearest))
        if count != 1:
            inspection.fault(place, "several" if count else None, "one of: lowest, highest, nearest")
            inspection.finish()
        if nearest is not None:
            if not isinstance(nearest, Formula):
                inspection.fault(f"{place} nearest", type(nearest).__name__, "a formula, such as answer.formula")
                inspection.finish()
            changed = replace(self, goal=Nearest(nearest))
        else:
            _named(place, [lowest or highest or ""], inspection)
            wanted = self._property(lowest or highest or "", place, inspection)
            inspection.finish()
            changed = replace(self, goal=Highest(wanted) if lowest is None else Lowest(wanted))
        return changed._yielded() if self.usual else changed

    def without(self, *names: str) -> "Brief":
        """A new brief without these candidates; what is none of them already stays out.

        Raises:
            BadInput: a name that is not known, or one that the brief asks an amount of; or no candidate is left.
        """
        inspection, place = Inspection(self.title), "without"
        _named(place, names, inspection)
        lines = dict(zip(self.mix.ingredients, zip(self.mix.phases, self.ranges, strict=True), strict=True))
        gone = []
        for name in names:
            item = self.catalogue.find(name)
            if item is None:
                inspection.fault(place, name, self.catalogue.unknown(name))
            elif item in lines and lines[item][1].low > 0:
                words = f"the brief asks an amount of {name}. Set its low end to 0 first: with_limit({name!r}, low=0)."
                inspection.fault(place, name, "a candidate that the brief asks no amount of", f"{place}: {words}")
            elif item in lines:
                gone.append(item)
        stays = {item: line for item, line in lines.items() if item not in gone}
        if not stays:
            inspection.fault(place, ", ".join(names), "a candidate that is left")
        inspection.finish()
        phases, ranges = zip(*stays.values(), strict=True)
        left_out = tuple((item.name, Out.EXCLUDED) for item in gone)
        return replace(self, mix=Mix(tuple(stays), phases), ranges=ranges, left_out=(*self.left_out, *left_out))

    def _property(self, name: str, place: str, inspection: Inspection) -> Property:
        """The property of this name, if every candidate has the figures for it."""
        try:
            wanted = find_property(name, self.currency, self.catalogue.ingredients.values(), self.reference)
        except ValueError as error:
            inspection.fault(place, name, str(error))
            inspection.finish()
            raise AssertionError from None  # finish() has raised
        judge(wanted, self.mix, place, inspection)
        return wanted


def _named(place: str, names: Sequence[object], inspection: Inspection) -> None:
    """Look that names are texts; a caller in Python may give anything."""
    for name in names:
        if not isinstance(name, str):
            inspection.fault(place, name, "a name as text")
    inspection.finish()


def called(formula: Formula, brief: Brief | None) -> str:
    """A formula as the first lines of a document name it: where it is from, and whether it is the one made today.

    Example:
        >>> called(Formula("new", (), "new.csv"), None)
        'new (new.csv)'
    """
    name = f"{formula.name} ({formula.origin})" if formula.origin else formula.name
    if brief is None or brief.reference is None:
        return name
    return f"{name}, {'' if formula.lines == brief.reference.lines else 'not '}today's formula"


def titled(formula: Formula, brief: Brief | None) -> Formula:
    """The formula under the name of its product, if there is a brief, and its own.

    Example:
        >>> titled(Formula("new", (), "new.csv"), None).name
        'new (new.csv)'
    """
    name = called(formula, brief)
    return replace(formula, name=f"{brief.title}: {name}" if brief else name)
