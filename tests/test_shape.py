"""The shape of the project itself: who imports whom, who may know a solver, what every file must have."""

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from optiform.cli import main

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "optiform"

#: From the bottom up. A module may import from its own layer and from the layers below.
LAYERS = (
    ("reading",),
    ("ingredients",),
    ("properties",),
    ("rules",),
    ("brief",),
    ("program",),
    ("workshop",),
    ("review",),
    ("label",),
    ("batch",),
    ("design", "costs", "trials"),
    ("telling",),
    ("commands", "face"),
    ("cli",),
    ("__main__",),
)
LEVEL = {name: level for level, names in enumerate(LAYERS) for name in names}


@cache
def text_of(path: Path) -> str:
    return path.read_text(encoding="utf-8")


@cache
def tree_of(path: Path) -> ast.Module:
    """A file as Python reads it, read once for all that is asked of it."""
    return ast.parse(text_of(path))


def modules() -> dict[str, Path]:
    """Every module of the package by dotted name, without the package's own `__init__`."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(ROOT).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    del found["optiform"]
    return found


MODULES = modules()


@cache
def imported(path: Path) -> set[str]:
    """Every name a file imports, lazily or not, also for types only; `from a import b` gives `a` and `a.b`."""
    found: set[str] = set()
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}: a relative import hides its layer"
            found |= {str(node.module)} | {f"{node.module}.{alias.name}" for alias in node.names}
    return found


@cache
def arrows() -> dict[str, set[str]]:
    """Module to the modules of the package that it imports."""
    return {name: (imported(path) & set(MODULES)) - {name} for name, path in MODULES.items()}


def layer(module: str) -> str:
    return module.split(".")[1]


def test_the_arrows_are_read_at_all() -> None:
    assert "optiform.ingredients.formula" in arrows()["optiform.properties.base"]
    assert sum(map(len, arrows().values())) > 50


def test_every_module_stands_in_a_layer() -> None:
    assert {layer(name) for name in MODULES} - set(LEVEL) == set()


def test_arrows_point_down_only() -> None:
    upward = [
        f"{name} imports {other}"
        for name, others in arrows().items()
        for other in others
        if LEVEL[layer(other)] > LEVEL[layer(name)]
    ]
    assert upward == []


def test_text_and_json_do_not_lean_on_each_other() -> None:
    """They are two ways to say one answer; what both say in the same words stands in modules of its own."""
    plain = {name for name in arrows() if name.startswith("optiform.telling.json")}
    words = {name: arrows()[name] - plain for name in arrows() if layer(name) == "telling"}
    assert len(plain) > 10
    assert {name for name, others in words.items() if name not in plain and arrows()[name] & plain} == set()
    assert {other for name in plain for other in words[name] if layer(other) == "telling"} == {
        f"optiform.telling.{name}"
        for name in (
            "costed",
            "doses",
            "drafted",
            "explained",
            "facts",
            "method",
            "noted",
            "tried",
            "unsure",
            "watch",
            "worked",
        )
    }


def test_the_root_of_the_package_is_its_face_and_its_command_line() -> None:
    assert {name for name in MODULES if name.count(".") == 1 and MODULES[name].name != "__init__.py"} == {
        "optiform.__main__",
        "optiform.cli",
    }


def test_a_file_is_read_at_one_sitting() -> None:
    files = [*MODULES.values(), *(ROOT / "ui").rglob("*.py")]
    lengths = {path.relative_to(ROOT): len(path.read_text(encoding="utf-8").splitlines()) for path in files}
    assert {path: length for path, length in lengths.items() if length > 400} == {}


def body(function: ast.FunctionDef) -> int:
    """The lines of a function below its docstring."""
    first = function.body[0]
    said = isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant) and isinstance(first.value.value, str)
    own = function.body[1:] if said else function.body
    return int(own[-1].end_lineno or 0) - own[0].lineno + 1 if own else 0


def test_a_function_is_taken_in_at_one_look() -> None:
    files = [*MODULES.values(), *(ROOT / "ui").rglob("*.py")]
    bodies = sorted(body(node) for path in files for node in functions(path))
    assert len(bodies) > 2000
    assert bodies[len(bodies) // 2] <= 5
    assert bodies[int(0.95 * len(bodies))] <= 20
    assert bodies[-1] < 50


def test_names_say_the_thing() -> None:
    """`found` is what a search did, not what it gave: in fewer than 30 functions; and Any on fewer than 40 lines."""
    files = [*MODULES.values(), *(ROOT / "ui").rglob("*.py")]
    assert sum("found" in bound(function) for path in files for function in functions(path)) < 30
    assert sum(bool(re.search(r"\bAny\b", line)) for path in files for line in text_of(path).splitlines()) < 40


def functions(path: Path) -> list[ast.FunctionDef]:
    return [node for node in ast.walk(tree_of(path)) if isinstance(node, ast.FunctionDef)]


def bound(function: ast.FunctionDef) -> set[str]:
    """Every name that a function binds, its arguments and inner functions' included."""
    nodes = list(ast.walk(function))
    names = {node.id for node in nodes if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)}
    return names | {node.arg for node in nodes if isinstance(node, ast.arg)}


