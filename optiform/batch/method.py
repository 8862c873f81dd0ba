"""The steps of the work, in order, with temperature, time and who says so: common practice where nobody else does."""

from collections.abc import Iterator, Sequence

from optiform.batch.acts import Act, Combine, Divide, Fill, JarsToFill, MakePhase, MixOn
from optiform.batch.by_kind import by_kind, of_stage
from optiform.batch.cool_down import Mass, cool_down
from optiform.batch.facts import Cooling, Flashes, MeltsHigher, NeverCools
from optiform.batch.making import PRACTICE, Making
from optiform.batch.pots import DAY, Pot, Step, names
from optiform.ingredients.formula import Line
from optiform.ingredients.ingredient import Evidence
from optiform.review.answer import FormulaWarning
from optiform.review.heat import too_hot_warnings
from optiform.rules.heat import melts_at
from optiform.rules.network import without_network
from optiform.rules.process import EMULSIONS

COLD = 10.0  # degC (50 °F)
WEEK = 7 * DAY


def method(
    common: Pot, parts: Sequence[Pot], making: Making, fill: JarsToFill | None, kind: str = "", first: bool = False
) -> tuple[Step, ...]:
    """The steps to make a batch by.

    Args:
        common: the lines of the pot that all is made in, or that all parts share.
        parts: what each part gets of its own once the common mass is divided.
        making: temperatures and times.
        fill: what goes into the jars; None where no net mass of one is known.
        kind: of product; without one it is made as an emulsion or a melt, whatever is in the pot.
        first: whether it is made for the first time.
    """
    own = by_kind(kind, common, parts, making, fill, list(_divide(parts)))
    grains = any(pot.of("grains") for pot in (common, *parts))
    return (
        _prepare(),
        *(own or _usual(common, parts, making, fill)),
        Step(Act.CLEAN_DOWN, None, None, (PRACTICE,)),
        *of_stage("emulsion" if kind in EMULSIONS and common.emulsion else kind, "look"),
        *(_pliable() if grains and not without_network(kind) and not kind.endswith("bar") else ()),
        *(_first_trial() if first else ()),
    )


def _usual(common: Pot, parts: Sequence[Pot], making: Making, fill: JarsToFill | None) -> Iterator[Step]:
    """What is in the pot decides: an emulsion, a melt or a cold mixture."""
    mass = Mass(common.heated, common.emulsion, making)
    yield from _phases(common, making)
    yield from cool_down(common, mass, making.hot)
    yield from _mixing(common, making)
    yield from _divide(parts)
    for part in parts:
        yield from _part(part, mass, mass.last(common))
    grains = list(_grains(common, making))
    acidity = list(of_stage("emulsion", "ph")) if common.of("water phase") else []
    yield from (*grains, *acidity) if parts or _warm(making, acidity) else (*acidity, *grains)
    yield Step(Fill(fill), None, None, (PRACTICE,))


def _warm(making: Making, acidity: Sequence[Step]) -> bool:
    """Whether the grains go into a mass that is too warm yet to measure its pH; else that comes first, without them."""
    return making.grains_at is not None and any(making.grains_at > (step.temperature or 0.0) for step in acidity)


def _pliable() -> Iterator[Step]:
    yield Step(Act.PLIABLE, COLD, 14 * DAY, (PRACTICE,))


def _first_trial() -> Iterator[Step]:
    yield Step(Act.FIRST_TRIAL, None, WEEK, (PRACTICE,))


def _prepare() -> Step:
    return Step(Act.PREPARE, None, None, (PRACTICE,))


def _phases(pot: Pot, making: Making) -> Iterator[Step]:
    hot = making.hot if pot.heated else None
    held, source = (making.hold, making.source("hot")) if pot.heated else (None, PRACTICE)
    for watery in (True, False):
        if lines := pot.of("water phase" if watery else "oil phase"):
            yield Step(MakePhase(watery, pot.heated), hot, held, (source,), uses=names(lines))
    if pot.emulsion:
        yield _combine(pot, making, hot)


def _combine(pot: Pot, making: Making, hot: float | None) -> Step:
    foaming = next((line.ingredient.name for line in pot.lines if _betaine(line)), "")
    return Step(Combine(pot.heated, foaming), hot, making.combining, (making.source("combining"),))


def _betaine(line: Line) -> bool:
    """Whether it is a foaming betaine."""
    surfactant = line.ingredient.has("liquid surfactant", "solid surfactant")
    return surfactant and any("Betaine" in part.inci for part in line.ingredient.constituents)


def _mixing(pot: Pot, making: Making) -> Iterator[Step]:
    if pot.of("cool-down") or pot.emulsion:
        after = bool(pot.of("grains"))
        yield Step(MixOn(after), None, making.mixing, (making.source("mixing"),), pot.part)


def _divide(parts: Sequence[Pot]) -> Iterator[Step]:
    if parts:
        yield Step(Divide(tuple((part.part, part.portion) for part in parts)), None, None, (PRACTICE,))


def _grains(pot: Pot, making: Making) -> Iterator[Step]:
    if grains := pot.of("grains"):
        yield Step(Act.FOLD_IN, making.grains_at, None, (making.source("grains_at"),), pot.part, names(grains))


def _part(pot: Pot, mass: Mass, start: float) -> Iterator[Step]:
    yield from cool_down(pot, mass, start)
    yield from _mixing(pot, mass.making)
    yield from _grains(pot, mass.making)


# -- what does not go together -----------------------------------------------------------------------------------------


def method_warnings(common: Pot, making: Making) -> Iterator[FormulaWarning]:
    """Temperatures that do not fit what is in the pot."""
    if not common.heated:
        return
    for line in common.of("oil phase"):
        top = melts_at(line.ingredient)
        if top is not None and top > making.hot:
            name = line.ingredient.name
            fact = MeltsHigher(name, top, making.hot)
            yield FormulaWarning("heat", "mind", fact, "melts-higher", (name,), Evidence.DERIVED)
    yield from too_hot_warnings(common.lines, making.hot)
    yield from _cooling_warnings(making)


def flash_warnings(lines: Sequence[Line], steps: Sequence[Step]) -> Iterator[FormulaWarning]:
    """What would go into a mass that is as hot as its flash point, by the lowest that is known of it.

    Args:
        lines: all that is made.
        steps: by which it is made.
    """
    for line in lines:
        name, flash = line.ingredient.name, line.ingredient.value("flash point")
        mass = max((step.temperature or 0.0 for step in steps if name in step.uses), default=0.0)
        if flash is not None and flash.least <= mass:
            fact = Flashes(name, flash, mass)
            yield FormulaWarning("heat", "mind", fact, "flash-point", (name,), flash.evidence, flash.source)


def _cooling_warnings(making: Making) -> Iterator[FormulaWarning]:
    if making.observed is None:
        return
    if making.observed.room >= making.addition:
        fact = NeverCools(making.observed.room, making.addition)
        yield FormulaWarning("heat", "mind", fact, "never-cools", evidence=Evidence.DERIVED)
    yield FormulaWarning("heat", "note", Cooling.OBSERVED_ONCE, "cooling-observed", evidence=Evidence.OWN)
