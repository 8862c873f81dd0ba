"""Every test of the store runs on a file and on a server.

On a server those of test_store.py and test_killed.py run in the README's line, the others in the long tier.
"""

import os
from collections.abc import Iterator
from itertools import count
from pathlib import Path

import pytest

from optiform.workshop.store import Workshop
from tests.workshop.server import programs, running

_NUMBERS = count(1)


SERVED = {"test_store.py", "test_killed.py"}


@pytest.hookimpl(tryfirst=True)  # before the tier is chosen
def pytest_itemcollected(item: pytest.Item) -> None:
    """What other tests ask of a server is of the long tier."""
    spec = getattr(item, "callspec", None)
    asked = [*getattr(item, "fixturenames", ()), *(spec.params.values() if spec else ())]
    if "server" in asked and item.path.name not in SERVED:
        item.add_marker("long")


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """The address of a PostgreSQL server; its absence is a fault where every change is checked."""
    found = programs()
    if found is None:
        reason = "no PostgreSQL server is installed: initdb and pg_ctl are not found"
        if os.environ.get("CI") == "true":
            pytest.fail(reason)
        pytest.skip(reason)
    with running(found) as address:
        yield address


@pytest.fixture
def database(server: str) -> str:
    """The address of a schema of its own on the server, with nothing in it."""
    import psycopg

    name = f"workshop_{next(_NUMBERS)}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE SCHEMA {name}".encode())
    return f"{server}&options=-csearch_path%3D{name}"


@pytest.fixture(params=["file", "server"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Where a workshop can be made: a folder that is not there yet, or an empty schema."""
    if request.param == "file":
        return str(tmp_path / "shop")
    address: str = request.getfixturevalue("database")
    return address


@pytest.fixture
def workshop(place: str) -> Iterator[Workshop]:
    """A new workshop."""
    with Workshop.open(place) as opened:
        yield opened
