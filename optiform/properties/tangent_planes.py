"""Firmness as a property to limit: smooth pieces, each with its tangent plane, and its band at a formula."""

from collections.abc import Callable
from copy import copy
from dataclasses import replace
from functools import lru_cache
from itertools import product
from typing import NamedTuple

import numpy as np

from optiform.ingredients.formula import Formula, Line
from optiform.properties.base import OF_TODAY, TRACE, Bent, Mix, Terms, Vector
from optiform.properties.firmness import (
    ASSUMED,
    LEAST_SOLIDS,
    REFERENCE_TEMPERATURE,
    Exponents,
    Scale,
    firmness_band,
    held_grain_factor,
    packed,
    state,
)
from optiform.properties.grounds import Relative
from optiform.properties.texture import solids_as_fat
from optiform.properties.water_phase import grain_volume_fraction, undissolved
from optiform.reading.values import Bound


class Model:
    """The scale over the lines of a mix at one temperature, ready to be asked for many mass fractions.

    It is the largest of smooth pieces: one for each straight piece of the solids with each of the grains.
    """

    def __init__(self, mix: Mix, reference: Formula, temperature: float, scale: Scale = ASSUMED.typical) -> None:
        """Look up everything that does not depend on the mass fractions."""
        self.scale = scale
        pieces = solids_as_fat(temperature).pieces(mix)
        self.solids, self._solids = pieces[0], np.array([piece.numerator for piece in pieces])
        self._left = np.array([piece.numerator / 100 for piece in undissolved(None, temperature).pieces(mix)])
        volumes = grain_volume_fraction(temperature).pieces(mix)
        self._filled, self._volume = np.array([piece.numerator for piece in volumes]), volumes[0].denominator
        self.missing, self.traces = self.solids.missing, volumes[0].missing
        base = state(reference, REFERENCE_TEMPERATURE)
        self._base = base if base is not None and base.solids[1] > 0 else None
        self._thick = held_grain_factor(self._base.phi, scale) if self._base else 1.0

    def pieces(self) -> "tuple[Model, ...]":
        """Each smooth piece as a model of its own."""
        places = product(range(len(self._solids)), range(len(self._filled)))
        return tuple(self._piece(i, j) for i, j in places)

    def _piece(self, i: int, j: int) -> "Model":
        one = copy(self)
        one._solids = self._solids[i : i + 1]
        one._left, one._filled = self._left[j : j + 1], self._filled[j : j + 1]
        return one

    def value(self, x: Vector) -> float:
        """Firmness at mass fractions x; 0 without structuring solids or without a known reference."""
        point = self._point(x)
        return 0.0 if point is None else point.here

    def plane(self, x: Vector) -> Vector | None:
        """The tangent plane at x as coefficients for fractions that sum to one; None where there is no firmness."""
        point = self._point(x)
        if point is None:
            return None
        bend = _grain_slope(point.filled, self.scale) * (point.grains - point.filled * self._volume) / point.volume
        slope = point.here * (self.scale.n * (point.solids / point.total + point.left / point.rest) + bend)
        return np.asarray(slope + (point.here - slope @ x))

    def _point(self, x: Vector) -> "_Point | None":
        solids, volume = self._solids @ x, float(self._volume @ x)
        total = float(solids.max())
        if self._base is None or total <= LEAST_SOLIDS or volume <= 0:
            return None
        left, grains = _largest(self._left, x), _largest(self._filled, x)
        rest, filled = 1 - float(left @ x), float(grains @ x) / volume
        ratio = (total / rest / self._base.body) ** self.scale.n
        here = 100 * ratio * held_grain_factor(filled, self.scale) / self._thick
        return _Point(here, total, rest, filled, volume, self._solids[int(solids.argmax())], left, grains)


class _Point(NamedTuple):
    """Firmness at a point, what it is made of there, and the pieces that are the largest."""

    here: float
    total: float
    rest: float
    filled: float
    volume: float
    solids: Vector
    left: Vector
    grains: Vector


