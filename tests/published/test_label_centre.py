"""The centre of what a label can stand for, against published formulas of makers whose amounts are known.

The formulas are those of test_maker_formulas.py, those of test_outcomes.py with at least four names, and sixteen that
were taken from public pages for this test (labels/, with the page of each). The bar is the rule of thumb that a name at
place k has c / k^1.7 of the whole. Spread and exponent were set before any formula was looked at. The form was not:
what a name has by usual use was settled while looking at the first seven. The sixteen were looked at once with the form
of then, an equal split of a part's usual share to its names: 2.63 points with the kind, 2.71 without, 2.87 by the
thumb, hardly better than the thumb. That a part's total is what is usual, and the label's order says how it is split,
was put in its place after that; so no formula is left that nobody looked at. Nothing was fitted to any.
"""

import csv

import numpy as np
import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Basis, Formula, Line, read_formula
from optiform.label.from_label import LabelRanges, from_label
from optiform.rules.kinds import use_of
from optiform.rules.law import Scope
from tests.dates import ANY_DAY
from tests.published.test_maker_formulas import CATALOGUE, FOLDER, FORMULAS
from tests.published.test_outcomes import formulas, rows

LABELS = FOLDER.parent / "labels"
LEAST_NAMES = 4
OTHERS = [
    (formula, row["kind"])
    for row in rows("formulas")
    if len((formula := formulas()[row["id"]]).declaration()) >= LEAST_NAMES
]


def read(identity: str, basis: Basis) -> Formula:
    return read_formula(FOLDER / f"{identity}.csv", CATALOGUE, basis).formula


def errors(formula: Formula, kind: str, stated: bool = True) -> tuple[float, float]:
    """Mean distance from the truth, % points: of the centre, and of the rule of thumb."""
    names, shares = zip(*formula.declaration(), strict=True)
    use, area = use_of(kind)
    answer = from_label(names, Scope(use, area, (), ANY_DAY), kind=kind if stated else "")
    assert isinstance(answer, LabelRanges)
    truth, centre = 100 * np.array(shares), np.array([found.centre for found in answer.ranges])
    assert centre.sum() == pytest.approx(100)
    by_place = np.arange(1, len(names) + 1) ** -1.7
    thumb = 100 * by_place / by_place.sum()
    return float(np.abs(centre - truth).mean()), float(np.abs(thumb - truth).mean())


def labels() -> list[tuple[Formula, str]]:
    """The sixteen with their kinds; amounts in whatever unit the page has."""
    catalogue = read_catalogue([LABELS / "own.csv"])
    table: dict[str, list[dict[str, str]]] = {}
    for name in ("formulas", "lines"):
        with (LABELS / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            table[name] = list(csv.DictReader(file))
    formulas = []
    for row in table["formulas"]:
        parts = [(line["ingredient"], float(line["amount"])) for line in table["lines"] if line["id"] == row["id"]]
        total = sum(amount for _, amount in parts)
        items = [(catalogue.ingredients[name.casefold()], amount / total) for name, amount in parts]
        lines = tuple(Line(item, share, item.phase) for item, share in items)
        formulas.append((Formula(row["id"], lines), row["kind"]))
    return formulas


def means(known: list[tuple[Formula, str]]) -> tuple[float, float, float]:
    """Mean errors, % points: with the kind, without it, and by the thumb."""
    centre, thumb = np.mean([errors(*one) for one in known], axis=0)
    plain, _ = np.mean([errors(*one, stated=False) for one in known], axis=0)
    return centre, plain, thumb


def test_the_centre_is_nearer_than_the_rule_of_thumb() -> None:
    """Mean of seven formulas: 3.9 points by the thumb, 2.3 without the kind, 1.6 with it.

    The goal of 1.5 was set on three formulas on which the thumb is 2.4 points off: 0.63 of it. Here it is 0.42 and
    0.60.
    """
    centre, plain, thumb = means([(read(formula.id, formula.basis), formula.kind) for formula in FORMULAS])
    assert centre < 1.7
    assert centre < 0.45 * thumb
    assert plain < 0.63 * thumb


@pytest.mark.long
def test_the_centre_is_nearer_on_formulas_of_other_pages() -> None:
    """Mean of sixteen formulas: 2.9 points by the thumb, 2.7 without the kind, 2.3 with it.

    The most of it is three bars of less surfactant than is usual, and a cream of a fifth cetearyl alcohol.
    """
    known = labels()
    centre, plain, thumb = means(known)
    assert len(known) == 16
    assert centre < 0.8 * thumb
    assert plain < thumb


@pytest.mark.long
def test_the_kind_of_product_helps_on_others() -> None:
    """Mean of 32 formulas of other people, failures among them: 6.1 by the thumb, 5.7 without the kind, 4.8."""
    centre, plain, thumb = means(OTHERS)
    assert len(OTHERS) == 32
    assert centre < 0.85 * plain
    assert plain < thumb
