"""What a solver says of whole numbers, where its own tolerances get in the way."""

from dataclasses import replace

import numpy as np
import pytest

from optiform.program import integer
from optiform.program.certificate import Certificate
from optiform.program.integer import WholeSolution
from optiform.program.linear import Program, Row, Sense


def thin() -> Program:
    """A share between 0.00999999999 and 0.01 and its switches, one up and one down: it fits where it stands."""
    rows = (
        Row.of("at least", 3, {0: 100.0}, Sense.AT_LEAST, 0.999999999),
        Row.of("at most", 3, {0: 100.0}, Sense.AT_MOST, 1.0),
        Row.of("up", 3, {0: 1.0, 1: -1e-9, 2: 1e-4}, Sense.AT_MOST, 0.01),
        Row.of("down", 3, {0: 1.0, 1: -1e-4, 2: 1.01e-9}, Sense.AT_LEAST, 0.01),
    )
    return Program(("share", "up", "down"), np.array([1.0, 0, 0]), np.zeros(3), np.ones(3), rows, frozenset({1, 2}))


def test_that_nothing_fits_is_asked_again_without_presolve() -> None:
    """Presolve divides a hundred thousand millionth by a ten thousandth, and calls the switch broken."""
    claim = integer._claimed(thin(), "highs")
    assert claim is not None
    assert claim.x == pytest.approx([0.01, 0.0, 0.0])


def test_without_whole_columns_the_bound_is_what_the_duals_prove(monkeypatch: pytest.MonkeyPatch) -> None:
    """And not the value itself, where the proof closes to its tolerance only."""
    program = replace(thin(), whole=frozenset())
    proof = Certificate(0.0, 0.0, 0.0, 4e-7)
    loose = WholeSolution(np.zeros(3), 1.0, np.inf, proof)
    monkeypatch.setattr(integer, "at_whole_values", lambda *_: loose)
    claim = integer._claimed(program, "cbc")
    assert claim is not None
    assert claim.bound == pytest.approx(1.0 - 8e-7, abs=1e-12)
    assert claim.gap == pytest.approx(4e-7)
