"""Where the shipped tables are, in a checkout and in an installed wheel alike."""

from pathlib import Path

PACKAGE = Path(__file__).resolve().parent
_INSTALLED = PACKAGE / "ingredient_db"

#: Folder of the ingredient tables: inside the package once installed, beside it in a checkout.
DATABASE = _INSTALLED if _INSTALLED.is_dir() else PACKAGE.parent / "ingredient_db"

#: Folder of the demo workshop.
DEMO = PACKAGE / "demo"
