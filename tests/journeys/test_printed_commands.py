"""Every command line that an answer, a fault, the README or the guide prints runs as it is printed.

Each answer is asked for in a copy of the demo of its own, with the demo's records and its best formula as new.csv; then
what it prints by default and with `--all` is run there, in that order, as it stands. A command that saves nothing runs
once however often it is printed. `optiform app` is left out: it serves until it is stopped. Only README and guide have
words in capitals, such as FORMULA, that a reader replaces.
"""

import contextlib
import io
import os
import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from optiform import cli
from optiform.commands import ANSWERED, BAD_INPUT, IMPOSSIBLE
from optiform.commands.arguments.help import TOPICS
from optiform.commands.tell import SHOWING
from optiform.reading.demo import copy_demo
from optiform.telling.guide import topic
from tests.dates import ANY_DAY
from tests.telling.test_words import BEYOND, LINES, copy_for_lines, joined

pytestmark = pytest.mark.usefixtures("shared_answers")

#: What a reader puts for a word in capitals.
FILLED = {
    "BRIEF": "brief.toml", "FORMULA": "new.csv", "INGREDIENT": "glycerin", "MASS": "'1 kg'", "LOT": "L004",
    "WORD": "shea", "ID": "carbomer-salt", "FOLDER": "workshop", "PIECES": "5", "WORDS": "'as counted'",
    "COMMAND": "design", "TOPIC": "costs", "TRIAL": "F-9",
}  # fmt: skip
#: Names differ by what they are of.
NAMES = {
    "stock packaging": {"NAME": "'lid 70 mm'"},
    "stock save": {
        "--product NAME": "--product 'salt and oat foot polish'",
        "--name NAME": "--name winter",
        "--parent NAME": "--parent today",
    },
    "trial log": {"--product NAME": "--product 'salt and oat foot polish'", "--version NAME": "--version today"},
    "schema": {"NAME": "brief"},
}
#: Where there are no records yet.
BARE = {
    "no records": ("stock", BAD_INPUT), "no lots": ("buy plan.toml", BAD_INPUT),
}  # fmt: skip
#: Faults as makers make them, and answers that were saved or asked for otherwise.
MORE = {
    "no such command": ("desgin brief.toml", BAD_INPUT), "no brief": ("design", BAD_INPUT),
    "no such choice": ("check today.csv --brief brief.toml --basis jar", BAD_INPUT),
    "not known": ("ingredients --resolve moonstone", ANSWERED),
    "no such name": ("stock receive moonstone '3 kg'", BAD_INPUT),
    "no such part": ("design brief.toml --part nowhere", BAD_INPUT),
    "no such lot": ("stock correct L999 '1 kg' --reason counted", BAD_INPUT),
    "saved": ("design brief.toml --write mine.toml", ANSWERED),
    "another solver": ("design brief.toml --solver cbc", ANSWERED),
    "without a brief": ("check hand_polish.csv --own workshop.csv --market EU --use leave-on", ANSWERED),
    "short of lots, saved": ("batch new.csv --brief brief.toml --records . --record Q-2 --jars 900", BAD_INPUT),
    "in coarse grams": ("design coarse.toml", ANSWERED),
    "a table for a brief": ("design today.csv", BAD_INPUT),
    "no version": ("batch new.csv --brief brief.toml --records . --record Q-1", BAD_INPUT),
    "new with today": ("new begun-2.toml --from today.csv --kind 'cream scrub' --own workshop.csv", ANSWERED),
}  # fmt: skip
#: Lines whose next steps take more than a second together, and those that print what another line prints as well;
#: `-m long` has them.
SLOW = {
    "cliffs", "batch records", "in coarse grams", "substitute a surfactant", "batch short of lots, parts",
    "batch making", "explore price lists", "no such part",
    "cheaper", "weigh", "explore prices", "explore protect", "why not", "why not mine", "trial next", "texture", "demo",
    "costs hit", "range using up", "range on one base", "sheet", "explore", "another solver", "texture out of reach",
    "trial between", "explore a bend", "explore unlike", "range",
}  # fmt: skip

_done: set[str] = set()


def run(line: str) -> tuple[int, str]:
    """The exit code and all that a line says; `&& cd FOLDER` goes there."""
    command, _, folder = line.partition(" && cd ")
    with contextlib.redirect_stdout(io.StringIO()) as out, contextlib.redirect_stderr(out):
        try:
            code = cli.main(shlex.split(command)[1:])
        except SystemExit as end:  # after --help
            code = int(end.code or 0)
    if folder:
        os.chdir(folder)  # the fixture takes us back to where it found us
    return code, out.getvalue()


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo with its records, and its best formula as new.csv."""
    folder = tmp_path_factory.mktemp("printed") / "demo"
    copy_for_lines(folder)
    with contextlib.chdir(folder):
        for line in ("optiform stock import workshop --records .", "optiform design brief.toml --write new.csv"):
            assert run(line)[0] == ANSWERED
    (folder / "coarse.toml").write_text((folder / "brief.toml").read_text().replace('"1 g"', '"20 g"', 1))
    return folder


@pytest.fixture
def shop(prepared: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A fresh copy of it, and we stand in it."""
    folder = Path(shutil.copytree(prepared, tmp_path / "shop"))
    monkeypatch.chdir(folder)
    monkeypatch.setenv("COLUMNS", "90")
    return folder


