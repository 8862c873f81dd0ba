"""What an answer says as JSON, declared once: each key with its form and where it comes from. Data and schema follow.

A form turns a value into plain data (`said`) and says what that data is (`schema`). A record is a form of keys:

    >>> PACK = record(text("supplier"), number("kg", words="of one"), quantity("price", "EUR"))
    >>> from types import SimpleNamespace as Made
    >>> PACK.said(Made(supplier="Tarn Mill", kg=5, price=None))
    {'supplier': 'Tarn Mill', 'kg': 5, 'price': {'value': None, 'unit': 'EUR'}}
    >>> PACK.schema({})["properties"]["kg"]
    {'description': 'of one', 'type': 'number'}
"""

import datetime
from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from math import isfinite
from operator import attrgetter
from typing import Any, Protocol, cast

from optiform.reading.frozen import frozen
from optiform.reading.plain import SCHEMA
from optiform.telling.facts import in_words

Data = dict[str, Any]
Schema = Data
Getter = Callable[[Any], Any]  #: gives a part of a value; it knows what that is
Get = str | Getter  #: an attribute by its name, a.b too, or a function of the value
LACKING = object()  #: what a key's getter gives where the key is left out


class Form(Protocol):
    """How a value is said, and what that is."""

    def said(self, of: object, /) -> object:
        """The value as plain data."""

    def schema(self, shared: Schema, /) -> Schema:
        """What that is as JSON Schema; what has a name of its own goes into `shared` and is referred to."""


@frozen
class Plain:
    """A value that JSON has itself."""

    kind: Schema
    say: Getter

    def said(self, of: object) -> object:
        """The value."""
        return self.say(of)

    def schema(self, _: Schema) -> Schema:
        """What it is."""
        return dict(self.kind)


@frozen
class Maybe:
    """A value of a form, or null."""

    form: Form

    def said(self, of: object) -> object:
        """The value, or nothing."""
        return None if of is None else self.form.said(of)

    def schema(self, shared: Schema) -> Schema:
        """Its own, or null."""
        own = self.form.schema(shared)
        return {**own, "type": [own["type"], "null"]} if "type" in own else {"anyOf": [own, {"type": "null"}]}


@frozen
class Many:
    """A list: of so many where `count` is not 0, of at least so many."""

    form: Form
    count: int = 0
    least: int = 0

    def said(self, of: object) -> object:
        """Each of them."""
        return [self.form.said(each) for each in cast("Iterable[object]", of)]

    def schema(self, shared: Schema) -> Schema:
        """What they are, and how many."""
        ends = {"minItems": self.count or self.least, "maxItems": self.count}
        return {"type": "array", "items": self.form.schema(shared), **{name: end for name, end in ends.items() if end}}


@frozen
class Named:
    """A mapping from names to a form."""

    form: Form

    def said(self, of: object) -> object:
        """Each under its name."""
        return {name: self.form.said(each) for name, each in cast("Mapping[str, object]", of).items()}

    def schema(self, shared: Schema) -> Schema:
        """What stands under any name."""
        return {"type": "object", "additionalProperties": self.form.schema(shared)}


@frozen
class Key:
    """One key of a record: its form, where its value comes from, what it is, and whether it may be left out."""

    name: str
    form: Form
    get: Getter
    words: str = ""
    may_lack: bool = False


@frozen
class Record:
    """Keys in their order, and no others."""

    keys: tuple[Key, ...]

    def said(self, of: object) -> Data:
        """What stands under each key."""
        values = ((key, key.get(of)) for key in self.keys)
        return {key.name: key.form.said(value) for key, value in values if value is not LACKING}

    def schema(self, shared: Schema) -> Schema:
        """Its keys."""
        return {
            "type": "object",
            "properties": {key.name: _described(key.words, key.form.schema(shared)) for key in self.keys},
            "required": [key.name for key in self.keys if not key.may_lack],
            "additionalProperties": False,
        }


@frozen
class Shared:
    """A form with a name: a schema has it once, and refers to it."""

    name: str
    form: Form
    words: str = ""

    def said(self, of: object) -> object:
        """As the form says it."""
        return self.form.said(of)

    def schema(self, shared: Schema) -> Schema:
        """Where it stands."""
        if self.name not in shared:
            shared[self.name] = {}
            shared[self.name] = _described(self.words, self.form.schema(shared))
        return {"$ref": f"#/$defs/{self.name}"}


@frozen
class Either:
    """One of several forms; `which` gives, of a value, the number of its form."""

    forms: tuple[Form, ...]
    which: Getter

    def said(self, of: object) -> Any:
        """As the form says it that the value is of."""
        return self.forms[self.which(of)].said(of)

    def schema(self, shared: Schema) -> Schema:
        """One of them."""
        return {"anyOf": [form.schema(shared) for form in self.forms]}


