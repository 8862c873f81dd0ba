"""What the command line itself does: it lists the commands, says its version, and ends in words whatever happens."""

import json
import os
import subprocess
import sys
from typing import Any, NoReturn

import pytest

from optiform import __version__
from optiform.cli import ONE_THREAD, TRACEBACK, main
from optiform.commands import ANSWERED, CRASHED, ingredients

CAPTURE = pytest.CaptureFixture[str]


@pytest.fixture
def broken(monkeypatch: pytest.MonkeyPatch) -> None:
    """A command with a fault of the program in it."""

    def fails(_: Any) -> NoReturn:
        raise KeyError("solid fat")

    monkeypatch.setattr(ingredients, "run", fails)
    monkeypatch.delenv(TRACEBACK, raising=False)


@pytest.mark.usefixtures("broken")
def test_a_crash_is_one_sentence_with_a_code_of_its_own(capsys: CAPTURE) -> None:
    assert main(["ingredients"]) == CRASHED == 4
    out, errors = capsys.readouterr()
    assert out == ""
    assert "Traceback" not in errors
    assert "KeyError: 'solid fat' (test_cli.py, line " in errors
    assert f"optiform {__version__}" in errors
    assert f"{TRACEBACK}=1" in errors, "how to report it is said"
    assert errors.count("\n") == 1


@pytest.mark.usefixtures("broken")
def test_a_crash_shows_where_it_happened_to_who_asks(capsys: CAPTURE, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(TRACEBACK, "1")
    assert main(["ingredients"]) == CRASHED
    errors = capsys.readouterr().err
    assert "Traceback" in errors
    assert "in fails" in errors


@pytest.mark.usefixtures("broken")
def test_a_crash_is_an_object_where_json_is_asked_for(capsys: CAPTURE) -> None:
    assert main(["ingredients", "--json"]) == CRASHED
    told = json.loads(capsys.readouterr().out)
    assert told["status"] == "crash"
    assert "KeyError" in told["reason"]


def test_a_library_that_is_not_there_is_a_crash_in_words_too(capsys: CAPTURE, monkeypatch: pytest.MonkeyPatch) -> None:
    """Below the lowest versions a command's own import fails."""

    def missing(_: str) -> NoReturn:
        raise ImportError("cannot import name 'HighsVarType'")

    monkeypatch.setattr("importlib.import_module", missing)
    assert main(["ingredients"]) == CRASHED
    assert "ImportError: cannot import name 'HighsVarType'" in capsys.readouterr().err


def test_what_is_stopped_by_hand_is_no_crash(capsys: CAPTURE, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(_: Any) -> NoReturn:
        raise KeyboardInterrupt

    monkeypatch.setattr(ingredients, "run", stopped)
    assert main(["ingredients"]) == 130
    assert capsys.readouterr().err == "optiform: stopped\n"


def test_alone_it_lists_the_commands(capsys: CAPTURE) -> None:
    assert main([]) == ANSWERED
    out, errors = capsys.readouterr()
    assert errors == ""
    assert [word for word in ("design", "check", "batch", "stock", "app") if f"\n    {word} " not in out] == []


def test_it_says_its_version(capsys: CAPTURE) -> None:
    with pytest.raises(SystemExit) as left:
        main(["--version"])
    assert left.value.code == 0
    assert capsys.readouterr().out == f"optiform {__version__}\n"


def test_numpy_gets_one_thread_unless_somebody_has_said_how_many() -> None:
    variable, one = ONE_THREAD
    lines = ["import os, sys", "from optiform.cli import main", "main([])"]
    script = "; ".join([*lines, f"print(os.environ[{variable!r}], 'numpy' in sys.modules)"])
    bare = {name: value for name, value in os.environ.items() if name != variable}
    for set_to, env in ((one, bare), ("2", {**bare, variable: "2"})):
        done = subprocess.run([sys.executable, "-c", script], env=env, capture_output=True, text=True, check=True)
        assert done.stdout.splitlines()[-1] == f"{set_to} False"


def test_a_process_that_runs_many_commands_is_ended_once() -> None:
    lines = ["import atexit", "from optiform.cli import main", "main([])", "before = atexit._ncallbacks()"]
    script = "\n".join([*lines, "main([]), main([])", "print(atexit._ncallbacks() - before)"])
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "0"
