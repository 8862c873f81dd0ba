"""The centre of what a label can stand for, against published formulas of makers whose amounts are known.

The formulas are those of test_maker_formulas.py, those of test_outcomes.py with at least four names, and sixteen that
were taken from public pages for this test (labels/, with the page of each), N; ten more, H, were taken when the form of
the centre was settled. The bar is the rule of thumb that a name at place k has c / k^1.7 of the whole; the goal is 1.5
points where the thumb was 2.4 off. Spread and exponent were set before any formula was looked at, and none was fitted.
Forms were chosen by the seven, the sixteen and the 32. Mean errors in points, with the kind stated, with use and area
stated ("-" where that did not count), and with nothing:

                                                     seven             sixteen             32            ten (H)
    thumb                                      3.90              2.87              6.10              3.78
    most likely composition, no kind taken     1.64    -  2.33   2.25    -  2.71   4.76    -  5.71
    mean, log-normal to both sides             1.48    -  1.57   2.25    -  2.42   4.62    -  4.62
    mean, thinner above the middle             1.47    -  1.59   2.17    -  2.07   4.57    -  4.80
    the same, all kinds by weight                 -    -  2.09      -    -  2.07      -    -  4.60
    parts of which only the most is usual too  1.48    -  2.33   2.21    -  2.40   5.08    -  5.24
    those to tell kinds apart only (this)      1.47 1.49 1.62    2.17 2.05 1.97    4.57 4.60 4.56    1.80 1.89 2.06

Log-normal to both sides let a trace run off to a hundred where names are few, which is why it was left. A use or an
area that is stated takes out the kinds of another one, as a fact and not as likely. Without either much hangs on which
of two likely kinds is taken: one lip balm is 3 points off as a stick and 8 as a balm.
"""

import csv
from functools import cache

import numpy as np
import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Basis, Formula, Line, read_formula
from optiform.label.from_label import LabelRanges, from_label
from optiform.rules.kinds import use_of, used_so
from optiform.rules.law import Scope
from optiform.rules.usual import kinds
from tests.dates import ANY_DAY
from tests.published.test_maker_formulas import CATALOGUE, FOLDER, FORMULAS
from tests.published.test_outcomes import formulas, rows

LABELS = FOLDER.parent / "labels"
LEAST_NAMES = 4
LAST_EARLIER = 81  # of the others, by their numbers: the later ones came once the forms had been chosen


@cache
def others(later: bool) -> list[tuple[Formula, str]]:
    """Formulas of test_outcomes.py with enough names, and their kinds."""
    known = [(formulas()[row["id"]], row["kind"]) for row in rows("formulas")]
    return [
        (formula, kind)
        for formula, kind in known
        if len(formula.declaration()) >= LEAST_NAMES and (int(formula.name[1:]) > LAST_EARLIER) is later
    ]


def read(identity: str, basis: Basis) -> Formula:
    return read_formula(FOLDER / f"{identity}.csv", CATALOGUE, basis).formula


def errors(formula: Formula, kind: str, stated: str = "kind") -> tuple[float, float]:
    """Mean distance from the truth, % points: of the centre with what is stated, and of the rule of thumb."""
    names, shares = zip(*formula.declaration(), strict=True)
    use, area = use_of(kind)
    among = used_so(kinds(), use, area) if stated == "use" else ()
    answer = from_label(names, Scope(use, area, (), ANY_DAY), kind=kind if stated == "kind" else "", among=among)
    assert isinstance(answer, LabelRanges)
    truth, centre = 100 * np.array(shares), np.array([found.centre for found in answer.ranges])
    assert centre.sum() == pytest.approx(100)
    by_place = np.arange(1, len(names) + 1) ** -1.7
    thumb = 100 * by_place / by_place.sum()
    return float(np.abs(centre - truth).mean()), float(np.abs(thumb - truth).mean())


