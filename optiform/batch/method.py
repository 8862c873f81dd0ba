"""The steps of the work, in order, with temperature, time and who says so: common practice where nobody else does."""

from collections.abc import Iterator, Sequence

from optiform.batch.by_kind import by_kind, filling, of_stage
from optiform.batch.cool_down import Mass, cool_down
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
FIRST_TRIAL = (
    "First trial: make a small batch. Look at it after a day and after a week, in the cold and warm, and after a "
    "freeze and a thaw; take readings. Before it is sold a laboratory tests what holds water, or may get wet, for "
    "keeping (challenge test)."
)


def method(
    common: Pot, parts: Sequence[Pot], making: Making, fill: str, kind: str = "", first: bool = False
) -> tuple[Step, ...]:
    """The steps to make a batch by.

    Args:
        common: the lines of the pot that all is made in, or that all parts share.
        parts: what each part gets of its own once the common mass is divided.
        making: temperatures and times.
        fill: words for what goes into a jar.
        kind: of product; without one it is made as an emulsion or a melt, whatever is in the pot.
        first: whether it is made for the first time.
    """
    own = by_kind(kind, common, parts, making, fill, list(_divide(parts)))
    grains = any(pot.of("grains") for pot in (common, *parts))
    return (
        _prepare(),
        *(own or _usual(common, parts, making, fill)),
        Step("Clean down: tools, bench, scale, floor. Write down yield, rejects and loss.", None, None, PRACTICE),
        *of_stage("emulsion" if kind in EMULSIONS and common.emulsion else kind, "look"),
        *(_pliable() if grains and not without_network(kind) and not kind.endswith("bar") else ()),
        *(_first_trial() if first else ()),
    )


def _usual(common: Pot, parts: Sequence[Pot], making: Making, fill: str) -> Iterator[Step]:
    """What is in the pot decides: an emulsion, a melt or a cold mixture."""
    mass = Mass(common.heated, common.emulsion, making)
    yield from _phases(common, making)
    yield from cool_down(common, mass, making.hot)
    yield from _mixing(common, making)
    yield from _divide(parts)
    for part in parts:
        yield from _part(part, mass, mass.last(common))
    yield from _grains(common, making)
    if common.of("water phase"):
        yield from of_stage("emulsion", "ph")
    yield Step(filling(fill), None, None, PRACTICE)


def _pliable() -> Iterator[Step]:
    words = (
        "Keep a jar two weeks at 10 degC (50 °F): a good scrub is still pliable then. Check it cold, then warm. No "
        "published figure says what pliable is: take a reading of a jar of yours that is."
    )
    yield Step(words, COLD, 14 * DAY, PRACTICE)


def _first_trial() -> Iterator[Step]:
    yield Step(FIRST_TRIAL, None, WEEK, PRACTICE)


def _prepare() -> Step:
    words = (
        "Clean and dry vessels, tools and jars. Check the scale with a known mass. Note the room's temperature and "
        "humidity. Weigh each line in the order of the tables, write down what the scale shows, have it checked."
    )
    return Step(words, None, None, PRACTICE)


def _phases(pot: Pot, making: Making) -> Iterator[Step]:
    hot = making.hot if pot.heated else None
    held, source = (making.hold, making.source("hot")) if pot.heated else (None, PRACTICE)
    if watery := pot.of("water phase"):
        words = "Water phase: water first, gums and powders wetted beforehand, surfactants last and stirred slowly."
        if pot.heated:
            words += " Weigh vessel and contents, heat, hold, weigh again and put back the water that is gone."
        yield Step(words, hot, held, source, uses=names(watery))
    if oily := pot.of("oil phase"):
        words = "Oil phase: stir until even."
        if pot.heated:
            words = "Oil phase: melt in the order of the table, slow melters first, until nothing solid is left; hold."
        yield Step(words, hot, held, source, uses=names(oily))
    if pot.emulsion:
        yield _combine(pot, making, hot)


def _combine(pot: Pot, making: Making, hot: float | None) -> Step:
    words = "Combine the phases"
    if pot.heated:
        words = "Combine the phases only when both are fully melted and equally hot"
    foams = [line.ingredient.name for line in pot.lines if _betaine(line)]
    tool = "with a whisk or a high-shear mixer, its head under the surface"
    if foams:
        tool = f"by whisk or spatula, not at high shear: {foams[0]} foams"
    return Step(f"{words}; mix {tool}.", hot, making.combining, making.source("combining"))


def _betaine(line: Line) -> bool:
    """Whether it is a foaming betaine."""
    surfactant = line.ingredient.has("liquid surfactant", "solid surfactant")
    return surfactant and any("Betaine" in part.inci for part in line.ingredient.constituents)


def _mixing(pot: Pot, making: Making) -> Iterator[Step]:
    if pot.of("cool-down") or pot.emulsion:
        before = ", before the grains go in" if pot.of("grains") else ""
        words = f"Mix on, slowly, until the mass is even (5 to 10 minutes are usual){before}."
        yield Step(words, None, making.mixing, making.source("mixing"), pot.part)


def _divide(parts: Sequence[Pot]) -> Iterator[Step]:
    if parts:
        each = "; ".join(f"{part.part} {part.portion}" for part in parts)
        words = f"Divide the common mass: {each}. If less is there, divide it in the same ratio and write that down."
        yield Step(words, None, None, PRACTICE)


def _grains(pot: Pot, making: Making) -> Iterator[Step]:
    if grains := pot.of("grains"):
        words = (
            "Fold in the grains last, until all are wetted. Into a warm mass the scrub sets firmer, into a cool one "
            "softer: keep to the temperature of your trials."
        )
        yield Step(words, making.grains_at, None, making.source("grains_at"), pot.part, names(grains))


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
            words = f"{name} melts up to {top:g} degC, the phases are heated to {making.hot:g} degC: heat higher."
            yield FormulaWarning("heat", "mind", words, "melts-higher", (name,), Evidence.DERIVED)
    yield from too_hot_warnings(common.lines, making.hot)
    yield from _cooling_warnings(making)


def _cooling_warnings(making: Making) -> Iterator[FormulaWarning]:
    if making.observed is None:
        return
    if making.observed.room >= making.addition:
        room = making.observed.room
        words = f"At a room temperature of {room:g} degC the mass never cools to {making.addition:g} degC by itself."
        yield FormulaWarning("heat", "mind", words, "never-cools", evidence=Evidence.DERIVED)
    words = (
        "The minutes of cooling come from one observed point. Another pot, batch size, lid, stirring or room changes "
        "them: go by the thermometer and observe again."
    )
    yield FormulaWarning("heat", "note", words, "cooling-observed", evidence=Evidence.OWN)
