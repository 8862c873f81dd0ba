"""Files beside an answer: its table as CSV, a picture of it."""

import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from optiform.faults import BadInput, Fault
from optiform.tables import csv_text


def check_names(table: Path | None, chart: Path | None = None, page: Path | None = None) -> None:
    """See before the work whether the files can be written where they are wanted.

    Raises:
        BadInput: a folder that does not exist, a picture that is neither PNG nor SVG.
    """
    faults = []
    for option, path in (("--csv", table), ("--chart", chart), ("--html", page)):
        if path is not None and not path.parent.is_dir():
            faults.append(Fault(option, "folder", repr(str(path.parent)), "a folder that exists"))
    if chart is not None and chart.suffix not in (".png", ".svg"):
        faults.append(Fault("--chart", "file name", repr(chart.name), "a name that ends in .png or .svg"))
    if faults:
        raise BadInput(faults)


def write_table(path: Path | None, rows: Iterable[Sequence[object]]) -> None:
    """Save rows as CSV where a path is given. Cells that a spreadsheet would run are written as text."""
    if path is None:
        return
    _write("--csv", path, lambda: path.write_text(csv_text(rows), encoding="utf-8"))


def write_page(path: Path | None, page: str) -> None:
    """Save a page to print where a path is given."""
    if path is not None:
        _write("--html", path, lambda: path.write_text(page, encoding="utf-8"))


def write_chart(path: Path | None, draw: Callable[[Path], None]) -> None:
    """Save a picture where a path is given."""
    if path is not None:
        _write("--chart", path, lambda: draw(path))


def _write(option: str, path: Path, work: Callable[[], object]) -> None:
    try:
        work()
    except OSError as error:
        raise BadInput([Fault(option, str(path), str(error.strerror), "a file that can be written")]) from None
    print(f"written: {path}", file=sys.stderr)
