"""What makes an object a value: it compares and hashes by what is in it, and its repr stays short."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from typing import Any, Generic, TypeVar

T = TypeVar("T")

ENTRIES = 3  #: entries of a list that a repr shows
LETTERS = 70  #: of one field


@dataclass(frozen=True)
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

    Fields with `compare=False` do not count, those with `repr=False` are not shown. What is worked out once and kept
    (a cached property) is no part of the value and is not pickled.
    """

    def __eq__(self, other: object) -> bool:
        """Whether both are of one class and everything in them is the same."""
        if self is other:
            return True
        return _content(self) == _content(other) if type(self) is type(other) else NotImplemented

    def __hash__(self) -> int:
        """The same for what is equal."""
        return hash(_content(self))

    def __repr__(self) -> str:
        """Class and fields, each cut short."""
        shown = (f"{field.name}={_brief(getattr(self, field.name))}" for field in _fields(self) if field.repr)
        return f"{type(self).__name__}({', '.join(shown)})"

    def __getstate__(self) -> dict[str, Any]:
        """The fields alone."""
        return {field.name: getattr(self, field.name) for field in _fields(self)}


def _fields(value: object) -> tuple[Any, ...]:
    return fields(value)  # type: ignore[arg-type]


def _content(value: object) -> tuple[Any, ...]:
    return tuple(_plain(getattr(value, field.name)) for field in _fields(value) if field.compare)


def _plain(value: Any) -> Any:
    """Something hashable that is equal for what is equal; arrays by their bytes, where 0 and -0 are one."""
    if hasattr(value, "tobytes") and hasattr(value, "shape"):
        return value.shape, (value + 0.0).tobytes()
    if isinstance(value, Mapping):
        return frozenset((key, _plain(entry)) for key, entry in value.items())
    if isinstance(value, tuple | list):
        return tuple(map(_plain, value))
    return value


def _brief(value: Any) -> str:
    if isinstance(value, str | int | float | Enum | None):
        return _cut(repr(value) if not isinstance(value, Enum) else str(value))
    if isinstance(value, tuple | list | Mapping | frozenset):
        return _cut(_entries(value))
    return _cut(repr(value) if not is_dataclass(value) or isinstance(value, Comparable) else _named(value))


def _entries(value: Any) -> str:
    if len(value) > ENTRIES or isinstance(value, Mapping):
        return f"<{len(value)} entries>"
    return f"({', '.join(map(_brief, value))})"


def _named(value: Any) -> str:
    """A plain dataclass by its words, its name or its class."""
    for name in ("words", "name", "title"):
        if isinstance(text := getattr(value, name, None), str):
            return f"<{type(value).__name__} {text}>"
    return f"<{type(value).__name__}>"


def _cut(text: str) -> str:
    return text if len(text) <= LETTERS else f"{text[: LETTERS - 3]}..."
