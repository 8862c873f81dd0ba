"""What the program never does, what it lets in and out, what is in its package, and what it stands on."""

import ast
import csv
import re
import sys
import tarfile
import tomllib
import zipfile
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from packaging.markers import Marker
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from workbench.show import cells

from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.formula import Formula, Line, read_formula
from optiform.ingredients.ingredient import Ingredient
from optiform.reading.tables import csv_text, guarded, read_records, restored
from optiform.telling.page import page, paragraph, table
from tests.every import every
from tests.test_shape import text_of, tree_of

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
SOURCES = [path for folder in ("optiform", "ui") for path in sorted((ROOT / folder).rglob("*.py"))]


# -- what no module does -----------------------------------------------------------------------------------------------

CALLS = {"eval", "exec", "compile", "__import__", "breakpoint"}
MODULES = {"pickle", "cPickle", "marshal", "shelve", "dill", "cloudpickle", "joblib", "subprocess", "pty", "ctypes",
           "telnetlib", "ftplib", "smtplib", "socket", "urllib", "http", "requests", "httpx", "yaml",
           "xml", "code"}  # fmt: skip
METHODS = {"system", "popen", "spawnl", "execv", "execvp", "read_pickle", "to_pickle", "eval", "extractall", "mktemp"}
#: Compiled patterns are no code, and Streamlit's own server is what `optiform app` is.
ALLOWED = {("re", "compile")}
#: Writes `__init__` of a class from the names of its fields, as dataclasses does, of this source alone.
FROM_SOURCE = {"optiform/reading/frozen.py": ["calls exec"]}


