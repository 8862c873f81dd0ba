"""The same report for a formula that exists already."""

from pathlib import Path

from optiform.brief.brief import Brief
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Basis, read_formula
from optiform.review.answer import Checked
from optiform.review.measures import Setting, setting_of
from optiform.review.report import report


def check(path: Path, catalogue: Catalogue, setting: Setting, basis: Basis | None = None) -> Checked:
    """Read a formula and report on it in a setting.

    Raises:
        BadInput: with every fault of the file.
    """
    reading = read_formula(path, catalogue, basis)
    return Checked(reading, report(reading.formula, setting))


def check_against(path: Path, brief: Brief, basis: Basis | None = None) -> Checked:
    """Read a formula and report on it against a brief's limits, scope and prices.

    Raises:
        BadInput: with every fault of the file.
    """
    reading = read_formula(path, brief.catalogue, basis)
    return Checked(reading, report(reading.formula, setting_of(brief)), brief)
