"""One substitution: what stands in for what has gone, in which amounts, and how far the whole product moves."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from optiform.design.amounts import Weighed
from optiform.design.companions import Companion
from optiform.design.dose_span import AtDose, dose_span
from optiform.design.exchange import Exchange
from optiform.design.facts import (
    Difference,
    MoreAllergens,
    OtherUse,
    OtherWindow,
    Oxidising,
    Speed,
    UnknownAllergens,
)
from optiform.design.function import BUTTER, OILS, family_of
from optiform.design.spreading import thickness
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Ingredient
from optiform.label.allergens import allergen_contents, without_list
from optiform.properties.base import Mix, fractions
from optiform.properties.cost import cost
from optiform.properties.oil_phase import solid_fat_value
from optiform.properties.texture import eutectic_pairs
from optiform.reading.frozen import frozen
from optiform.review.answer import FormulaWarning, Report
from optiform.review.measures import setting_of
from optiform.review.report import new_warnings, report
from optiform.review.warnings import EUTECTIC
from optiform.rules.antioxidants import oxidising, usual_dose

CLOSE = 1.0  # no property further than its unit of distance: the hand will hardly tell
SHOWN = 1e-6  # a move of less is none
FASTER = 2.0  # % of the oils of C18:2 and twice C18:3: from so much on they differ. Common practice, no source
#: What a warning may be about and an option be proposed all the same: the maker's own limits and the total are told.
ASKED = ("figures", "total")


@frozen
class Shift:
    """One property before and after, and the move in its unit of distance.

    `distance` counts what is known: where the figures of what goes and what comes leave open whether it moves at all,
    it is 0, and `could_be` says between what the property may then lie; None where nothing is left open.
    """

    name: str
    unit: str
    before: float
    after: float
    distance: float
    could_be: tuple[float, float] | None = None

    @property
    def open(self) -> bool:
        """Whether it is shown as moving though its figures leave open whether it does."""
        return self.could_be is not None and abs(self.after - self.before) > SHOWN


@frozen
class Function:
    """What the replaced lines did, in % of the whole, and how much the new ones do: `measure` says of what."""

    measure: str
    before: float
    after: float


@frozen
class Follows:
    """A line that makes room or fills up, in % of the whole before and after."""

    ingredient: str
    before: float
    after: float


@frozen
class Replacement:
    """One replacement: a single ingredient or a blend, and how far it moves the whole product.

    Attributes:
        parts: what comes in, % of the whole.
        functions: what is kept of what the replaced lines did; `follows` the lines that make room or fill up.
        distance: sum of the moves of all properties in their units of distance, and of new names.
        worst: the property that moves furthest.
        shifts: every property that moves or may move, furthest first.
        new_names: declared now and not before; `new_cautions`: cautions it brings (allergens among them);
            `new_warnings`: what is unusual or missed now and was not, the pairs of fats apart.
        differences: of charge, pH window, sting and feel, and allergens to declare, against what is replaced.
        eutectics: pairs of fats it creates whose solids do not add up.
        broken: limits of the brief it does not keep, in words.
        doses: a single emulsifier at its least, proposed and most usual dose; none of anything else.
        along: what comes along because a rule asks for it beside one of the parts.
        against: what the tool would warn of in it and not in today's formula: not proposed for that.
        cost: of the ingredients, currency per kg; `cost_change` against today's. None where a price is missing.
    """

    parts: tuple[tuple[str, float], ...]
    formula: Formula
    functions: tuple[Function, ...]
    follows: tuple[Follows, ...]
    distance: float
    worst: Shift
    shifts: tuple[Shift, ...]
    new_names: tuple[str, ...]
    new_cautions: tuple[str, ...]
    new_warnings: tuple[FormulaWarning, ...]
    differences: tuple[Difference, ...]
    eutectics: tuple[str, ...]
    broken: tuple[str, ...]
    cost: float | None
    cost_change: float | None
    against: FormulaWarning | None = None
    doses: tuple[AtDose, ...] = ()
    along: tuple[Companion, ...] = ()

    @property
    def close(self) -> bool:
        """Whether no property moves further than its unit of distance and the brief's limits hold."""
        return abs(self.worst.distance) <= CLOSE and not self.broken


