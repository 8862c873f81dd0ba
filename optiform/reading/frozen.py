"""Frozen dataclasses that are made in a quarter of the time: a command makes some 150 classes before it answers.

The standard library writes and compiles six functions for every frozen dataclass. Here it compiles `__init__` alone,
and all classes share the others. What comes of it is a dataclass like any other: `fields`, `replace`, pickling and
checkers of types treat it so. One kind does not inherit from the other.
"""

from collections.abc import Callable, Sequence
from dataclasses import Field, FrozenInstanceError, dataclass, field, fields
from functools import partial
from operator import attrgetter
from typing import Any, NoReturn, TypeVar, dataclass_transform, overload

C = TypeVar("C", bound=type)
Content = Callable[[object], object]  #: what counts of an object


@overload
def frozen(cls: C) -> C: ...
@overload
def frozen(*, eq: bool = True, repr: bool = True) -> Callable[[C], C]: ...
@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def frozen(cls: C | None = None, *, eq: bool = True, repr: bool = True) -> C | Callable[[C], C]:
    """As `dataclass(frozen=True)`; with `eq=False` or `repr=False` it compares or shows as its base does.

    Example:
        >>> @frozen
        ... class Size:
        ...     width: float
        ...     height: float = 0.0
        >>> Size(1.0).height, Size(1.0) == Size(1.0, 0.0), hash(Size(1.0)) == hash(Size(1, 0))
        (0.0, True, True)
    """
    made = partial(_made, compared=eq, shown=repr)
    return made if cls is None else made(cls)


def _made(cls: C, compared: bool, shown: bool) -> C:
    made: Any = dataclass(eq=False, repr=False)(cls)
    own = fields(made)
    made.__setattr__, made.__delattr__ = _set_once(frozenset(each.name for each in own)), _no_deleting
    written = {name for name, value in vars(cls).items() if value is not None}  # what the class says itself stays
    if compared and "__eq__" not in written:
        made.__eq__ = _equality(_content(own, [each.compare for each in own]))
    if compared and "__hash__" not in written:
        made.__hash__ = _hashing(_content(own, [each.compare if each.hash is None else each.hash for each in own]))
    if shown and "__repr__" not in written:
        made.__repr__ = _shown
    return made  # type: ignore[no-any-return]


def _set_once(names: frozenset[str]) -> Callable[[Any, str, object], None]:
    """Each field is set when the object is made, and never again."""
    setting = object.__setattr__

    def set_once(self: Any, name: str, value: object) -> None:
        if name in self.__dict__ or name not in names:
            raise FrozenInstanceError(f"cannot assign to field {name!r}")
        setting(self, name, value)

    return set_once


def _no_deleting(self: object, name: str) -> NoReturn:  # noqa: ARG001
    raise FrozenInstanceError(f"cannot delete field {name!r}")


def _content(own: tuple[Field[Any], ...], counting: Sequence[bool]) -> Content:
    names = [each.name for each, counts in zip(own, counting, strict=True) if counts]
    return attrgetter(*names) if names else lambda _: ()


def _equality(content: Content) -> Callable[[object, object], bool]:
    def same(self: object, other: object) -> bool:
        return content(self) == content(other) if type(self) is type(other) else NotImplemented

    return same


def _hashing(content: Content) -> Callable[[object], int]:
    return lambda self: hash(content(self))


def _shown(self: Any) -> str:
    """The class and its fields."""
    shown = (f"{each.name}={getattr(self, each.name)!r}" for each in fields(self) if each.repr)
    return f"{type(self).__qualname__}({', '.join(shown)})"