def _largest(pieces: Vector, x: Vector) -> Vector:
    """The piece that is the largest at x."""
    return np.asarray(pieces[int((pieces @ x).argmax()) if len(pieces) > 1 else 0])


def firmness(reference: Formula, temperature: float, known: Exponents = ASSUMED) -> Bent:
    """Firmness at a temperature as a property to limit: 100 is the reference at 20 degC.

    Near a formula it is its tangent plane: d ln F = n d ln S + (d ln G / d phi) d phi. Its range is `firmness_band`,
    known at a formula and not near it: it is the model's, and no figure's that could be guarded.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> today = mixed({"shea butter, refined": 80, "beeswax": 20})
        >>> round(firmness(today, 20.0).of(today), 6), firmness(today, 20.0).unit
        (100.0, '-')

    Source: none: the model's own.
    """
    taken = packed(reference, known)
    name = f"firmness at {temperature:g} degC"
    scale = (reference, temperature, taken.typical)
    near, here = Bound(_plane, scale), Bound(_banded, (reference, temperature, taken))
    note, holds, pieces = Relative(taken.rests_on), Bound(_traces, (temperature,)), Bound(_pieces, scale)
    return Bent(name, "-", OF_TODAY, near, note, here=here, holds=holds, pieces=pieces)


def _traces(mix: Mix, temperature: float) -> tuple[tuple[str, Terms, float], ...]:
    """Lines without a density stay traces, of which how large they are does not matter; near a formula none lacks."""
    traces = grain_volume_fraction(temperature).pieces(mix)[0].missing
    names = [item.name for item, lacks in zip(mix.ingredients, traces, strict=True) if lacks]
    return ((f"{', '.join(names)}, of no known density,", Terms.exact(100 * traces), 100 * TRACE),) if names else ()


def _banded(mix: Mix, x: Vector, reference: Formula, temperature: float, known: Exponents) -> Terms:
    """The plane at x, with the band there as its range."""
    model = _model(mix, reference, temperature, known.typical)
    missing = np.maximum(model.missing, model.traces)
    terms = replace(_plane_of(x, model), missing=missing, traces=model.traces if model.traces.any() else None)
    lines = zip(mix.ingredients, x.tolist(), mix.phases, strict=True)
    formula = Formula("", tuple(Line(*line) for line in lines if line[1] > 0))
    try:
        ends = firmness_band(formula, reference, temperature, known)
    except ValueError:  # the grains jam
        ends = None
    if ends is None or terms.at(x) is None:
        return terms
    low, high = (terms.numerator + end - ends.typical for end in (ends.low, ends.high))
    return replace(terms, low=low, high=high)


def _pieces(mix: Mix, reference: Formula, temperature: float, scale: Scale) -> tuple[Callable[[Vector], Terms], ...]:
    return tuple(Bound(_plane_of, (piece,)) for piece in _model(mix, reference, temperature, scale).pieces())


def _plane(mix: Mix, x: Vector, reference: Formula, temperature: float, scale: Scale) -> Terms:
    return _plane_of(x, _model(mix, reference, temperature, scale))


@lru_cache(maxsize=64)
def _model(mix: Mix, reference: Formula, temperature: float, scale: Scale) -> Model:
    """Looked up once: a search asks at hundreds of points."""
    return Model(mix, reference, temperature, scale)


def _plane_of(x: Vector, model: Model) -> Terms:
    plane, none = model.plane(x), np.zeros(len(x))
    if plane is None:
        return Terms(none, none, none, none, model.missing, model.solids.evidence)
    return Terms(plane, np.ones(len(x)), plane, plane, model.missing, model.solids.evidence)


def _grain_slope(phi: float, scale: Scale) -> float:
    """Slope of ln G: d ln G / d phi = (2.5 / (1 - phi / phi_m) - 1 / (1 - phi)) / 2."""
    held = min(max(phi, 0.0), 0.98 * scale.phi_m)
    return 0.5 * (2.5 / (1 - held / scale.phi_m) - 1 / (1 - held))
