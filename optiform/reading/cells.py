"""The cells of a document: what a table, a quantity, a date, a name is, and what is said at its place where it is none.

Places read alike in every document: `loss`, `[labour] wage`, `[limits] oil phase, high`, `[[part]] 2, share`. A cell
that cannot be read is a fault there, and something usable stands for it, so that reading goes on and all faults are
told at once.
"""

import datetime
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Protocol, TypeVar

from optiform.reading import clock
from optiform.reading.documents import beside
from optiform.reading.faults import Inspection
from optiform.reading.frozen import frozen
from optiform.reading.near import ONE_OF_THE_KEYS, one_of_the_keys
from optiform.reading.units import parse_quantity

COUNTED = 1_000_000  #: the most pieces that a whole number counts
Rule = Callable[[float], str]  # what is expected of a figure that breaks it; empty for one that does not
T = TypeVar("T")
Thing = TypeVar("Thing", covariant=True)


class Names(Protocol[Thing]):
    """What knows things by their names: a catalogue."""

    def find(self, name: str) -> Thing | None:
        """The thing of this name; None for an unknown one."""

    def unknown(self, name: str) -> str:
        """What was expected where an unknown name stood."""


def not_negative(value: float) -> str:
    """Zero or more."""
    return "" if value >= 0 else "zero or more"


def _other_kind(keys: Collection[str]) -> str:
    """Which other kind of document these unknown keys speak of; empty where they are too few, or of several.

    Example:
        >>> _other_kind(["candidates", "kind", "limits"]), _other_kind(["limits"]), _other_kind(["one", "two", "three"])
        ('a brief', '', '')
    """
    kinds = {kind for kind, marks in MARKS.items() if marks & set(keys)}
    return next(iter(kinds)) if len(kinds) == 1 and len(keys) >= NAMED else ""


def positive(value: float) -> str:
    """More than nothing."""
    return "" if value > 0 else "more than nothing"


def below_all(value: float) -> str:
    """A share in %, of which something is left over.

    Example:
        >>> [below_all(percent) for percent in (-1, 4, 100)]
        ['zero or more', '', 'below 100 %']
    """
    return not_negative(value) or ("" if value < 100 else "below 100 %")


def between(least: float, most: float, unit: str) -> Rule:
    """From one figure to another, ends included."""
    return lambda value: "" if least <= value <= most else f"{least:g} to {most:g} {unit}"


#: Keys that only one kind of document has.
MARKS = {
    "a brief": {"candidates", "goal", "limits", "reference"},
    "a plan": {"product", "suppliers"},
    "a file of costs": {"labour", "overhead", "packaging"},
    "how a batch is made": {"cooling", "part"},
}
NAMED = 3  # keys that tell a kind, and that are named for it


