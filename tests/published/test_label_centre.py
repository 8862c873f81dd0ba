"""The centre of what a label can stand for, against published formulas of makers whose amounts are known.

The formulas are those of test_maker_formulas.py, and those of test_outcomes.py with at least four names. The bar is the
rule of thumb that a name at place k has c / k^1.7 of the whole. Spread and exponent were set before any formula was
looked at. The form was not: what a name has by usual use was settled while looking at the first seven, and the equal
split of a part's usual share was taken from among four ways by the error on the other thirty (5.2 to 5.9 points). So
these are figures of how well it fits what it was chosen by; no formula is left that nobody looked at.
"""

import numpy as np
import pytest

from optiform.ingredients.formula import Basis, Formula, read_formula
from optiform.label.from_label import LabelRanges, from_label
from optiform.rules.kinds import use_of
from optiform.rules.law import Scope
from tests.dates import ANY_DAY
from tests.published.test_maker_formulas import CATALOGUE, FOLDER, FORMULAS
from tests.published.test_outcomes import formulas, rows

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


def test_the_centre_is_nearer_than_the_rule_of_thumb() -> None:
    """Mean of seven formulas: 3.9 points by the thumb, 2.3 without the kind, 1.9 with it. The goal of 1.5 is missed.

    It was set on three formulas on which the thumb is 2.4 points off, so at 0.63 of it; here it is 0.50 and 0.60.

    The most of it is the balm (33 % wax where 17 is usual) and the scrub that wept (no part of it is as usual).
    """
    known = [(read(formula.id, formula.basis), formula.kind) for formula in FORMULAS]
    centre, thumb = np.mean([errors(*one) for one in known], axis=0)
    plain, _ = np.mean([errors(*one, stated=False) for one in known], axis=0)
    assert centre < 2.0
    assert centre < plain < 2.4
    assert plain < 0.65 * thumb


@pytest.mark.long
def test_the_kind_of_product_helps_on_others() -> None:
    """Mean of 32 formulas of other people, failures among them: 6.1 by the thumb, 5.7 without the kind, 5.2."""
    centre, thumb = np.mean([errors(*one) for one in OTHERS], axis=0)
    plain, _ = np.mean([errors(*one, stated=False) for one in OTHERS], axis=0)
    assert len(OTHERS) == 32
    assert centre < 0.95 * plain
    assert plain < thumb
