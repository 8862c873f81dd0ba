"""Where the shipped tables are, in a checkout and in an installed wheel alike."""

import os
import sys
from pathlib import Path

PACKAGE = Path(__file__).resolve().parent.parent
_INSTALLED = PACKAGE / "ingredient_db"

#: Folder of the ingredient tables: inside the package once installed, beside it in a checkout.
DATABASE = _INSTALLED if _INSTALLED.is_dir() else PACKAGE.parent / "ingredient_db"

_PAGES = PACKAGE / "ui"

#: Folder of the workbench's pages, likewise.
UI = _PAGES if _PAGES.is_dir() else PACKAGE.parent / "ui"

#: Folder of the guide's topics.
GUIDE = PACKAGE / "guide"

#: Folder of the demo workshop.
DEMO = PACKAGE / "demo"

#: Environment variable by which `optiform app` tells its pages the workshop to work on: a whole path or a URL.
WORKSHOP_VARIABLE = "OPTIFORM_WORKSHOP"

#: Environment variable by which `optiform app` tells its pages the brief to begin with: a whole path.
BRIEF_VARIABLE = "OPTIFORM_BRIEF"

#: Environment variable that names another folder for what a maker keeps nowhere else.
DATA_VARIABLE = "OPTIFORM_DATA"


def data_folder() -> Path:
    """The user's folder for what is kept beside no brief, by the platform's convention; it need not be there yet.

    XDG base directories on Linux, Application Support on macOS, the roaming profile on Windows.
    """
    if named := os.environ.get(DATA_VARIABLE):
        return Path(named)
    home = Path.home()
    if sys.platform == "darwin":
        return home / "Library" / "Application Support" / "Optiform"
    if sys.platform == "win32":
        return Path(os.environ.get("APPDATA") or home / "AppData" / "Roaming") / "Optiform"
    return Path(os.environ.get("XDG_DATA_HOME") or home / ".local" / "share") / "optiform"


def is_folder(path: Path) -> bool:
    """Whether a path is a folder; a name too long or odd for any path is none, and is told where it is opened."""
    try:
        return path.is_dir()
    except (OSError, ValueError):
        return False
