"""What a record may hold: types, values, keys that are there once, references that lead somewhere."""

import datetime
import math
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from optiform.reading.frozen import frozen
from optiform.reading.near import nearest
from optiform.reading.tables import HIDDEN
from optiform.workshop.columns import Rule
from optiform.workshop.fieldtypes import Field, fields_of
from optiform.workshop.kinds import KINDS, Key, Kind
from optiform.workshop.records import Record, Version, VersionLine

LONGEST = 20_000  # characters of a text
LARGEST = 1e12  # a number of ordinary size, as units.parse_number takes it
OFF_HUNDRED = 0.1  # points by which the lines of a version may miss 100 %


Kept = Callable[[type[Record]], Collection[Key]]  #: the keys that are kept of a kind
Keys = Mapping[type[Record], Mapping[Key, int]]  #: where each key of a kind stands first among what is new


@frozen
class Complaint:
    """One thing wrong: with which of the records, in which field, what stood there, what was expected."""

    index: int
    field: str
    read: object
    expected: str


_NAME = Rule("a name in one line, without blanks around it", lambda value: value == value.strip() and _one_line(value))

_TYPE_WORDS = {
    str: "a text",
    float: "a number",
    int: "a whole number",
    datetime.date: "a date",
    datetime.datetime: "a date and time",
}


def _one_line(text: str) -> bool:
    return not any(ord(letter) < 32 for letter in text)


def values(records: Sequence[Record]) -> list[Complaint]:
    """What is wrong with records taken one by one, wherever they are kept."""
    return [
        Complaint(index, field, read, expected)
        for index, record in enumerate(records)
        for field, read, expected in _of_one(record)
    ]


def _of_one(record: Record) -> Iterator[tuple[str, object, str]]:
    kind = KINDS[type(record)]
    names = {*kind.key, *(name for reference in kind.refers for name in reference.fields)}
    for field in fields_of(type(record)):
        value = getattr(record, field.name)
        if expected := _wrong_type(field, value) or _wrong_value(field, value, field.name in names):
            yield field.name, value, expected


def _wrong_value(field: Field, value: object, is_name: bool) -> str:
    """What was expected of a value of the right type; empty where all is well."""
    rule = field.column.rule
    if value is None:
        return ""
    if rule and not rule.holds(value):
        return rule.expected
    if field.type is str and is_name and not _NAME.holds(value):
        return _NAME.expected
    return "a name" if value == "" and is_name and not field.column.bare else ""


def _wrong_type(field: Field, value: object) -> str:
    """What was expected where the type is wrong or no database could keep the value; empty where all is well."""
    if value is None:
        return "" if field.optional else _TYPE_WORDS[field.type]
    if field.type is float:
        good = isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= LARGEST
        return "" if good else "a number of ordinary size"
    if type(value) is not field.type:
        return _TYPE_WORDS[field.type]
    if isinstance(value, int):
        return "" if abs(value) <= LARGEST else "a whole number of ordinary size"
    if isinstance(value, datetime.datetime):
        return "" if value.tzinfo is None else "a date and time by the workshop's own clock, without a time zone"
    return _wrong_text(value) if isinstance(value, str) else ""


def _wrong_text(value: str) -> str:
    if len(value) > LONGEST:
        return f"a text of at most {LONGEST} characters"
    broken = HIDDEN.search(value) or any("\ud800" <= letter <= "\udfff" for letter in value)
    return "plain text in UTF-8, without control characters" if broken else ""


def complaints(records: Sequence[Record], kept: Kept, unread: Collection[type[Record]] = ()) -> list[Complaint]:
    """Everything that is wrong with records: each by itself, beside each other and beside what is kept.

    Args:
        records: the new ones.
        kept: the keys that are kept of a kind.
        unread: kinds of which some could not be read, so that nothing is said on references to them.
    """
    wrong = values(records)
    unsound = {complaint.index for complaint in wrong}
    sound = [index for index in range(len(records)) if index not in unsound]
    doubtful = {*unread, *(type(records[index]) for index in unsound)}
    beside = _together([records[index] for index in sound], kept, doubtful)
    wrong += [replace(complaint, index=sound[complaint.index]) for complaint in beside]
    return sorted(wrong, key=lambda complaint: complaint.index)


def _together(records: Sequence[Record], kept: Kept, unread: Collection[type[Record]]) -> list[Complaint]:
    keys: Keys = {record: _first(records, kind) for record, kind in KINDS.items()}
    wrong = [*_twice(records, keys, kept), *_astray(records, keys, kept, unread)]
    if VersionLine not in unread and Version not in unread:
        wrong += _versions(records, keys[Version])
    return wrong


