"""What holds for all tests."""

import os
from collections.abc import Iterator

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


@pytest.fixture
def shared_answers(request: pytest.FixtureRequest) -> Iterator[None]:
    """What commands ask of the demo is worked out once in a run (tests/answers.py), unless a test is marked `anew`."""
    if request.node.get_closest_marker("anew"):
        yield
        return
    from tests.answers import shared

    with shared():
        yield


@pytest.hookimpl(trylast=True)  # once it is known which tests run
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The corpus first; then, where the second of two processes begins, every test with a browser.

    Whoever is done first takes over from the end of the other's list, so the longest are not left for the end, and one
    process has the browser and the server.
    """
    groups: dict[str, list[pytest.Item]] = {"corpus": [], "chromium": [], "": []}
    for item in items:
        names = getattr(item, "fixturenames", ())
        groups[next((word for word in groups if word in names), "")].append(item)
    first, pages, others = groups.values()
    middle = max(0, len(items) // 2 - len(first))
    items[:] = [*first, *others[:middle], *pages, *others[middle:]]


def pytest_configure(config: pytest.Config) -> None:
    """The same examples on each run, unless `--hypothesis-profile=random` asks for new ones.

    Hypothesis also tries numbers and texts that stand in the modules loaded so far. Which those are depends on which
    tests a process has run before, so they wait for the random run too.
    """
    if not config.getoption("--hypothesis-profile"):
        settings.load_profile("same")
        providers._get_local_constants = lambda: providers._local_constants
