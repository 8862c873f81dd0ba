"""Cases and bounds of properties that bend, against the properties themselves on formulas of shipped ingredients."""

from collections.abc import Callable, Iterator
from itertools import pairwise

import numpy as np
import pytest

from optiform.ingredients.formula import mixed
from optiform.properties.base import Bent, Mix, Vector, fractions
from optiform.properties.bent import Case, Cases
from optiform.properties.curve import STRAIGHT, Curve, Interval
from optiform.properties.registry import find_property
from optiform.properties.solubility import OutOfRange
from optiform.properties.tangent_planes import firmness
from optiform.properties.water_activity import log_activity, model_ranges
from tests.shelves import makeable, shelf
from tests.sweeps import cases, is_long, sweep

WORDS = ("hlb difference", "water activity")
STEP = 1e-4  # mass fraction, for differences


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


@pytest.mark.sweep
@pytest.mark.parametrize("words", WORDS)
def test_every_formula_is_in_a_case_and_has_its_value_there(words: str) -> None:
    kinds = set()
    for _, bent, x, value in formulas(words, 60 if is_long() else 20):
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
            assert ours == pytest.approx(theirs, rel=1e-6, abs=1e-6)


BENDING = (*WORDS, "firmness at 20 degC")


def differences(value: Callable[[Vector], float | None], x: Vector, way: Vector) -> tuple[float, float] | None:
    """The slope along a way by central differences, and how far two ways to take it are apart; None where one ends.

    Steps of h and h / 2, the second set against the first so that what goes with h^2 drops out (Richardson 1911).
    """
    slopes = []
    for step in (STEP, STEP / 2):
        ends = [value(x + sign * step * way) for sign in (1.0, -1.0)]
        if ends[0] is None or ends[1] is None:
            return None
        slopes.append((ends[0] - ends[1]) / (2 * step))
    best = (4 * slopes[1] - slopes[0]) / 3
    return best, abs(best - slopes[1])


def smooth_at(wanted: Bent, mix: Mix, x: Vector, way: Vector) -> bool:
    """Whether one case, or one piece, counts all along the way."""
    places = [x + share * STEP * way for share in (-1.0, 0.0, 1.0)]
    if wanted.cases and (bent := wanted.cases(mix)):
        return len({tuple(map(id, cases_at(bent, place))) for place in places}) == 1
    pieces = wanted.pieces(mix) if wanted.pieces else ()
    return len({int(np.argmax([piece(place).at(place) or 0.0 for piece in pieces])) for place in places}) == 1


@pytest.mark.sweep
@pytest.mark.parametrize("words", BENDING)
def test_slopes_are_those_of_differences_to_the_sixth_digit(words: str) -> None:
    compared = 0
    for mix, wanted, x in bending_formulas(words, 12 if is_long() else 7):
        lines = np.flatnonzero(x > 4 * STEP)
        for j, k in zip(lines, np.roll(lines, 1), strict=True):
            way = np.zeros(len(x))
            way[j], way[k] = 1.0, -1.0
            if j == k or not smooth_at(wanted, mix, x, way):
                continue
            slope = differences(lambda at: wanted.at(mix, at).at(at), x, way)  # noqa: B023
            if slope is not None and slope[1] <= 1e-5 * (1 + abs(slope[0])):  # else it bends within the step
                ours = float(wanted.terms(mix, x).numerator @ way)
                assert ours == pytest.approx(slope[0], rel=1e-6, abs=1e-6)
                compared += 1
    assert compared > 30


def bending_formulas(words: str, count: int) -> Iterator[tuple[Mix, Bent, Vector]]:
    """Random formulas with a value of a property that bends; a firmness is relative to a balm."""
    if words in WORDS:
        for mix, _, x, _ in formulas(words, count):
            yield mix, bent_of(words), x
        return
    balm = {"shea butter, refined": 40, "beeswax": 15, "cetyl alcohol": 5, "sunflower oil": 30, "pumice, fine": 10}
    names, rng = list(balm), np.random.default_rng(3)
    for _ in range(count):
        formula = mixed(dict(zip(names, rng.dirichlet(list(balm.values())).tolist(), strict=True)))
        yield Mix.of(formula), firmness(mixed(balm), 20.0), fractions(formula)


def bent_of(words: str) -> Bent:
    wanted = find_property(words, "EUR")
    assert isinstance(wanted, Bent)
    return wanted


@pytest.mark.sweep
@pytest.mark.parametrize("words", WORDS)
def test_in_any_box_around_a_formula_the_bounds_hold_it(words: str) -> None:
    rng = np.random.default_rng(1)
    for _, bent, x, _ in formulas(words, 60 if is_long() else 20):
        case = cases_at(bent, x)[0]
        z = case.value(x)
        assert z is not None
        for width in (0.0, 0.01, 0.3, 3.0):
            spans = [span_around(quantity.at(x), width, rng) for quantity in case.quantities]
            size = float(case.group @ x)
            for near in (case.lowest(spans), case.arguments(x)):
                assert near is not None
                below = [float(bound @ x) / size for bound in case.bounds(spans, True, near)]
                above = [float(bound @ x) / size for bound in case.bounds(spans, False, near)]
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


