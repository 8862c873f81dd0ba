"""The keys that a document can have, each declared once beside its reader, with what it holds as JSON Schema says it.

A reader takes these keys and no other, and `optiform schema` tells editors of them. What many keys hold stands once in
SHARED; of `one_of` a list, such as the kinds of product, the words are put there when a schema is printed.

Example:
    >>> table({"loss": amount("of what is weighed"), "jars": count()}, needed=("loss",))["required"]
    ['loss']
"""

from collections.abc import Mapping, Sequence

Holds = dict[str, object]  #: JSON Schema of what a key holds
Keys = Mapping[str, Holds]

HERE = "#/$defs/"
_BARE: Holds = {"type": ["string", "number"]}


def _said(holds: Mapping[str, object], words: str) -> Holds:
    return {"description": words, **holds} if words else dict(holds)


def one_of(name: str, words: str = "") -> Holds:
    """A word of a list, or whatever else stands in SHARED under a name."""
    return _said({"$ref": f"{HERE}{name}"}, words)


def amount(words: str = "") -> Holds:
    """A quantity."""
    return one_of("amount", words)


def money(words: str = "") -> Holds:
    """Money."""
    return one_of("money", words)


def number(words: str = "") -> Holds:
    """A number, as such or as a text."""
    return _said(_BARE, words)


def count(words: str = "", least: int = 1) -> Holds:
    """A whole number."""
    return _said({"type": "integer", "minimum": least}, words)


def date(words: str) -> Holds:
    """A date, for which JSON has no type."""
    return {"description": words}


def truth(words: str) -> Holds:
    """True or false."""
    return _said({"type": "boolean"}, words)


def text(words: str = "") -> Holds:
    """A text."""
    return _said({"type": "string"}, words)


def choice(known: Sequence[str], words: str = "") -> Holds:
    """One of a few words."""
    return _said({"enum": list(known)}, words)


def many(holds: Holds, words: str = "") -> Holds:
    """A list."""
    return _said({"type": "array", "items": holds}, words)


def texts(words: str = "") -> Holds:
    """A list of texts."""
    return many(text(), words)


def either(*ways: Holds, words: str = "") -> Holds:
    """What can be written in several ways."""
    return _said({"anyOf": list(ways)}, words)


def table(keys: Keys, words: str = "", needed: Sequence[str] = (), least: int = 0, most: int = 0) -> Holds:
    """A table of these keys, of which some are needed, or so many of any."""
    holds: Holds = {"type": "object", "properties": dict(keys), "additionalProperties": False}
    holds |= {"required": list(needed)} if needed else {}
    holds |= {"minProperties": least} if least else {}
    return _said(holds | ({"maxProperties": most} if most else {}), words)


def named(holds: Holds, words: str = "") -> Holds:
    """A table whose keys are names of the maker's."""
    return _said({"type": "object", "additionalProperties": holds}, words)


def bare_or(keys: Keys, words: str = "") -> Holds:
    """One quantity, or a table of some of these keys."""
    return either(number(), table(keys, least=1), words=words)


SHARED: Keys = {
    "amount": number('an amount, its unit in the text: "4 %", "1.5 kg", "72 °C"'),
    "money": number("in the currency of the brief"),
    "names": either(text(), {**texts(), "minItems": 1}, words="an ingredient, or several"),
}
