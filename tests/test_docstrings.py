"""Every example in a docstring is run, and gives what stands below it."""

import ast
import doctest
import importlib
from collections.abc import Callable

import pytest

import optiform as of
from tests.test_shape import MODULES

SHOWN = sorted(name for name, path in MODULES.items() if ">>> " in path.read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", SHOWN)
def test_the_examples_of_a_module_give_what_they_show(name: str) -> None:
    written = sum(line.lstrip().startswith(">>> ") for line in MODULES[name].read_text(encoding="utf-8").splitlines())
    told: list[str] = []
    runner = doctest.DocTestRunner()
    for example in doctest.DocTestFinder(exclude_empty=True).find(importlib.import_module(name)):
        runner.run(example, out=told.append)
    assert "".join(told) == ""
    assert runner.summarize(verbose=False).attempted == written, "an example stands where none is looked for"


def test_examples_are_there_to_be_run() -> None:
    assert len(SHOWN) >= 10


SLOW = {f"optiform.face.{name}" for name in ("designing.why_not", "making.buy", "making.cliffs", "making.range_design")}
OPEN = {"optiform.face.sources.workshop"}  # a database, which an example would leave open


def test_every_verb_of_the_face_shows_a_worked_example() -> None:
    verbs = [getattr(of, name) for name in of.__all__ if callable(getattr(of, name)) and name.islower()]
    bare = {f"{verb.__module__}.{verb.__name__}" for verb in map(verb_of, verbs) if ">>> " not in str(verb.__doc__)}
    assert bare == SLOW | OPEN


def verb_of(verb: Callable[..., object]) -> Callable[..., object]:
    """The function itself, of a folder that is called by its name."""
    return getattr(verb, "_verb", verb)


def test_every_public_function_of_the_models_and_the_rules_shows_a_worked_example() -> None:
    bare = [
        f"{name}.{node.name}"
        for name, path in MODULES.items()
        if name.split(".")[1] in ("properties", "rules")
        for node in ast.parse(path.read_text(encoding="utf-8")).body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
        and ">>> " not in str(ast.get_docstring(node))
    ]  # fmt: skip
    assert bare == []
