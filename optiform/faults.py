"""What is wrong with an input: every fault at once, each with file, place, reading and expectation."""

from collections.abc import Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with an input file or argument."""

    file: str
    place: str
    read: str
    expected: str

    def __str__(self) -> str:
        return f"{self.file}: {self.place}: read {self.read}, expected {self.expected}"


class BadInput(Exception):
    """An input that cannot be used. `faults` lists every fault found, not only the first."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        super().__init__("\n".join(map(str, faults)))
        self.faults = tuple(faults)


class Unproven(Exception):
    """A solver's claim that did not stand up to recomputation: an error, never shown as an answer."""


@dataclass
class Inspection:
    """Collects the faults of one file while it is read, so that all can be told together."""

    file: str
    faults: list[Fault] = field(default_factory=list)

    def fault(self, place: str, read: object, expected: str) -> None:
        """Note that `place` held `read` where `expected` was wanted."""
        shown = repr(read) if isinstance(read, str) else str(read)
        if len(shown) > 80:
            shown = shown[:76] + "...'"
        self.faults.append(Fault(self.file, place, shown, expected))

    def finish(self) -> None:
        """Raise `BadInput` if anything was wrong."""
        if self.faults:
            raise BadInput(self.faults)
