"""Sweeps over random briefs: an eighth of the seeds in the README's run, all of them in the long tier.

A test that uses one is marked `sweep`; `pytest -m long` takes those tests too, whole (tests/conftest.py). Where each
seed is a test of its own, `cases` gives each to one of the two tiers.
"""

import os
from collections.abc import Sequence
from typing import TypeVar

import pytest
from _pytest.mark import ParameterSet

T = TypeVar("T")

#: Set where sweeps are whole, for the processes that run tests side by side too.
WHOLE = "OPTIFORM_SWEEPS"
PART = 8


def is_whole() -> bool:
    """Whether this run is of the long tier."""
    return os.environ.get(WHOLE) == "whole"


def sweep(seeds: range) -> range:
    """The seeds to try in this run: the first eighth, or all."""
    return seeds if is_whole() else seeds[: -(-len(seeds) // PART)]


def enough(count: int) -> int:
    """How many cases of a kind a sweep must have met, of those that it meets as a whole: else it proved nothing."""
    return count if is_whole() else max(1, count // (2 * PART))


def cases(every: Sequence[T], quick: int) -> list[T | ParameterSet]:
    """Parameters of a test, a tuple for several: the first so many in the README's run, the others in the long tier."""
    later = (case if isinstance(case, tuple) else (case,) for case in every[quick:])
    return [*every[:quick], *(pytest.param(*case, marks=pytest.mark.long) for case in later)]
