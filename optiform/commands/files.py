"""Files beside an answer: its table as CSV, a page to print, a picture of it."""

import argparse
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from optiform.ingredients.formula import Formula
from optiform.reading.faults import COMMAND_LINE, Inspection
from optiform.reading.output import Output, refuse
from optiform.reading.tables import csv_text
from optiform.telling.frame import comma_separated
from optiform.telling.parts import Table

#: Options that name a file to write: what its name may end in, and what is written where any will do.
OPTIONS: dict[str, tuple[tuple[str, ...], str]] = {
    "csv": ((), ".csv"),
    "html": ((), ".html"),
    "chart": ((".png", ".svg"), ""),
    "write": ((".csv", ".toml"), ""),
}


def check_names(options: argparse.Namespace) -> None:
    """See before the work, and once the inputs are read, whether the files can be written where they are wanted.

    Raises:
        BadInput: a folder that does not exist, a place that cannot be written, a name that another file has; an option
            to save and no file to save it in.
    """
    options.checked = True
    inspection = Inspection(COMMAND_LINE)
    inspection.given(lambda: refuse(output for name in OPTIONS if (output := _output(options, name))), None)
    if getattr(options, "option", None) and not options.write:
        words = f"--option saves an option, so it needs a file: --option {options.option} --write new.csv"
        inspection.fault("--option", options.option, "--write and a file beside it", words)
    inspection.finish()


def write_table(options: argparse.Namespace, rows: Table | Iterable[Sequence[object]]) -> None:
    """Save a table as CSV where `--csv` names a file. Cells that a spreadsheet would run are written as text."""
    text = comma_separated(rows) if isinstance(rows, Table) else csv_text(rows)
    _write(options, "csv", lambda path: path.write_text(text, encoding="utf-8"))


def write_page(options: argparse.Namespace, document: Callable[[], str]) -> None:
    """Save a printable page where `--html` names a file; it is made only then."""
    _write(options, "html", lambda path: path.write_text(document(), encoding="utf-8"))


def write_chart(options: argparse.Namespace, draw: Callable[[Path], object]) -> None:
    """Save a picture where `--chart` names a file."""
    _write(options, "chart", draw)


def write_formula(options: argparse.Namespace, formula: Formula) -> None:
    """Save a formula where `--write` names a file."""
    _write(options, "write", lambda path: path.write_text(formula.text(path.suffix), encoding="utf-8"))


def write_program(options: argparse.Namespace, work: Callable[[Path], object]) -> None:
    """Save the program of an answer where `--write` names a file."""
    _write(options, "write", work)


def _write(options: argparse.Namespace, name: str, work: Callable[[Path], object]) -> None:
    if output := _output(options, name):
        output.save(work)
        print(f"written: {output.path}", file=sys.stderr)


def _output(options: argparse.Namespace, name: str) -> Output | None:
    path: Path | None = getattr(options, name, None)
    if not path:
        return None
    endings, kind = OPTIONS[name]
    if name == "write":  # a parser may say that its command writes other files
        endings = getattr(options, "writes", endings)
    return Output(f"--{name}", path, options.force, endings, kind)
