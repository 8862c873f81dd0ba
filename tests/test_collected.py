"""Processes side by side load the tests from places apart, and run them in the order of one process alone."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
MODULE = """
import os
from pathlib import Path

with Path("loaded " + os.environ.get("PYTEST_XDIST_WORKER", "alone")).open("a") as file:
    print(Path(__file__).parent.name, file=file)

def test_b(): pass
def test_a(): pass
"""
ORDER = """
import os
from pathlib import Path

def pytest_collection_finish(session):
    names = [item.nodeid for item in session.items]
    Path("order " + os.environ.get("PYTEST_XDIST_WORKER", "alone")).write_text(repr(names))
"""
FOLDERS = ["batch", "journeys", "rules"]


def loaded(folder: Path, process: str) -> list[str]:
    """The folders of the modules that a process has loaded, the first one first."""
    return (folder / f"loaded {process}").read_text().split()


def order(folder: Path, process: str) -> str:
    return (folder / f"order {process}").read_text()


@pytest.mark.long
def test_three_processes_begin_apart_and_have_the_order_of_one(tmp_path: Path) -> None:
    for name in FOLDERS:
        (tmp_path / name).mkdir()
        (tmp_path / name / "test_it.py").write_text(MODULE)
    (tmp_path / "order.py").write_text(ORDER)
    (tmp_path / "conftest.py").write_text((TESTS / "conftest.py").read_text(encoding="utf-8"))
    line = [sys.executable, "-m", "pytest", "-q", "-p", "order", "-p", "no:cacheprovider", "--import-mode=importlib"]
    place = os.environ | {"PYTHONPATH": os.pathsep.join([str(TESTS.parent), str(tmp_path)])}
    for variable in ("PYTEST_XDIST_WORKER", "PYTEST_XDIST_WORKER_COUNT"):
        place.pop(variable, None)
    for processes in ("0", "3"):
        subprocess.run([*line, "-n", processes], cwd=tmp_path, env=place, check=True, capture_output=True)
    assert loaded(tmp_path, "alone") == FOLDERS
    assert [loaded(tmp_path, f"gw{at}") for at in range(3)] == [FOLDERS[at:] + FOLDERS[:at] for at in range(3)]
    assert "journeys/test_it.py::test_b" in order(tmp_path, "alone")
    assert {order(tmp_path, f"gw{at}") for at in range(3)} == {order(tmp_path, "alone")}
