"""A workshop's records are made for their owner only: the database, what SQLite keeps beside it, and every copy."""

import os
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest

from optiform.workshop.records import Movement
from optiform.workshop.store import Workshop
from tests.workshop.samples import CAME, LOT
from tests.workshop.test_migrations import make_1

pytestmark = pytest.mark.skipif(os.name == "nt", reason="rights are told otherwise there")


@pytest.fixture(autouse=True)
def open_to_all() -> Iterator[None]:
    """The widest rights that new files can get."""
    before = os.umask(0)
    yield
    os.umask(before)


def rights(folder: Path) -> dict[str, str]:
    return {path.name: oct(stat.S_IMODE(path.stat().st_mode)) for path in folder.iterdir()}


def test_a_new_workshop_and_what_sqlite_keeps_beside_it(tmp_path: Path) -> None:
    with Workshop.open(tmp_path / "shop") as workshop:
        workshop.add(LOT, CAME)
        with workshop._reading() as connection:
            connection.exec_driver_sql("SELECT * FROM lots").all()
            beside = rights(tmp_path / "shop")
    assert set(beside) == {"records.db", "records.db-wal", "records.db-shm"}
    assert set(beside.values()) == {"0o600"}


def test_one_that_is_made_with_its_first_record(tmp_path: Path) -> None:
    with Workshop.open(tmp_path, late=True) as workshop:
        assert rights(tmp_path) == {}
        workshop.add(LOT, CAME)
        assert workshop.read(Movement) == (CAME,)
    assert set(rights(tmp_path).values()) == {"0o600"}


def test_the_copy_before_a_migration(tmp_path: Path) -> None:
    place = tmp_path / "shop"
    make_1(str(place))
    Workshop.open(place).close()
    copies = {name: mode for name, mode in rights(place / "copies").items() if "schema-1" in name}
    assert len(copies) == 1
    assert set(copies.values()) == {"0o600"}
