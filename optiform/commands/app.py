"""optiform app: the workbench in the browser."""

import argparse
import os
import sys
from pathlib import Path

from streamlit.web import cli

from optiform.commands import ANSWERED
from optiform.paths import UI, WORKSHOP_VARIABLE
from optiform.workshop.engine import FILE
from optiform.workshop.store import Workshop


def run(options: argparse.Namespace) -> int:
    """Serve the workbench on this machine only, in this process, until it is stopped.

    Its look and its settings lie beside its pages, so the working folder moves there.
    """
    _tell_the_pages(place_of(options.workshop))
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
    place = given or ("." if Path(FILE).is_file() else "")
    if not place:
        return ""
    whole = place if "://" in place else str(Path(place).resolve())
    with Workshop.open(whole) as workshop:
        print(f"Workshop: {workshop.name}", file=sys.stderr)
    return whole


def _tell_the_pages(place: str) -> None:
    """Through the environment, the one thing that this process and every session of the pages have in common."""
    os.environ.pop(WORKSHOP_VARIABLE, None)
    if place:
        os.environ[WORKSHOP_VARIABLE] = place
