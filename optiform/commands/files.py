"""Files beside an answer: its table as CSV, a picture of it."""

import errno
import os
import stat
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from optiform.reading.faults import BadInput, Fault
from optiform.reading.tables import csv_text
from optiform.telling.frame import comma_separated
from optiform.telling.parts import Table


def check_names(table: Path | None, chart: Path | None = None, page: Path | None = None) -> None:
    """See before the work whether the files can be written where they are wanted.

    Raises:
        BadInput: a folder that does not exist, a place that cannot be written, a picture that is neither PNG nor SVG.
    """
    wanted = (("--csv", table), ("--chart", chart), ("--html", page))
    faults = [fault for option, path in wanted if path is not None and (fault := _obstacle(option, path))]
    if chart is not None and chart.suffix not in (".png", ".svg"):
        faults.append(Fault("--chart", "file name", repr(chart.name), "a name that ends in .png or .svg"))
    if faults:
        raise BadInput(faults)


def _obstacle(option: str, path: Path) -> Fault | None:
    """What stands in the way of a file before anything is written."""
    if not path.parent.is_dir():
        return Fault(option, "folder", repr(str(path.parent)), "a folder that exists")
    try:
        there = stat.S_ISDIR(path.stat().st_mode)
    except FileNotFoundError:
        return None if os.access(path.parent, os.W_OK) else _refused(option, path, errno.EACCES)
    except OSError as error:
        return _refused(option, path, error.errno)
    if there:
        return Fault(option, str(path), "a folder", "the name of a file")
    return None if os.access(path, os.W_OK) else _refused(option, path, errno.EACCES)


def _refused(option: str, path: Path, why: int | None) -> Fault:
    return Fault(option, str(path), os.strerror(why or errno.EIO), "a file that can be written")


def write_table(path: Path | None, rows: Table | Iterable[Sequence[object]]) -> None:
    """Save a table as CSV where a path is given. Cells that a spreadsheet would run are written as text."""
    if path is None:
        return
    text = comma_separated(rows) if isinstance(rows, Table) else csv_text(rows)
    _write("--csv", path, lambda: path.write_text(text, encoding="utf-8"))


def write_page(path: Path | None, document: Callable[[], str]) -> None:
    """Save a printable page where a path is given; it is made only then."""
    if path is not None:
        _write("--html", path, lambda: path.write_text(document(), encoding="utf-8"))


def write_chart(path: Path | None, draw: Callable[[Path], None]) -> None:
    """Save a picture where a path is given."""
    if path is not None:
        _write("--chart", path, lambda: draw(path))


def _write(option: str, path: Path, work: Callable[[], object]) -> None:
    try:
        work()
    except OSError as error:
        raise BadInput([_refused(option, path, error.errno)]) from None
    print(f"written: {path}", file=sys.stderr)