def _described(words: str, schema: Schema) -> Schema:
    return {"description": words, **schema} if words else schema


# -- forms that stand alone --------------------------------------------------------------------------------------------


def figure(value: float | Decimal | None) -> float | None:
    """A number as JSON has it: none for what is not known or has no end."""
    return float(value) if value is not None and isfinite(value) else None


def _number(value: float | Decimal) -> float:
    return float(value) if isinstance(value, Decimal) else value


TEXT = Plain({"type": "string"}, in_words)
NUMBER = Plain({"type": "number"}, _number)
FIGURE = Plain({"type": ["number", "null"]}, lambda value: None if figure(value) is None else _number(value))
WHOLE = Plain({"type": "integer"}, int)
TRUTH = Plain({"type": "boolean"}, bool)
DAY = Plain({"type": "string", "format": "date"}, datetime.date.isoformat)
NOTHING = Plain({"type": "null"}, lambda _: None)
NONE_OF = Plain({"type": "array", "maxItems": 0}, lambda _: [])
TEXTS = Many(TEXT)
QUANTITY = Shared(
    "quantity",
    Record((Key("value", FIGURE, lambda pair: figure(pair[0])), Key("unit", TEXT, lambda pair: pair[1]))),
    "A figure with its unit; null where it is not known.",
)


def word(*known: str) -> Plain:
    """One of these words."""
    return Plain({"enum": list(map(str, known))}, str)


def exactly(value: object) -> Plain:
    """Nothing but this."""
    return Plain({"const": value}, lambda _: value)


# -- keys --------------------------------------------------------------------------------------------------------------


def key(name: str, form: Form, get: Get = "", words: str = "", null: bool = False, may_lack: bool = False) -> Key:
    """A key of a record.

    Args:
        name: as JSON has it.
        form: of its value.
        get: where the value comes from; the attribute of the same name if nothing is said.
        words: what it is, for the schema.
        null: whether it may be null.
        may_lack: whether it may be left out.
    """
    return Key(name, Maybe(form) if null else form, getter(get or name), words, may_lack)


def getter(get: Get) -> Getter:
    """What gives a value; of a.b where there is no a, none."""
    if not isinstance(get, str):
        return get
    first, _, rest = get.partition(".")
    if not rest:
        return attrgetter(first)
    then = getter(rest)
    return lambda of: None if (part := getattr(of, first)) is None else then(part)


def text(name: str, get: Get = "", words: str = "", null: bool = False) -> Key:
    """A key with a text."""
    return key(name, TEXT, get, words, null)


def number(name: str, get: Get = "", words: str = "", null: bool = False, may_lack: bool = False) -> Key:
    """A key with a number; where it may be null, one that has no end is."""
    return key(name, FIGURE if null else NUMBER, get, words, may_lack=may_lack)


def whole(name: str, get: Get = "", words: str = "", null: bool = False, may_lack: bool = False) -> Key:
    """A key with a whole number."""
    return key(name, WHOLE, get, words, null, may_lack)


def truth(name: str, get: Get = "", words: str = "", null: bool = False) -> Key:
    """A key with true or false."""
    return key(name, TRUTH, get, words, null)


def day(name: str, get: Get = "", words: str = "", null: bool = False) -> Key:
    """A key with a date."""
    return key(name, DAY, get, words, null)


def texts(name: str, get: Get = "", words: str = "") -> Key:
    """A key with a list of texts."""
    return key(name, TEXTS, get, words)


def many(name: str, form: Form, get: Get = "", words: str = "") -> Key:
    """A key with a list."""
    return key(name, Many(form), get, words)


def quantity(name: str, unit: Get, get: Get = "", words: str = "", null: bool = False) -> Key:
    """A key with a figure and its unit, money too.

    Args:
        name: as JSON has it.
        unit: in which it is said; or a function that gives it.
        get: where the figure comes from.
        words: what it is.
        null: whether the whole is null where there is no figure; else only its value is.
    """
    got = getter(get or name)

    def pair(of: object) -> tuple[object, object] | None:
        value = got(of)
        return None if null and value is None else (value, unit if isinstance(unit, str) else unit(of))

    return key(name, QUANTITY, pair, words, null)


def record(*keys: Key) -> Record:
    """A form of keys."""
    return Record(keys)


def answer(statuses: Iterable[str], *keys: Key, status: Get | None = None, words: str = "") -> Record:
    """An answer: the version of its schema, its status, its keys.

    Args:
        statuses: those that it can have.
        keys: the rest of it.
        status: which it has; the only one if nothing is said.
        words: on its statuses.
    """
    known = tuple(statuses)
    head = (
        key("schema", exactly(SCHEMA), lambda _: SCHEMA),
        key("status", word(*known), status or (lambda _: known[0]), words),
    )
    return Record((*head, *keys))