def printed(line: str, text: str) -> Iterator[str]:
    """The command lines in an answer: next steps, those in sentences, and the parts that it points to."""
    answer, _, steps = joined(text).partition("\nNext\n")
    for found in re.findall(r"^(?: {2}.*? {2}| {2,4})(optiform [^\n]*)", steps, flags=re.MULTILINE):
        yield found.strip()
    flat = " ".join(answer.split())
    yield from re.findall(r"`(optiform [^`]*)`", flat)
    yield from (found.rstrip(".") for found in re.findall(r": (optiform (?:[a-z]+ )*--help)(?=[. ]|$)", flat))
    yield from re.findall(r": (optiform ingredients --resolve (?:'[^']*'|\S+))", flat)
    yield from (f"{line} --part {name}" for name in re.findall(r": --part ([\w-]+)", flat))


def filled(command: str) -> str:
    """The command with something in place of every word in capitals."""
    own = next((names for start, names in NAMES.items() if command.startswith(f"optiform {start}")), {})
    for words, instead in own.items():
        command = command.replace(words, instead)
    return re.sub(r"(?<![\w'-])[A-Z]{2,}(?![\w'-])", lambda word: FILLED.get(word[0], word[0]), command)


def goes_on(line: str, step: str) -> bool:
    """Whether a step with the same command asks for the same answer: all words of the line but how it is shown."""
    told, words = shlex.split(step), shlex.split(line)
    if told[1] != words[1] or told[2:3] != words[2:3]:
        return True
    shown = {at for k, word in enumerate(words) if word in SHOWING for at in range(k, k + SHOWING[word] + 1)}
    return {word for k, word in enumerate(words) if k not in shown} <= {*told}


def runs(line: str, code: int) -> int:
    """Run a line and all that it prints; how many commands that were."""
    count, here = 0, set[str]()
    for whole in (line, f"{line} --all"):
        came, text = run(whole)
        if whole != line and came == BAD_INPUT:
            continue  # a command without --all
        assert came == code or (whole != line and came == ANSWERED), text  # what was printed may have put it right
        for ready in dict.fromkeys(printed(line, text)):
            assert not {*re.findall("[A-Z]{2,}", ready)} & {*FILLED, "NAME"}, "a word that a reader has to replace"
            count += 1
            saves = {"--write", "--csv"} & {*ready.split()}
            if ready.startswith("optiform app") or ready in here or (ready in _done and not saves):
                continue
            came, said = run(ready)
            same = code if ready.startswith(line) else ANSWERED
            assert came in (ANSWERED, same), f"{line}\n  {ready}\n{said}"
            _done.add(ready)
            here.add(ready)
    return count


EVERY = MORE | {
    name: (line.replace(" --write new.csv", ""), IMPOSSIBLE if name in BEYOND else ANSWERED)  # which is there
    for name, line in LINES.items()
    if name not in ("stock import", "completion")
}


@pytest.mark.usefixtures("shop")
@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=[pytest.mark.long] if name in SLOW else []) for name in EVERY]
)
def test_what_an_answer_prints_runs(name: str) -> None:
    line, code = EVERY[name]
    runs(f"optiform {line}", code)


