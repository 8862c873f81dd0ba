"""A run notes which tests ask the day, so that runs on other days take those and no others."""

import sys
from pathlib import Path

import pytest

from optiform.commands.common import scope
from optiform.reading import clock
from tests.asking import ASKS, NOTED, Asking, Who, chosen

HERE = Path(__file__).relative_to(Path(__file__).parent.parent).as_posix()


@pytest.fixture
def asking(monkeypatch: pytest.MonkeyPatch) -> Asking:
    """What is asked from here on."""
    monkeypatch.setattr(clock, "_moment", clock._moment)
    noted = Asking()
    noted.watch()
    return noted


def test_a_test_asks_by_itself_and_by_what_it_stands_on(asking: Asking, request: pytest.FixtureRequest) -> None:
    me = request.node
    clock.today()  # as if this module asked while it is loaded
    assert asking.of(me) == {"day"}
    assert asking.asked == {Who(HERE): {"day"}}
    asking.asked.clear()
    for who, mine in (
        (Who(me.nodeid), True),
        (Who(HERE, "asking"), True),
        (Who("tests", "tmp_path"), False),
        (Who("tests/ui", "asking"), False),
        (Who(f"{HERE}::another"), False),
    ):
        with asking.by(who):
            clock.now()
        assert asking.of(me) == ({"day"} if mine else set()), who
        asking.asked.clear()


def test_the_day_whose_law_counts_is_another_question(asking: Asking, request: pytest.FixtureRequest) -> None:
    from argparse import Namespace

    with asking.by(Who(request.node.nodeid)):
        scope(Namespace(use="rinse-off", area="body", market=[], date=None))
    assert asking.of(request.node) == {"law"}


def test_a_program_that_is_started_may_ask_anything(asking: Asking, request: pytest.FixtureRequest) -> None:
    with asking.by(Who(request.node.nodeid)):
        asking.started("subprocess.Popen", ("/usr/bin/initdb", ["initdb"], None, None))
        assert asking.of(request.node) == set()
        asking.started("subprocess.Popen", (sys.executable, [sys.executable, "-m", "optiform"], None, None))
        assert asking.of(request.node) == {"day"}


def test_on_another_day_those_run_that_asked(
    tmp_path: Path, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    items = [item for item in request.session.items if item.path == Path(__file__)]
    first, second, *_ = (item.nodeid for item in items)
    noted = tmp_path / "noted"
    noted.write_text(f"law\t{first}\nday\t{second}\n")
    monkeypatch.delenv(NOTED, raising=False)
    assert chosen(items) == items
    monkeypatch.setenv(NOTED, str(noted))
    assert [item.nodeid for item in chosen(items)] == [first, second]
    monkeypatch.setenv(ASKS, "day")
    assert [item.nodeid for item in chosen(items)] == [second]
