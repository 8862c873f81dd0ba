"""The reader of plans: what it reads, and every fault at once, of the plan and of the files it names."""

import datetime
import shutil
from pathlib import Path

import pytest

from optiform.costs.plan import Order, read_plan
from optiform.reading.faults import BadInput
from optiform.reading.paths import DEMO


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    return Path(shutil.copytree(DEMO, tmp_path / "shop"))


def faults(shop: Path, text: str) -> list[str]:
    (shop / "bad.toml").write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as bad:
        read_plan(shop / "bad.toml")
    return [fault.place for fault in bad.value.faults]


def test_the_demo() -> None:
    found = read_plan(DEMO / "plan.toml")
    feet, hands = found.products
    assert (found.date, found.currency, found.leftover) == (datetime.date(2026, 12, 5), "EUR", 0)
    assert (feet.name, feet.jars, feet.jar) == ("foot polish", 320, 0.15)
    assert feet.weighed == pytest.approx(50)
    assert (hands.name, hands.jar) == ("hand polish", 0.1)
    assert hands.formula.fraction("sea salt, fine") == pytest.approx(0.35)
    assert feet.brief is hands.brief
    assert found.suppliers["Tarnwick Cosmetic Supplies"] == Order(7.9, 120)
    assert (found.offers, found.lots) == (None, None)


def test_tables_beside_the_plan(shop: Path) -> None:
    shutil.copytree(Path(__file__).parents[1] / "winter", shop, dirs_exist_ok=True)
    found = read_plan(shop / "plan.toml")
    assert found.suppliers["Quay Street Scents"] == Order(5.2, None)
    assert (found.offers, found.lots) == (shop / "offers.csv", shop / "lots.csv")


def test_every_fault_at_once(shop: Path) -> None:
    text = """
    date = "soon"
    offers = 3
    shelf = "x"
    leftover = "100 %"
    [[product]]
    brief = "none.toml"
    jars = 4
    loss = 0
    [[product]]
    brief = "brief.toml"
    formula = "workshop.csv"
    jars = 2.5
    colour = "red"
    [[product]]
    jars = 4
    loss = "x"
    [suppliers.one]
    postage = "3 GBP"
    free_from = 0
    """
    places = faults(shop, text)
    assert [place for place in places if not place.startswith(("row", "header"))] == [
        "shelf", "file", "[[product]] 2, colour", "[[product]] 2, jars", "[[product]] 2, loss", "[[product]] 3, brief",
        "[[product]] 3, loss", "date", "[suppliers] one, postage", "[suppliers] one, free_from", "leftover", "offers",
    ]  # fmt: skip
    assert any(place.startswith("header") for place in places)


def test_a_plan_without_products(shop: Path) -> None:
    assert faults(shop, "title = 'x'") == ["[[product]]"]
    assert faults(shop, "product = 3") == ["[[product]]"]


def test_a_brief_without_a_formula_or_a_jar(shop: Path) -> None:
    brief = (shop / "brief.toml").read_text(encoding="utf-8")
    lines = [line for line in brief.splitlines() if not line.startswith(("reference", "jar"))]
    (shop / "bare.toml").write_text("\n".join(lines), encoding="utf-8")
    text = "[[product]]\nbrief = 'bare.toml'\njars = 4\nloss = 0"
    assert faults(shop, text) == ["[[product]] 1, formula", "[[product]] 1, jar"]


def test_no_toml_is_told(shop: Path) -> None:
    assert faults(shop, "date = ") == ["line 1"]


def test_how_far_lines_may_move_and_a_formula_that_is_open(shop: Path) -> None:
    brief = (shop / "brief.toml").read_text(encoding="utf-8")
    (shop / "open.toml").write_text(brief.replace('reference = "today.csv"', ""), encoding="utf-8")
    text = '[[product]]\nbrief = "open.toml"\njars = 4\nloss = 0\nmove = "3 %"\n'
    (shop / "open-plan.toml").write_text(text, encoding="utf-8")
    (made,) = read_plan(shop / "open-plan.toml", formulas=False).products
    assert (made.move, made.formula.lines) == (0.03, ())
    with pytest.raises(BadInput, match="formula"):
        read_plan(shop / "open-plan.toml")


def test_a_vessel_with_its_goes_jars_that_are_open_and_lines_of_its_own(shop: Path) -> None:
    text = 'vessel = "2 kg"\ngoes = 9\n[[product]]\nbrief = "brief.toml"\njars = 40\nfewest = 10\nloss = 0\n'
    (shop / "many.toml").write_text(f'{text}own = ["fragrance oil"]\n', encoding="utf-8")
    plan = read_plan(shop / "many.toml")
    (made,) = plan.products
    assert (plan.vessel, plan.most_goes, made.fewest, made.own) == (2.0, 9, 10, ("fragrance oil",))
    assert made.goes(2.0) == -(-made.weighed // 2)
    assert plan.goes == made.goes(2.0)
    wrong = "goes = 3\n[[product]]\nbrief = 'brief.toml'\njars = 4\nfewest = 5\nloss = 0\nown = ['stardust']"
    assert set(faults(shop, wrong)) == {"vessel", "[[product]] 1, fewest", "[[product]] 1, own"}


def test_by_when_to_order_and_how_long_the_work_takes(shop: Path) -> None:
    costs = "loss = 0\nshipping = { share = 0 }\npackaging = { jar = 1 }\noverhead = { month = 0, units = 1 }\n"
    work = '[labour]\nwage = 15\nsteps = { melt = { batch = "30 min" }, fill = { jar = "2 min" } }\n'
    (shop / "costs.toml").write_text(costs + work, encoding="utf-8")
    text = 'date = 2026-12-05\ncosts = "costs.toml"\nvessel = "2 kg"\n[[product]]\nbrief = "brief.toml"\njars = 40\n'
    (shop / "late.toml").write_text(f'{text}jar = "100 g"\nloss = 0\n[suppliers.mill]\ndays = 4\n', encoding="utf-8")
    plan = read_plan(shop / "late.toml")
    assert plan.minutes == 2 * 30 + 40 * 2  # 4 kg in two goes
    assert str(plan.order_by("mill")) == "2026-12-01"
    assert plan.order_by("dock") is None
