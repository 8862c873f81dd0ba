"""The log of trials as one value, and how it is read from a folder of CSV files named after their kind of record."""

import datetime
import re
import types
from collections.abc import Sequence
from dataclasses import MISSING, dataclass, fields
from pathlib import Path
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

from optiform.faults import BadInput, Fault, Inspection
from optiform.tables import Record, read_records
from optiform.units import parse_number
from optiform.workshop.records import Reading, Trial, TrialWeight, Version, VersionLine

Kind = TypeVar("Kind")


@dataclass(frozen=True)
class Log:
    """Versions, the trials made of them, what was weighed and what was read. `place` names where it came from."""

    place: str
    versions: tuple[Version, ...] = ()
    lines: tuple[VersionLine, ...] = ()
    trials: tuple[Trial, ...] = ()
    weights: tuple[TrialWeight, ...] = ()
    readings: tuple[Reading, ...] = ()


def records_from(place: Path) -> Log:
    """The log kept in a folder: trial.csv and reading.csv, and where there are any the three other kinds.

    Columns are the fields of the records; an empty cell is not known, never zero.

    Raises:
        BadInput: with every fault of every file.
    """
    faults: list[Fault] = []
    if not place.is_dir():
        raise BadInput([Fault(str(place), "folder", "nothing", "a folder with trial.csv and reading.csv")])
    needed = (Trial, Reading)
    found = [_read(place, kind, kind in needed, faults) for kind in (Version, VersionLine, Trial, TrialWeight, Reading)]
    if faults:
        raise BadInput(faults)
    return Log(str(place), *found)


def _read(place: Path, kind: type[Kind], needed: bool, faults: list[Fault]) -> tuple[Kind, ...]:
    path = place / f"{re.sub(r'(?<!^)(?=[A-Z])', '_', kind.__name__).lower()}.csv"
    if not path.exists() and not needed:
        return ()
    try:
        rows = read_records(path, required=[f.name for f in fields(kind) if f.default is MISSING])  # type: ignore[arg-type]
    except BadInput as bad:
        faults.extend(bad.faults)
        return ()
    inspection = Inspection(str(path))
    made = [_record(row, kind, inspection) for row in rows]
    faults.extend(inspection.faults)
    return tuple(record for record in made if record is not None)


def _record(row: Record, kind: type[Kind], inspection: Inspection) -> Kind | None:
    hints, values = get_type_hints(kind), {}
    before = len(inspection.faults)
    for each in fields(kind):  # type: ignore[arg-type]
        text = row.get(each.name)
        if text == "" and each.default is not MISSING:
            continue
        try:
            values[each.name] = _cell(text, _types(hints[each.name]))
        except ValueError as error:
            inspection.fault(row.place(each.name), text, str(error))
    return kind(**values) if len(inspection.faults) == before else None


def _types(hint: Any) -> Sequence[Any]:
    return get_args(hint) if get_origin(hint) is types.UnionType else (hint,)


def _cell(text: str, wanted: Sequence[Any]) -> object:
    if str in wanted:
        return text
    if datetime.datetime in wanted:
        return _when(text, datetime.datetime.fromisoformat, "a date and time such as 2026-11-25 14:30")
    if datetime.date in wanted:
        return _when(text, datetime.date.fromisoformat, "a date such as 2026-11-25")
    number = parse_number(text)
    if int in wanted and number != int(number):
        raise ValueError("a whole number")
    return int(number) if int in wanted else number


def _when(text: str, read: Any, expected: str) -> object:
    try:
        return read(text)
    except ValueError:
        raise ValueError(expected) from None
