"""What makes an object a value: it compares and hashes by what is in it, and its repr stays short."""

from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import Field, fields, is_dataclass
from decimal import Decimal
from enum import Enum
from functools import cache
from typing import Any, Generic, TypeVar

from optiform.reading.frozen import frozen

T = TypeVar("T")

ENTRIES = 3  #: entries of a list that a repr shows
LETTERS = 70  #: of one field
MOST = 1_900  #: of a whole repr


@frozen
class Bound(Generic[T]):
    """A function with its last arguments: called with the first ones it gives the function's value.

    Unlike a closure it compares, hashes and pickles, as long as its function is a module's and its arguments do too.

    Example:
        >>> half = Bound(pow, (2,))
        >>> half(3), half == Bound(pow, (2,)), half == Bound(pow, (3,))
        (9, True, False)
    """

    function: Callable[..., T]
    arguments: tuple[object, ...] = ()

    def __call__(self, *first: object) -> T:
        """The function's value."""
        return self.function(*first, *self.arguments)


class Comparable:
    """A frozen dataclass (`eq=False, repr=False`) that may hold arrays and mappings, by what is in it.

    Fields with `compare=False` do not count, those with `repr=False` are not shown, and those with `hash=False` are
    compared but left out of the hash: what is large and hardly ever the only difference. What is worked out once and
    kept (a cached property) is no part of the value and is not pickled.
    """

    def __eq__(self, other: object) -> bool:
        """Whether both are of one class and everything in them is the same."""
        if type(self) is not type(other):
            return NotImplemented
        return _equal(self, other)

    def __hash__(self) -> int:
        """The same for what is equal. Worked out once: caches ask for it again and again."""
        worked_out = self.__dict__.get("_hash")
        if worked_out is None:
            worked_out = hash(_content(self))
            object.__setattr__(self, "_hash", worked_out)
        return int(worked_out)

    def __repr__(self) -> str:
        """Class and fields, each cut short."""
        shown = (f"{field.name}={_short(getattr(self, field.name))}" for field in _fields(self) if field.repr)
        return cut(f"{type(self).__name__}({', '.join(shown)})", MOST)

    def __getstate__(self) -> dict[str, object]:
        """The fields alone."""
        return {field.name: getattr(self, field.name) for field in _fields(self)}


def _equal(one: object, other: object) -> bool:
    """Whether two values of one class are equal: compared wholly once; what was equal carries one mark from then on.

    A cache asks for its keys again and again, and a file read twice gives keys that are equal and not identical.
    """
    mine, yours = one.__dict__, other.__dict__
    mark = mine.get("_mark")
    if mark is not None and mark is yours.get("_mark"):
        return True
    if mine.get("_hash", 0) != yours.get("_hash", 0) and "_hash" in mine and "_hash" in yours:
        return False
    kind: type = type(one)
    if not all(same(getattr(one, name), getattr(other, name)) for name in _compared(kind)):
        return False
    mine["_mark"] = yours["_mark"] = mark or yours.get("_mark") or object()
    return True


def same(one: object, other: object) -> bool:
    """Whether two objects have the same content: arrays, mappings and dataclasses by what is in them.

    Example:
        >>> same((1.0, float("nan")), (1.0, float("nan"))), same({"a": 1}, {"a": 2})
        (True, False)
    """
    if one is other:
        return True
    if type(one) is not type(other):
        return bool(one == other) if isinstance(one, int | float) and isinstance(other, int | float) else False
    if isinstance(one, str):  # most of what there is
        return one == other
    if _is_array(one) or isinstance(one, float):
        return bool(_plain(one) == _plain(other))
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(same(entry, other[key]) for key, entry in one.items())
    if isinstance(one, tuple | list) and isinstance(other, tuple | list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, Comparable):
        return bool(one == other)
    if is_dataclass(one):
        return all(same(getattr(one, name), getattr(other, name)) for name in _compared(one.__class__))
    return bool(one == other)


def cells(record: object) -> Iterator[tuple[str, str | float | None]]:
    """What of a dataclass goes into a row of a table: its plain values, and what has words or a name, by that."""
    for field in _fields(record):
        value = getattr(record, field.name)
        if isinstance(value, str | int | float | Decimal | None):
            yield field.name.replace("_", " "), float(value) if isinstance(value, Decimal) else value
        elif isinstance(words := _words(value), str):
            yield field.name.replace("_", " "), words


def _words(value: object) -> object:
    return getattr(value, "words", getattr(value, "name", None))


def _fields(value: object) -> tuple[Field[object], ...]:
    return fields(value)  # type: ignore[arg-type]


def _is_array(value: object) -> bool:
    return hasattr(value, "tobytes") and hasattr(value, "shape")


def _plain(value: Any) -> Hashable:
    """Something hashable that is equal for what is the same; 0 and -0 are one, and so is what is no number."""
    if value is None or isinstance(value, str | int):  # most of what there is, so it is asked first
        return value
    if isinstance(value, float):
        return "no number" if value != value else value
    if _is_array(value):
        return value.shape, (value + 0.0).tobytes()
    if isinstance(value, Mapping):
        return frozenset((key, _plain(entry)) for key, entry in value.items())
    if isinstance(value, tuple | list):
        return tuple(map(_plain, value))
    if isinstance(value, Comparable):
        return hash(value)
    return _content(value) if is_dataclass(value) else value


def _content(value: Any) -> tuple[Hashable, ...]:
    return tuple(_plain(getattr(value, name)) for name in _counting(value.__class__))


@cache
def _compared(kind: type) -> tuple[str, ...]:
    """The fields of a dataclass that make it another."""
    return tuple(field.name for field in _fields(kind) if field.compare)


@cache
def _counting(kind: type) -> tuple[str, ...]:
    """The fields of a dataclass that its hash counts."""
    return tuple(field.name for field in _fields(kind) if field.compare and field.hash is not False)


def _short(value: object) -> str:
    if isinstance(value, Enum):
        return str(value)
    if isinstance(value, tuple | list):
        return f"({', '.join(map(_short, value))})" if len(value) <= ENTRIES else f"<{len(value)} entries>"
    if isinstance(value, Mapping | frozenset):
        return f"<{len(value)} entries>"
    if is_dataclass(value) and not isinstance(value, Comparable):
        return _named(value)
    return cut(repr(value))


def _named(value: object) -> str:
    """A plain dataclass by its words, its name or its class."""
    for name in ("words", "name", "title"):
        if isinstance(text := getattr(value, name, None), str):
            return cut(f"<{type(value).__name__} {text}>")
    return f"<{type(value).__name__}>"


def cut(text: str, most: int = LETTERS) -> str:
    """A text that is longer than so many letters, without its end.

    Example:
        >>> cut("shea butter, refined", 10), cut("salt", 10)
        ('shea bu...', 'salt')
    """
    return text if len(text) <= most else f"{text[: most - 3]}..."