def test_no_two_modules_of_a_folder_share_a_stem() -> None:
    files = [*PACKAGE.rglob("*.py"), *(ROOT / "ui").rglob("*.py")]
    alike = {
        (str(one.relative_to(ROOT)), str(other.relative_to(ROOT)))
        for one in files
        for other in one.parent.glob(f"{one.stem}?*.py")
    }
    assert alike == set()


def test_no_import_goes_in_a_circle() -> None:
    done: set[str] = set()

    def walk(name: str, path: tuple[str, ...]) -> None:
        assert name not in path, " -> ".join((*path, name))
        if name not in done:
            for other in sorted(arrows()[name]):
                walk(other, (*path, name))
            done.add(name)

    for name in MODULES:
        walk(name, ())
    assert done == set(MODULES)


def users(*packages: str) -> set[str]:
    return {name for name, path in MODULES.items() if any(word.split(".")[0] in packages for word in imported(path))}


def test_only_the_program_knows_a_solver() -> None:
    assert {layer(name) for name in users("pulp", "highspy")} == {"program"}


def test_only_the_workshop_knows_a_database() -> None:
    assert {layer(name) for name in users("sqlalchemy", "sqlite3", "psycopg")} == {"workshop"}


def test_only_the_command_that_starts_them_knows_the_pages() -> None:
    assert users("streamlit") == {"optiform.commands.app"}
    assert users("ui", "workbench", "plotly") == set()
    assert users("altair", "vl_convert") == {"optiform.telling.drawing"}


def test_a_step_between_schemas_uses_nothing_that_may_change() -> None:
    """A step that calls what makes today's guards would make another schema once those change."""
    (step,) = (
        node
        for node in tree_of(MODULES["optiform.workshop.migrations"]).body
        if isinstance(node, ast.FunctionDef) and node.name == "_to_2"
    )
    used = {node.id for node in ast.walk(step) if isinstance(node, ast.Name)}
    assert not used & {"guard", "GUARDED", "METADATA"}
    assert {"_on_file_2", "_on_server_2"} <= used


def test_help_loads_nothing_heavy() -> None:
    lines = ["import sys", "from optiform.cli import main", "try:", " main(['--help'])"]
    script = "\n".join([*lines, "except SystemExit:", " print(*sys.modules, sep='|')"])
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT)
    modules = set(done.stdout.splitlines()[-1].split("|"))
    loaded = {name.split(".")[0] for name in modules}
    assert "optiform" in loaded
    assert not loaded & {"numpy", "pulp", "highspy", "pandas", "pint", "sqlalchemy", "dataclasses"}
    families = {f"optiform.commands.arguments.{name}" for name in ("design", "product", "workshop", "options")}
    assert not modules & families, "the arguments of one command are declared when it is asked for"


