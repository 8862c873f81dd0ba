"""The pages of costs and purchases: what they must say, nothing unescaped, in the order that was worked out."""

import html
import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from optiform.brief.file import read_brief
from optiform.costs.buy import Purchases, buy
from optiform.costs.file import read_costs
from optiform.costs.jar import cost_sheet
from optiform.costs.money import shown
from optiform.costs.plan import read_plan
from optiform.costs.sheet import CostSheet
from optiform.ingredients.catalogue import read_catalogue
from optiform.reading.paths import DEMO
from optiform.telling.buy import buy as buy_told
from optiform.telling.costed import part_name, risen
from optiform.telling.costs import costs as costs_told
from optiform.telling.document import document
from optiform.telling.terminal import terminal
from optiform.workshop.supplies import read_lots, read_offers

WINTER = Path(__file__).parents[1] / "winter"


def rows(page: str) -> list[list[str]]:
    """The rows of every table as text."""
    cells = (re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row) for row in re.findall(r"<tr[^>]*>(.*?)</tr>", page))
    return [[html.unescape(cell).strip() for cell in row] for row in cells]


@pytest.fixture(scope="module")
def sheet() -> CostSheet:
    brief = read_brief(DEMO / "brief.toml")
    assert brief.reference is not None
    return cost_sheet(brief, brief.reference, read_costs(DEMO / "costs.toml", brief.catalogue, "EUR"), jars=48)


@pytest.fixture(scope="module")
def purchases(tmp_path_factory: pytest.TempPathFactory) -> Purchases:
    shop = Path(shutil.copytree(DEMO, tmp_path_factory.mktemp("winter"), dirs_exist_ok=True))
    shutil.copytree(WINTER, shop, dirs_exist_ok=True)
    catalogue = read_catalogue([DEMO / "workshop.csv"])
    offers, lots = read_offers(shop / "offers.csv", [catalogue]), read_lots(shop / "lots.csv", [catalogue])
    found = buy(read_plan(shop / "plan.toml"), offers, lots)
    assert isinstance(found, Purchases)
    return found


def test_every_part_of_the_cost_is_on_the_page(sheet: CostSheet) -> None:
    found = rows(document(costs_told(sheet)))
    assert ["full cost", shown(sheet.full, 3), "100.0"] in found
    told = {cell for row in found for cell in row}
    names = [(part.group, part_name(part, sheet.costs)) for part in sheet.parts]
    assert [name for group, name in names if name not in told and f"{group} ({name})" not in told] == []
    assert {sale.channel for sale in sheet.sales} <= told
    assert {risen(each) for each in sheet.sensitivity} <= told


def test_a_sheet_that_is_not_known_says_so(sheet: CostSheet) -> None:
    costs = replace(sheet.costs, packaging={**sheet.costs.packaging, "<lid>": None})
    page = document(costs_told(cost_sheet(sheet.brief, sheet.formula, costs)))
    assert "A jar costs at least" in page
    assert "&lt;lid&gt;" in page
    assert "<lid>" not in page


def test_the_orders_and_the_lots_are_on_the_page(purchases: Purchases) -> None:
    page = document(buy_told(purchases))
    found = rows(page)
    orders = [row[0] for row in found if row[0] in {parcel.supplier for parcel in purchases.parcels}]
    assert orders == [parcel.supplier for parcel in purchases.parcels]
    for draw in purchases.shelf.drawn:
        assert [
            draw.ingredient,
            draw.lot,
            str(draw.expiry or "no date"),
            f"{draw.kg:.3f}",
            f"{draw.stays:.3f}",
            "",
        ] in found
    assert "Not used: lot N-06" in page
    assert ["in all", "", "", "", "", shown(purchases.tied)] in found


def test_the_short_plan_fits_a_screen_and_begins_with_what_is_to_pay(purchases: Purchases) -> None:
    text = terminal(buy_told(purchases).brief(), 90)
    assert len(text.splitlines()) <= 40
    assert f"To pay: {shown(purchases.money)} EUR" in text.split("\n\n")[0]
    assert "Not used: lot N-06" in text
    assert "--part balance" in text


def test_the_short_answer_adds_up(purchases: Purchases) -> None:
    """Packs by their price and their shipping, and the postage, make each order; the orders make what is to pay."""
    (orders,) = buy_told(purchases).brief().only("orders").tables
    heads = [column.head for column in orders.columns]
    packs, price, shipping, cost = (heads.index(head) for head in ("packs", "a pack", "shipping", "cost"))
    summed = 0.0
    for k, row in enumerate(orders.rows):
        if row[packs] is not None:
            each = [float(str(row[place])) for place in (packs, price, shipping)]
            assert float(str(row[cost])) == pytest.approx(each[0] * (each[1] + each[2]))
        summed += float(str(row[cost])) if k not in orders.strong else 0.0
    assert summed == pytest.approx(purchases.money)


def test_the_table_has_a_row_for_every_pack_and_every_postage(purchases: Purchases) -> None:
    table = buy_told(purchases).table
    assert sum(float(str(row[6])) for row in table.rows) == pytest.approx(purchases.money)
    assert len(table.rows) == sum(len(parcel.packs) + 1 for parcel in purchases.parcels)


def test_nothing_to_buy_is_told(purchases: Purchases) -> None:
    plan = replace(purchases.plan, products=tuple(replace(p, jars=1) for p in purchases.plan.products[1:]))
    catalogue = read_catalogue([DEMO / "workshop.csv"])
    found = buy(plan, [], read_lots(WINTER / "lots.csv", [catalogue]))
    assert isinstance(found, Purchases)
    assert "Nothing has to be bought" in document(buy_told(found))
