"""optiform design: the best formula that meets a brief."""

import argparse
import sys
from pathlib import Path

from optiform.brief.file import read_brief
from optiform.commands import ANSWERED, IMPOSSIBLE, UNPROVEN
from optiform.commands.common import print_json
from optiform.design.answer import Designed, Impossible
from optiform.design.design import design
from optiform.program.solver import write_model
from optiform.reading.faults import BadInput, Fault
from optiform.telling import json as jsonform
from optiform.telling.design import designed, impossible


def run(options: argparse.Namespace) -> int:
    """Design and print; `--write` comes first: if the file cannot be written, only that is told."""
    brief = read_brief(options.brief)
    if options.write:
        _check_writable(options.write)
    answer = design(brief, options.solver)
    if options.write and isinstance(answer, Designed):
        _save(answer, options.write)
    return show(answer, options.json)


def show(answer: Designed | Impossible, as_json: bool) -> int:
    """Print an answer; the exit code says whether there is one."""
    if isinstance(answer, Designed):
        print_json(jsonform.designed(answer)) if as_json else print(designed(answer))
        return ANSWERED
    print_json(jsonform.impossible(answer)) if as_json else print(impossible(answer))
    return IMPOSSIBLE if answer.decided else UNPROVEN


def _check_writable(path: Path) -> None:
    if path.suffix not in (".csv", ".toml", ".lp", ".mps"):
        raise BadInput([Fault("--write", "file name", repr(path.name), "a name that ends in .csv, .toml, .lp or .mps")])
    if not path.parent.is_dir():
        raise BadInput([Fault("--write", "folder", repr(str(path.parent)), "a folder that exists")])


def _save(answer: Designed, path: Path) -> None:
    try:
        if path.suffix in (".lp", ".mps"):
            write_model(answer.program, path)
        else:
            answer.report.formula.write(path)
    except OSError as error:
        raise BadInput([Fault("--write", str(path), str(error.strerror), "a file that can be written")]) from None
    print(f"written: {path}", file=sys.stderr)
