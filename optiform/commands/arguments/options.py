"""An option is declared once: how it is written, what it becomes, the words where it is neither, and its help.

The parser takes the text; `read` turns the text of every option into its value and tells all faults at once. An option
that is a field of a record has all of this from the record.
"""

from __future__ import annotations

import argparse
import datetime
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from optiform.commands.arguments.parts import DAY, whole
from optiform.workshop.columns import SHARE, Rule
from optiform.workshop.fieldtypes import Field, R, field_of, fields_of, record_from

if TYPE_CHECKING:
    from optiform.reading.faults import Inspection
    from optiform.workshop.decisions import Where
    from optiform.workshop.records import Record

FILE = "command line"  #: where a fault of an option is told to be


@dataclass(frozen=True, slots=True)
class Form:
    """How an option is written, and what reads it, from its text and the options that are read before it.

    `value` raises ValueError with what was expected.
    """

    metavar: str | None
    value: Callable[[Any, argparse.Namespace], object]


@dataclass(frozen=True, slots=True)
class Option:
    """An option of a command: its name, its place for a person, its form.

    Attributes:
        also: fields of records whose faults are told at its place, beside the one of its name.
        needs: options, by name as a person writes them, of which one must be given beside it.
    """

    name: str
    place: str
    form: Form
    also: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()


# -- forms -------------------------------------------------------------------------------------------------------------

_METAVARS = {"degC": "TEMPERATURE", "%": "SHARE", "min": "TIME", "h": "TIME", "mL": "VOLUME"}
SOMETHING = Rule("more than nothing", lambda value: value > 0)


def form(metavar: str | None, value: Callable[[Any], object]) -> Form:
    """What is read from its text alone."""
    return Form(metavar, lambda given, _: value(given))


def text(metavar: str | None = "WORDS", rule: Rule | None = None) -> Form:
    """Words as they are, such as the rule allows."""
    return form(metavar, lambda given: _allowed(given, rule))


def amount(unit: str, rule: Rule | None = None) -> Form:
    """A quantity in a unit, such as the rule allows."""
    return form(_METAVARS.get(unit, "MASS"), lambda given: amount_of(given, unit, rule))


def quantity(unit: str) -> Form:
    """A quantity of more than nothing in a unit."""
    return amount(unit, SOMETHING)


def money(of: str = "", rule: Rule | None = None) -> Form:
    """Money for one of something (`/kg`), without it for a piece, in the currency that is read before it."""
    return Form("MONEY", lambda given, read: read.currency and amount_of(given, f"{read.currency}{of}", rule))


def share() -> Form:
    """A mass fraction, written as a percentage."""
    return form("SHARE", lambda given: amount_of(given, "%", SHARE) / 100)


def day() -> Form:
    """A date."""
    return form(DAY, day_of)


def currency(rule: Rule) -> Form:
    """A currency in capital letters; small ones are taken for them."""
    return form("CURRENCY", lambda given: _allowed(given.upper(), rule))


def _allowed(value: Any, rule: Rule | None) -> Any:
    if rule and not rule.holds(value):
        raise ValueError(rule.expected)
    return value


def amount_of(given: str, unit: str, rule: Rule | None = None) -> float:
    """A quantity in a unit.

    Raises:
        ValueError: with what was expected.
    """
    from optiform.reading.units import parse_quantity

    return float(_allowed(parse_quantity(given, unit), rule))


def count(least: int, of: str) -> Form:
    """A whole number, not below the least."""
    return text("N", Rule(f"{least}{of} or more", lambda value: value >= least))


def one_of(metavar: str | None, known: Callable[[], Iterable[str]], spelt: Callable[[str], str] = str) -> Form:
    """One of the words that are known when it is read, in their own spelling."""
    return form(metavar, lambda given: _known(spelt(given), tuple(known())))


def _known(given: str, known: tuple[str, ...]) -> str:
    return str(_allowed(given, Rule(f"one of: {', '.join(known)}", lambda word: word in known)))


def day_of(given: str) -> datetime.date:
    """A date as ISO has it.

    Raises:
        ValueError: with what was expected.
    """
    try:
        return datetime.date.fromisoformat(given)
    except ValueError:
        raise ValueError("a date such as 2026-11-25") from None


