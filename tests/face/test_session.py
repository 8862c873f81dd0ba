"""The session with which an engineer begins, as it is written in the documentation."""

import pickle
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

import optiform as of
from optiform.reading.paths import DEMO
from tests.answers import shared_by_pages


@pytest.fixture(autouse=True)
def shared() -> Iterator[None]:
    """The session and its notebook ask the same."""
    with shared_by_pages():
        yield


def test_the_session_works_as_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for path in DEMO.iterdir():
        if path.is_file():
            (tmp_path / path.name).write_bytes(path.read_bytes())
    monkeypatch.chdir(tmp_path)
    brief = of.read_brief("brief.toml")
    assert brief == of.demo()
    answer = of.design(brief)
    assert list(answer.formula.table().columns) == ["ingredient", "phase", "percent"]
    assert all(measured.limited for measured in answer.limits)
    assert all(bound.price >= 0 for bound in answer.prices)
    assert list(answer.limits.table()["name"]) == [measured.name for measured in answer.limits]
    assert list(answer.prices.table()["demand"]) == [bound.demand.words for bound in answer.prices]
    softer = brief.with_limit("oil phase", high="30 %")
    sides = of.compare(answer, of.design(softer))
    assert [formula.name for formula in sides.formulas] == ["answer 1", "answer 2"]
    assert of.cheaper(brief, saving="0.03 EUR/kg").best.saving >= 0.03
    assert "mango butter" not in {x.ingredient.name for x in of.substitute(brief, "mango butter").best.formula.lines}
    assert of.texture(brief, step=20, at="10 degC").chart().to_dict()["layer"]
    curve = of.explore(brief, "active surfactant", 2.5, 4.0)
    assert curve.chart().to_dict()["layer"]
    assert curve.at(3.1).value == pytest.approx(curve.value_at(3.1))
    with pytest.raises(of.Impossible) as no:
        of.design(brief.with_limit("oil phase", low="90 %"))
    assert "oil phase at least 90 % of the jar" in [demand.words for demand in no.value.conflict]
    assert no.value.repairs
    of.costs(answer, "costs.toml").save("sheet.html")
    assert "A jar costs" in Path("sheet.html").read_text(encoding="utf-8")
    assert of.design(brief) == answer
    assert hash(answer.formula) == hash(of.design(brief).formula)
    assert pickle.loads(pickle.dumps(answer)) == answer


def test_no_formula_is_saved_over_what_the_maker_has(tmp_path: Path) -> None:
    copied = tmp_path / "shop"
    shutil.copytree(DEMO, copied)
    (copied / "records.db").write_bytes(b"SQLite format 3\x00")
    before = {path: path.read_bytes() for path in copied.rglob("*") if path.is_file()}
    answer = of.check(copied / "hand_polish.csv", brief=copied / "brief.toml")
    for path in before:
        for force in (False, path.suffix != ".csv"):
            for saved in (answer.formula.save, answer.save):
                with pytest.raises(of.BadInput):
                    saved(path, force=force)
    assert {path: path.read_bytes() for path in copied.rglob("*") if path.is_file()} == before
    with pytest.raises(of.BadInput, match="or force=True to replace it"):
        answer.formula.save(copied / "today.csv")
    answer.formula.save(str(copied / "mine.csv"))
    answer.formula.save(str(copied / "mine.csv"), force=True)
    assert (copied / "mine.csv").read_text(encoding="utf-8").startswith("ingredient,percent,phase")
