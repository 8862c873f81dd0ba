"""How a product of each kind is made: the steps of process.csv, in order."""

from collections.abc import Mapping, Sequence
from functools import cache

from optiform.ingredients.formula import Line
from optiform.ingredients.ingredient import Evidence
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped

#: Kinds that are emulsions: heated apart, combined, cooled; what is special to them stands under `emulsion`.
EMULSIONS = ("cream scrub", "lotion", "hand and foot cream", "emulsified body butter")


@frozen
class ProcessStep:
    """One row of process.csv.

    Attributes:
        stage: `prepare`, `heat`, `cool`, `add` (what goes into the cooling mass), `work` (whip, knead, press),
            `grains`, `fill`, `after` (rest, dry), `ph` or `look`.
        takes: the lines that go in: `phase:...` or `function:...;...`; empty where none does.
        words: what is done, and why.
        temperature: degC; `minutes`. None where they are the maker's to find.
    """

    kind: str
    stage: str
    takes: str
    words: str
    temperature: float | None
    minutes: float | None
    source: str
    evidence: Evidence

    def lines(self, lines: Sequence[Line]) -> tuple[Line, ...]:
        """Those that go in at this step."""
        about, _, words = self.takes.partition(":")
        if about == "phase":
            return tuple(line for line in lines if line.phase == words)
        wanted = words.split(";")
        return tuple(line for line in lines if line.ingredient.functions[0] in wanted)


@cache
def process(kind: str) -> tuple[ProcessStep, ...]:
    """The steps of a kind, in order; none for a kind that has none of its own.

    Example:
        >>> [step.stage for step in process("body butter")][:3], process("no such kind")
        (['heat', 'cool', 'add'], ())
        >>> process("body butter")[0].words[-14:]
        '77 to 85 degC.'

    Source: heating shea against grain (X-S94): 77 to 85 degC.
    """
    return tuple(_step(row) for row in shipped("process") if row["kind"] == kind)


def _step(row: Mapping[str, str]) -> ProcessStep:
    return ProcessStep(
        kind=row["kind"],
        stage=row["stage"],
        takes=row["takes"],
        words=row["what"],
        temperature=_number(row["temperature"]),
        minutes=_number(row["minutes"]),
        source=row["source"],
        evidence=Evidence(row["evidence"]),
    )


def _number(cell: str) -> float | None:
    return float(cell) if cell else None
