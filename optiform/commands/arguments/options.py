"""An option is declared once: how it is written, what it becomes, the words where it is neither, and its help.

The parser takes the text; `read` turns the text of every option into its value and tells all faults at once. Options
that are fields of a record have all of this from the record: see fields.py.
"""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any

from optiform.reading.frozen import frozen
from optiform.workshop import columns
from optiform.workshop.columns import SHARE, SOMETHING, Rule, allowed, day

if TYPE_CHECKING:
    from pathlib import Path

    from optiform.reading.faults import Inspection
    from optiform.workshop.decisions import Where

Container = argparse._ActionsContainer  # a parser, or a group of one


@frozen
class Form:
    """How an option is written, and what reads it; both raise with what was expected.

    Attributes:
        metavar: what stands for it in the help.
        value: from its text and from the options that are read before it, its value.
        type: what the parser itself makes of its text.
        known: every word that it can be, where it is one of a few; a shell completes them.
    """

    metavar: str | None
    value: Callable[..., object] = lambda given, _: given
    type: Callable[[str], object] | None = None
    known: Callable[[], Iterable[str]] = tuple


@frozen
class Option:
    """An option of a command: its name, its place for a person, its form.

    Attributes:
        also: fields of records whose faults are told at its place, beside the one of its name.
        needs: options, by name as a person writes them, of which one must be given beside it.
    """

    name: str
    place: str
    form: Form
    also: tuple[str, ...]
    needs: Mapping[str, str]


# -- forms -------------------------------------------------------------------------------------------------------------


def form(metavar: str | None, value: Callable[..., object]) -> Form:
    """What is read from its text alone."""
    return Form(metavar, lambda given, _: value(given))


def text(metavar: str | None = "WORDS", rule: Rule | None = None) -> Form:
    """Words as they are, such as the rule allows."""
    return form(metavar, lambda given: allowed(given, rule))


def one_of(metavar: str | None, known: Callable[[], Iterable[str]], spelt: Callable[[str], str] = str) -> Form:
    """One of the words that are known when it is read, in their own spelling."""
    return Form(metavar, lambda given, _: allowed(spelt(given), columns.one_of(tuple(known()))), known=known)


def amount(unit: str, rule: Rule | None = SOMETHING) -> Form:
    """A quantity in a unit, such as the rule allows."""
    metavars = {"degC": "TEMPERATURE", "min": "TIME", "h": "TIME", "mL": "VOLUME"}
    return form(metavars.get(unit, "MASS"), lambda given: quantity(given, unit, rule))


def money(of: str = "", rule: Rule | None = None) -> Form:
    """Money for one of something (`/kg`), without it for a piece, in the currency that is read before it."""
    return Form("MONEY", lambda given, read: read.currency and quantity(given, f"{read.currency}{of}", rule))


SHARES = form("SHARE", lambda given: quantity(given, "%", SHARE) / 100)  #: mass fractions, written as percentages
DAY = form("YYYY-MM-DD", day)


def file(metavar: str = "FILE") -> Form:
    """A path; pathlib is imported only when one is given."""
    return Form(metavar, type=_path)


def number(metavar: str) -> Form:
    """A number; a decimal comma is read where it can mean nothing else."""
    return Form(metavar, type=_number)


def whole(of: str, metavar: str | None = "N", least: int | None = None) -> Form:
    """A whole number of something, not below the least."""
    rule = None if least is None else Rule(f"{least} {of} or more" if least == 0 else f"{least} or more", least.__le__)
    return Form(metavar, lambda given, _: allowed(given, rule), lambda given: _whole(given, of))


def quantity(given: str, unit: str, rule: Rule | None = None) -> float:
    """A quantity in a unit.

    Raises:
        ValueError: with what was expected.
    """
    from optiform.reading.units import parse_quantity

    return float(allowed(parse_quantity(given, unit), rule))


def _path(given: str) -> Path:
    from pathlib import Path

    return Path(given)


def _number(given: str) -> float:
    from optiform.reading.units import parse_number

    try:
        return parse_number(given)
    except ValueError as error:
        raise _misread(given, str(error)) from None


def _whole(given: str, of: str) -> int:
    if re.fullmatch(r"\s*[-+]?[0-9]{1,12}\s*", given) is None:
        raise _misread(given, f"a whole number of {of}")
    return int(given)


def _misread(given: str, expected: str) -> argparse.ArgumentTypeError:
    """What was read and expected of an argument; the parser puts the place before it."""
    return argparse.ArgumentTypeError(f"read {given!r}, expected {expected}")


# -- declared ----------------------------------------------------------------------------------------------------------


def add(
    parser: Container, name: str, form: Form, words: str | None = None, also: tuple[str, ...] = (), place: str = "",
    needs: Mapping[str, str] | None = None, **settings: Any,
) -> None:  # fmt: skip
    """Declare an option, with `words` for its help and the parser's own settings (dest, default, required, nargs)."""
    action = parser.add_argument(name, metavar=form.metavar, type=form.type or str, help=words, **settings)
    told = place or (action.option_strings or [form.metavar or action.dest.upper()])[0]
    before = parser.get_default("declared") or ()
    parser.set_defaults(declared=(*before, Option(action.dest, told, form, also, needs or {})))


# -- read --------------------------------------------------------------------------------------------------------------


def read(options: argparse.Namespace, **more: object) -> Inspection:
    """Put values in the place of the texts of all declared options; None for what cannot be read, which is noted.

    `more` is known of what they rest on, such as the currency of a brief.
    """
    from optiform.reading.faults import COMMAND_LINE, Inspection

    inspection = Inspection(COMMAND_LINE)
    vars(options).update(more)
    for option in getattr(options, "declared", ()):
        given = getattr(options, option.name)
        many = given if isinstance(given, list) else [] if given is None else [given]
        if many and option.needs and all(getattr(options, other) is None for other in option.needs):
            inspection.fault(option.place, given, f"{' or '.join(option.needs.values())} beside it")
        values = [_value(option, each, options, inspection) for each in many]
        setattr(options, option.name, values if isinstance(given, list) else values[0] if values else None)
    return inspection


def _value(option: Option, given: str, options: argparse.Namespace, inspection: Inspection) -> object:
    try:
        return option.form.value(given, options)
    except ValueError as error:
        inspection.fault(option.place, given, str(error))
        return None


def where(options: argparse.Namespace, **more: str) -> Where:
    """Fields of records by the options they were written as; `more` by their names."""
    from optiform.reading.faults import COMMAND_LINE

    places = {field: option.place for option in options.declared for field in (option.name, *option.also)} | more
    return lambda field: (COMMAND_LINE, places.get(field, field))
