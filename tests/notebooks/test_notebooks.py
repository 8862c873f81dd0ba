"""Every notebook runs from top to bottom, and what its cells end with can be shown."""

import ast
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from optiform.reading.paths import DEMO
from tests.answers import shared_by_pages


@pytest.fixture(autouse=True)
def shared() -> Iterator[None]:
    """The session and its notebook ask the same."""
    with shared_by_pages():
        yield


NOTEBOOKS = sorted(Path(__file__).parent.glob("*.ipynb"))
WHERE_TAKEN = "of.demo() needs no file"


def cells(path: Path) -> list[str]:
    """The code of a notebook, cell by cell."""
    notebook = json.loads(path.read_text(encoding="utf-8"))
    return ["".join(cell["source"]) for cell in notebook["cells"] if cell["cell_type"] == "code"]


def run(code: str, names: dict[str, Any]) -> object:
    """Run a cell as a notebook does: what its last line is worth, if that is an expression."""
    tree = ast.parse(code)
    last = tree.body.pop() if isinstance(tree.body[-1], ast.Expr) else None
    exec(compile(tree, "cell", "exec"), names)
    return eval(compile(ast.Expression(last.value), "cell", "eval"), names) if isinstance(last, ast.Expr) else None


def shown(value: object) -> str:
    """What a notebook shows of it: HTML where it has any, the grammar of a chart, or its repr."""
    if hasattr(value, "_repr_html_") and (page := value._repr_html_()):
        return str(page)
    return str(value.to_dict()) if hasattr(value, "to_dict") else repr(value)


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_a_notebook_runs_and_shows_its_answers(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for source in DEMO.iterdir():
        if source.is_file():
            (tmp_path / source.name).write_bytes(source.read_bytes())
    monkeypatch.chdir(tmp_path)
    names: dict[str, Any] = {}
    seen = [shown(value) for code in cells(path) if (value := run(code, names)) is not None]
    assert len(seen) >= 10
    assert all(len(text) > 3 for text in seen)
    assert "oil phase" in capsys.readouterr().out
    assert (tmp_path / "sheet.html").is_file()


def test_the_session_of_the_face_is_a_notebook() -> None:
    assert [path.name for path in NOTEBOOKS] == ["session.ipynb"]
    assert WHERE_TAKEN in cells(NOTEBOOKS[0])[0]


def test_no_notebook_carries_outputs_of_a_run_that_nobody_checks() -> None:
    for path in NOTEBOOKS:
        notebook = json.loads(path.read_text(encoding="utf-8"))
        assert not any(cell.get("outputs") for cell in notebook["cells"])
