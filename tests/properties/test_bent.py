"""Cases and bounds of properties that bend, against the properties themselves on formulas of shipped ingredients."""

from collections.abc import Iterator

import numpy as np
import pytest

from optiform.properties.base import Bent, Mix, Vector
from optiform.properties.bent import STRAIGHT, Case, Cases, Curve, Interval
from optiform.properties.registry import find_property
from optiform.properties.solubility import OutOfRange
from optiform.properties.water_activity import log_activity, model_ranges
from tests.shelves import makeable, shelf

WORDS = ("hlb difference", "water activity")


def formulas(words: str, count: int) -> Iterator[tuple[Mix, Cases, Vector, float]]:
    """Random formulas with a value, some with much sugar or salt in little water."""
    made = 0
    for seed in range(10 * count):
        rng = np.random.default_rng(seed)
        items = shelf(rng, 40)
        mix, x = Mix(tuple(items), tuple(item.phase for item in items)), makeable(rng, items)
        wanted = find_property(words, "EUR")
        try:
            value = wanted.at(mix, x).at(x)
        except OutOfRange:
            continue
        bent = wanted.cases(mix) if isinstance(wanted, Bent) and wanted.cases else None
        if value is not None and bent is not None:
            made += 1
            yield mix, bent, x, value
        if made == count:
            return


def cases_at(bent: Cases, x: Vector) -> list[Case]:
    """The cases whose edges x keeps."""
    sign = {"low": 1.0, "high": -1.0}
    return [c for c in bent.cases if all(sign[e.side] * (e.amount @ x - e.target) >= -1e-12 for e in c.edges)]


@pytest.mark.parametrize("words", WORDS)
def test_every_formula_is_in_a_case_and_has_its_value_there(words: str) -> None:
    kinds = set()
    for _, bent, x, value in formulas(words, 60):
        cases = cases_at(bent, x)
        assert cases
        kinds.add(tuple(edge.side for edge in cases[0].edges))
        for case in cases:
            z = case.value(x)
            assert z is not None
            assert bent.outer(z) == pytest.approx(value, abs=1e-9)
    assert words != "water activity" or len(kinds) > 2  # grains that all dissolve and grains that saturate


@pytest.mark.parametrize("words", WORDS)
def test_the_slope_in_a_case_is_that_of_the_property(words: str) -> None:
    for mix, bent, x, _ in formulas(words, 15):
        tangent = bent.tangent(cases_at(bent, x)[0], x)
        assert tangent is not None
        terms = find_property(words, "EUR").terms(mix, x)
        steps = [(j, k) for j in np.flatnonzero(x) for k in np.flatnonzero(x) if j < k]
        for j, k in steps[:40]:
            ours, theirs = tangent[1][j] - tangent[1][k], terms.numerator[j] - terms.numerator[k]
            assert ours == pytest.approx(theirs, rel=1e-3, abs=1e-3)


@pytest.mark.parametrize("words", WORDS)
def test_in_any_box_around_a_formula_the_bounds_hold_it(words: str) -> None:
    rng = np.random.default_rng(1)
    for _, bent, x, _ in formulas(words, 60):
        case = cases_at(bent, x)[0]
        z = case.value(x)
        assert z is not None
        for width in (0.0, 0.01, 0.3, 3.0):
            spans = [span_around(quantity.at(x), width, rng) for quantity in case.quantities]
            size = float(case.group @ x)
            below = [float(bound @ x) / size for bound in case.bounds(spans, lower=True)]
            above = [float(bound @ x) / size for bound in case.bounds(spans, lower=False)]
            assert max(below) <= z + 1e-9
            assert min(above) >= z - 1e-9
            if width == 0.0:
                assert max(below) == pytest.approx(z, abs=1e-7)
                assert min(above) == pytest.approx(z, abs=1e-7)


def span_around(at: float | None, width: float, rng: np.random.Generator) -> Interval:
    if at is None:
        return 0.0, 100.0
    low, high = at - width * abs(at) * rng.random(), at + width * abs(at) * rng.random()
    return max(0.0, low), high


@pytest.mark.parametrize("name", sorted(model_ranges()))
def test_a_curve_lies_between_its_lines(name: str) -> None:
    top = model_ranges()[name] / (100 - model_ranges()[name])
    curve = log_activity(name, 0.7 * top if name in ("Sucrose", "Sodium Chloride") else None)
    rng = np.random.default_rng(2)
    for _ in range(200):
        a, b = sorted(rng.uniform(0, top, 2))
        lines = curve.between(a, b)
        for z in np.linspace(a, b, 41):
            assert lines.slope * z + lines.low <= curve.value(z) + 1e-12
            assert lines.slope * z + lines.high >= curve.value(z) - 1e-12


def test_the_lines_draw_together_by_the_square_of_the_width() -> None:
    curve = log_activity("Glycerin")
    widths = [0.2, 0.1, 0.05]
    apart = [(lines := curve.between(0.5, 0.5 + width)).high - lines.low for width in widths]
    assert apart[1] < apart[0] / 3.5
    assert apart[2] < apart[1] / 3.5


def test_a_straight_curve_is_its_own_line() -> None:
    lines = STRAIGHT.between(2.0, 5.0)
    assert (lines.slope, lines.low, lines.high) == (1.0, 0.0, 0.0)


def test_a_knot_inside_is_held_too() -> None:
    level = Curve(lambda z: min(z, 1.0), lambda a, b: (0.0, 0.0), (1.0,))
    lines = level.between(0.0, 2.0)
    assert lines.slope == 0.5
    assert lines.slope * 1.0 + lines.high == pytest.approx(1.0)
    assert lines.low == pytest.approx(0.0)
