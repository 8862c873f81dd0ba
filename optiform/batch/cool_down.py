"""The additions to a mass that cools, the warmest first."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from optiform.batch.cooling import minutes_to, rate
from optiform.batch.making import PRACTICE, Making
from optiform.batch.pots import Pot, Step, listed, names
from optiform.batch.working_order import addition, ordered, wanted
from optiform.ingredients.formula import Line

TOO_COOL = (
    " Added too cool, the emulsion can break and weep oil: where the room cools the mass fast, add warmer, within each "
    "heat limit."
)


@dataclass(frozen=True)
class Mass:
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


def cool_down(pot: Pot, mass: Mass, start: float) -> Iterator[Step]:
    """The additions to a mass that is at `start` degC."""
    now = start
    for number, (at, lines) in enumerate(mass.additions(pot, start)):
        if mass.heated and at < now:
            yield _cool(pot, mass.making, now, at)
        now = at
        named = names(lines)
        sources = dict.fromkeys(addition(line.ingredient, mass.making).source for line in lines)
        words = f"Stir in {listed(named)}.{_own_limits(lines, mass)}"
        if mass.heated and mass.emulsion and not pot.part and not number:
            words += TOO_COOL
        yield Step(words, at if mass.heated else None, None, "; ".join(sources), pot.part, named)


def _cool(pot: Pot, making: Making, start: float, end: float) -> Step:
    seen = making.observed
    minutes = minutes_to(seen.room, start, rate(seen), end) if seen else None
    words = f"Cool to {end:g} degC, measured in the middle of the mass, stirring slowly."
    source = "worked out from your observed point" if minutes is not None else PRACTICE
    return Step(words, end, minutes, source, pot.part)


def _own_limits(lines: Sequence[Line], mass: Mass) -> str:
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