def offences(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else [str(node.module)]
            yield from (f"imports {name}" for name in names if name.split(".")[0] in MODULES)
        if isinstance(node, ast.Call):
            yield from _calls(node)


def _calls(node: ast.Call) -> Iterator[str]:
    if isinstance(node.func, ast.Name) and node.func.id in CALLS:
        yield f"calls {node.func.id}"
    if isinstance(node.func, ast.Attribute):
        of = node.func.value.id if isinstance(node.func.value, ast.Name) else ""
        if (of, node.func.attr) not in ALLOWED and node.func.attr in METHODS | CALLS:
            yield f"calls {of}.{node.func.attr}"
    for keyword in node.keywords:
        if keyword.arg in ("shell", "allow_pickle", "unsafe_allow_html", "unsafe_allow_javascript"):
            yield f"passes {keyword.arg}"


@every("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_nothing_from_outside_can_become_code(path: Path) -> None:
    known = FROM_SOURCE.get(str(path.relative_to(ROOT)), [])
    assert list(offences(tree_of(path))) == known


@pytest.mark.parametrize(
    "line", ["import pickle", "from subprocess import run", "eval('1')", "run('ls', shell=True)", "os.system('ls')",
             "numpy.load(f, allow_pickle=True)", "import yaml", "pd.eval(x)", "st.markdown(x, unsafe_allow_html=True)"]
)  # fmt: skip
def test_the_check_would_see_it(line: str) -> None:
    assert list(offences(ast.parse(line))) != []


def test_statements_are_never_pieced_together_from_text() -> None:
    """SQL goes through SQLAlchemy's expressions; text() with an f-string would let a name speak SQL."""
    for path in SOURCES:
        for node in ast.walk(tree_of(path)) if "sqlalchemy" in text_of(path) else ():
            if isinstance(node, ast.Call) and ast.unparse(node.func) in ("text", "sqlalchemy.text", "sa.text"):
                assert not isinstance(node.args[0], ast.JoinedStr | ast.BinOp), path


# -- the workbench -----------------------------------------------------------------------------------------------------


def workbench_settings() -> dict[str, Any]:
    return tomllib.loads((ROOT / "ui" / ".streamlit" / "config.toml").read_text(encoding="utf-8"))


def test_the_workbench_listens_here_only_and_takes_small_files() -> None:
    config = workbench_settings()
    assert config["server"]["address"] == "127.0.0.1"
    assert config["server"]["maxUploadSize"] <= 5
    assert config["client"]["showErrorDetails"] == "none"
    assert config["server"].get("enableXsrfProtection", True)
    assert config["server"].get("enableCORS", True)
    assert not config["browser"]["gatherUsageStats"]
    assert not config["server"][
        "showEmailPrompt"
    ]  # the first run on a machine would wait for an answer in the terminal


def test_no_module_is_read_anew_below_a_session_that_goes_on() -> None:
    """An upgrade while the workbench runs would give its sessions classes that those at hand are none of."""
    config = workbench_settings()
    assert config["server"]["fileWatcherType"] == "none"


@pytest.mark.parametrize("ours", [True, False])
def test_nothing_large_is_sent_by_name_to_a_browser_that_may_have_let_go_of_it(ours: bool) -> None:
    """Runs that follow one another closely outrun what a browser said it holds: it then stopped with an error."""
    from streamlit import config
    from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
    from streamlit.runtime.forward_msg_cache import populate_hash_if_needed

    name = "global.minCachedMessageSize"
    table = workbench_settings()["global"]
    before = config.get_option(name)
    large = ForwardMsg()
    large.delta.new_element.markdown.body = "x" * 3_000_000
    try:
        config.set_option(name, table["minCachedMessageSize"] if ours else 10_000.0)
        populate_hash_if_needed(large)
    finally:
        config.set_option(name, before)
    assert large.metadata.cacheable != ours


# -- what goes out -----------------------------------------------------------------------------------------------------

RUN_BY_SPREADSHEETS = ["=x", "=1+1", "+1+1", "-2+3", "@SUM(A1)", "=cmd|' /C calc'!A0", "'=x", "''=x", "-5", "= x"]


@pytest.mark.parametrize("name", RUN_BY_SPREADSHEETS)
def test_a_formula_with_an_ingredient_that_a_spreadsheet_would_run_goes_out_and_comes_back(
    tmp_path: Path, name: str
) -> None:
    item = Ingredient(name, ("water",), "water phase")
    path = tmp_path / "f.csv"
    Formula("f", (Line(item, 1.0, "water phase"),)).save(path)
    with path.open(newline="") as file:
        cell = next(csv.DictReader(file))["ingredient"]
    assert cell.startswith("'")
    read = read_formula(path, Catalogue({name.casefold(): item}, {})).formula
    assert [line.ingredient.name for line in read.lines] == [name]


@pytest.mark.parametrize("name", RUN_BY_SPREADSHEETS)
def test_an_own_table_exported_by_the_workbench_comes_back(tmp_path: Path, name: str) -> None:
    frame = pd.DataFrame({"ingredient": [name], "phase": ["grains"], "functions": ["grain"], "slip": ["-5"]})
    path = tmp_path / "own.csv"
    path.write_text(csv_text(cells(frame)), encoding="utf-8")
    assert path.read_text().splitlines()[1].startswith("'")
    item = read_catalogue([path]).find(name)
    assert item is not None
    assert item.values["slip", None].figure == -5


def test_what_is_not_there_goes_out_as_an_empty_cell() -> None:
    assert csv_text(cells(pd.DataFrame({"a": [1.5, None], "b": ["x", None]}))) == "a,b\n1.5,x\n,\n"


def test_a_guard_is_taken_off_once_and_only_where_it_stands() -> None:
    for text in (*RUN_BY_SPREADSHEETS, "glycerin", "'s", "-", "", "o'clock"):
        assert restored(guarded(text)) == text


def test_every_file_the_program_writes_as_a_table_goes_through_the_guard() -> None:
    """Other ways to write CSV: csv.writer without the guard, and pandas' to_csv where it is not read at once."""
    found = []
    for path in SOURCES:
        text = path.read_text(encoding="utf-8")
        if path.name != "tables.py" and "csv.writer" in text and "guarded(" not in text:
            found.append(str(path))
        found += [str(path) for line in text.splitlines() if "to_csv(" in line and "loaded(" not in line]
    assert found == []


MARKUP = '<script>alert("1")</script>&<img src=x onerror=y>'


def test_printed_pages_show_markup_and_do_not_run_it() -> None:
    shown = page(MARKUP, paragraph(MARKUP), table([MARKUP], [[MARKUP]]))
    assert "<script" not in shown
    assert "<img" not in shown
    assert shown.count("&lt;script&gt;") == 5, "title, heading, paragraph, header and cell"


def test_html_is_made_in_one_place_which_escapes() -> None:
    tag = re.compile(r"</?(?:html|body|table|t[dhr]|h\d|p|div|span|ul|li|a|b|style)\b")
    makers = {
        path.relative_to(ROOT).as_posix()
        for path in SOURCES
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and tag.search(node.value)
    }
    # a style and a region of fixed words; a page of its own whose words pass through `text` (ui/test_living_sheet.py)
    also = {"ui/workbench/look.py", "ui/workbench/touch.py", "optiform/telling/living.py"}
    assert makers == {"optiform/telling/page.py", *also}


def test_a_cell_is_restored_wherever_a_table_is_read(tmp_path: Path) -> None:
    (tmp_path / "t.csv").write_text("name,note\n'=x,'@y\n")
    assert read_records(tmp_path / "t.csv")[0].cells == {"name": "=x", "note": "@y"}


# -- the package -------------------------------------------------------------------------------------------------------


def test_the_wheel_holds_the_program_its_pages_and_its_data_and_nothing_else(tmp_path: Path) -> None:
    from hatchling.builders.wheel import WheelBuilder

    (wheel,) = WheelBuilder(str(ROOT)).build(directory=str(tmp_path), versions=["standard"])
    names = zipfile.ZipFile(wheel).namelist()
    inside = {name.split("/")[0] for name in names}
    assert inside == {"optiform", f"optiform-{metadata.version('optiform')}.dist-info"}
    for needed in ("optiform/ui/app.py", "optiform/ui/.streamlit/config.toml", "optiform/ingredient_db/values.csv",
                   "optiform/demo/brief.toml", "optiform/cli.py", "optiform/py.typed"):  # fmt: skip
        assert needed in names
    assert len(names) == len(set(names)), "nothing twice"
    assert [name for name in names if _stray(name)] == []


def test_the_source_archive_holds_the_tests_too(tmp_path: Path) -> None:
    from hatchling.builders.sdist import SdistBuilder

    (archive,) = SdistBuilder(str(ROOT)).build(directory=str(tmp_path), versions=["standard"])
    with tarfile.open(archive) as opened:
        names = ["/".join(name.split("/")[1:]) for name in opened.getnames()]
    top = {name.split("/")[0] for name in names}
    assert top <= {"optiform", "ui", "ingredient_db", "tests", "README.md", "DEVELOPERS.md", "LICENSE",
                   "pyproject.toml", "PKG-INFO", ".gitignore"}  # fmt: skip
    assert "tests/test_security.py" in names
    assert [name for name in names if "__pycache__" in name or name.endswith((".pyc", ".sqlite", ".db"))] == []


def _stray(name: str) -> bool:
    return bool(re.search(r"__pycache__|\.pyc$|(^|/)tests?/|test_|\.sqlite|\.db$|\.env|\.git|\.lock$|\.orig$", name))


# -- what it stands on -------------------------------------------------------------------------------------------------

#: Free licences that ask for no more than a notice, or (the last line) for their own files to stay free. None of them
#: reaches over to a program that only imports the package.
LICENCES = (
    "MIT", "MIT License", "MIT-CMU", "BSD", "BSD License", "BSD-2-Clause", "BSD-3-Clause", "BSD 3-Clause License",
    "3-Clause BSD License", "0BSD", "Apache-2.0", "Apache 2.0", "Apache License 2.0", "Apache Software License",
    "PSF-2.0", "Python Software Foundation License", "Zlib", "CC0-1.0", "ISC",
    "MPL-2.0", "Mozilla Public License 2.0 (MPL 2.0)", "LGPL-3.0-only",
)  # fmt: skip


def dependencies() -> dict[str, str]:
    """Every package that the program and its tests need here, at any remove, with its licence."""
    found: dict[str, str] = {}
    waiting = [Requirement(line) for line in PROJECT["dependencies"]]
    waiting += [Requirement(line) for extra in PROJECT["optional-dependencies"].values() for line in extra]
    while waiting:
        asked = waiting.pop()
        name = canonicalize_name(asked.name)
        if name in found:
            continue
        package = metadata.distribution(name)
        found[name] = licence(package.metadata)
        for line in package.requires or []:
            more = Requirement(line)
            if _wanted(more.marker, asked.extras):
                waiting.append(more)
    return found


def _wanted(marker: Marker | None, extras: set[str]) -> bool:
    return marker is None or any(marker.evaluate({"extra": extra}) for extra in ("", *extras))


def licence(package: metadata.PackageMetadata) -> str:
    """The licence as the package's own metadata states it: expression, classifier or first line of the field."""
    if "License-Expression" in package:
        return str(package["License-Expression"])
    classifiers = [line.split("::")[-1].strip() for line in package.get_all("Classifier") or [] if "License ::" in line]
    return (
        classifiers[0]
        if classifiers
        else [*(str(package["License"]) if "License" in package else "").splitlines(), "not stated"][0]
    )


def test_every_dependency_has_a_licence_that_is_allowed() -> None:
    found = dependencies()
    assert {"pulp", "streamlit", "pytest", "pyarrow", "psycopg-binary"} <= set(found), "the walk reaches all kinds"
    other = {
        name: words
        for name, words in found.items()
        if not all(part in LICENCES for part in re.split(r" (?:AND|OR) ", words))
    }
    assert other == {}


def test_the_guide_lists_the_licence_of_every_dependency() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = guide.split("### Licences", 1)[1].split("\n## ", 1)[0]
    listed = {
        name
        for line in section.splitlines()
        if line.startswith("| ")
        for name in re.findall(r"[\w-]+", line.split("|")[2])
    }
    assert set(dependencies()) - listed == set()


CONSTRAINTS = ROOT / ".ci" / "constraints.txt"


@pytest.mark.skipif(not CONSTRAINTS.exists(), reason="an installed source archive has no CI")
def test_ci_installs_exact_versions_that_lie_in_the_ranges_of_users() -> None:
    lines = [line for line in CONSTRAINTS.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    pinned = {canonicalize_name(name): version for name, version in (line.split("==") for line in lines)}
    assert not [line for line in lines if "/" in line or "@" in line], "no addresses"
    asked = [Requirement(line) for line in PROJECT["dependencies"] + PROJECT["optional-dependencies"]["test"]]
    for requirement in asked:
        assert requirement.specifier.contains(pinned[canonicalize_name(requirement.name)]), requirement
    assert set(dependencies()) <= set(pinned)


def test_the_ranges_leave_users_room() -> None:
    for line in PROJECT["dependencies"]:
        assert all(part.operator in (">=", "<", "!=") for part in Requirement(line).specifier), line
    assert sys.version_info >= (3, 11)
    assert PROJECT["requires-python"] == ">=3.11"
