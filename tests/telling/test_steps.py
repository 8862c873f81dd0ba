"""What can be done next works as printed, for a brief of one market, of several and of none."""

import shlex
from dataclasses import replace
from pathlib import Path

import pytest

from optiform.brief.file import read_brief
from optiform.cli import main
from optiform.reading.paths import DEMO
from optiform.telling.steps import draft_of_label


@pytest.mark.parametrize("markets", [("EU",), ("GB", "EU"), ()])
def test_the_draft_of_a_label_is_printed_as_it_runs(
    markets: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (DEMO / "brief.toml").read_text(encoding="utf-8")
    listed = ", ".join(f'"{market}"' for market in markets)
    (tmp_path / "brief.toml").write_text(text.replace('markets = ["EU"]', f"markets = [{listed}]"), encoding="utf-8")
    for name in ("workshop.csv", "today.csv"):
        (tmp_path / name).write_bytes((DEMO / name).read_bytes())
    monkeypatch.chdir(tmp_path)
    brief = read_brief(Path("brief.toml"))
    assert brief == replace(brief, scope=replace(brief.scope, markets=markets))
    steps = list(draft_of_label(brief, Path("brief.toml"), Path("today.csv")))
    assert bool(steps) == bool(markets), "no market is guessed"
    for step in steps:
        assert main(shlex.split(step.command)[1:]) == 0
        assert f"Draft for the {markets[0]} market" in capsys.readouterr().out
