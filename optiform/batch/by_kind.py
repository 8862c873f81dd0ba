"""The steps of a kind that is made in its own way: whipped, pressed, poured, folded. The maker's file goes first."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from optiform.batch.acts import Fill, JarsToFill, StirInHot
from optiform.batch.cool_down import Mass, cool_down
from optiform.batch.facts import ReadIn, Source
from optiform.batch.making import PRACTICE, Making
from optiform.batch.pots import Pot, Step, names
from optiform.ingredients.formula import Line
from optiform.ingredients.ingredient import Evidence
from optiform.reading.frozen import frozen
from optiform.rules.process import ProcessStep, process

WARM = 45.0  # degC: what is filled warmer is poured, and sets below
LATER = "look"  # the stage that a filled jar waits for


def made_as(kind: str, making: Making) -> Making:
    """How a kind is made where the maker's file says nothing: temperatures and times of its own steps.

    Example:
        >>> made_as("balm", Making()).hot, made_as("lotion", Making()).hot
        (75.0, 70.0)
        >>> made_as("balm", Making(hot=72.0, stated=frozenset({"hot"}))).hot
        72.0
    """
    figures: dict[str, float | None] = {}
    for row in process(kind):
        if row.stage == "heat" and row.temperature is not None and row.temperature > (figures.get("hot") or 0.0):
            figures |= {"hot": row.temperature, "hold": row.minutes or making.hold}
        if row.stage == "add":
            figures["addition"] = row.temperature
        if row.stage == "fill" and row.temperature is not None and row.temperature >= WARM:
            figures["poured"] = row.temperature
        if row.stage == "grains":
            figures["grains_at"] = row.temperature
    usual = {key: value for key, value in figures.items() if key not in making.stated and value is not None}
    return replace(making, **usual)  # type: ignore[arg-type]


def vessel_of(kind: str) -> str:
    """What a kind is sold in: a bar as a piece, a stick in its tube, all else in jars.

    Example:
        >>> vessel_of("solid scrub bar"), vessel_of("stick and lip balm"), vessel_of("lotion")
        ('piece', 'tube', 'jar')
    """
    if kind.endswith("bar"):
        return "piece"
    return "tube" if kind.startswith("stick") else "jar"


@frozen
class _Work:
    """A kind's rows, the pot that all is made in and the parts that get something of their own."""

    rows: tuple[ProcessStep, ...]
    common: Pot
    parts: Sequence[Pot]
    making: Making
    fill: JarsToFill | None

    def steps(self, divide: Sequence[Step]) -> Iterator[Step]:
        """All rows in order; where the mass cools what goes into it, then each part its own; what is left first."""
        place = next(k for k, row in enumerate(self.rows) if row.stage == "add")
        first, later = self.rows[:place], self.rows[place + 1 :]
        hot = next((k for k, row in enumerate(first) if row.stage == "cool"), place)
        left = self._left()
        yield from self._each(first[:hot], self.common, left)
        yield from self._unnamed([*first[hot:], *later], left)
        yield from self._each(first[hot:], self.common, left)
        mass = Mass(True, False, self.making)
        start = min(
            (row.temperature for row in first if row.stage == "cool" and row.temperature), default=self.making.hot
        )
        yield from cool_down(self.common, mass, start)
        yield from divide
        for part in self.parts:
            yield from cool_down(part, mass, min(start, mass.last(self.common)))
            yield from self._each([row for row in later if row.stage == "grains"], part, list(part.lines))
        yield from self._each([row for row in later if row.stage != LATER], self.common, left)

    def _left(self) -> list[Line]:
        return [line for line in self.common.lines if line.phase != "cool-down"]

    def _each(self, rows: Sequence[ProcessStep], pot: Pot, left: list[Line]) -> Iterator[Step]:
        """A step for each row; one that takes lines only where there are some left for it."""
        for row in rows:
            lines = row.lines(left) if row.takes else ()
            if row.takes and not lines:
                continue
            for line in lines:
                left.remove(line)
            yield self._step(row, pot, lines)

    def _unnamed(self, later: Sequence[ProcessStep], left: list[Line]) -> Iterator[Step]:
        """What no step of the kind names goes in before the mass cools."""
        lines = [line for line in left if not any(line in row.lines(left) for row in later if row.takes)]
        for line in lines:
            left.remove(line)
        if lines:
            named = names(lines)
            yield Step(StirInHot(named), self.making.hot, None, (PRACTICE,), uses=named)

    def _step(self, row: ProcessStep, pot: Pot, lines: Sequence[Line]) -> Step:
        temperature, source = self._temperature(row)
        filled = Fill(self.fill, row.words, vessel_of(row.kind), (row.temperature or 0.0) >= WARM)
        what = filled if row.stage == "fill" else row.words
        return Step(what, temperature, row.minutes, (source,), pot.part, names(lines))

    def _temperature(self, row: ProcessStep) -> tuple[float | None, Source]:
        """At what temperature, and who says so: the maker's file, or what the row goes by."""
        key = {"heat": "hot", "grains": "grains_at"}.get(row.stage, "")
        if key in self.making.stated:
            return (self.making.hot if key == "hot" else self.making.grains_at), self.making.source(key)
        return row.temperature, known_from(row)


def by_kind(
    kind: str, common: Pot, parts: Sequence[Pot], making: Making, fill: JarsToFill | None, divide: Sequence[Step]
) -> list[Step]:
    """The steps of a kind with its own process, up to the filled jar; none where it has none of its own."""
    rows = process(kind)
    return list(_Work(rows, common, parts, making, fill).steps(divide)) if rows else []


def of_stage(kind: str, stage: str) -> Iterator[Step]:
    """The steps of one stage that take no lines."""
    for row in process(kind):
        if row.stage == stage:
            yield Step(row.words, row.temperature, row.minutes, (known_from(row),))


def known_from(row: ProcessStep) -> Source:
    """Who says so."""
    return ReadIn(row.source) if row.evidence is Evidence.PUBLISHED else PRACTICE
