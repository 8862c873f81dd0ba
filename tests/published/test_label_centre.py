"""The centre of what a label can stand for, against published formulas of makers whose amounts are known.

The formulas are those of test_maker_formulas.py. The bar is the rule of thumb that a name at place k has c / k^1.7 of
the whole. Nothing of the centre was fitted to these formulas: spread and exponent were set before.
"""

import numpy as np
import pytest

from optiform.ingredients.formula import Basis, read_formula
from optiform.label.from_label import LabelRanges, from_label
from optiform.rules.law import Scope
from tests.dates import ANY_DAY
from tests.published.test_maker_formulas import CATALOGUE, FOLDER, FORMULAS


def errors(identity: str, basis: Basis, use: str) -> tuple[float, float]:
    """Mean distance from the truth, % points: of the centre, and of the rule of thumb."""
    formula = read_formula(FOLDER / f"{identity}.csv", CATALOGUE, basis).formula
    names, shares = zip(*formula.declaration(), strict=True)
    answer = from_label(names, Scope(use, "body", ("EU",), ANY_DAY))
    assert isinstance(answer, LabelRanges)
    truth, centre = 100 * np.array(shares), np.array([found.centre for found in answer.ranges])
    assert centre.sum() == pytest.approx(100)
    by_place = np.arange(1, len(names) + 1) ** -1.7
    thumb = 100 * by_place / by_place.sum()
    return float(np.abs(centre - truth).mean()), float(np.abs(thumb - truth).mean())


def test_the_centre_is_nearer_than_the_rule_of_thumb() -> None:
    found = np.array([errors(formula.id, formula.basis, formula.use) for formula in FORMULAS])
    centre, thumb = found.mean(axis=0)
    assert centre < 2.4  # the bar in % points; 1.5 is the goal, which these seven do not reach (2.0)
    assert centre < 0.6 * thumb
    assert np.median(found[:, 0]) < np.median(found[:, 1])
