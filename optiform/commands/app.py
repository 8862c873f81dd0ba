"""optiform app: the workbench in the browser."""

import argparse
import os
import sys

from streamlit.web import cli

from optiform.commands import ANSWERED
from optiform.paths import UI


def run(options: argparse.Namespace) -> int:
    """Serve the workbench on this machine only, in this process, until it is stopped.

    Its look and its settings lie beside its pages, so the working folder moves there.
    """
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
