"""TOML documents from a maker's file or upload, refused before anything in them can be too much to handle."""

import shlex
import tomllib
from pathlib import Path
from typing import Any
from unicodedata import normalize

from optiform.reading.faults import BadInput, Fault, Inspection, shortened
from optiform.reading.syntax import faults_of
from optiform.reading.tables import HIDDEN, read_text

LARGEST = 200_000  # bytes; a brief is a few kilobytes
DOTS = 300  # in one line: the parser's memory grows with the square of the parts of a dotted key
DEEPEST = 8  # tables within tables; a brief needs three
WIDEST = 2_000  # entries of a table or a list
LONGEST = 2_000  # characters of a text or a key
LONGEST_LINE = 60  # characters of a line that a fault shows
_WHOLE = 10**15  # beyond, a float no longer holds every whole number


Document = dict[str, Any]


def read_document(path: Path) -> Document:
    """The TOML document in a file, not yet looked at.

    Raises:
        BadInput: when it is no TOML document, too large, too deep, or has a number no quantity could be.
    """
    text = read_text(path, LARGEST)
    if path.suffix == ".csv":
        check = f"`optiform check {shlex.quote(str(path))}`"
        words = f"this is a table. Name a TOML file here, such as brief.toml. To look at it as a formula: {check}."
        raise BadInput([Fault(str(path), "file", "a table", "a TOML document", words)])
    return document_of(normalize("NFC", text), str(path))


def document_of(text: str, file: str) -> Document:
    """The TOML document that a text is; `file` says where it came from.

    Raises:
        BadInput: as `read_document`.
    """
    inspection = Inspection(file)
    for number, line in enumerate(text.splitlines(), 1):
        if line.count(".") > DOTS and not line.lstrip().startswith("#"):
            inspection.fault(f"line {number}", f"{line.count('.')} dots", f"at most {DOTS} in a line")
    inspection.finish()
    try:
        document = tomllib.loads(text)
    except (ValueError, RecursionError):  # ValueError: no TOML, or a number of thousands of digits
        for place, line, remedy in faults_of(text):
            words = f"{place}: “{shortened(line, LONGEST_LINE)}” cannot be read. {remedy}."
            inspection.fault(place, line, "a TOML document", words)
        inspection.finish()
        raise AssertionError from None  # finish() has raised
    _look_into(document, inspection)
    inspection.finish()
    return document


def beside(path: Path, place: str, name: str, inspection: Inspection) -> Path | None:
    """The file of this name in the folder of the document at `path`, or below it; else a fault at `place`.

    A document from someone else must not reach further.
    """
    if not name or Path(name).is_absolute() or ".." in Path(name).parts:
        inspection.fault(place, name, f"the name of a file in the folder of {path.name}, or below it")
        return None
    return path.parent / name


def _look_into(document: Document, inspection: Inspection) -> None:
    """Note what cannot even be shown to a reader. Level by level and not by recursion, which is what it guards."""
    level: list[tuple[str, object]] = [("", document)]
    for _ in range(DEEPEST):
        inside: list[tuple[str, object]] = []
        for place, given in level:
            if told := _refused(given):
                inspection.fault(place.strip() or "file", *told)
            elif not inspection.full:
                inside += _inside(place, given)
        level = inside
    if level:
        place = level[0][0].strip()
        inspection.fault(place, f"more than {DEEPEST} levels", f"at most {DEEPEST} tables or lists in each other")


def _inside(place: str, given: object) -> list[tuple[str, object]]:
    """What a table or a list holds, each with its place. A key is looked at like a text."""
    if isinstance(given, dict):
        return [(f"{place} {key}", each) for key, value in given.items() for each in (key, value)]
    return [(place, each) for each in given] if isinstance(given, list) else []


def _refused(given: object) -> tuple[str, str] | None:
    """What is read and what is expected where a value is too much of its kind; None for all others."""
    if isinstance(given, int) and abs(given) > _WHOLE:
        return f"a whole number of {given.bit_length()} bits", "a number of ordinary size"
    if isinstance(given, dict | list) and len(given) > WIDEST:
        return f"{len(given)} entries", f"at most {WIDEST}"
    if isinstance(given, str) and len(given) > LONGEST:
        return f"{len(given)} characters", f"at most {LONGEST}"
    if isinstance(given, str) and (hidden := HIDDEN.search(given)):
        return f"the character U+{ord(hidden[0]):04X}", "plain text"
    return None
