"""What a jar costs and what has to be bought, from the files of the demo to printed answers, JSON, tables and pages."""

import csv
import json
import re
import shutil
from pathlib import Path
from typing import Any

import pytest

from optiform.cli import main
from optiform.commands import ANSWERED, BAD_INPUT, IMPOSSIBLE
from optiform.reading.paths import DEMO

WINTER = Path(__file__).parent.parent / "winter"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """The demo, with a plan that has its offers and lots in tables beside it."""
    place = Path(shutil.copytree(DEMO, tmp_path / "shop"))
    return Path(shutil.copytree(WINTER, place, dirs_exist_ok=True))


def run(capsys: pytest.CaptureFixture[str], *words: object, code: int = ANSWERED) -> str:
    assert main([str(word) for word in words]) == code
    return capsys.readouterr().out


def costs(shop: Path, *more: object) -> tuple[object, ...]:
    return ("costs", "--brief", shop / "brief.toml", "--costs", shop / "costs.toml", *more)


def data(capsys: pytest.CaptureFixture[str], *words: object, code: int = ANSWERED) -> dict[str, Any]:
    found = json.loads(run(capsys, *words, "--json", code=code))
    assert isinstance(found, dict)
    return found


def test_of_what_no_pack_is_bought_nothing_is_to_pay(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An unknown sum would read as a question; that nothing lacks is known."""
    today = shop / "today.csv"
    out = run(capsys, *costs(shop, today, "--part", "packs"))
    (water,) = (line.split() for line in out.splitlines() if line.strip().startswith("water "))
    assert water[-2:] == ["0", "0.00"]


def test_costs_of_the_demo(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table, page = shop / "parts.csv", shop / "sheet.html"
    text = " ".join(run(capsys, *costs(shop, "--jars", 48, "--csv", table, "--html", page)).split())
    found = data(capsys, *costs(shop, "--jars", 48))
    assert (found["status"], found["jars"], found["batches"]) == ("costed", 48, 2)
    assert f"A jar costs {found['full']['value']:.2f} EUR." in text
    assert f"{found['reach']['share']['value']:.0f} % of the full cost" in text
    assert "common practice, no source" in text
    with table.open(encoding="utf-8") as file:
        rows = list(csv.reader(file))
    assert sum(float(row[2]) for row in rows[1:]) == pytest.approx(found["full"]["value"], rel=1e-6)
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")


def test_costs_of_another_formula_with_offers_at_a_price(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = costs(shop, "--offers", shop / "offers.csv", "--batch", "2 kg", "--price", "9.50 EUR")
    found = data(capsys, words[0], shop / "hand_polish.csv", *words[1:])
    assert found["weighed"]["value"] == pytest.approx(2 / 0.96)
    assert [sale["price"]["value"] for sale in found["sales"]] == [4.75, 9.5, 9.5]  # the first one sells on
    assert found["price"] == {"value": 9.5, "unit": "EUR"}
    text = " ".join(run(capsys, words[0], shop / "hand_polish.csv", *words[1:], "--all").split())
    assert "Retail 9.50 EUR as given, wholesale 4.75 EUR (retail divided by 2)" in text
    assert "smallest batch" in text
    assert found["lines"][0]["landed"]["supplier"] == "Tarn Mill"


def test_a_lid_without_a_price(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = shop / "costs.toml"
    path.write_text(
        path.read_text(encoding="utf-8").replace('"lid 70 mm" = 0.21', '"lid 70 mm" = ""'), encoding="utf-8"
    )
    text = " ".join(run(capsys, *costs(shop)).split())
    assert "A jar costs at least" in text
    assert "in full it is not known: no price for lid" in text
    found = data(capsys, *costs(shop))
    assert (found["full"]["value"], found["lacking"], found["sales"]) == (None, ["lid 70 mm"], [])


@pytest.mark.parametrize(
    "more", [("--price", "0"), ("--batch", "4 litres of it"), ("--jars", "0"), ("--html", "nowhere/sheet.html")]
)
def test_costs_that_cannot_be(shop: Path, capsys: pytest.CaptureFixture[str], more: tuple[str, str]) -> None:
    assert data(capsys, *costs(shop, *more), code=BAD_INPUT)["faults"]


def test_what_to_buy_for_the_demo(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table, page = shop / "buy.csv", shop / "buy.html"
    text = run(capsys, "buy", shop / "plan.toml", "--csv", table, "--html", page)
    found = data(capsys, "buy", shop / "plan.toml")
    assert found["status"] == "planned"
    assert f"To pay: {found['to_pay']['value']:.2f} EUR" in text
    assert "Not used: lot N-06, 3.2 kg of sweet almond oil: it expires on 2026-11-30, before the making" in " ".join(
        text.split()
    )
    assert "sent free" in text
    with table.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert sum(float(row["cost"]) for row in rows) == pytest.approx(found["to_pay"]["value"])
    assert "<td>Tarn Mill</td>" in page.read_text(encoding="utf-8")
    second = data(capsys, "buy", shop / "plan.toml", "--solver", "cbc")
    assert second["to_pay"]["value"] == pytest.approx(found["to_pay"]["value"])


def test_what_is_nowhere_to_be_had(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = shop / "few.csv"
    kept = [line for line in (shop / "offers.csv").read_text(encoding="utf-8").splitlines() if "mango" not in line]
    path.write_text("\n".join(kept), encoding="utf-8")
    text = run(capsys, "buy", shop / "plan.toml", "--offers", path, code=IMPOSSIBLE)
    assert re.search(r"mango butter +2\.000 +0\.000 +2\.000  foot polish", text)
    found = data(capsys, "buy", shop / "plan.toml", "--offers", path, code=IMPOSSIBLE)
    assert [(each["ingredient"], each["lacking"]) for each in found["missing"]] == [("mango butter", 2.0)]


def test_faults_of_offers_and_lots_are_told_together(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("offers.csv", "lots.csv"):
        path = shop / name
        path.write_text(path.read_text(encoding="utf-8").replace("mixed tocopherols", "mixed nuts"), encoding="utf-8")
    faults = data(capsys, "buy", shop / "plan.toml", code=BAD_INPUT)["faults"]
    assert {Path(fault["file"]).name for fault in faults} == {"offers.csv", "lots.csv"}
    text = (shop / "plan.toml").read_text(encoding="utf-8")
    plain = [line for line in text.splitlines() if not line.startswith(("offers", "lots"))]
    (shop / "plan.toml").write_text("\n".join(plain), encoding="utf-8")
    faults = data(capsys, "buy", shop / "plan.toml", code=BAD_INPUT)["faults"]
    assert [fault["place"] for fault in faults] == ["offers", "lots"]


@pytest.mark.parametrize("command", ["range", "buy"])
def test_a_faulty_plan_and_what_it_lacks_are_told_together(
    shop: Path, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    plan = 'date = 2026-12-05\ncolour = "red"\n[[product]]\nbrief = "brief.toml"\nformula = "today.csv"\n'
    (shop / "bad.toml").write_text(plan, encoding="utf-8")
    faults = data(capsys, command, shop / "bad.toml", code=BAD_INPUT)["faults"]
    assert {fault["place"] for fault in faults} >= {"colour", "[[product]] 1, jars", "offers", "lots"}


def test_what_a_range_cannot_use_is_told_together(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = (shop / "plan.toml").read_text(encoding="utf-8").splitlines()
    bare = [line for line in lines if not line.startswith(("offers", "lots"))]
    (shop / "bare.toml").write_text("\n".join(bare), encoding="utf-8")
    more = ("--use-up", "moonstone", "--costs", shop / "costs.toml", "--csv", shop / "nowhere" / "x.csv")
    faults = data(capsys, "range", shop / "bare.toml", *more, code=BAD_INPUT)["faults"]
    assert [fault["place"] for fault in faults] == ["offers", "lots", "--use-up", "--costs", "folder"]
