"""optiform app: the workbench in the browser."""

import argparse
import os
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

from streamlit.web import cli

from optiform.brief.file import read_brief
from optiform.commands import ANSWERED
from optiform.costs.file import read_costs
from optiform.reading import clock
from optiform.reading.documents import read_document
from optiform.reading.faults import BadInput, Fault
from optiform.reading.paths import BRIEF_VARIABLE, UI, WORKSHOP_VARIABLE
from optiform.workshop.engine import file_in
from optiform.workshop.store import Workshop


def run(options: argparse.Namespace) -> int:
    """Serve the workbench on this machine only, in this process, until it is stopped.

    Its look and its settings lie beside its pages, so the working folder moves there.
    """
    clock.now()  # set to what is no time it is told here, and not by every page
    begins = brief_of(options.brief)
    _tell_the_pages({BRIEF_VARIABLE: begins, WORKSHOP_VARIABLE: place_of(options.workshop)})
    os.chdir(UI)
    print(f"Workbench on http://127.0.0.1:{options.port}  (stop with Ctrl-C)", file=sys.stderr)
    settings = [
        "--server.address=127.0.0.1",
        f"--server.port={options.port}",
        f"--server.headless={'true' if options.no_browser else 'false'}",
        "--browser.gatherUsageStats=false",
    ]
    cli.main(["run", "app.py", *settings], standalone_mode=False)
    return ANSWERED


def place_of(given: str | None) -> str:
    """The workshop to work on, whole, since the working folder will move; empty where pages show the demo's.

    One that is given and is not there yet is made.

    Raises:
        BadInput: it cannot be used.
    """
    place = given or ("." if file_in(Path()).is_file() else "")
    if not place:
        return ""
    whole = place if "://" in place else str(Path(place).resolve())
    with Workshop.open(whole) as workshop:
        print(f"Workshop: {workshop.name}", file=sys.stderr)
    return whole


def brief_of(given: Path | None) -> str:
    """The brief to begin with, its path whole, since the working folder will move; empty where none is given.

    Raises:
        BadInput: with every fault of the brief, of the files it names, and of the papers beside it.
    """
    if given is None:
        return ""
    brief = read_brief(given)
    beside: dict[str, Callable[[Path], object]] = {
        "making.toml": read_document,  # the rest of it is read against the formula that is made
        "costs.toml": lambda path: read_costs(path, brief.catalogue, brief.currency),
    }
    faults: list[Fault] = []
    for name, read in beside.items():
        path = given.with_name(name)
        try:
            if path.is_file():
                read(path)
        except BadInput as bad:
            faults += bad.faults
    if faults:
        raise BadInput(faults)
    print(f"Brief: {given}", file=sys.stderr)
    return str(given.absolute())


def _tell_the_pages(words: Mapping[str, str]) -> None:
    """Through the environment, the one thing that this process and every session of the pages have in common."""
    for variable, word in words.items():
        os.environ.pop(variable, None)
        if word:
            os.environ[variable] = word
