"""How a field of a record is declared: once, beside its type, for the database, the checks, the options, the forms."""

import datetime
import re
from collections.abc import Callable
from typing import TypeVar

from optiform.ingredients.phases import PHASES
from optiform.reading.frozen import frozen

T = TypeVar("T")

DATE = "a date such as 2026-11-25"
CONDITIONS = ("plain", "cold room", "freeze-thaw", "heat")


@frozen
class Rule:
    """What a value must be, in words, and whether one is; `known` has all that are, where these are words."""

    expected: str
    holds: Callable[..., bool]
    known: tuple[str, ...] = ()


def one_of(known: tuple[str, ...]) -> Rule:
    """One of these words."""
    return Rule(f"one of: {', '.join(known)}", known.__contains__, known)


def allowed(value: T, rule: Rule | None) -> T:
    """The value, if the rule allows it.

    Raises:
        ValueError: with what was expected.
    """
    if rule and not rule.holds(value):
        raise ValueError(rule.expected)
    return value


def day(written: str) -> datetime.date:
    """A date as ISO has it.

    Raises:
        ValueError: with what was expected.
    """
    try:
        return datetime.date.fromisoformat(written)
    except ValueError:
        raise ValueError(DATE) from None


SOMETHING = Rule("more than nothing", lambda value: value > 0)  #: of an amount that a person writes
MORE = Rule("more than 0", lambda value: value > 0)
NOT_LESS = Rule("0 or more", lambda value: value >= 0)
SOME = Rule("not 0", lambda value: value != 0)
SAID = Rule("some words", lambda value: bool(value.strip()))
SHARE = Rule("0 to 100 %", lambda value: 0 <= value <= 100)
WARMTH = Rule("-50 to 200 degC", lambda value: -50 <= value <= 200)
MONEY = Rule("three capital letters such as EUR", lambda value: re.fullmatch("[A-Z]{3}", value) is not None)
PHASE, CONDITION = one_of(PHASES), one_of(CONDITIONS)


@frozen
class Column:
    """What is to be known of a field, beside its name and its type.

    Attributes:
        label: what it is called in a form.
        help: more words, for a form and for `--help`.
        unit: of the figure; `money`, or `money/kg`, is in the currency that stands beside it.
        rule: what it must be.
        typed: what a person may write of it, where that is less than may be kept.
        key: whether it is of the key, which no two records of a kind share.
        changes: whether it may be revised once it is kept.
        refers: name of the kind of record that it names; leading fields of that one's key stand beside it.
        bare: whether an empty text is allowed where there should be a name.
    """

    label: str = ""
    help: str = ""
    unit: str = ""
    rule: Rule | None = None
    key: bool = False
    changes: bool = False
    refers: str = ""
    bare: bool = False
    typed: Rule | None = None

    @property
    def asked(self) -> Rule | None:
        """What a person may write of it."""
        return self.typed or self.rule