def test_a_design_loads_nothing_that_it_does_not_use() -> None:
    brief = str(PACKAGE / "demo" / "brief.toml")
    lines = ["import sys", "from optiform.cli import main", f"main(['design', {brief!r}])"]
    script = "\n".join([*lines, "print(*sys.modules, sep='|')"])
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT)
    loaded = set(done.stdout.splitlines()[-1].split("|"))
    assert "optiform.program.sensitivity" in loaded
    assert not loaded & {"pulp", "pandas", "pint", "sqlalchemy", "numpy.polynomial", "statistics", "json"}
    assert not loaded & {f"optiform.design.{name}" for name in ("first_trial", "conflicts", "fewer")}
    assert not loaded & {"optiform.properties.firmness", "optiform.batch.batch", "optiform.telling.json"}


#: What asks the machine for the day or the moment, as it may be written. `time.monotonic` only measures.
_ASKS = re.compile(
    r"\b(?:date|datetime|Timestamp)\.(?:today|now|utcnow)$|\bfunc\.(?:now|current_\w+)$"
    r"|\btime\.(?:time|time_ns|localtime|gmtime|ctime|strftime)$"
)
_ASKED = re.compile("today|now|utcnow|current_|time|time_ns|localtime|gmtime|ctime|strftime")  # the ends of these
CLOCK = PACKAGE / "reading" / "clock.py"


def asks_the_day(tree: ast.AST) -> list[str]:
    """What in a file asks the machine, or has a date input do so, with its line."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and _ASKED.match(node.attr) and _ASKS.search(ast.unparse(node)):
            found.append(f"line {node.lineno}: {ast.unparse(node)}")
        if isinstance(node, ast.ImportFrom) and node.module in ("time", "datetime"):
            found.append(f"line {node.lineno}: from {node.module} import")
        if isinstance(node, ast.Call) and getattr(node.func, "attr", "") in ("date_input", "time_input"):
            texts = [word.value for word in ast.walk(node) if isinstance(word, ast.Constant)]
            found += [f"line {node.lineno}: a widget's {word!r}" for word in texts if word in ("today", "now")]
            found += [f"line {node.lineno}: a widget's own day"] if len(node.args) < 2 else []
    return found


def test_only_the_clock_asks_what_day_it_is() -> None:
    files = [*MODULES.values(), PACKAGE / "__init__.py", *(ROOT / "ui").rglob("*.py")]
    told = {str(path.relative_to(ROOT)): asks_the_day(tree_of(path)) for path in files}
    assert told.pop(str(CLOCK.relative_to(ROOT)))
    assert {name: lines for name, lines in told.items() if lines} == {}


@pytest.mark.parametrize(
    "line",
    [
        "day = datetime.date.today()",
        "made = field(default_factory=datetime.datetime.now)",
        "from datetime import date",
        "stamp = time.strftime('%Y')",
        "pd.Timestamp.now()",
        "column = Column(server_default=func.now())",
        "st.date_input('Made on', 'today')",
        "st.date_input('Made on', clock.today(), max_value='today')",
        "st.date_input('Made on')",
    ],
)
def test_however_a_file_asks_the_day_it_is_seen(line: str) -> None:
    assert asks_the_day(ast.parse(line))


def test_one_place_writes_csv_so_that_one_guard_stands_before_every_cell() -> None:
    """Beside `csv_text` only frames know how, and no page or command asks one to."""
    files = [*MODULES.values(), *(ROOT / "ui").rglob("*.py")]
    writes = re.compile(r"\bcsv\.(?:writer|DictWriter)\b|\.to_csv\(")
    found = {str(path.relative_to(ROOT)) for path in files if writes.search(path.read_text(encoding="utf-8"))}
    assert found == {str(Path("optiform", "reading", "tables.py"))}


# -- words -------------------------------------------------------------------------------------------------------------


def undocumented(body: list[ast.stmt], prefix: str) -> Iterator[str]:
    for node in body:
        if isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) and not node.name.startswith("_"):
            if ast.get_docstring(node) is None:
                yield f"{prefix}.{node.name}"
            if isinstance(node, ast.ClassDef):
                yield from undocumented(node.body, f"{prefix}.{node.name}")


#: Tests of what answers in the browser itself: no run of the server draws anew what is pressed there.
ANSWER_THEMSELVES = ("test_living_sheet.py", "test_weighing.py")


def test_in_a_browser_nothing_is_pressed_or_written_but_on_a_page_at_rest() -> None:
    bare = re.compile(r"\.click\(\)(?!\.run)|\.fill\(")
    pages = {path for path in (ROOT / "tests/ui").glob("test_*.py") if path.name not in ANSWER_THEMSELVES}
    assert [path.name for path in sorted(pages) if bare.search(text_of(path))] == []
    assert bare.search('page.get_by_text("Log a trial").click()\n')


def test_everything_public_says_what_it_is() -> None:
    bare = []
    for name, path in MODULES.items():
        tree = tree_of(path)
        bare += [] if ast.get_docstring(tree) else [name]
        bare += undocumented(tree.body, name)
    assert bare == []


def committed() -> list[Path]:
    """The project's own text files: what git knows, or without git what is no cache."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if listed.returncode == 0:
        names = listed.stdout.splitlines()
    else:
        folders = ("optiform", "tests", "ingredient_db", "ui")
        names = [str(p.relative_to(ROOT)) for folder in folders for p in (ROOT / folder).rglob("*.*")]
        names = [name for name in names if "__pycache__" not in name] + ["README.md", "pyproject.toml"]
    return [ROOT / name for name in names if (ROOT / name).is_file()]