def curves(name: str) -> Iterator[Curve]:
    """The curve of one solute, without and with a saturation, turned and not."""
    top = model_ranges()[name] / (100 - model_ranges()[name])
    for most in (None, 0.7 * top):
        curve = log_activity(name, most)
        yield from (curve, curve.turned())


@pytest.mark.sweep
@pytest.mark.parametrize("name", cases(sorted(model_ranges()), 4, 10))
def test_a_curve_lies_on_its_side_of_every_line(name: str) -> None:
    top = model_ranges()[name] / (100 - model_ranges()[name])
    rng = np.random.default_rng(2)
    for curve in curves(name):
        for _ in sweep(range(60)):
            a, b = sorted(rng.uniform(0, top, 2) * rng.choice([1.0, 0.05]))
            dense = np.concatenate([np.linspace(a, b, 301), [k for k in curve.knots if a < k < b]])
            values = np.array([curve.value(z) for z in dense])
            for at in (a, b, float(rng.uniform(a, b))):
                low, high = (curve.line(a, b, at, lower) for lower in (True, False))
                assert (low.slope * dense + low.offset <= values + 1e-12).all()
                assert (high.slope * dense + high.offset >= values - 1e-12).all()


@pytest.mark.parametrize("name", sorted(model_ranges()))
def test_a_line_is_near_the_best_that_there_is_where_it_is_asked_for(name: str) -> None:
    # The best at a point: over every pair of points around it, the highest that a chord is there.
    top = model_ranges()[name] / (100 - model_ranges()[name])
    for curve in curves(name):
        grid = np.linspace(0, top, 161)
        values = np.array([curve.value(z) for z in grid])
        for k in range(0, 161, 20):
            left, right = np.meshgrid(np.arange(k + 1), np.arange(k, 161), indexing="ij")
            apart = np.where(right > left, grid[right] - grid[left], 1.0)
            chords = values[left] + (values[right] - values[left]) * (grid[k] - grid[left]) / apart
            line = curve.line(0.0, top, float(grid[k]), lower=False)
            assert line.value(float(grid[k])) <= chords.max() + 0.02 * np.ptp(values)


@pytest.mark.parametrize("name", sorted(model_ranges()))
def test_the_slopes_are_those_of_the_curve(name: str) -> None:
    top = model_ranges()[name] / (100 - model_ranges()[name])
    for curve in curves(name):
        for z in (*np.linspace(0.01 * top, 0.98 * top, 23), *(k for k in curve.knots if k < 0.99 * top)):
            step = 1e-7
            sides = [(curve.value(z) - curve.value(z - step)) / step, (curve.value(z + step) - curve.value(z)) / step]
            assert curve.slopes(float(z)) == pytest.approx(sides, rel=1e-4, abs=1e-5)


@pytest.mark.parametrize("name", sorted(model_ranges()))
def test_the_second_derivative_lies_in_its_bounds(name: str) -> None:
    """By second differences of the slopes; a bound that is too tight would cut a formula away without a word."""
    top = model_ranges()[name] / (100 - model_ranges()[name])
    for curve in curves(name):
        ends = sorted({0.0, top, *np.linspace(0, top, 9).tolist(), *(knot for knot in curve.knots if knot < top)})
        for a, b in pairwise(ends):
            least, most = curve.curvature(a, b)
            inside = np.linspace(a, b, 41)[1:-1]
            bends = np.diff([curve.slope(float(z)) for z in inside]) / np.diff(inside)
            assert least - 1e-6 <= bends.min() <= bends.max() <= most + 1e-6


def test_where_a_curve_bulges_the_line_is_its_tangent() -> None:
    curve = log_activity("Sucrose")
    line = curve.line(0.0, 0.5, 0.3, lower=False)
    assert line.value(0.3) == pytest.approx(curve.value(0.3), abs=1e-12)
    assert line.slope == pytest.approx(curve.slope(0.3))


def test_where_it_does_not_it_is_right_at_both_ends() -> None:
    curve = log_activity("Sucrose")
    line = curve.line(0.1, 0.5, 0.3, lower=True)
    assert [line.value(0.1), line.value(0.5)] == pytest.approx([curve.value(0.1), curve.value(0.5)], abs=1e-12)


def test_a_straight_curve_is_its_own_line() -> None:
    for lower in (True, False):
        line = STRAIGHT.line(2.0, 5.0, 3.0, lower)
        assert (line.slope, line.offset) == (1.0, 0.0)


def test_a_knot_inside_is_held_too() -> None:
    level = Curve(lambda z: min(z, 1.0), lambda z: (float(z <= 1), float(z < 1)), lambda a, b: (0.0, 0.0), (1.0,))
    assert level.line(0.0, 2.0, 1.0, lower=False).value(1.0) == pytest.approx(1.0)
    below = level.line(0.0, 2.0, 1.0, lower=True)
    assert (below.slope, below.offset) == pytest.approx((0.5, 0.0))
