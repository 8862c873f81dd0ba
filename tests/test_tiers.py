"""Each test is in the reach of one tier, and of a sweep each tier tries its part: nothing is in none."""

import ast
import tomllib
from pathlib import Path

import pytest

from tests.conftest import FOUND
from tests.sweeps import PARTS, cases, enough, sweep, tier

TESTS = Path(__file__).parent
TIERS = {"long", "exhaustive", "pixels"}
#: What says something else in another tier.
OF_THE_TIER = {"sweep", "enough", "tier", "is_long", "is_whole"}


def test_a_test_is_of_one_tier(request: pytest.FixtureRequest) -> None:
    """Of those that this run has found, before its own tier was chosen; a run of all tests looks at all."""
    found = request.config.stash[FOUND]
    assert len(found) > 1
    assert {name: marks for name, marks in found.items() if len(marks & TIERS) > 1} == {}


def test_a_test_that_is_not_marked_for_a_tier_is_of_the_readmes_line() -> None:
    with (TESTS.parent / "pyproject.toml").open("rb") as file:
        options = tomllib.load(file)["tool"]["pytest"]["ini_options"]
    assert {line.split(":")[0] for line in options["markers"]} >= TIERS
    chosen = options["addopts"].split("-m ")[1].strip("'")
    assert {word.removeprefix("not ") for word in chosen.split(" and ")} == TIERS
    assert set(PARTS) - {""} == TIERS - {"pixels"}
    assert "-m long" in (TESTS.parent / ".ci" / "run").read_text(encoding="utf-8")


def test_seeds_go_to_the_three_tiers_and_none_is_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    tried = []
    for name in PARTS:
        monkeypatch.setattr("tests.sweeps.tier", lambda name=name: name)
        tried.append((sweep(range(40)), sweep(range(1)), enough(40)))
    one = range(1)
    assert tried == [(range(5), one, 2), (range(5, 15), one, 5), (range(40), one, 40)]
    made = cases(range(7), 2)
    of = [case if isinstance(case, int) else (next(iter(case.marks)).name, case.values) for case in made]
    assert of == [0, 1, ("long", (2,)), ("long", (3,)), *(("exhaustive", (seed,)) for seed in (4, 5, 6))]


def test_who_asks_for_a_part_is_tried_in_every_tier() -> None:
    """Else the seeds beyond the README's part would be in no tier."""
    files = sorted(set(TESTS.rglob("test_*.py")) - {Path(__file__)})
    assert [f"{path.relative_to(TESTS)}: {name}" for path in files for name in unswept(path)] == []
    assert test_seeds_go_to_the_three_tiers_and_none_is_lost.__name__ in unswept(Path(__file__)), "one is seen"


def unswept(path: Path) -> list[str]:
    """The tests of a module that ask, also by others of its functions, for a tier's part and are not marked `sweep`."""
    text = path.read_text(encoding="utf-8")
    body = ast.parse(text).body if "tests.sweeps" in text else []
    imports = [node for node in body if isinstance(node, ast.ImportFrom) and node.module == "tests.sweeps"]
    asking = OF_THE_TIER & {alias.name for node in imports for alias in node.names}
    bodies = {name: node for node in body for name in bound(node)}
    while more := {name for name, node in bodies.items() if names(node) & asking} - asking:
        asking |= more
    if "pytestmark" in bodies and "sweep" in ast.unparse(bodies["pytestmark"]):
        return []
    tests = {name: node for name, node in bodies.items() if name.startswith("test_") and name in asking}
    return [name for name, node in tests.items() if not marks(node) & {"sweep", "exhaustive"}]


def bound(node: ast.stmt) -> list[str]:
    """The names that a statement of a module binds, imports aside."""
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        return [node.name]
    return [name.id for name in ast.walk(node) if isinstance(name, ast.Name) and isinstance(name.ctx, ast.Store)]


def names(node: ast.stmt) -> set[str]:
    """What a statement names, the arguments of a function too, as these are fixtures."""
    used = {name.id for name in ast.walk(node) if isinstance(name, ast.Name)}
    return used | ({each.arg for each in node.args.args} if isinstance(node, ast.FunctionDef) else set())


def marks(node: ast.stmt) -> set[str]:
    """Its marks of a tier or of all, but for those of single parameters."""
    lines = [ast.unparse(line) for line in node.decorator_list] if isinstance(node, ast.FunctionDef) else []
    return {word for word in (*TIERS, "sweep") if f"pytest.mark.{word}" in lines}


def test_the_tier_of_this_run_is_known() -> None:
    assert tier() in PARTS
