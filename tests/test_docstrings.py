"""Every example in a docstring is run, and gives what stands below it."""

import ast
import doctest
import importlib
import re
from collections import Counter
from collections.abc import Callable

import pytest

import optiform as of
from optiform.reading.tables import shipped
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


FOLDERS = ("properties", "rules")
NUMBER = r"-?\d+(?:\.\d+)?"
SOURCE = re.compile(r"^Source: (.+(?:\n    .+)*)", re.MULTILINE)
#: Why a function has no published figure, in the words of its docstring, and how many there are of each.
WITHOUT = {
    "none: bookkeeping, exact.": 23,
    "none: words and yes or no, of tables whose rows have their sources.": 36,
    "none: custom of the trade.": 16,
    "none: the model's own.": 6,
    "none: the figures are the maker's own.": 3,
}


def models_and_rules() -> dict[str, str]:
    """Docstring of every public function of both folders, by module and name."""
    return {
        f"{name}.{node.name}": str(ast.get_docstring(node))
        for name, path in MODULES.items()
        if name.split(".")[1] in FOLDERS
        for node in ast.parse(path.read_text(encoding="utf-8")).body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
    }


def source_of(docstring: str) -> str:
    said = SOURCE.search(docstring)
    return re.sub(r"\s+", " ", said[1]) if said else ""


SOURCES = {name: source_of(docstring) for name, docstring in models_and_rules().items()}
PUBLISHED = {name: source for name, source in SOURCES.items() if not source.startswith("none: ")}


def test_every_public_function_of_the_models_and_the_rules_shows_a_worked_example() -> None:
    assert [name for name, docstring in models_and_rules().items() if ">>> " not in docstring] == []


def test_every_one_names_the_source_of_a_figure_or_why_there_is_none() -> None:
    assert [name for name, source in SOURCES.items() if not source] == []
    assert Counter(source for source in SOURCES.values() if source.startswith("none: ")) == WITHOUT


def test_the_figure_of_the_source_is_what_the_example_gives() -> None:
    """To the digits that the example shows, or within the range that was published."""
    said = models_and_rules()
    assert [name for name, source in PUBLISHED.items() if not agree(source, said[name])] == []
    assert len(PUBLISHED) > 70


def agree(source: str, docstring: str) -> bool:
    _, _, figures = source.partition(": ")
    given = [figure for example in doctest.DocTestParser().get_examples(docstring) for figure in numbers(example.want)]
    spans = [(float(low), float(high)) for low, high in re.findall(rf"({NUMBER}) to ({NUMBER})", figures)]
    return any(
        any(low <= float(figure) <= high for low, high in spans)
        or any(rounded(printed, figure) for printed in numbers(figures))
        for figure in given
    )


def numbers(text: str) -> list[str]:
    return re.findall(rf"(?<![\w.-]){NUMBER}(?![\w-])", text)


def rounded(printed: str, figure: str) -> bool:
    """Whether a figure is what was printed, at the decimals that it has itself."""
    return round(float(printed), len(figure.partition(".")[2])) == float(figure)


def test_a_figure_that_was_not_published_is_seen() -> None:
    good = "One.\n\n>>> 2.0 * 3\n6.0\n"
    assert agree("a book: 6.01 of it", good)
    assert agree("a book: 5 to 7", good)
    assert not agree("a book of 6 pages: 6.1", good)
    assert not agree("a book: 7 to 8", good)


def test_sources_that_are_named_by_their_id_are_those_of_the_tables() -> None:
    known = {row["id"] for row in shipped("sources")}
    ids = {id for source in PUBLISHED.values() for id in re.findall(r"\b[A-Z]{1,2}-[A-Z][A-Z0-9-]*\b", source)}
    assert len(ids) > 25
    assert ids - known == set()
