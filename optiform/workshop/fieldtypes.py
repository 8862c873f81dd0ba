"""The fields of a kind of record with their plain types."""

import types
from dataclasses import dataclass, fields
from typing import Any, get_args, get_origin, get_type_hints


@dataclass(frozen=True, slots=True)
class Field:
    """A field of a record: its name, its type (str, float, int, date or datetime), whether it may be None."""

    name: str
    type: type
    optional: bool


_KNOWN: dict[type[Any], tuple[Field, ...]] = {}


def fields_of(record: type[Any]) -> tuple[Field, ...]:
    """The fields of a dataclass in their order."""
    if record not in _KNOWN:
        _KNOWN[record] = _read(record)
    return _KNOWN[record]


def _read(record: type[Any]) -> tuple[Field, ...]:
    hints = get_type_hints(record)
    return tuple(_field(each.name, hints[each.name]) for each in fields(record))


def _field(name: str, hint: Any) -> Field:
    if get_origin(hint) is types.UnionType:
        (plain,) = (each for each in get_args(hint) if each is not types.NoneType)
        return Field(name, plain, optional=True)
    return Field(name, hint, optional=False)
