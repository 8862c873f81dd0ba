"""Every command run on the demo once, for all that look at what it says and at the telling that it prints."""

import contextlib
import io
import shlex
from dataclasses import dataclass, field

import pytest

from optiform import cli
from optiform.telling.parts import Telling
from tests.answers import shared
from tests.telling.test_words import BEYOND, LINES, copy_for_lines


@dataclass(frozen=True)
class Said:
    """By the name of its line, what a command says by default on both streams, and its telling where it has one."""

    texts: dict[str, str] = field(default_factory=dict)
    tellings: dict[str, Telling] = field(default_factory=dict)


@pytest.fixture(scope="session")
def said(tmp_path_factory: pytest.TempPathFactory) -> Said:
    """The lines of test_words.py, one after the other; a telling is caught as it is printed."""
    folder = tmp_path_factory.mktemp("lines") / "demo"
    copy_for_lines(folder)
    said, brief = Said(), Telling.brief
    with contextlib.chdir(folder), pytest.MonkeyPatch.context() as patch, shared():
        patch.setenv("COLUMNS", "90")
        for name, line in LINES.items():

            def catching(telling: Telling, fewer: int = 0, name: str = name) -> Telling:
                said.tellings[name] = telling
                return brief(telling, fewer)

            patch.setattr(Telling, "brief", catching)
            with contextlib.redirect_stdout(io.StringIO()) as out, contextlib.redirect_stderr(out):
                code = cli.main(shlex.split(line))
            said.texts[name] = out.getvalue()
            assert code == (1 if name in BEYOND else 0), f"{line}\n{said.texts[name]}"
    return said
