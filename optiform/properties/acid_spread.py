"""How far a figure that is worked out from fatty acids varies from lot to lot: the acids of one fat move together.

With S_k the standard deviation of acid k between lots and R the correlations of fatty_acid_correlations.csv, a figure
F of the acids w has

    var F = g' C g,   g_k = dF / dw_k,   C_kl = S_k R_kl S_l

S_k is the standard error of the measured mean times the root of its samples; where no mean was measured a quarter of
the range, which is taken to hold 95 lots of 100. Where no correlations are known, C is that of independent acids whose
sum does not vary: C = D - D 1 1' D / (1' D 1), D the squares of S_k. Taken as independent, without their sum, acids
overstate the doubt: of the iodine value of olive oil 2.7 times.
"""

from collections.abc import Callable, Mapping, Sequence
from functools import cache

import numpy as np

from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.properties.base import Vector
from optiform.reading.tables import shipped

LOTS = 2.0  #: standard deviations from the figure to either end of a range: 95 lots of 100 lie inside
STEP = 1e-4  # % of the acids, for slopes

Figure = Callable[[Mapping[str, float]], float]


def spread(item: Ingredient, figure: Figure) -> float:
    """Standard deviation between lots of a figure of the fatty acids of an ingredient, in the figure's unit.

    Args:
        item: with its fatty acids.
        figure: of the acids in mass %; it may rescale them to 100.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> from optiform.properties.oil_phase import iodine_value
        >>> olive = read_catalogue().ingredients["olive oil"]
        >>> round(spread(olive, iodine_value), 2)  # of 572 oils 2.03, not made to sum to 100; as if independent 5.50
        1.94
        >>> round(spread(olive, lambda acids: acids["C18:2"]), 1)  # 2.43 of the oils themselves
        2.4

    Source: 572 Italian olive oils (F-OLIVE572): linoleic acid with a standard deviation of 2.43 %.
    """
    acids = {name: value.figure for name, value in item.fatty_acids.items()}
    slopes = np.array([_slope(figure, acids, name) for name in acids])
    return float(np.sqrt(max(0.0, slopes @ covariance(item) @ slopes)))


def covariance(item: Ingredient) -> Vector:
    """C of the fatty acids of an ingredient between lots, in % squared, in their order; shape (acids, acids).

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> olive = read_catalogue().ingredients["olive oil"]
        >>> names, found = tuple(olive.fatty_acids), covariance(olive)
        >>> palmitic, oleic = names.index("C16:0"), names.index("C18:1")
        >>> spreads = np.sqrt(np.diag(found))
        >>> round(float(found[palmitic, oleic] / (spreads[palmitic] * spreads[oleic])), 3)
        -0.837

    Source: 572 Italian olive oils (F-OLIVE572): palmitic and oleic acid with a correlation of -0.837.
    """
    names, known = tuple(item.fatty_acids), _correlations().get(item.name)
    deviations = np.array([_deviation(item.name, name, value) for name, value in item.fatty_acids.items()])
    if known is None:
        return _of_a_sum(deviations)
    return np.asarray(deviations[:, None] * _matrix(names, known) * deviations)


def _slope(figure: Figure, acids: Mapping[str, float], name: str) -> float:
    ends = (figure({**acids, name: acids[name] + sign * STEP}) for sign in (1.0, -1.0))
    return float(next(ends) - next(ends)) / (2 * STEP)


def _of_a_sum(deviations: Vector) -> Vector:
    squares = deviations**2
    total = float(squares.sum())
    return np.asarray(np.diag(squares) - np.outer(squares, squares) / total if total > 0 else np.diag(squares))


def _deviation(ingredient: str, acid: str, value: Value) -> float:
    """Of the table where it states one; a quarter of the range for figures of the maker's own."""
    measured = _measured().get((ingredient, acid))
    return (
        measured
        if measured is not None and value.evidence is not Evidence.OWN
        else (value.most - value.least) / (2 * LOTS)
    )


def _matrix(names: Sequence[str], known: Mapping[tuple[str, str], float]) -> Vector:
    """Correlations in the order of the names; pairs that are not known are taken as independent."""
    return np.array([[1.0 if a == b else known.get((a, b), known.get((b, a), 0.0)) for b in names] for a in names])


@cache
def _measured() -> Mapping[tuple[str, str], float]:
    return {
        (row["ingredient"], row["fatty acid"]): float(row["standard error"]) * float(row["samples"]) ** 0.5
        for row in shipped("fatty_acids")
        if row["standard error"] and row["samples"]
    }


@cache
def _correlations() -> Mapping[str, Mapping[tuple[str, str], float]]:
    known: dict[str, dict[tuple[str, str], float]] = {}
    for row in shipped("fatty_acid_correlations"):
        known.setdefault(row["ingredient"], {})[row["first"], row["second"]] = float(row["correlation"])
    return known