def test_no_committed_file_names_a_place_on_somebodys_machine() -> None:
    place = re.compile(r"(?:^|[\s\"'`(=:])(/(?:work|tmp|home|root|Users|mnt|opt)/|[A-Za-z]:\\\\?Users)")
    files = committed()
    assert ROOT / "README.md" in files
    told = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in files
        if path != Path(__file__).resolve()
        for number, line in enumerate(path.read_text(encoding="utf-8", errors="replace").splitlines(), 1)
        if place.search(line)
    ]
    assert told == []


# -- README ------------------------------------------------------------------------------------------------------------

README = (ROOT / "README.md").read_text(encoding="utf-8")
COMMANDS = re.findall(r"^    optiform (.*?)(?:  .*)?$", README, re.MULTILINE)


def test_the_readme_has_one_line_to_see_it_and_one_to_test_it() -> None:
    lines = [line.strip() for line in README.splitlines() if line.startswith("    ")]
    assert [line for line in lines if line.endswith("optiform demo") and "pip install" in line and "venv" in line]
    assert [line for line in lines if line.endswith("-m pytest") and "'.[test]'" in line and "venv" in line]
    assert len([line for line in lines if "pip install" in line]) == 2
    assert README.count("pip install -q --no-compile ") == 3, "what is used is compiled, when it is"


def test_the_readme_shows_commands() -> None:
    assert {line.split()[0] for line in COMMANDS} >= {"design", "check", "compare", "costs"}


@pytest.mark.parametrize("line", COMMANDS)
def test_every_command_and_option_the_readme_names_exists(line: str, capsys: pytest.CaptureFixture[str]) -> None:
    words = line.split()
    action = words[1:2] if words[0] in ("stock", "trial") else []
    with pytest.raises(SystemExit) as left:
        main([words[0], *action, "--help"])
    assert left.value.code == 0
    help_text = capsys.readouterr().out
    assert [word for word in words if word.startswith("--") and word not in help_text] == []


@pytest.mark.parametrize("target", sorted(set(re.findall(r"\]\(([^)#:]+)\)", README))))
def test_every_file_the_readme_links_to_is_there(target: str) -> None:
    assert (ROOT / target).exists()


def test_the_project_has_nothing_at_its_top_but_what_belongs_there() -> None:
    known = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "optiform", "ui", "ingredient_db", "tests"}
    top = {path.relative_to(ROOT).parts[0] for path in committed()}
    assert {name for name in top if not name.startswith(".")} - known == set()
