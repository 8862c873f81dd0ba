"""What holds for all tests."""

import os

from hypothesis import settings

from optiform.reading.clock import CLOCK_VARIABLE
from tests.dates import ANY_DAY

# One day for the program and for those it starts, whatever the machine says; .ci/run sets other days.
os.environ.setdefault(CLOCK_VARIABLE, ANY_DAY.isoformat())

# How long an example takes is the machine's matter; what speed there is to keep, the benchmarks measure.
settings.register_profile("optiform", deadline=None)
settings.load_profile("optiform")