@pytest.mark.parametrize("name", BARE)
def test_what_is_printed_where_there_are_no_records_runs(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy_demo(tmp_path / "shop", ANY_DAY)
    monkeypatch.chdir(tmp_path / "shop")
    line, code = BARE[name]
    runs(f"optiform {line}", code)


def test_what_first_records_print_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    copy_demo(tmp_path / "shop", ANY_DAY)
    monkeypatch.chdir(tmp_path / "shop")
    for line in ("stock receive glycerin '1 kg' --records .", "stock use glycerin '1 kg' --reason tried"):
        assert run(f"optiform {line}")[0] == ANSWERED
    for line in ("stock versions", "trial show"):
        assert runs(f"optiform {line}", ANSWERED) > 0
    code, text = run("optiform batch today.csv --brief brief.toml --records . --record Q-1")
    (save,) = [command for command in printed("", text) if " save " in command] or [""]
    assert code == BAD_INPUT
    assert not save, "what is in no lot is told first"


@pytest.mark.usefixtures("shop")
@pytest.mark.parametrize("name", ["README", *TOPICS])
def test_what_is_named_in_readme_and_guide_is_there(name: str) -> None:
    """Their lines run in tests/test_readme.py; here the commands and options that their sentences name."""
    text = (Path(__file__).parents[2] / "README.md").read_text() if name == "README" else topic(name)
    for command in re.findall(r"(?<!`)`(optiform[^`]*)`", re.sub("```.*?```", "", text, flags=re.DOTALL)):
        words = shlex.split(filled(command))[1:]
        named = [word for word in words if word.startswith("--") and word != "--help"]
        at = 2 if words[:1] in (["stock"], ["trial"]) and len(words) > 1 and not words[1].startswith("-") else 1
        _, help_ = run(shlex.join(["optiform", *words[:at], "--help"]))
        assert help_.startswith("usage: optiform"), command
        assert [option for option in named if option not in help_] == [], command


@pytest.mark.usefixtures("shop")
def test_a_step_of_the_same_command_asks_for_the_same_answer() -> None:
    for line in (
        "optiform design brief.toml --solver cbc --write mine.csv",
        "optiform check hand_polish.csv --own workshop.csv --market EU --use leave-on",
        "optiform costs new.csv --brief brief.toml --costs costs.toml --records .",
        "optiform compare today.csv new.csv --brief brief.toml --csv side.csv",
        "optiform batch new.csv --brief brief.toml --making making.toml --jars 26",
    ):
        _, text = run(line)
        steps = [step for step in printed(line, text) if step.split()[1] == line.split()[1]]
        assert steps
        assert [step for step in steps if not goes_on(line, step)] == []


# -- what a fault says to do instead -----------------------------------------------------------------------------------

PRICED = '[limits]\n"cost" = { high = "9 EUR/kg" }\n'


def edit(path: str, old: str, new: str) -> None:
    text = Path(path).read_text()
    assert old in text
    Path(path).write_text(text.replace(old, new, 1))


@pytest.mark.usefixtures("shop")
@pytest.mark.parametrize("remedy", ["its price", "exclude", "leave out"])
def test_each_remedy_for_a_missing_price_works(remedy: str) -> None:
    rows = Path("workshop.csv").read_text().splitlines()
    price = rows[0].split(",").index(next(head for head in rows[0].split(",") if head.startswith("pack price")))
    (glycerin,) = (k for k, row in enumerate(rows) if row.startswith("sweet almond oil,"))
    cells = rows[glycerin].split(",")
    before, cells[price] = cells[price], ""
    rows[glycerin] = ",".join(cells)
    Path("workshop.csv").write_text("\n".join(rows))
    edit("brief.toml", '"sweet almond oil" = { low = "3 %" }', "")
    code, text = run("optiform design brief.toml")
    assert code == BAD_INPUT
    assert "No price for sweet almond oil. Add its price" in text
    assert 'list it under exclude, or write missing = "leave out"' in text
    if remedy == "its price":
        cells[price] = before
        rows[glycerin] = ",".join(cells)
        Path("workshop.csv").write_text("\n".join(rows))
    elif remedy == "exclude":
        edit("brief.toml", "exclude = [", 'exclude = ["sweet almond oil", ')
    else:
        edit("brief.toml", "[goal]", 'missing = "leave out"\n[goal]')
    code, text = run("optiform design brief.toml")
    assert code != BAD_INPUT, text


@pytest.mark.usefixtures("shop")
@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("[limits]", "[limts]"),
        ('"oil phase" =', '"oil fase" ='),
        ('"22 %", high', '"22 kilos", high'),
    ],
)
def test_a_brief_with_what_its_fault_proposes_is_read(right: str, wrong: str) -> None:
    edit("brief.toml", right, wrong)
    code, text = run("optiform design brief.toml")
    assert code == BAD_INPUT
    meant = re.search(r"Did you mean ([^?]*)\?|Write a share such as ([\d]+ %)", text)
    assert meant is not None
    assert (meant[1] or meant[2]) in right
    edit("brief.toml", wrong, right)
    assert run("optiform design brief.toml")[0] == ANSWERED


@pytest.mark.usefixtures("shop")
def test_the_ingredient_that_a_fault_proposes_is_taken() -> None:
    code, text = run('optiform substitute brief.toml "coco amidopropyl betaine, 30 %"')
    meant = re.search(r"Did you mean (.*?)\?", " ".join(text.split()))
    assert code == BAD_INPUT
    assert meant is not None
    assert meant[1] == "cocamidopropyl betaine, 30 %"


@pytest.mark.usefixtures("shop")
def test_each_repair_of_an_impossible_brief_makes_it_possible() -> None:
    edit("brief.toml", '"solid fat at 30 degC" = { low = "7 %" }', '"solid fat at 30 degC" = { low = "40 %" }')
    code, text = run("optiform design brief.toml")
    assert code == IMPOSSIBLE
    flat = " ".join(text.split())
    repairs = re.findall(r"lower the minimum solid fat at 30 °C from 40 to ([\d.]+) %", flat)
    assert repairs
    for repair in repairs:
        edit("brief.toml", '{ low = "40 %" }', f'{{ low = "{repair} %" }}')
        assert run("optiform design brief.toml")[0] == ANSWERED
        edit("brief.toml", f'{{ low = "{repair} %" }}', '{ low = "40 %" }')
