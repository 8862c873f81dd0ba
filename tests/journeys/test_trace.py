"""A cream scrub with a trace of something of no known density has a firmness, wherever it is asked for."""

import json
from pathlib import Path
from typing import Any

import pytest

from optiform.cli import main

PARTS = {
    "water": 40.0, "glycerin": 3.0, "emulsifying wax NF": 6.0, "sunflower oil, high oleic": 16.0,
    "shea butter, refined": 6.0, "cetyl alcohol": 3.0, "xanthan gum": 0.3, "mixed tocopherols": 0.2,
    "phenoxyethanol + ethylhexylglycerin": 1.0, "disodium EDTA": 0.1, "trace": 0.2, "ground apricot shell": 24.2,
}  # fmt: skip
BRIEF = """
kind = "cream scrub"
use = "rinse-off"
area = "body"
markets = ["EU"]
reference = "today.csv"
own_files = ["own.csv"]
candidates = "owned"
[goal]
lowest = "cost"
[limits]
"firmness at 20 degC" = { low = 80, high = 120 }
[lines]
"disodium EDTA" = { low = "0.1 %", high = "0.1 %" }
"""


def folder(place: Path, trace: float) -> Path:
    """A brief with a limit on firmness, today's formula with so much of the trace, %, and the maker's own table."""
    parts = PARTS | {"trace": trace, "water": PARTS["water"] + PARTS["trace"] - trace}
    rows = [f'"{name}",{percent}' for name, percent in parts.items()]
    own = [f'"{name}",{5 + k},{"active,water phase" if name == "trace" else ","}' for k, name in enumerate(parts)]
    (place / "today.csv").write_text("\n".join(["ingredient,percent", *rows]), encoding="utf-8")
    (place / "own.csv").write_text("\n".join(["ingredient,price (EUR/kg),functions,phase", *own]), encoding="utf-8")
    (place / "brief.toml").write_text(BRIEF, encoding="utf-8")
    return place / "brief.toml"


def answer(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    capsys.readouterr()
    code = main([*words, "--json"])
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert code in (0, 1), found
    return found


def test_design_check_and_texture_know_how_firm_it_is(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    brief = folder(tmp_path, 0.2)
    found = answer(capsys, "design", str(brief))
    share = {line["ingredient"]: line["percent"] for line in found["formula"]}
    assert share.get("trace", 0.0) <= 0.5
    checked = answer(capsys, "check", str(tmp_path / "today.csv"), "--brief", str(brief))
    told = checked["properties"]
    assert told["firmness at 20 degC"]["value"] == pytest.approx(100)
    assert "trace has no density and counts at 1 g/mL" in told["firmness at 20 degC"]["note"]
    assert 0.1 < told["grain volume fraction at 20 degC"]["value"] < 0.3
    assert answer(capsys, "texture", str(brief), "--step", "10")["today"]["firmness"]


def test_more_than_a_trace_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    brief = folder(tmp_path, 0.8)
    checked = answer(capsys, "check", str(tmp_path / "today.csv"), "--brief", str(brief))
    told = checked["properties"]
    assert told["firmness at 20 degC"]["lacking"] == ["trace"]
    assert main(["texture", str(brief), "--step", "10"]) == 2
    assert "no figure for the density of trace" in " ".join(capsys.readouterr().err.split())
