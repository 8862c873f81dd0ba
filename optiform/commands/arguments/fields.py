"""Options that are fields of a record, declared as the record has them; and records of what was written as options."""

from __future__ import annotations

import argparse
import datetime
from dataclasses import replace
from typing import Any

from optiform.commands.arguments.options import DAY, Container, Form, add, amount, form, money, text, whole
from optiform.workshop.columns import allowed
from optiform.workshop.fieldtypes import Field, R, field_of, fields_of, record_from
from optiform.workshop.records import Record


def add_fields(parser: Container, record: type[Record], *names: str, **settings: Any) -> None:
    """Declare fields of a record as options of the same names."""
    for name in names:
        add_field(parser, record, name, **settings)


def add_field(
    parser: Container, record: type[Record], name: str, option: str = "", form: Form | None = None, words: str = "",
    **settings: Any,
) -> None:  # fmt: skip
    """Declare a field of a record as an option, under another name where one is given; `MASS` is one by position."""
    field = field_of(record, name)
    form, words = form or _form(field), words or field.column.help
    if option and not option.startswith("-"):
        add(parser, name, Form(option, form.value, form.type), words, **settings)
        return
    settings = {"required": field.needed and not field.column.bare, "dest": name, **settings}
    default = "EUR" if name == "currency" else None
    add(parser, option or f"--{name.replace('_', '-')}", form, words, default=default, **settings)


def _form(field: Field) -> Form:
    """How a field of a record is written."""
    column = field.column
    if field.type is datetime.date:
        return DAY
    if field.type is int:
        return whole(column.label.lower())
    if column.unit.startswith("money"):
        return money(column.unit.removeprefix("money"), column.rule)
    if field.type is float:
        return amount(column.unit, column.asked)
    if field.name == "currency":
        return form(None, lambda given: allowed(given.upper(), column.rule))
    metavar = None if column.key or column.refers else "WORDS"
    return replace(text(metavar), known=lambda: column.rule.known if column.rule else ())


def written(options: argparse.Namespace, record: type[Record]) -> dict[str, object]:
    """The fields of a record that were written as options."""
    named = {option.name for option in options.declared} & {field.name for field in fields_of(record)}
    return {name: value for name in named if (value := getattr(options, name)) is not None}


def record(kind: type[R], options: argparse.Namespace, /, **more: object) -> R:
    """A record of what was written as options, and of more."""
    return record_from(kind, {**written(options, kind), **more})
