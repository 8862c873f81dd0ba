"""What a batch is made in and by: the pots with their lines, and the steps."""

from collections.abc import Sequence

from optiform.batch.acts import What
from optiform.batch.facts import Source
from optiform.ingredients.formula import Line
from optiform.reading.frozen import frozen
from optiform.rules.heat import melted

DAY = 24 * 60.0  # min
HOURS = 120.0  # min: as much is said in hours


@frozen
class Step:
    """One step: `what` is done. `temperature` degC of the mass and `minutes` are None where the maker finds them.

    `sources`: who says so. `uses`: ingredients that are handled in it. `part` is empty for what all parts share.
    """

    what: What
    temperature: float | None
    minutes: float | None
    sources: tuple[Source, ...]
    part: str = ""
    uses: tuple[str, ...] = ()

    @property
    def time(self) -> str:
        """Its minutes as a person says them; empty where they are the maker's to find."""
        if self.minutes is None:
            return ""
        if self.minutes >= 2 * DAY:
            return f"{self.minutes / DAY:.0f} days"
        return f"{self.minutes / 60:.0f} h" if self.minutes >= HOURS else f"{self.minutes:.0f} min"


@frozen
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
        return melted(self.lines)

    @property
    def emulsion(self) -> bool:
        """Whether it has both phases."""
        return bool(self.of("oil phase") and self.of("water phase"))


def names(lines: Sequence[Line]) -> tuple[str, ...]:
    """The names of lines, in their order."""
    return tuple(line.ingredient.name for line in lines)
