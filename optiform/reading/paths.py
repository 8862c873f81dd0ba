"""Where the shipped tables are, in a checkout and in an installed wheel alike."""

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
