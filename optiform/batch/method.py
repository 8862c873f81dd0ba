"""The steps of the work, in order, with temperature, time and who says so: common practice where nobody else does."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from optiform.batch.cooling import minutes_to, rate
from optiform.batch.making import PRACTICE, Making
from optiform.batch.working_order import addition, heat_limit, melts_at, ordered, slow, wanted
from optiform.ingredients.formula import Line

DAY = 24 * 60.0  # min
TOO_COOL = (
    " Added too cool, the emulsion can break and weep oil: where the room cools the mass fast, add warmer, within each "
    "heat limit."
)
COLD = 10.0  # degC (50 degF)


@dataclass(frozen=True)
class Step:
    """One step. `temperature` degC of the mass and `minutes` are None where they are the maker's to find.

    `uses`: ingredients that are handled in it. `part` is empty for what all parts share.
    """

    words: str
    temperature: float | None
    minutes: float | None
    source: str
    part: str = ""
    uses: tuple[str, ...] = ()

    @property
    def time(self) -> str:
        """Its minutes as a person says them; empty where they are the maker's to find."""
        if self.minutes is None:
            return ""
        return f"{self.minutes / DAY:.0f} days" if self.minutes >= 2 * DAY else f"{self.minutes:.0f} min"


@dataclass(frozen=True)
class Pot:
    """Lines made in one pot; for a part, what it gets of its own and words for its portion of the common mass."""

    lines: tuple[Line, ...]
    part: str = ""
    portion: str = ""

    def of(self, phase: str) -> tuple[Line, ...]:
        """The lines of a phase."""
        return tuple(line for line in self.lines if line.phase == phase)

    @property
    def heated(self) -> bool:
        """Whether something in it has to be melted."""
        return any(slow(line.ingredient) or line.ingredient.functions[0] == "butter" for line in self.of("oil phase"))

    @property
    def emulsion(self) -> bool:
        """Whether it has both phases."""
        return bool(self.of("oil phase") and self.of("water phase"))


def method(common: Pot, parts: Sequence[Pot], making: Making, fill: str) -> tuple[Step, ...]:
    """The steps to make a batch by.

    Args:
        common: the lines of the pot that all is made in, or that all parts share.
        parts: what each part gets of its own once the common mass is divided.
        making: temperatures and times.
        fill: words for what goes into a jar.
    """
    mass = _Mass(common.heated, common.emulsion, making)
    return (
        _prepare(),
        *_phases(common, making),
        *_cool_down(common, mass, making.hot),
        *_mixing(common, making),
        *_divide(parts),
        *(step for part in parts for step in _part(part, mass, mass.last(common))),
        *_grains(common, making),
        *_finish(fill, any(pot.of("grains") for pot in (common, *parts))),
    )


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
        yield Step(words, hot, held, source, uses=_names(watery))
    if oily := pot.of("oil phase"):
        words = "Oil phase: stir until even."
        if pot.heated:
            words = "Oil phase: melt in the order of the table, slow melters first, until nothing solid is left; hold."
        yield Step(words, hot, held, source, uses=_names(oily))
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
        yield Step(words, making.grains_at, None, making.source("grains_at"), pot.part, _names(grains))


def _finish(fill: str, scrub: bool) -> Iterator[Step]:
    words = f"Fill{fill}. Weigh 3 to 5 filled jars over the run. Close, label and number them; keep the retained jars."
    yield Step(words, None, None, PRACTICE)
    yield Step("Clean down: tools, bench, scale, floor. Write down yield, rejects and loss.", None, None, PRACTICE)
    if scrub:
        words = (
            "Keep a jar two weeks at 10 degC (50 degF): a good scrub is still pliable then. Check it cold, then warm."
        )
        yield Step(words, COLD, 14 * DAY, PRACTICE)


