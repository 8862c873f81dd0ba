"""The fields of a kind of record, as it declares them: names, plain types and what is to be known of them."""

import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields
from typing import TypeVar, get_args, get_type_hints

from optiform.reading.frozen import frozen
from optiform.workshop.columns import Column
from optiform.workshop.records import Record

R = TypeVar("R", bound=Record)


@frozen
class Field:
    """A field of a record.

    Attributes:
        name: of the dataclass's field, of the column in the database and in CSV.
        type: str, float, int, date or datetime.
        optional: whether it may be None.
        default: what it is where nothing is said of it; MISSING where something must be.
        column: label, unit, rule and the rest of its declaration.
    """

    name: str
    type: type
    optional: bool
    default: object
    column: Column

    @property
    def needed(self) -> bool:
        """Whether a value must be given."""
        return self.default is MISSING


_KNOWN: dict[type[Record], tuple[Field, ...]] = {}


def fields_of(record: type[Record]) -> tuple[Field, ...]:
    """The fields of a kind in their order."""
    if record not in _KNOWN:
        hints = get_type_hints(record, include_extras=True)
        _KNOWN[record] = tuple(_field(x.name, x.default, *get_args(hints[x.name])) for x in fields(record))
    return _KNOWN[record]


def _field(name: str, default: object, hint: type, column: Column) -> Field:
    plain = [each for each in get_args(hint) if each is not types.NoneType] or [hint]
    return Field(name, plain[0], len(get_args(hint)) == 2, default, column)


def field_of(record: type[Record], name: str) -> Field:
    """The field of a name."""
    return next(field for field in fields_of(record) if field.name == name)


def record_from(kind: type[R], values: Mapping[str, object]) -> R:
    """A record from values by the names of its fields, of whatever type; the checks say what is wrong with them."""
    make: Callable[..., R] = kind
    return make(**values)


def changed(record: R, values: Mapping[str, object]) -> R:
    """A record with other values of the fields that are named."""
    before = {field.name: getattr(record, field.name) for field in fields_of(type(record))}
    return record_from(type(record), {**before, **values})
