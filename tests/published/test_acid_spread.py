"""How far iodine values vary between lots, against what published samples of oils show.

The standard deviations are those of the iodine value worked out oil by oil from the samples: 572 olive oils, and 10 to
26 commercial oils of a kind. Those of the acids are written down here, so that only the model is tried.
"""

from dataclasses import replace

import numpy as np
import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import mixed
from optiform.ingredients.ingredient import Evidence, Value
from optiform.properties import acid_spread
from optiform.properties.acid_spread import covariance, spread
from optiform.properties.base import Mix, fractions
from optiform.properties.oil_phase import fatty_acid_class, fatty_acid_constants, iodine_value
from tests.builders import ingredient
from tests.every import every

SHELF = read_catalogue().ingredients


def test_olive_oil_varies_as_572_samples_do() -> None:
    """True 2.03; as independent figures 5.50."""
    olive = SHELF["olive oil"]
    assert spread(olive, iodine_value) == pytest.approx(2.03, rel=0.10)
    slopes = [fatty_acid_constants()[acid].iodine_factor for acid in olive.fatty_acids]
    apart = float(np.sqrt((np.array(slopes) ** 2) @ np.diag(covariance(olive))))
    assert apart == pytest.approx(5.50, rel=0.02)


def test_without_correlations_the_sum_alone_takes_most_of_it_away() -> None:
    """The same oil under another name: 2.6 from acids that sum to 100, against 2.03 true and 5.50 apart."""
    olive = SHELF["olive oil"]
    deviations = np.sqrt(np.diag(covariance(olive)))
    acids = {
        name: Value(value.figure - 2 * sd, value.figure, value.figure + 2 * sd, "%", "own", Evidence.OWN)
        for (name, value), sd in zip(olive.fatty_acids.items(), deviations, strict=True)
    }
    other = replace(ingredient("an oil", 1.0, "oil"), fatty_acids=acids)
    assert 2.03 < spread(other, iodine_value) < 2.7
    assert float(covariance(other).sum()) == pytest.approx(0.0, abs=1e-9)


@every("name", [name for name, item in SHELF.items() if item.fatty_acids])
def test_no_covariance_makes_a_spread_that_is_none(name: str) -> None:
    ends = np.linalg.eigvalsh(covariance(SHELF[name]))
    assert ends.min() > -0.02 * max(ends.max(), 1e-9)
    assert spread(SHELF[name], iodine_value) >= 0


def test_the_share_of_a_class_has_a_range_and_classes_move_against_each_other() -> None:
    oil = mixed({"olive oil": 1.0})
    spans = {
        name: fatty_acid_class(name).terms(Mix.of(oil), fractions(oil)).span(fractions(oil))
        for name in ("monounsaturated", "polyunsaturated")
    }
    assert all(span is not None and span[0] < span[1] for span in spans.values())
    poly = spans["polyunsaturated"]
    assert poly is not None
    assert poly[1] - poly[0] == pytest.approx(4 * 2.4, rel=0.10)  # linoleic 2.43, linolenic 0.13
    assert acid_spread.LOTS == 2.0