def _first(records: Sequence[Record], kind: Kind) -> dict[Key, int]:
    """Where each key stands first."""
    places: dict[Key, int] = {}
    for index, record in enumerate(records):
        if type(record) is kind.record and kind.key:
            places.setdefault(kind.key_of(record), index)
    return places


def _twice(records: Sequence[Record], keys: Keys, kept: Kept) -> Iterator[Complaint]:
    there = {(of, key) for of, own in keys.items() for key in own if key in kept(of)}
    for index, record in enumerate(records):
        kind = KINDS[type(record)]
        whole = (x for x in kind.refers if x.to is not kind.record)
        if not kind.key or any((x.to, x.of(record)) in there for x in whole):  # told with what it belongs to
            continue
        key, field = kind.key_of(record), kind.key[-1]
        if key in kept(kind.record):
            yield Complaint(index, field, getattr(record, field), f"a new {kind.noun}: {_words(key)} is saved already")
        elif keys[kind.record][key] != index:
            yield Complaint(index, field, getattr(record, field), f"each {kind.noun} once: {_words(key)} came before")


def _astray(records: Sequence[Record], keys: Keys, kept: Kept, unread: Collection[type[Record]]) -> Iterator[Complaint]:
    for index, record in enumerate(records):
        for reference in KINDS[type(record)].refers:
            key = reference.of(record)
            if key is None or reference.to in unread or key in keys[reference.to] or key in kept(reference.to):
                continue
            noun, field = KINDS[reference.to].noun, reference.fields[-1]
            yield Complaint(index, field, getattr(record, field), _saved(noun, key, _near(key, kept(reference.to))))


def _versions(records: Sequence[Record], versions: Mapping[Key, int]) -> Iterator[Complaint]:
    """A version comes with all its lines, which make the whole; it never gets another line later."""
    totals: dict[Key, list[float]] = defaultdict(list)
    for index, record in enumerate(records):
        if isinstance(record, VersionLine):
            key: Key = (record.product, record.version)
            totals[key].append(record.percent)
            if key not in versions:
                yield Complaint(index, "version", record.version, "a version saved together with all its lines")
    for key, percents in totals.items():
        if key in versions and abs(math.fsum(percents) - 100) > OFF_HUNDRED:
            read = f"{math.fsum(percents):.6g} %"
            yield Complaint(versions[key], "name", f"lines that sum to {read}", "lines that sum to 100 %")
    yield from _circles(records, versions)


def _circles(records: Sequence[Record], versions: Mapping[Key, int]) -> Iterator[Complaint]:
    """No version descends from itself."""
    parents = {(each.product, each.name): each.parent for each in records if isinstance(each, Version)}
    for (product, name), parent in parents.items():
        seen, at = {name}, parent
        while at and at not in seen and (product, at) in parents:
            seen.add(at)
            at = parents[product, at]
        if at == name:
            words = "a version that does not descend from this one"
            yield Complaint(versions[product, name], "parent", parent, words)


#: The command that lists what is saved of a kind.
LISTS = {"lot": "stock", "trial": "trial show", "version": "stock versions", "packaging": "stock --part packaging"}


def _saved(noun: str, key: Key, near: str) -> str:
    """What is expected in place of a key that leads nowhere, one that looks like it, and where all are listed."""
    listed = f"`optiform {LISTS[noun]}` lists them" if noun in LISTS else ""
    none = f"there is no {noun} {_called(key)}" if len(key) > 1 or not listed else ""
    meant = f"{'did' if not none else 'Did'} you mean {near}?" if near else ""
    words = ". ".join(filter(None, (none, meant or listed)))
    return f"a saved {noun}; {words}{f' {listed}' if meant and listed else ''}"


def _near(key: Key, known: Collection[Key]) -> str:
    """The first part of a key that is not known, as a saved one that looks like it has it; empty where none does."""
    for at, part in enumerate(map(str, key)):
        names = {str(other[at]): str(other[at]).casefold() for other in known if other[:at] == key[:at]}
        if part not in names:
            same = [name for name, folded in names.items() if folded == part.casefold()]
            alike = nearest(part.casefold(), names.values())
            return next(iter([*same, *(name for name, folded in names.items() if folded == alike)]), "")
    return ""


def _called(key: Key) -> str:
    """A name, and what it is of where that belongs to the key."""
    *of, name = map(str, key)
    return f"{name} of {', '.join(of)}" if of else name


def _words(key: Iterable[object]) -> str:
    return ", ".join(str(part) for part in key)
