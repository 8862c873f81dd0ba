"""No page sends a maker to a command: what a telling, a message or a fault says of one, it says in its own words."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from workbench.wording import ON_PAGE, on_page

from optiform.workshop.check import LISTS

PACKAGE = Path(__file__).parents[2] / "optiform"
COMMAND = re.compile(r"`optiform |\(own: optiform |(?<![\w-])--[a-z]")
#: Where no page takes a sentence from: commands and what only they print, what is read in files, and its schemas.
ELSEWHERE = (
    "cli.py", "commands/", "face/", "telling/steps.py", "telling/json/", "telling/terminal.py", "telling/rules.py",
    "telling/parts.py", "reading/output.py", "reading/faces.py", "brief/new.py",
)  # fmt: skip
#: Sentences of a module that has others, which no page shows.
NEVER_ON_A_PAGE = {
    "telling/trial.py": ("`optiform trial log",),  # a page says itself that nothing is logged
    "telling/stock.py": ("`optiform stock receive", "`optiform stock save", "--actual", "--records"),
    "costs/plan.py": ("optiform range --use-up",),  # of a schema
    "workshop/engine.py": ("--records",),  # the place of the records, with which the workbench is begun
    "workshop/store.py": ("--records",),
    "telling/compare.py": ("--part shares",),  # on paper
    "telling/range.py": ("--write", "--html"), "telling/texture.py": ("--option", "--write", "--step", "--html"),
    "telling/substitute.py": ("--part option-2", "--option", "--html"),
    "telling/cheaper.py": ("--part option-", "--option", "--html"),
    "telling/explore.py": ("--protect", "--chart", "--part leeway", "--html"), "telling/begin.py": ("--brief",),
    "batch/keeping.py": (  # within a sentence, which is told on a page without it
        "optiform stock receive", "optiform stock correct", "--product", "--name", "--parent", "--reason",
    ),
}  # fmt: skip
#: Texts that are put together, as a reader meets them.
LISTED = [("workshop/check.py", f"`optiform {place}` lists them") for place in LISTS.values()]


def literals(tree: ast.AST) -> Iterator[str]:
    """Texts of a module, what is put into them as a word; no docstrings."""
    inner = {id(part) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for part in ast.walk(node)}
    said = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.FunctionDef | ast.ClassDef) and isinstance(node.body[0], ast.Expr)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            yield "".join(str(part.value) if isinstance(part, ast.Constant) else "word" for part in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in inner | said:
            yield node.value


@cache
def everywhere() -> tuple[tuple[str, str], ...]:
    """Every text of the package, with the module it stands in."""
    return tuple(_everywhere())


def _everywhere() -> Iterator[tuple[str, str]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        yield from ((name, text) for text in literals(ast.parse(path.read_text(encoding="utf-8"))))
    yield from LISTED


def can_be_shown(name: str, text: str) -> bool:
    """Whether a text that names a command may come to a page."""
    never = NEVER_ON_A_PAGE.get(name, ())
    return not name.startswith(ELSEWHERE) and "`optiform word`" not in text and not any(x in text for x in never)


def test_no_sentence_that_a_page_can_show_names_a_command() -> None:
    texts = {(name, text) for name, text in everywhere() if COMMAND.search(text) and can_be_shown(name, text)}
    assert len(texts) > 10
    assert [(name, on_page(text)) for name, text in sorted(texts) if COMMAND.search(on_page(text))] == []


def test_every_wording_of_a_page_is_of_a_sentence_that_there_is() -> None:
    texts = [text for _, text in everywhere()]
    assert [pattern.pattern for pattern in ON_PAGE if not any(pattern.search(text) for text in texts)] == []


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("If nothing is left: `optiform stock correct L1 '0 g' --reason 'as weighed'`.",
         "If nothing is left: put it right on the Stock page, under “A lot was weighed again”."),
        ("Save a lot that has them, on Stock or with `optiform stock receive glycerin '5 g'`.",
         "Save a lot that has them, on Stock."),
        ("Or look for its name: optiform ingredients --resolve 'moon dust'.",
         "Or look for its name on the Ingredients page."),
        ("2 forecasts are sealed in the records. `optiform trial show` sets them beside what you read",
         "2 forecasts are sealed in the records. Log sets them beside what you read"),
    ],
)  # fmt: skip
def test_what_a_command_does_is_done_on_a_page(asked: str, said: str) -> None:
    assert on_page(asked) == said
