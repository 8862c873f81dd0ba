"""The additions to a mass that cools, the warmest first."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from optiform.batch.acts import Cool, OwnLimit, StirIn
from optiform.batch.cooling import minutes_to, rate
from optiform.batch.facts import Origin
from optiform.batch.making import PRACTICE, Making
from optiform.batch.pots import Pot, Step, names
from optiform.batch.working_order import addition, ordered, wanted
from optiform.ingredients.formula import Line
from optiform.reading.frozen import frozen


@frozen
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
        weeps = mass.heated and mass.emulsion and not pot.part and not number
        what = StirIn(named, _own_limits(lines, mass), weeps)
        yield Step(what, at if mass.heated else None, None, tuple(sources), pot.part, named)


def _cool(pot: Pot, making: Making, start: float, end: float) -> Step:
    seen = making.observed
    minutes = minutes_to(seen.room, start, rate(seen), end) if seen else None
    source = PRACTICE if minutes is None else Origin.OBSERVED
    return Step(Cool(end), end, minutes, (source,), pot.part)


def _own_limits(lines: Sequence[Line], mass: Mass) -> tuple[OwnLimit, ...]:
    """Whose heat limit goes before the temperature otherwise wanted."""
    asked = (
        (line.ingredient.name, addition(line.ingredient, mass.making), wanted(line.ingredient, mass.making))
        for line in (lines if mass.heated else ())
    )
    return tuple(
        OwnLimit(name, own.temperature, other.temperature)
        for name, own, other in asked
        if own.temperature < other.temperature
    )