@dataclass(frozen=True, eq=False)
class Judge:
    """Says everything there is to say of a substitution that was weighed out."""

    exchange: Exchange

    def replacement(self, swap: Weighed) -> Replacement:
        """The substitution with all that it changes."""
        task = self.exchange.task
        formula = self.exchange.formula(swap.x, " + ".join(name for name, _ in swap.parts))
        after = report(formula, setting_of(task.brief))
        fresh = new_warnings(after, self.before)
        spent, today = (cost(task.brief.currency).of(made) for made in (formula, task.today))
        pairs = tuple(self._pairs(formula))
        shifts = sorted(self._shifts(swap), key=lambda shift: (-round(abs(shift.distance), 6), shift.name))
        return Replacement(
            parts=swap.parts,
            formula=formula,
            functions=tuple(self._functions(formula)),
            follows=tuple(self._follows(formula)),
            distance=swap.distance,
            worst=shifts[0],
            shifts=tuple(
                x for x in shifts if abs(x.distance) > SHOWN or (x.could_be and abs(x.after - x.before) > SHOWN)
            ),
            new_names=tuple(inci for inci, _ in formula.declaration() if inci not in self._declared),
            new_cautions=tuple(caution.text for caution in after.cautions if caution not in self.before.cautions),
            new_warnings=tuple(x for x in fresh if x.rule != EUTECTIC),
            differences=(
                *self._differences(swap),
                *self._thickness(swap),
                *self._oxidising(formula),
                *self._allergens(formula),
            ),
            eutectics=pairs,
            broken=swap.broken,
            cost=spent,
            cost_change=None if spent is None or today is None else spent - today,
            doses=dose_span(self.exchange, swap),
            along=tuple(x for x in self.exchange.along if x.of in dict(swap.parts)),
            against=self._against(fresh, dict(swap.parts)),
        )

    def against(self, formula: Formula, parts: Collection[str]) -> FormulaWarning | None:
        """What the tool would warn of in a formula with these parts and not in today's."""
        after = report(formula, setting_of(self.exchange.task.brief))
        return self._against(new_warnings(after, self.before), parts)

    def _against(self, fresh: Iterable[FormulaWarning], parts: Collection[str]) -> FormulaWarning | None:
        return next((x for x in fresh if self._grave(x, parts)), None)

    def _grave(self, warning: FormulaWarning, parts: Collection[str]) -> bool:
        """Whether a warning keeps an option from being proposed: it is grave, and today's formula has none like it."""
        if warning.level == "note" or warning.overruled or warning.about in ASKED:
            return False
        return not any(self._like(warning, old, parts) for old in self.before.warnings)

    def _like(self, warning: FormulaWarning, old: FormulaWarning, parts: Collection[str]) -> bool:
        """Whether it is one of today's where what comes in has the place of what goes."""
        lines, old_lines = set(warning.lines), set(old.lines)
        came, gone = lines & set(parts), {item.name for item in self.exchange.task.gone}
        same = bool(old_lines & gone) or not came or bool((old_lines - gone) & lines)
        return warning.rule == old.rule and lines - came <= old_lines and same

    @cached_property
    def before(self) -> Report:
        """The report on today's formula."""
        return report(self.exchange.task.today, setting_of(self.exchange.task.brief))

    @cached_property
    def _declared(self) -> frozenset[str]:
        return frozenset(inci for inci, _ in self.exchange.task.today.declaration())

    def _shifts(self, swap: Weighed) -> Iterator[Shift]:
        for k, kept in enumerate(self.exchange.task.wanted):
            after, wanted = self.exchange.value(k, swap.x), kept.property
            now = kept.value if after is None else after
            could_be = self.exchange.could_be(k, swap.x)
            yield Shift(wanted.name, wanted.unit, kept.value, now, swap.moves[k], could_be)

    def _functions(self, formula: Formula) -> Iterator[Function]:
        """The measure of each family that is replaced, before and after; of butters their solids at 20 and 35 degC."""
        for family in self.exchange.task.families:
            if family is BUTTER:
                for at in (20.0, 35.0):
                    figures = [_solids(made, at) for made in (self.exchange.task.today, formula)]
                    yield Function(f"solids of the butters at {at:g} degC", *figures)
            elif family.measure:
                sums = [
                    sum((family.strength(line.ingredient) or 0.0) * line.fraction for line in made.lines
                        if line.ingredient.functions[0] in family.functions)
                    for made in (self.exchange.task.today, formula)
                ]  # fmt: skip
                yield Function(family.measure, 100 * sums[0], 100 * sums[1])

    def _follows(self, formula: Formula) -> Iterator[Follows]:
        for name in sorted(self.exchange.task.makes_room):
            before, after = (100 * made.fraction(name) for made in (self.exchange.task.today, formula))
            if abs(after - before) > 1e-6:
                yield Follows(name, before, after)

    def _differences(self, swap: Weighed) -> Iterator[Difference]:
        """What is different of what comes in: its pH window, and what makers say of the exchange."""
        items = {item.name: item for item in self.exchange.able}
        for name, _ in swap.parts:
            item = items[name]
            family = family_of(item)
            for old in (gone for gone in self.exchange.task.gone if family_of(gone) == family):
                yield from _windows(old, item)
            row = family.equal(item)
            if row and row.changes:
                yield OtherUse(name, row.changes, row.evidence)

    def _thickness(self, swap: Weighed) -> Iterator[Difference]:
        """How thick the liquids that come in are against those that go, where oils or esters go."""
        items = {item.name: item for item in self.exchange.able}
        new = [(items[name], share) for name, share in swap.parts]
        today = self.exchange.task.today
        old = [(item, today.fraction(item.name)) for item in self.exchange.task.gone]
        if against := thickness(new, old):
            yield against

    def _oxidising(self, formula: Formula) -> Iterator[Difference]:
        """How fast the oils oxidise against today's, and what is usual against it, where an oil or ester goes."""
        (before, _), (after, oils) = (oxidising(made) for made in (self.exchange.task.today, formula))
        faster = after - before >= FASTER
        if not faster and OILS not in self.exchange.task.families:
            return
        used = [x.ingredient.name for x in formula.lines if x.ingredient.functions[0] == "antioxidant"]
        dose = usual_dose(used)
        has = 100 * formula.fraction(dose.of) if dose.of in used else None
        speed: Speed = "faster" if faster else "slower" if before - after >= FASTER else "alike"
        yield Oxidising(speed, before, after, dose.of, dose.low, dose.high, dose.evidence, oils, has)

    def _allergens(self, formula: Formula) -> Iterator[Difference]:
        """Allergens that a label has to name now and had not to, by market, and whose list is not known."""
        today, scope = self.exchange.task.today, self.exchange.task.brief.scope
        for market in scope.markets:
            alone = replace(scope, markets=(market,))
            old, new = (
                [content.name for content in allergen_contents(made, alone) if content.declared]
                for made in (today, formula)
            )
            if more := [name for name in new if name not in old]:
                yield MoreAllergens(market, tuple(more))
        if unknown := tuple(name for name in without_list(formula) if name not in without_list(today)):
            yield UnknownAllergens(unknown)

    def _pairs(self, formula: Formula) -> Iterator[str]:
        today = self.exchange.task.today
        old = {pair[:2] for pair in eutectic_pairs(Mix.of(today), fractions(today))}
        for first, second, rule in eutectic_pairs(Mix.of(formula), fractions(formula)):
            if (first, second) not in old:
                yield f"{first} with {second}: {rule.effect}"


def _solids(formula: Formula, at: float) -> float:
    """What is solid of the butters at a temperature, % of the whole."""
    butters = [line for line in formula.lines if line.ingredient.functions[0] in BUTTER.functions]
    solids = [(solid_fat_value(line.ingredient, at), line.fraction) for line in butters]
    return sum(value.figure * share for value, share in solids if value)


def _windows(old: Ingredient, new: Ingredient) -> Iterator[Difference]:
    """The pH window of what comes in, where it is not that of what goes."""
    first, second = (item.value("ph window") for item in (old, new))
    ends = [(window.low, window.high) if window else None for window in (first, second)]
    if ends[0] != ends[1]:
        yield OtherWindow(new.name, second, old.name, first)
