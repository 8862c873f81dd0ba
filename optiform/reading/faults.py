"""What is wrong with an input: every fault at once, each with file, place, reading and expectation."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from optiform.reading.frozen import frozen
from optiform.reading.sentences import sentence

T = TypeVar("T")

COMMAND_LINE = "command line"  #: the file of a fault in an option or argument
MOST = 100  #: faults told of one file; who mends these sees the next
MENDED_FIRST = "the ones above mended first"
MORE = "There are more faults. Mend the ones above first."
LONGEST = {"place": 160, "read": 160, "expected": 3000}  #: characters shown; each can hold words from the file


@frozen
class Fault:
    """One thing wrong with an input file or argument, in text that can be printed anywhere.

    A stranger's file must not move the cursor, turn the line round or hide words: characters that do not print are
    shown as escapes.
    """

    file: str
    place: str
    read: str
    expected: str
    words: str = ""  # said of the place instead, where what was read and expected make no good sentence

    def __post_init__(self) -> None:
        for part in ("file", "place", "read", "expected", "words"):
            text = printable(getattr(self, part))
            object.__setattr__(self, part, shortened(text, LONGEST.get(part, len(text))))

    def __str__(self) -> str:
        """What is wrong, where, and what to do, in sentences; an option is named without the command line."""
        told = self.words or sentence(self.place, self.read, self.expected)
        return told if self.file == COMMAND_LINE else f"{self.file}: {told}"


class Error(Exception):
    """What every error of the package is."""


class BadInput(Error):
    """An input that cannot be used. `faults` lists every fault found, not only the first, and each of them once."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(dict.fromkeys(faults))
        super().__init__("\n".join(map(str, self.faults)))

    def __reduce__(self) -> tuple[type, tuple[tuple[Fault, ...]]]:
        """As a pickle rebuilds it."""
        return type(self), (self.faults,)


class Absent(Error, LookupError):
    """What an answer of this kind has not, such as a chart, or this one has not, such as an option."""

    @classmethod
    def on_curve(cls, target: float, fits: tuple[float, float] | None) -> "Absent":
        """That a curve with formulas from one target to another has none at this one."""
        reach = f"; it has some from {fits[0]:g} to {fits[1]:g}" if fits else ""
        return cls(f"no formula on the curve at {target:g}{reach}")


class Unproven(Error):
    """No verdict. Here: a solver's claim did not stand up to recomputation; an error, never shown as an answer.

    `told` says so to the reader of a command, `status` to a program.
    """

    told = "the answer did not pass its own check, so it is not shown; the other --solver may do better"
    status = "unproven"


class Unsettled(Unproven):
    """The search did not come to rest, or would take too long. The words say on what."""

    told = "not decided"
    status = "undecided"


def printable(text: str) -> str:
    r"""The text with every character that does not print as an escape.

    Example:
        >>> printable("caf\u00e9 \u202e")
        'café \\u202e'
    """
    if text.isprintable():
        return text
    return "".join(sign if sign.isprintable() else sign.encode("unicode_escape").decode() for sign in text)


def shortened(text: str, most: int) -> str:
    """The text, with its middle left out where it is longer than `most` characters."""
    return text if len(text) <= most else f"{text[: most // 2]} ... {text[-most // 2 + 5 :]}"


def as_written(value: object) -> str:
    """A value of a document as its maker wrote it, on one line.

    Example:
        >>> as_written({"lo": "1 %", "yes": True, "of": ["water", 2]})
        '{ lo = "1 %", yes = true, of = ["water", 2] }'
    """
    if isinstance(value, Mapping):
        inside = ", ".join(f"{key} = {as_written(entry)}" for key, entry in value.items())
        return f"{{ {inside} }}" if inside else "{}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(as_written, value))}]"
    if isinstance(value, bool):
        return "true" if value else "false"
    return f'"{value}"' if isinstance(value, str) else str(value)


@dataclass
class Inspection:
    """Collects the faults of one file while it is read, so that all can be told together."""

    file: str
    faults: list[Fault] = field(default_factory=list)

    @property
    def full(self) -> bool:
        """Whether so much is wrong that looking further helps nobody."""
        return len(self.faults) >= MOST

    def fault(self, place: str, read: object, expected: str, words: str = "") -> None:
        """Note that `place` held `read` where `expected` was wanted; `words` say it where they say it better.

        None was read where nothing stood there, which is not the word nothing.
        """
        if self.full:
            self.faults[MOST - 1] = Fault(self.file, "the rest", "more faults", MENDED_FIRST, MORE)
            return
        shown = "nothing" if read is None else repr(read[:100]) if isinstance(read, str) else as_written(read)
        if len(shown) > 80:
            shown = shown[:76] + "...'" * isinstance(read, str) + "..." * (not isinstance(read, str))
        self.faults.append(Fault(self.file, place, shown, expected, words))

    def given(self, read: Callable[[], T], instead: T) -> T:
        """What `read` reads; where it is bad input, that is noted and `instead` stands for it until `finish`."""
        try:
            return read()
        except BadInput as bad:
            self.faults += bad.faults
            return instead

    def finish(self) -> None:
        """Raise `BadInput` if anything was wrong."""
        if self.faults:
            raise BadInput(self.faults)
