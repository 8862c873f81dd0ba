"""The list of ingredients on a label, as the names that stand in it."""

import re
from collections.abc import Sequence
from pathlib import Path

from optiform.ingredients.spelling import fold
from optiform.reading.faults import Inspection
from optiform.reading.frozen import frozen
from optiform.reading.tables import read_text

LARGEST = 100_000  # bytes of a file
LONGEST = 150  # names; the longest real lists have about a hundred
SEPARATOR = re.compile(r"\s*(?:[;•·]|,(?!(?<=\d,)\d))\s*")  # not the comma of 1,2-hexanediol
HEADING = re.compile(r"^\s*ingredients?\s*:\s*", re.IGNORECASE)
#: What a label puts before the colours of its shades, any of which may be there or not.
SHADES = re.compile(r"may contain|\+ ?/ ?[-\u2013\u2212]|\u00b1", re.IGNORECASE)
AROUND = " \n:.,;[]"  #: what stands around the mark


@frozen
class Listed:
    """The names of a list in order, and those of the shades that it may contain."""

    names: tuple[str, ...]
    may_contain: tuple[str, ...] = ()


def read_label(path: Path) -> Listed:
    """The names of a text file with a list of ingredients, in order.

    Raises:
        BadInput: with every fault of the file.
    """
    return parse_label(read_text(path, LARGEST), str(path))


def parse_label(text: str, place: str = "label") -> Listed:
    """The names of a list of ingredients separated by commas or semicolons, or one to a line.

    Raises:
        BadInput: with every fault; `place` says in what.
    """
    inspection = Inspection(place)
    lines = (" ".join(line.split()) for line in text.splitlines())  # patterns take their time on long blanks
    body = HEADING.sub("", "\n".join(filter(None, lines))).strip().rstrip(".")
    first, mark, rest = _parted(body)
    names, colours = _names(first), _names(rest)
    if mark and not colours:
        inspection.fault("list", f"nothing after {mark!r}", "the colours that it may contain, or the list without")
    inspect_names([*names, *colours], inspection)
    return Listed(tuple(names), tuple(colours))


def _parted(body: str) -> tuple[str, str, str]:
    """What stands before the shades, the mark, and the shades."""
    mark = SHADES.search(body)
    if mark is None:
        return body, "", ""
    rest = SHADES.sub("", body[mark.end() :]).strip(AROUND + "()")
    rest += ")" * (rest.count("(") - rest.count(")"))
    before = body[: mark.start()]
    opened = before.rfind("[")
    if opened > before.rfind("]"):  # "[Peut contenir +/-": words of the mark, in whatever language
        before = before[:opened]
    return before.rstrip(AROUND + "("), mark[0], rest


def _names(text: str) -> list[str]:
    parts = SEPARATOR.split(text) if SEPARATOR.search(text) else text.splitlines()
    names = [" ".join(part.split()) for part in parts]
    while names and not names[-1]:
        names.pop()
    return names


def inspect_names(names: Sequence[str], inspection: Inspection) -> None:
    """Refuse a list that is empty or too long, a name that is none, and one that stands twice."""
    if not names:
        inspection.fault("list", None, "names separated by commas")
    if len(names) > LONGEST:
        inspection.fault("list", f"{len(names)} names", f"at most {LONGEST}")
    seen: dict[str, int] = {}
    for number, name in enumerate(names, 1):
        if not fold(name) or "%" in name or "\x00" in name:
            inspection.fault(f"name {number}", name, "an INCI name and nothing else")
        elif seen.setdefault(fold(name), number) != number:
            inspection.fault(f"name {number}", name, f"each name once; also name {seen[fold(name)]}")
    inspection.finish()
