"""What holds for all tests."""

import os

import pytest
from hypothesis import settings
from hypothesis.internal.conjecture import providers

from optiform.reading.clock import CLOCK_VARIABLE
from tests.dates import ANY_DAY

# One day for the program and for those it starts, whatever the machine says; .ci/run sets other days.
os.environ[CLOCK_VARIABLE] = os.environ.get(CLOCK_VARIABLE) or ANY_DAY.isoformat()

# How long an example takes is the machine's matter; what speed there is to keep, the benchmarks measure.
settings.register_profile("same", deadline=None, derandomize=True, database=None)
settings.register_profile("random", deadline=None, derandomize=False, max_examples=500, print_blob=True)


def pytest_configure(config: pytest.Config) -> None:
    """The same examples on each run, unless `--hypothesis-profile=random` asks for new ones.

    Hypothesis also tries numbers and texts that stand in the modules loaded so far. Which those are depends on which
    tests a process has run before, so they wait for the random run too.
    """
    if not config.getoption("--hypothesis-profile"):
        settings.load_profile("same")
        providers._get_local_constants = lambda: providers._local_constants
