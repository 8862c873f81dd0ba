"""The reader of costs: what it reads, and every fault at once."""

import csv
from dataclasses import replace
from pathlib import Path

import pytest

from optiform.brief.file import read_brief
from optiform.costs.file import KEYS, Channel, Costs, OneOff, Step, read_costs
from optiform.ingredients.catalogue import read_catalogue
from optiform.reading.faults import BadInput
from optiform.reading.paths import DEMO

LEAST = """
loss = 0
[shipping]
share = 0
[packaging]
[labour]
wage = 0
steps = {}
[overhead]
month = 0
units = 1
"""


def read(tmp_path: Path, text: str, currency: str = "EUR") -> Costs:
    path = tmp_path / "costs.toml"
    path.write_text(text, encoding="utf-8")
    return read_costs(path, read_catalogue(), currency)


def faults(tmp_path: Path, text: str) -> list[tuple[str, str]]:
    with pytest.raises(BadInput) as bad:
        read(tmp_path, text)
    assert all(fault.file.endswith("costs.toml") for fault in bad.value.faults)
    return [(fault.place, fault.expected) for fault in bad.value.faults]


def test_the_demo() -> None:
    found = read_costs(DEMO / "costs.toml", read_catalogue(), "EUR")
    assert (found.loss, found.vessel, found.shipping_share) == (0.04, 5, 0.09)
    assert found.shipping["sea salt, fine"] == 4.60
    assert sum(price or 0 for price in found.packaging.values()) == pytest.approx(1.40)
    assert found.steps[1] == Step("melt, hold and cool", 20, 0.2)
    assert (found.wage, found.month, found.units) == (15, 260, 420)
    assert found.one_offs[0] == OneOff("safety assessment", 165, 1200)
    assert replace(found.channels[1], fee=0.0) == Channel("market stall", "retail", each=0.08)
    assert found.channels[1].fee == pytest.approx(0.018)


def test_units_are_read(tmp_path: Path) -> None:
    text = LEAST.replace("wage = 0", 'wage = "0.30 EUR/min"').replace("steps = {}", 'steps = {a = {batch = "1.5 h"}}')
    found = read(tmp_path, text)
    assert found.wage == pytest.approx(18)
    assert found.steps == (Step("a", 90, 0),)


def test_a_synonym_is_the_ingredient(tmp_path: Path) -> None:
    item = next(item for item in read_catalogue().ingredients.values() if item.synonyms)
    found = read(tmp_path, LEAST.replace("share = 0", f'share = 0\npacks = {{"{item.synonyms[0].upper()}" = 2}}'))
    assert found.shipping == {item.name: 2}


def test_packaging_without_a_price_is_not_known(tmp_path: Path) -> None:
    assert read(tmp_path, LEAST.replace("[packaging]", '[packaging]\nlid = ""')).packaging == {"lid": None}


def test_nothing_is_taken_for_zero(tmp_path: Path) -> None:
    places = [place for place, _ in faults(tmp_path, "vessel = 5")]
    assert places == ["loss", "shipping", "packaging", "labour", "overhead"]
    inner = [place for place, _ in faults(tmp_path, LEAST.replace("wage = 0", "").replace("month = 0", ""))]
    assert inner == ["[labour] wage", "[overhead] month"]


def test_every_fault_at_once(tmp_path: Path) -> None:
    text = """
loss = "120 %"
postage = 3
[shipping]
share = "much"
packs = {"moon dust" = 2}
[packaging]
jar = "2 GBP"
lid = -1
[labour]
wage = 15
steps = {"a" = {minutes = 2}, "b" = 3}
[overhead]
month = 1
units = 0
[one_off]
x = {cost = 1}
[price_steps]
trade = 2
[channels]
m = {step = "x", fee = "100 %"}
"""
    assert [place for place, _ in faults(tmp_path, text)] == [
        "postage", "[price_steps] trade", "loss", "[shipping] share", "[shipping] packs, moon dust", "[packaging] jar",
        "[packaging] lid", "[labour] steps, a, minutes", "[labour] steps, b", "[overhead] units", "[one_off] x",
        "[channels] m, step", "[channels] m, fee",
    ]  # fmt: skip


@pytest.mark.parametrize("key", KEYS)
def test_a_key_of_the_wrong_kind_is_a_fault(tmp_path: Path, key: str) -> None:
    start = LEAST.replace("loss = 0", "") if key == "loss" else LEAST
    blocks = start.split("\n[")
    kept = "\n[".join(block for block in blocks if not block.startswith(f"{key}]"))
    assert key in str(faults(tmp_path, f'{key} = "?"\n{kept}'))


def test_no_toml_is_told(tmp_path: Path) -> None:
    assert faults(tmp_path, "loss = ")[0] == ("line 1", "a TOML document")


def test_the_demo_pays_for_a_piece_what_its_records_say() -> None:
    """Packaging of one name has one price in the demo, and the carton share is a sixth of the box of six."""
    brief = read_brief(DEMO / "brief.toml")
    paid = read_costs(DEMO / "costs.toml", brief.catalogue, "EUR").packaging
    with (DEMO / "workshop" / "packaging.csv").open(encoding="utf-8", newline="") as table:
        kept = {row["name"]: float(row["price"]) for row in csv.DictReader(table)}
    box = kept.pop("shipping box for 6")
    assert {name: paid[name] for name in kept} == kept
    assert paid["a sixth of a shipping box"] == pytest.approx(box / 6)


@pytest.mark.parametrize("units", ["units = 0", ""])
def test_a_month_that_costs_nothing_needs_no_units(tmp_path: Path, units: str) -> None:
    assert read(tmp_path, LEAST.replace("units = 1", units)).overhead == 0.0
    dear = LEAST.replace("month = 0", "month = 260").replace("units = 1", units)
    assert [place for place, _ in faults(tmp_path, dear)] == ["[overhead] units"]
