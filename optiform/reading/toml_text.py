"""TOML as text: a document written out, and a maker's own text changed so that what is not changed stays as it is.

Comments, order and spelling are the maker's. A text is changed entry by entry and then read back: what does not say
exactly what was meant is written out anew, without its comments, rather than wrong.
"""

import copy
import tomllib
from collections.abc import Callable, Mapping, MutableMapping
from typing import TYPE_CHECKING, Any, cast

if TYPE_CHECKING:
    from tomlkit.container import Container
    from tomlkit.items import Item, Key

Open = MutableMapping[str, Any]  # a table that changes, of Python or of a text
Make = Callable[[object, bool], object]  # an entry of a table; whether it may stand under a heading of its own


def toml_text(document: Mapping[str, object]) -> str:
    """A document as TOML: tables under headings, what is nested deeper on one line.

    Example:
        >>> print(toml_text({"loss": "4 %", "labour": {"steps": {"stir": {"batch": "5 min"}}}}), end="")
        loss = "4 %"
        <BLANKLINE>
        [labour]
        steps = {stir = {batch = "5 min"}}
    """
    import tomlkit

    text = tomlkit.document()
    for key, value in sorted(document.items(), key=lambda entry: _heads(entry[1])):  # what has a heading comes last
        text[key] = _item(value, True)
    return tomlkit.dumps(text)


def changed_text(text: str, after: Mapping[str, object], before: Mapping[str, object] | None = None) -> str:
    """A document's text with what differs between two documents changed in it, and nothing else.

    Args:
        text: a document.
        after: what it is to say.
        before: what it is taken to say, where that is spelled otherwise than in the text: entries that are the same in
            both stay as they are written. Without it, what the text says.

    Example:
        >>> changed_text('loss = "4 %"  # weighed in March', {"loss": "5 %"})
        'loss = "5 %"  # weighed in March'
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    says = tomllib.loads(text)
    meant = copy.deepcopy(says)
    _change(meant, says if before is None else before, after, lambda value, _: copy.deepcopy(value))
    try:
        document = tomlkit.parse(text)
        _change(document, says if before is None else before, after, _item)
        changed = tomlkit.dumps(document)
        if _same(tomllib.loads(changed), meant):
            return changed
    except (TOMLKitError, ValueError, TypeError, IndexError, KeyError):  # a text that only the other parser can read
        pass
    return toml_text(meant)


def _heads(value: object) -> bool:
    """Whether a value of a document stands under a heading of its own."""
    if isinstance(value, list):
        return bool(value) and all(isinstance(table, Mapping) for table in value)
    return isinstance(value, Mapping)


def _same(one: object, other: object) -> bool:
    """Whether two values are the same in TOML, where true is not 1 and 1 is not 1.0."""
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(_same(value, other[key]) for key, value in one.items())
    if isinstance(one, list | tuple) and isinstance(other, list | tuple):
        return len(one) == len(other) and all(map(_same, one, other))
    return type(one) is type(other) and repr(one) == repr(other)


def _item(value: object, heads: bool) -> Any:
    """An item of tomlkit's, which its types know too many of."""
    import tomlkit

    if not isinstance(value, Mapping):
        if not (heads and _heads(value)):
            return tomlkit.item(_plain(value), _parent=tomlkit.array())  # tables in it stand on its line
        tables = tomlkit.aot()
        for table in cast("list[object]", value):
            tables.append(_item(table, True))
        return tables
    new = tomlkit.table() if heads else tomlkit.inline_table()
    for key, cell in value.items():
        new[key] = _item(cell, False)
    return new


def _plain(value: object) -> object:
    return list(value) if isinstance(value, tuple) else value


# -- changing ----------------------------------------------------------------------------------------------------------


def _change(table: Open, before: Mapping[str, object], after: Mapping[str, object], make: Make) -> None:
    """Change a table, plain or of a text, where `after` differs from `before`. `make` makes its new entries."""
    for key in before:
        if key not in after and key in table:
            del table[key]
    for key, value in after.items():
        if key in before and key in table and _same(before[key], value):
            continue
        old, was = table.get(key), before.get(key)
        if isinstance(value, Mapping) and isinstance(old, MutableMapping):
            _change(old, was if isinstance(was, Mapping) else {}, value, make)
        elif isinstance(value, list) and isinstance(old, list) and isinstance(was, list) and len(old) == len(was):
            _change_list(old, was, value, make)
        elif key in table:
            table[key] = make(value, _heads(old))
        else:
            _add(table, key, make(value, _is_document(table)))


def _change_list(entries: list[Any], before: list[Any], after: list[object], make: Make) -> None:
    """The same of a list. Entries are known again by what they are, tables also by their name."""
    stay = _aligned(before, after)
    for number in reversed(range(len(before))):
        if number not in stay:
            del entries[number]
    for place, (number, value) in enumerate(zip(stay, after, strict=False)):
        if isinstance(value, Mapping) and not _same(before[number], value):
            _change(entries[place], before[number], value, make)
    for value in after[len(stay) :]:
        entries.append(make(value, _heads(after) and not _is_plain(entries)))


def _aligned(before: list[object], after: list[object]) -> list[int]:
    """Which entries of a list the first ones of another are; it ends at the first that is none of them."""
    stay: list[int] = []
    for value in after:
        at = stay[-1] + 1 if stay else 0
        same = [number for number in range(at, len(before)) if _is_one(before[number], value)]
        if not same:
            break
        stay.append(same[0])
    return stay


def _is_one(old: object, new: object) -> bool:
    if isinstance(old, Mapping) and isinstance(new, Mapping) and "name" in old:
        return _same(old["name"], new.get("name"))
    return _same(old, new)


def _is_plain(entries: list[object]) -> bool:
    """Whether the tables of a list stand on one line, and not each under its heading."""
    from tomlkit.items import AoT

    return not isinstance(entries, AoT)


def _is_document(table: Open) -> bool:
    """Whether a table is that of a whole text, whose tables have headings."""
    from tomlkit import TOMLDocument

    return isinstance(table, TOMLDocument)


def _add(table: Open, key: str, value: object) -> None:
    """Add an entry below the others of its table, not below what stands above the next heading."""
    from tomlkit.items import Table

    aside = _aside(table.value) if isinstance(table, Table) else []
    table[key] = value
    if isinstance(table, Table):
        table.value.body.extend(aside)


def _aside(table: "Container") -> "list[tuple[Key | None, Item]]":
    """Take off a table what stands at its end from the first blank line on."""
    from tomlkit.items import Whitespace

    end = len(table.body)
    while end and table.body[end - 1][0] is None:
        end -= 1
    while end < len(table.body) and not isinstance(table.body[end][1], Whitespace):
        end += 1
    aside = table.body[end:]
    del table.body[end:]
    return aside
