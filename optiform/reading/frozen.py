"""Frozen dataclasses that are made in a third of the time: a command makes some 150 classes before it answers.

The standard library writes and compiles six functions for every frozen dataclass. Here it compiles `__init__` alone,
and all classes share the others. What comes of it is a dataclass like any other: `fields`, `replace`, pickling and
checkers of types treat it so. One kind does not inherit from the other.
"""

from collections.abc import Callable, Sequence
from dataclasses import Field, FrozenInstanceError, dataclass, field, fields
from functools import partial
from operator import attrgetter
from typing import NoReturn, TypeVar, dataclass_transform

T = TypeVar("T")
Method = Callable[..., object]
Content = Callable[[object], object]  #: what counts of an object


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def frozen(*, eq: bool = True, repr: bool = True) -> Callable[[type[T]], type[T]]:
    """As `dataclass(frozen=True)`; with `eq=False` or `repr=False` it compares or shows as its base does.

    Example:
        >>> @frozen()
        ... class Size:
        ...     width: float
        ...     height: float = 0.0
        >>> Size(1.0).height, Size(1.0) == Size(1.0, 0.0), hash(Size(1.0)) == hash(Size(1, 0))
        (0.0, True, True)
    """
    return partial(_made, compared=eq, shown=repr)


def _made(cls: type[T], compared: bool, shown: bool) -> type[T]:
    made = dataclass(eq=False, repr=False)(cls)
    own = fields(made)  # type: ignore[arg-type]
    methods: dict[str, Method] = {"__setattr__": _set_once(frozenset(each.name for each in own))}
    methods["__delattr__"] = _no_deleting
    if compared:
        counting = [each.compare if each.hash is None else each.hash for each in own]
        methods["__eq__"] = _equality(_content(own, [each.compare for each in own]))
        methods["__hash__"] = _hashing(_content(own, counting))
    if shown:
        methods["__repr__"] = _showing([each.name for each in own if each.repr])
    written = {name for name, value in vars(cls).items() if value is not None}  # what the class says itself stays
    for name, method in methods.items():
        if name not in written:
            setattr(made, name, method)
    return made


def _set_once(names: frozenset[str]) -> Method:
    """Each field is set when the object is made, and never again."""
    setting = object.__setattr__

    def set_once(self: object, name: str, value: object) -> None:
        if name in self.__dict__ or name not in names:
            raise FrozenInstanceError(f"cannot assign to field {name!r}")
        setting(self, name, value)

    return set_once


def _no_deleting(self: object, name: str) -> NoReturn:  # noqa: ARG001
    raise FrozenInstanceError(f"cannot delete field {name!r}")


def _content(own: Sequence[Field[object]], counting: Sequence[bool]) -> Content:
    names = [each.name for each, counts in zip(own, counting, strict=True) if counts]
    return attrgetter(*names) if names else lambda _: ()


def _equality(content: Content) -> Method:
    def same(self: object, other: object) -> bool:
        return content(self) == content(other) if type(self) is type(other) else NotImplemented

    return same


def _hashing(content: Content) -> Method:
    return lambda self: hash(content(self))


def _showing(names: Sequence[str]) -> Method:
    """The class and its fields."""

    def shown(self: object) -> str:
        return f"{type(self).__qualname__}({', '.join(f'{name}={getattr(self, name)!r}' for name in names)})"

    return shown