def labels(begin: str) -> list[tuple[Formula, str]]:
    """Formulas of pages by how their ids begin, with their kinds; amounts in whatever unit the page has."""
    catalogue = read_catalogue([LABELS / "own.csv"])
    table: dict[str, list[dict[str, str]]] = {}
    for name in ("formulas", "lines"):
        with (LABELS / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            table[name] = list(csv.DictReader(file))
    formulas = []
    for row in (row for row in table["formulas"] if row["id"].startswith(begin)):
        parts = [(line["ingredient"], float(line["amount"])) for line in table["lines"] if line["id"] == row["id"]]
        total = sum(amount for _, amount in parts)
        items = [(catalogue.ingredients[name.casefold()], amount / total) for name, amount in parts]
        lines = tuple(Line(item, share, item.phase) for item, share in items)
        formulas.append((Formula(row["id"], lines), row["kind"]))
    return formulas


def means(known: list[tuple[Formula, str]]) -> tuple[float, float, float, float]:
    """Mean errors, % points: with the kind stated, with use and area, with nothing, and by the thumb."""
    table = [mean(known, stated) for stated in ("kind", "use", "")]
    return *(centre for centre, _ in table), table[0][1]  # type: ignore[return-value]


def mean(known: list[tuple[Formula, str]], stated: str) -> tuple[float, float]:
    """Mean errors of the centre with what is stated, and by the thumb."""
    centre, thumb = np.mean([errors(*one, stated) for one in known], axis=0)
    return float(centre), float(thumb)


def seven() -> list[tuple[Formula, str]]:
    return [(read(formula.id, formula.basis), formula.kind) for formula in FORMULAS]


def test_the_centre_is_nearer_than_the_rule_of_thumb() -> None:
    """Mean of seven: 3.90 points by the thumb, 1.47 with the kind."""
    centre, thumb = mean(seven(), "kind")
    assert centre < 1.5
    assert thumb > 3.8


@pytest.mark.long
def test_so_it_is_where_less_is_stated() -> None:
    """Mean of seven: 1.49 with use and area, 1.62 with nothing stated."""
    assert mean(seven(), "use")[0] < 1.5
    assert mean(seven(), "")[0] < 1.65


@pytest.mark.exhaustive
def test_the_centre_is_nearer_on_formulas_of_other_pages() -> None:
    """Mean of sixteen formulas: 2.9 points by the thumb, 2.0 with nothing stated, 2.2 with the kind.

    The most of it is three bars of less surfactant than is usual, a cream of a fifth cetearyl alcohol and a scrub of
    foam with 4 % of grains: what is usual is not what these are, and a list of names does not say so.
    """
    known = labels("N")
    centre, used, plain, thumb = means(known)
    assert len(known) == 16
    assert max(centre, used, plain) < 0.8 * thumb


@pytest.mark.exhaustive
def test_the_centre_is_nearer_on_formulas_that_nothing_was_chosen_by() -> None:
    """Mean of ten: 3.8 points by the thumb, 2.1 with nothing stated, 1.9 with use and area, 1.8 with the kind."""
    known = labels("H")
    centre, used, plain, thumb = means(known)
    assert len(known) == 10
    assert max(centre, used) < 0.52 * thumb
    assert plain < 0.6 * thumb


@pytest.mark.exhaustive
def test_the_centre_is_nearer_on_formulas_of_other_people() -> None:
    """Mean of 32, failures among them: 6.1 points by the thumb, 4.6 with the kind or without."""
    centre, used, plain, thumb = means(others(later=False))
    assert len(others(later=False)) == 32
    assert max(centre, used, plain) < 0.78 * thumb


@pytest.mark.exhaustive
def test_the_centre_is_a_little_nearer_on_formulas_that_came_later() -> None:
    """Mean of 22, most of them failures: 3.8 points by the thumb, 3.3 with the kind, 2.9 with nothing stated."""
    centre, used, plain, thumb = means(others(later=True))
    assert len(others(later=True)) == 22
    assert max(centre, used) < 0.88 * thumb
    assert plain < 0.78 * thumb
