"""Sweeps over random briefs: an eighth of the seeds in the README's run, a quarter in the long tier, all in the third.

A test that uses one is marked `sweep`; `pytest -m long` and `pytest -m exhaustive` take those tests too
(tests/conftest.py). Where each seed is a test of its own, `cases` gives each to one of the tiers.
"""

import os
from collections.abc import Sequence
from typing import TypeVar

import pytest
from _pytest.mark import MarkDecorator, ParameterSet

T = TypeVar("T")

#: The tier of this run where it is not the README's, for the processes that run tests side by side too.
TIER = "OPTIFORM_TIER"
#: Where the part of a sweep begins and ends that a tier tries, in eighths: the long one goes on where the first ended.
PARTS = {"": (0, 1), "long": (1, 3), "exhaustive": (0, 8)}
#: Of the tests that `cases` keeps from the README's run, one of so many is in the long tier, the first ones.
LATER = 3


def tier() -> str:
    """The tier of this run, empty for the README's."""
    return os.environ.get(TIER, "")


def is_long() -> bool:
    """Whether this run is of more than the README's tier."""
    return tier() != ""


def is_whole() -> bool:
    """Whether nothing is left out of this run's sweeps."""
    return tier() == "exhaustive"


def sweep(seeds: range) -> range:
    """The seeds to try in this run: its part of them, where they are too few for parts all."""
    first, last = (-(-len(seeds) * eighths // 8) for eighths in PARTS[tier()])
    return seeds[first:last] or seeds


def enough(count: int) -> int:
    """How many cases of a kind a sweep must have met, of those that it meets as a whole: else it proved nothing."""
    first, last = PARTS[tier()]
    return count if is_whole() else max(1, count * (last - first) // 16)


def cases(every: Sequence[T], quick: int, more: int | None = None) -> list[T | ParameterSet]:
    """Parameters of a test, a tuple for several: the first so many in the README's run, some more in the long tier.

    Args:
        every: all of them.
        quick: how many the README's run tries.
        more: how many the long tier does, a third of the others where nothing is said; the exhaustive one has the rest.
    """
    more = -(-(len(every) - quick) // LATER) if more is None else more
    long = _marked(every[quick : quick + more], pytest.mark.long)
    return [*every[:quick], *long, *_marked(every[quick + more :], pytest.mark.exhaustive)]


def _marked(every: Sequence[T], mark: MarkDecorator) -> list[ParameterSet]:
    return [pytest.param(*(case if isinstance(case, tuple) else (case,)), marks=mark) for case in every]
