"""What holds for all tests."""

from hypothesis import settings

# How long an example takes is the machine's matter; what speed there is to keep, the benchmarks measure.
settings.register_profile("optiform", deadline=None)
settings.load_profile("optiform")
