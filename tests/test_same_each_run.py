"""Two runs of the README's test line try the same examples on the same day; new ones come in a run of their own."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from optiform.reading import clock
from optiform.reading.clock import CLOCK_VARIABLE

TESTS = Path(__file__).parent
DRAWN = """
from hypothesis import given, strategies

@given(strategies.text(), strategies.integers())
def test_drawn(text, number):
    with open("drawn", "a") as file:
        print(ascii(text), number, file=file)
"""
#: Loaded before the test, as another test of the same process might have.
ELSE = "WORDS = [" + ", ".join(f"'butter {number}', {number}" for number in range(70_000, 70_400)) + "]"


def drawn(folder: Path, *options: str) -> str:
    """What a test draws under this suite's conftest."""
    (folder / "test_drawn.py").write_text(DRAWN)
    (folder / "conftest.py").write_text((TESTS / "conftest.py").read_text(encoding="utf-8"))
    (folder / "drawn").unlink(missing_ok=True)
    line = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "test_drawn.py", *options]
    place = os.environ | {"PYTHONPATH": str(TESTS.parent)}
    subprocess.run(line, cwd=folder, env=place, check=True, capture_output=True)
    return (folder / "drawn").read_text()


@pytest.mark.long
def test_the_same_examples_are_tried_each_time_and_new_ones_where_they_are_asked_for(tmp_path: Path) -> None:
    assert drawn(tmp_path) == drawn(tmp_path)
    new = "--hypothesis-profile=random"
    assert drawn(tmp_path, new) != drawn(tmp_path, new)


@pytest.mark.long
def test_what_else_a_process_has_loaded_changes_no_example(tmp_path: Path) -> None:
    alone = drawn(tmp_path)
    (tmp_path / "other.py").write_text(ELSE)
    assert drawn(tmp_path, "-p", "other") == alone


def test_no_test_draws_numbers_without_a_seed() -> None:
    bare = re.compile(r"default_rng\(\)|Random\(\)|\brandom\.(?:random|uniform|choice|shuffle|randint|sample)\(")
    files = {path.relative_to(TESTS): path.read_text(encoding="utf-8") for path in TESTS.rglob("*.py")}
    assert [str(name) for name, text in files.items() if bare.search(text)] == []
    assert bare.search("np.random.default_rng" + "()")


def test_the_clock_stands_still_on_the_day_of_the_run() -> None:
    assert os.environ[CLOCK_VARIABLE]
    assert clock.now() == clock.now()