@frozen
class Cells:
    """One table of a document, and the place where it stands; that of the document itself is empty."""

    table: Mapping[str, Any]
    inspection: Inspection
    where: str = ""

    def __contains__(self, key: str) -> bool:
        return key in self.table

    def place(self, key: str = "") -> str:
        """Words for where a key of this table stands.

        Example:
            >>> Cells({}, Inspection("costs.toml"), "[labour]").place("wage")
            '[labour] wage'
            >>> Cells({}, Inspection("costs.toml"), "[labour] steps").place("stir")
            '[labour] steps, stir'
        """
        if not self.where or not key:
            return self.where or key
        return f"{self.where} {key}" if self.where.endswith("]") else f"{self.where}, {key}"

    def fault(self, key: str, read: object, expected: str, words: str = "") -> None:
        """Note that a key of this table held `read` where `expected` was wanted; an empty key is the table itself."""
        self.inspection.fault(self.place(key), read, expected, words)

    def only(self, keys: Collection[str], topic: str = "") -> None:
        """Note every other key, with the one it is like; of a document of another kind only that it is one.

        Args:
            keys: that are read.
            topic: of the guide, which tells them all.
        """
        others = sorted(set(self.table) - set(keys))
        if kind := _other_kind(others):
            named = ", ".join(others[:NAMED])
            self.fault("", named, "a document of another kind", f"This looks like {kind}, by its keys {named}.")
            return
        for key in others:
            name = "a key without a name" if not key.strip() else key if key == key.strip() else f'"{key}"'
            expected = one_of_the_keys(key, keys)
            words = f"There is no key {name}. `optiform guide {topic}` lists those there are."
            self.fault(name, self.table[key], expected, words if topic and expected.startswith(ONE_OF_THE_KEYS) else "")

    def lacks(self, key: str, expected: str) -> None:
        """Note a key that is not there."""
        if key not in self.table:
            self.fault(key, None, expected)

    # -- tables within -------------------------------------------------------------------------------------------------

    def within(self, key: str, keys: Collection[str] | None = None, expected: str = "a table") -> "Cells":
        """The table under a key; an empty one where there is none.

        Args:
            key: of this table; right in a document it is a heading.
            keys: those that the table can have; None for names of the maker's.
            expected: what is said where it is no table.
        """
        place = f"[{key}]" if not self.where else self.place(key)
        cells = self._cells(place, self.table.get(key, {}), expected)
        if keys is not None:
            cells.only(keys)
        return cells

    def tables(self, expected: str, keys: Collection[str], empty: bool = False) -> "Iterator[tuple[str, Cells]]":
        """Each name of this table with the table under it, which may be `empty` or not."""
        for name, content in self.table.items():
            cells = self._cells(self.place(name), content, expected)
            if content == {} and not empty:
                cells.fault("", content, expected)
            cells.only(keys)
            yield name, cells

    def numbered(self, key: str, expected: str) -> "list[Cells]":
        """The tables headed `[[key]]`, each under its number; none where there are none."""
        tables, head = self.table.get(key, []), f"[[{key}]]"
        if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
            self.inspection.fault(head, tables, expected)
            return []
        return [Cells(table, self.inspection, f"{head} {number}") for number, table in enumerate(tables, 1)]

    def _cells(self, place: str, content: object, expected: str) -> "Cells":
        if not isinstance(content, dict):
            self.inspection.fault(place, content, expected)
            content = {}
        return Cells(content, self.inspection, place)

    # -- figures -------------------------------------------------------------------------------------------------------

    def quantity(self, key: str, unit: str, default: float, rule: Rule = not_negative, needed: str = "") -> float:
        """The quantity under a key, in `unit`.

        Args:
            key: of this table.
            unit: a bare number is in it already.
            default: what stands for a key that is not there, and for a cell that cannot be read.
            rule: what is expected of the figure.
            needed: what is said where the key is not there; nothing if empty.
        """
        if key not in self.table:
            if needed:
                self.lacks(key, needed)
            return default
        try:
            value = parse_quantity(self.table[key], unit)
        except ValueError as error:
            self.fault(key, self.table[key], str(error))
            return default
        if expected := rule(value):
            self.fault(key, self.table[key], expected)
            return default
        return value

    def optional(self, key: str, unit: str, rule: Rule = not_negative) -> float | None:
        """The quantity under a key; None where it is not there or cannot be read."""
        value = self.quantity(key, unit, float("nan"), rule)
        return None if value != value else value

    def share(self, key: str, default: float, rule: Rule = not_negative, needed: str = "") -> float:
        """The percentage under a key, as a fraction."""
        return self.quantity(key, "%", 100 * default, rule, needed) / 100

    def count(self, key: str, default: int, least: int) -> int:
        """The whole number under a key."""
        number = self.table.get(key, default)
        if isinstance(number, bool) or not isinstance(number, int) or not least <= number <= COUNTED:
            bare = ", without quotes" if isinstance(number, str) else ""
            self.fault(key, number, f"a whole number from {least} to {COUNTED}{bare}")
            return least
        return number

    # -- words ---------------------------------------------------------------------------------------------------------

    def truth(self, key: str) -> bool:
        """Whether a key is true; false where it is not there."""
        value = self.table.get(key, False)
        if not isinstance(value, bool):
            self.fault(key, value, "true or false, without quotes")
        return value is True

    def text(self, key: str, default: str, expected: str = "a text") -> str:
        """The text under a key."""
        words = self.table.get(key, default)
        if isinstance(words, str):
            return words
        self.fault(key, words, expected)
        return default

    def choice(self, key: str, default: str, known: Sequence[str]) -> str:
        """One of some words, in whatever case it is written."""
        word = self.table.get(key, default)
        if isinstance(word, str) and word.casefold() in known:
            return word.casefold()
        self.fault(key, word, f"one of: {', '.join(filter(None, known))}")
        return default

    def texts(self, key: str, expected: str = "a list of texts") -> list[str]:
        """The list of texts under a key; an empty one where there is none."""
        words = self.table.get(key, [])
        if isinstance(words, list) and all(isinstance(word, str) for word in words):
            return words
        self.fault(key, words, expected)
        return []

    def choices(self, key: str, known: Sequence[str]) -> tuple[str, ...]:
        """Some of some words, as they are known, in whatever case they are written."""
        spelt = {word.casefold(): word for word in known}
        words = self.texts(key)
        for word in words:
            if word.casefold() not in spelt:
                self.fault(key, word, f"any of: {', '.join(known)}")
        return tuple(spelt[word.casefold()] for word in words if word.casefold() in spelt)

    def date(self, key: str) -> datetime.date:
        """The date under a key; today where there is none."""
        date = self.table.get(key, clock.today())
        if isinstance(date, datetime.datetime) or not isinstance(date, datetime.date):
            self.fault(key, date, "a date such as 2026-11-25, without quotes")
            return clock.today()
        return date

    # -- names ---------------------------------------------------------------------------------------------------------

    def known(self, key: str, name: str, names: Names[T]) -> T | None:
        """The thing of a name that stands at a key; None, and noted, where the name is unknown."""
        thing = names.find(name)
        if thing is None and not self.inspection.full:
            self.fault(key, name, names.unknown(name))
        return thing

    def read(self, key: str, document: Path, expected: str, reader: Callable[[Path], T]) -> T | None:
        """What the file beside `document` holds that a key names; None where it names none, or it cannot be read."""
        file = self.file(key, document, expected)
        return None if file is None else self.inspection.given(lambda: reader(file), None)

    def file(self, key: str, document: Path, expected: str) -> Path | None:
        """The file beside `document` that a key names; None where there is no such key, or no such name can be."""
        name = self.table.get(key)
        if isinstance(name, str):
            return beside(document, self.place(key), name, self.inspection)
        if key in self.table:
            self.fault(key, name, expected)
        return None
