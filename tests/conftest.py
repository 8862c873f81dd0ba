"""What holds for all tests."""

import gc
import os
import sys
from collections.abc import Generator, Iterator
from pathlib import Path

import pytest
from _pytest.fixtures import FixtureDef, SubRequest

from optiform.reading.clock import CLOCK_VARIABLE
from tests.asking import NOTE, Asking, Who, chosen, kept
from tests.dates import ANY_DAY
from tests.sweeps import PARTS, TIER, tier

# One day for the program and for those it starts, whatever the machine says; .ci/run sets other days.
os.environ[CLOCK_VARIABLE] = os.environ.get(CLOCK_VARIABLE) or ANY_DAY.isoformat()

# What one process has compiled the next one reads: else all that tests start compile the whole package anew.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False


@pytest.fixture
def shared_answers(request: pytest.FixtureRequest) -> Iterator[None]:
    """What commands ask of the demo is worked out once in a run (tests/answers.py), unless a test is marked `anew`."""
    if request.node.get_closest_marker("anew"):
        yield
        return
    from tests.answers import shared

    with shared():
        yield


@pytest.fixture(scope="session")
def demo_with_records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo as it is copied today, with its records beside the brief; to be copied, and not changed."""
    from optiform.reading.clock import today
    from optiform.reading.demo import copy_demo
    from optiform.workshop.exchange import import_from
    from optiform.workshop.store import Workshop

    folder = tmp_path_factory.mktemp("demo") / "demo"
    copy_demo(folder, today())
    with Workshop.open(folder) as workshop:
        import_from(workshop, folder / "workshop")
    return folder


#: Every test that was found, by its name, with its marks: before a tier is chosen (tests/test_tiers.py).
FOUND = pytest.StashKey[dict[str, set[str]]]()


@pytest.hookimpl(tryfirst=True)  # before the tier is chosen
def pytest_itemcollected(item: pytest.Item) -> None:
    """Of a sweep every tier tries its own part, so its tests are of each, but for those that only a later one has."""
    item.config.stash.setdefault(FOUND, {})[item.nodeid] = {mark.name for mark in item.iter_markers()}
    later = tier() == "long" and item.get_closest_marker("exhaustive")
    if tier() and item.get_closest_marker("sweep") and not later:
        item.add_marker(tier())


#: Folders and files whose tests ask for the same answers of the demo (tests/answers.py): one process works them out.
SHARING = {
    "telling", "journeys", "commands", "face", "notebooks",
    "test_readme.py", "test_living_sheet.py", "test_sheet.py", "test_atlas.py", "test_bases.py", "test_stepped.py",
    "test_texture.py", "test_chance.py", "test_explore.py", "test_weigh.py", "test_order.py",
}  # fmt: skip


#: Where each module and folder stands in the folder it is found in.
PLACES = pytest.StashKey[dict[pytest.Item | pytest.Collector, int]]()
#: Which of how many processes that run tests side by side.
WORKER, WORKERS = os.environ.get("PYTEST_XDIST_WORKER", "gw0").removeprefix("gw"), "PYTEST_XDIST_WORKER_COUNT"


Collected = Generator[None, pytest.CollectReport, pytest.CollectReport]


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(collector: pytest.Collector) -> Collected:
    """Processes side by side begin a folder in places apart: what one has rewritten and compiled, the others read.

    Else each does all of it, in a fresh clone. Where more than one place was named, their order is to be kept.
    """
    report = yield
    if isinstance(collector, pytest.Directory) and len(collector.config.args) == 1:
        collector.config.stash.setdefault(PLACES, {}).update({node: at for at, node in enumerate(report.result)})
        first = len(report.result) * int(WORKER) // int(os.environ.get(WORKERS, 1))
        report.result = report.result[first:] + report.result[:first]
    return report


@pytest.hookimpl(wrapper=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> Generator[None]:
    """First into the order that one process alone has; once it is known which tests run, the order to run them in.

    The corpus and those that share answers first; where the last process begins, browser and pages. Whoever is done
    first takes over from the end of another's list, where the short ones are; and one process has the browser and the
    server.
    """
    places = config.stash.get(PLACES, {})
    items.sort(key=lambda item: [places[node] for node in item.listchain() if node in places])
    yield
    items[:] = chosen(items)
    groups: dict[str, list[pytest.Item]] = {"corpus": [], "sharing": [], "": [], "chromium": [], "pages": []}
    for item in items:
        groups[_group(item)].append(item)
    corpus, sharing, others, browser, pages = groups.values()
    processes = int(os.environ.get(WORKERS, 1))
    before = max(0, len(items) - len(items) // processes - len(corpus) - len(sharing))
    items[:] = [*corpus, *sharing, *others[:before], *browser, *pages, *others[before:]]


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_collection() -> Generator[None, object, object]:
    """No search for what is no longer used while modules are loaded, which stay to the end, as the tests do.

    So none of them looks at these later, and there are fewer than in a program that runs for days.
    """
    gc.disable()
    try:
        return (yield)
    finally:
        gc.freeze()
        gc.set_threshold(20_000, 20, 20)
        gc.enable()


#: Notes who asks the day, where this run is to (tests/asking.py).
ASKING = Asking()


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, bool | None, bool | None]:
    """What is asked meanwhile, this test asks."""
    with ASKING.by(Who(item.nodeid)):
        return (yield)


@pytest.hookimpl(wrapper=True)
def pytest_fixture_setup(fixturedef: FixtureDef[object], request: SubRequest) -> Generator[None, object, object]:
    """What a fixture of several tests asks, all of them ask."""
    if request.scope == "function":
        return (yield)
    with ASKING.by(Who(fixturedef.baseid, fixturedef.argname)):
        return (yield)


def pytest_sessionfinish(session: pytest.Session) -> None:
    """What was noted is written down."""
    if NOTE in os.environ and hasattr(session, "items"):
        kept(ASKING, session.items)


def _group(item: pytest.Item) -> str:
    names, parts = getattr(item, "fixturenames", ()), item.path.relative_to(Path(__file__).parent).parts
    if SHARING.intersection(parts):
        return "sharing"
    if word := next((word for word in ("corpus", "chromium") if word in names), ""):
        return word
    return "pages" if parts[0] == "ui" else ""


def pytest_configure(config: pytest.Config) -> None:
    """The same examples on each run, unless `--hypothesis-profile=random` asks for new ones.

    Hypothesis also tries numbers and texts that stand in the modules loaded so far. Which those are depends on which
    tests a process has run before, so they wait for the random run too.
    """
    from hypothesis import settings  # large: not before what is compiled is kept
    from hypothesis.internal.conjecture import providers

    # How long an example takes is the machine's matter; what speed there is to keep, the benchmarks measure.
    settings.register_profile("same", deadline=None, derandomize=True, database=None, max_examples=40)
    settings.register_profile("random", deadline=None, derandomize=False, max_examples=200, print_blob=True)
    if NOTE in os.environ:
        ASKING.watch()
        sys.addaudithook(ASKING.started)
    if config.option.markexpr in PARTS:
        os.environ[TIER] = config.option.markexpr
    if not config.getoption("--hypothesis-profile"):
        settings.load_profile("same")
        providers._get_local_constants = lambda: providers._local_constants