# -- declared ----------------------------------------------------------------------------------------------------------


def add(
    parser: argparse._ActionsContainer, name: str, form: Form, words: str = "", also: tuple[str, ...] = (),
    place: str = "", needs: tuple[str, ...] = (), **settings: Any,
) -> None:  # fmt: skip
    """Declare an option, with `words` for its help and the parser's own settings (dest, default, required, nargs)."""
    action = parser.add_argument(name, metavar=form.metavar, help=words or None, **settings)
    told = place or (action.option_strings or [form.metavar or action.dest.upper()])[0]
    before = parser.get_default("declared") or ()
    parser.set_defaults(declared=(*before, Option(action.dest, told, form, also, needs)))


def add_fields(parser: argparse._ActionsContainer, record: type[Record], *names: str) -> None:
    """Declare fields of a record as options of the same names."""
    for name in names:
        add_field(parser, record, name)


def add_field(
    parser: argparse._ActionsContainer, record: type[Record], name: str, option: str = "", **settings: Any
) -> None:
    """Declare a field of a record as an option, under another name where one is given; `MASS` is one by position."""
    field, settings = field_of(record, name), dict(settings)
    called = option or f"--{name.replace('_', '-')}"
    form = settings.pop("form", None) or _form(field)
    if called.startswith("--"):
        settings = {"required": field.needed and not field.column.bare, "dest": name, **settings}
    else:
        form, called = Form(called, form.value), name
    if field.type is int:
        settings["type"] = whole(field.column.label.lower())
    if name == "currency":
        settings["default"] = "EUR"
    add(parser, called, form, settings.pop("words", "") or field.column.help, **settings)


def _form(field: Field) -> Form:
    """How a field of a record is written."""
    column = field.column
    if field.type is datetime.date:
        return day()
    if field.type is int:
        return text("N")
    if column.unit.startswith("money"):
        return money(column.unit.removeprefix("money"), column.rule)
    if field.type is float:
        return amount(column.unit, column.rule)
    if field.name == "currency" and column.rule:
        return currency(column.rule)
    return text(None if column.key or column.refers else "WORDS")


# -- read --------------------------------------------------------------------------------------------------------------


def read(options: argparse.Namespace, **more: object) -> Inspection:
    """Put values in the place of the texts of all declared options; None for what cannot be read, which is noted.

    `more` is known of what they rest on, such as the currency of a brief.
    """
    from optiform.reading.faults import Inspection

    inspection = Inspection(FILE)
    vars(options).update(more)
    for option in getattr(options, "declared", ()):
        given = getattr(options, option.name)
        many = given if isinstance(given, list) else [] if given is None else [given]
        if many and option.needs and not any(map(partial(_is_there, options), option.needs)):
            inspection.fault(option.place, given, f"{' or '.join(option.needs)} beside it")
        values = [_value(option, each, options, inspection) for each in many]
        setattr(options, option.name, values if isinstance(given, list) else values[0] if values else None)
    return inspection


def _is_there(options: argparse.Namespace, other: str) -> bool:
    """Whether `--record NUMBER` is given."""
    return getattr(options, other.split()[0].removeprefix("--")) is not None


def _value(option: Option, given: str, options: argparse.Namespace, inspection: Inspection) -> object:
    try:
        return option.form.value(given, options)
    except ValueError as error:
        inspection.fault(option.place, given, str(error))
        return None


def where(options: argparse.Namespace, **more: str) -> Where:
    """Fields of records by the options they were written as; `more` by their names."""
    places = {field: option.place for option in options.declared for field in (option.name, *option.also)} | more
    return lambda field: (FILE, places.get(field, field))


def written(options: argparse.Namespace, record: type[Record]) -> dict[str, object]:
    """The fields of a record that were written as options."""
    named = {option.name for option in options.declared} & {field.name for field in fields_of(record)}
    return {name: value for name in named if (value := getattr(options, name)) is not None}


def record(kind: type[R], options: argparse.Namespace, /, **more: object) -> R:
    """A record of what was written as options, and of more."""
    return record_from(kind, {**written(options, kind), **more})