# -- cool-down ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Mass:
    """The mass that cools: whether it was heated, whether it is an emulsion, and how it is made."""

    heated: bool
    emulsion: bool
    making: Making

    def additions(self, pot: Pot, start: float) -> Iterator[tuple[float, tuple[Line, ...]]]:
        """The cool-down lines of a pot, warmest first: (temperature, lines); none above `start`, where it is by now."""
        lines = ordered(pot.of("cool-down"), self.making)
        for at, group in groupby(
            lines, key=lambda line: min(start, addition(line.ingredient, self.making).temperature)
        ):
            yield at, tuple(group)

    def last(self, pot: Pot) -> float:
        """What the mass has cooled to after the additions of a pot."""
        return min((at for at, _ in self.additions(pot, self.making.hot)), default=self.making.hot)


def _part(pot: Pot, mass: _Mass, start: float) -> Iterator[Step]:
    yield from _cool_down(pot, mass, start)
    yield from _mixing(pot, mass.making)
    yield from _grains(pot, mass.making)


def _cool_down(pot: Pot, mass: _Mass, start: float) -> Iterator[Step]:
    """The additions to a mass that is at `start` degC."""
    now = start
    for number, (at, lines) in enumerate(mass.additions(pot, start)):
        if mass.heated and at < now:
            yield _cool(pot, mass.making, now, at)
        now = at
        names = _names(lines)
        sources = dict.fromkeys(addition(line.ingredient, mass.making).source for line in lines)
        words = f"Stir in {_listed(names)}.{_own_limits(lines, mass)}"
        if mass.heated and mass.emulsion and not pot.part and not number:
            words += TOO_COOL
        yield Step(words, at if mass.heated else None, None, "; ".join(sources), pot.part, names)


def _cool(pot: Pot, making: Making, start: float, end: float) -> Step:
    seen = making.observed
    minutes = minutes_to(seen.room, start, rate(seen), end) if seen else None
    words = f"Cool to {end:g} degC, measured in the middle of the mass, stirring slowly."
    source = "Newton's law of cooling from your one observed point" if minutes is not None else PRACTICE
    return Step(words, end, minutes, source, pot.part)


def _own_limits(lines: Sequence[Line], mass: _Mass) -> str:
    """Whose heat limit goes before the temperature otherwise wanted."""
    told = ""
    for line in lines if mass.heated else ():
        own, asked = (
            addition(line.ingredient, mass.making).temperature,
            wanted(line.ingredient, mass.making).temperature,
        )
        if own < asked:
            told += f" The heat limit of {line.ingredient.name}, {own:g} degC, goes before {asked:g} degC."
    return told


def _names(lines: Sequence[Line]) -> tuple[str, ...]:
    return tuple(line.ingredient.name for line in lines)


def _listed(names: Sequence[str]) -> str:
    """Names as a sentence lists them; names with commas of their own stay apart."""
    return "; ".join(names) if any("," in name for name in names) else ", ".join(names)


# -- what does not go together -----------------------------------------------------------------------------------------


def method_warnings(common: Pot, making: Making) -> Iterator[str]:
    """Temperatures that do not fit what is in the pot."""
    if not common.heated:
        return
    for line in common.of("oil phase"):
        top = melts_at(line.ingredient)
        if top is not None and top > making.hot:
            name = line.ingredient.name
            yield f"{name} melts up to {top:g} degC, the phases are heated to {making.hot:g} degC: heat higher."
    for line in (*common.of("water phase"), *common.of("oil phase")):
        limit = line.ingredient.value("heat limit")
        if limit is not None and limit.least < making.hot:
            heated = f"{line.ingredient.name} is heated to {making.hot:g} degC in the {line.phase}"
            yield f"{heated}; {heat_limit(limit)}: move it to the cool-down."
    yield from _cooling_warnings(making)


def _cooling_warnings(making: Making) -> Iterator[str]:
    if making.observed is None:
        return
    if making.observed.room >= making.addition:
        room = making.observed.room
        yield f"At a room temperature of {room:g} degC the mass never cools to {making.addition:g} degC by itself."
    yield (
        "The minutes of cooling come from one observed point. Another pot, batch size, lid, stirring or room changes "
        "them: go by the thermometer and observe again."
    )
