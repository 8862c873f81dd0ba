"""The cost sheet: parts sum to the whole, what is not known stays not known, packs and prices follow their rules."""

import datetime
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.costs.file import Channel, Costs, OneOff, Step, read_costs
from optiform.costs.jar import RISE, cost_sheet
from optiform.costs.money import shown
from optiform.costs.sheet import LOST, OVER, CostSheet
from optiform.ingredients.formula import Formula, Line
from optiform.reading.faults import BadInput
from optiform.reading.paths import DEMO
from optiform.telling.costed import lacking, part_name, sheet_notes, why_none
from optiform.telling.costs import costs, prices_in_words
from optiform.workshop.records import Offer
from tests.builders import brief_of, figure, ingredient

OIL, BUTTER, WATER = ingredient("oil", 4, "oil"), ingredient("butter", 24, "butter"), ingredient("water", 1, "water")
BRIEF = replace(brief_of([OIL, BUTTER, WATER]), jar=0.25, batch=3.0)
COSTS = Costs(
    loss=0.05,
    shipping_share=0.1,
    packaging={"jar": 0.6, "lid": 0.2},
    wage=12,
    steps=(Step("melt", 30, 0), Step("fill", 0, 2)),
    month=200,
    units=400,
    vessel=4.0,
    one_offs=(OneOff("test", 90, 900),),
    channels=(Channel("shop", "wholesale"), Channel("market", "retail", 0.1, 0.02, 0.05)),
)


def formula(*shares: float) -> Formula:
    items = (OIL, BUTTER, WATER)
    return Formula("made", tuple(Line(i, s, i.phase) for i, s in zip(items, shares, strict=False) if s > 0))


MADE = formula(0.5, 0.3, 0.2)


@pytest.fixture(scope="module")
def demo() -> Brief:
    return read_brief(DEMO / "brief.toml")


money = st.floats(0, 500).map(lambda value: round(value, 2))


@settings(max_examples=40)
@given(
    share=st.floats(0.01, 0.98), jars=st.integers(1, 500), loss=st.floats(0, 0.5), shipping=st.floats(0, 2),
    packaging=st.lists(money, max_size=4), wage=money, minutes=st.tuples(money, money), month=money,
    vessel=st.none() | st.floats(0.5, 20),
)  # fmt: skip
def test_parts_sum_to_the_whole(
    share: float, jars: int, loss: float, shipping: float, packaging: list[float], wage: float,
    minutes: tuple[float, float], month: float, vessel: float | None,
) -> None:  # fmt: skip
    """And the batch as a whole costs what its jars cost."""
    costs = Costs(
        loss, shipping, {str(k): price for k, price in enumerate(packaging)}, wage, (Step("all", *minutes),), month, 70,
        vessel=vessel, one_offs=(OneOff("test", month, 50),),
    )  # fmt: skip
    sheet = cost_sheet(BRIEF, formula(share, 1 - share), costs, jars=jars)
    assert sheet.full is not None
    assert sheet.full == pytest.approx(sum(part.cost or 0 for part in sheet.parts), rel=1e-9)
    assert sheet.full == pytest.approx(sum(cost or 0 for _, cost in sheet.groups), rel=1e-9)
    assert sum(part.share or 0 for part in sheet.parts) == pytest.approx(1, rel=1e-9)
    assert sheet.weighed * (1 - loss) == pytest.approx(jars * 0.25)
    paid = (1 + shipping) * sheet.weighed * (4 * share + 24 * (1 - share)) + jars * sum(packaging)
    work = wage / 60 * (sheet.batches * minutes[0] + jars * minutes[1])
    assert jars * sheet.full == pytest.approx(paid + work + jars * month * (1 / 70 + 1 / 50), rel=1e-9)


def test_a_batch_fills_whole_jars_and_the_rest_is_paid() -> None:
    sheet = cost_sheet(BRIEF, MADE, COSTS, batch=2.375)
    assert sheet.jars == 9  # 2.375 / 0.25 = 9.5; with 5 % lost on the way 2.5 kg are weighed
    assert any("125 g are left" in note for note in sheet_notes(sheet))
    assert any("also counts what is filled beyond the net mass" in note for note in sheet_notes(sheet))
    ingredients = sum((line.cost or 0) + (line.lost or 0) for line in sheet.lines)
    assert 9 * ingredients == pytest.approx(2.5 * 1.1 * (0.5 * 4 + 0.3 * 24 + 0.2 * 1))


def test_what_is_lost_and_what_is_left_over_are_told_apart() -> None:
    """Of 2.5 kg weighed 125 g are lost, 2.375 kg come out, nine jars take 2.25 kg and 125 g are left."""
    parts = {part.name: part.cost for part in cost_sheet(BRIEF, MADE, COSTS, batch=2.375).parts}
    assert parts[LOST] == pytest.approx(parts[OVER])
    whole = [part_name(part, COSTS) for part in cost_sheet(BRIEF, MADE, COSTS, jars=9).parts]
    assert "lost on the way" in whole
    assert "left over, fills no jar" not in whole


def test_the_briefs_batch_if_nothing_is_said() -> None:
    assert (cost_sheet(BRIEF, MADE, COSTS).weighed, cost_sheet(BRIEF, MADE, COSTS).jars) == (3 / 0.95, 12)


def test_a_full_batch_counts_every_jar() -> None:
    """0.3 / 0.1 is 2.9999999999999996, and three jars."""
    assert cost_sheet(replace(BRIEF, jar=0.1), MADE, COSTS, batch=0.3).jars == 3


def test_the_vessel_sets_the_batches_and_their_minutes() -> None:
    one, two = (cost_sheet(BRIEF, MADE, COSTS, jars=jars) for jars in (15, 16))
    assert (one.batches, two.batches) == (1, 2)  # 3.947 and 4.211 kg in a vessel of 4
    melt = {part.name: part.cost for part in two.parts}["melt"]
    assert melt == pytest.approx(2 * 30 / 16 / 60 * 12)


def priced(packs: float, price: float, stock: float | None) -> Formula:
    figures = {"price": (price / packs, "EUR/kg"), "pack price": (price, "EUR"), "pack": (packs, "kg")}
    figures |= {"stock": (stock, "kg")} if stock is not None else {}
    item = replace(OIL, values={(name, None): figure(*number) for name, number in figures.items()})
    return Formula("oil alone", (Line(item, 1.0, "oil phase"),))


@pytest.mark.parametrize(
    ("stock", "packs"), [(0, 2), (2.5, 1), (5, 1), (5.1, 1), (7.495, 1), (7.5, 0), (9, 0), (None, 2)]
)
def test_whole_packs_against_the_stock(stock: float | None, packs: int) -> None:
    """7.5 kg are weighed, in packs of 5."""
    sheet = cost_sheet(BRIEF, priced(5, 20, stock), replace(COSTS, loss=0.0), jars=30)
    assert sheet.lines[0].packs == packs
    assert sheet.cash == pytest.approx(packs * 22)
    assert any("is not known, and counts as none" in note for note in sheet_notes(sheet)) == (stock is None)


def test_shipping_of_a_pack_that_is_known() -> None:
    sheet = cost_sheet(BRIEF, priced(5, 20, 0), replace(COSTS, shipping={"oil": 6.0}), jars=4)
    assert sheet.lines[0].landed.per_kg == pytest.approx(26 / 5)


def offer(name: str, pack: float, price: float, day: int, currency: str = "EUR") -> Offer:
    return Offer(
        ingredient=name, supplier=f"mill {day}", pack=pack, price=price, currency=currency,
        date=datetime.date(2026, 11, day), shipping=1.0,
    )  # fmt: skip


def test_the_newest_offer_goes_first_and_of_these_the_least_per_kg() -> None:
    offers = [offer("oil", 1, 2, 3), offer("oil", 1, 5, 9), offer("oil", 5, 24, 9), offer("oil", 1, 1, 20, "GBP")]
    landed = cost_sheet(BRIEF, MADE, COSTS, offers, jars=4).lines[0].landed
    assert (landed.supplier, landed.pack, landed.per_kg) == ("mill 9", 5, 5.0)
    assert cost_sheet(BRIEF, MADE, COSTS, jars=4).lines[0].landed.per_kg == pytest.approx(4.4)


def test_what_has_no_price_is_named_and_nothing_is_zero() -> None:
    bare = replace(OIL, values={("price", None): figure(3, "GBP/kg")})
    made = Formula("made", (Line(bare, 0.5, "oil phase"), Line(BUTTER, 0.5, "oil phase")))
    sheet = cost_sheet(BRIEF, made, replace(COSTS, packaging={"jar": None, "lid": 0.2}), jars=12)
    assert (sheet.full, sheet.wholesale, sheet.retail, sheet.cash, sheet.reach) == (None,) * 5
    assert (sheet.sales, sheet.sensitivity) == ((), ())
    assert sheet.lacking == ("oil", "jar")
    assert dict(sheet.groups)["ingredients"] is None
    assert sheet.known == pytest.approx(sum(part.cost or 0 for part in sheet.parts))
    assert any("No price in EUR for oil" in note for note in sheet_notes(sheet))
    assert all(part.share is None for part in sheet.parts)


def test_prices_and_what_they_leave() -> None:
    sheet = cost_sheet(BRIEF, MADE, replace(COSTS, wholesale=1.8, retail=1.9), jars=12)
    assert sheet.full is not None
    shop, market = sheet.sales
    assert shop.price == pytest.approx(1.8 * sheet.full)
    assert market.price == pytest.approx(1.8 * 1.9 * sheet.full)
    assert market.takings == pytest.approx(0.9 * market.price)
    assert market.margin == pytest.approx(market.takings - 0.02 * market.takings - 0.05 - sheet.full)
    assert f"Wholesale {shown(sheet.wholesale)}" in prices_in_words(sheet)
    set_price = cost_sheet(BRIEF, MADE, COSTS, jars=12, price=market.least_price).sales[1]
    assert set_price.margin == pytest.approx(0, abs=1e-12)


def test_a_price_of_the_channels_own() -> None:
    costs = replace(COSTS, channels=(Channel("fair", "retail", price=9.0),))
    assert cost_sheet(BRIEF, MADE, costs, jars=12).sales[0].price == 9.0
    assert cost_sheet(BRIEF, MADE, costs, jars=12, price=7.0).sales[0].price == 7.0


def test_a_given_price_is_the_retail_price_and_who_sells_on_pays_less() -> None:
    sheet = cost_sheet(BRIEF, MADE, replace(COSTS, retail=2.5), jars=12, price=12.0)
    shop, market = sheet.sales
    assert [shop.price, market.price] == pytest.approx([4.8, 12.0])
    assert "Retail 12.00 EUR as given, wholesale 4.80 EUR" in prices_in_words(sheet)
    assert shown(sheet.retail) in prices_in_words(sheet), "what the cost would ask is told beside it"


def test_a_price_that_is_known_is_not_called_unknown_for_want_of_its_pack() -> None:
    bare = replace(OIL, values={("price", None): figure(3, "EUR/kg")})
    made = Formula("made", (Line(bare, 0.5, "oil phase"), Line(WATER, 0.5, "water phase")))
    sheet = cost_sheet(BRIEF, made, replace(COSTS, shipping={"oil": 6.0}), jars=12)
    assert sheet.full is None
    assert sheet.lacking == ("oil",)
    assert "no price" not in lacking(sheet)
    assert "how much a pack holds is not known, for oil" in lacking(sheet)
    assert not any("No price" in note for note in sheet_notes(sheet))


@pytest.mark.parametrize("price", [4.3, 5.0, 6.0, 12.0])
def test_the_fewest_jars_of_a_batch_that_pay(price: float) -> None:
    """Counted up from one jar: the first batch that leaves something is the one that is told."""
    told = cost_sheet(BRIEF, MADE, COSTS, jars=12, price=price).sales[0].least_jars
    pays = [jars for jars in range(1, 16) if cost_sheet(BRIEF, MADE, COSTS, jars=jars, price=price).sales[0].margin > 0]
    assert told == (pays[0] if pays else None)


def test_a_price_below_cost_never_pays() -> None:
    sale = cost_sheet(BRIEF, MADE, COSTS, jars=12, price=0.5).sales[0]
    assert (sale.least_jars, sale.repaid_after, sale.month_jars) == (None, None, None)


def test_sensitivity_is_what_a_dearer_price_does() -> None:
    """Against the whole sheet worked out again with that price."""
    sheet = cost_sheet(BRIEF, MADE, COSTS, jars=12)
    changes = [each.change for each in sheet.sensitivity]
    assert changes == sorted(changes, reverse=True)
    told = {each.what: each.cost for each in sheet.sensitivity}
    up = 1 + RISE
    again = {
        "wage": cost_sheet(BRIEF, MADE, replace(COSTS, wage=12 * up), jars=12),
        "packaging": cost_sheet(BRIEF, MADE, replace(COSTS, packaging={"all": 0.8 * up}), jars=12),
        "overhead": cost_sheet(BRIEF, MADE, replace(COSTS, month=200 * up), jars=12),
        "butter": cost_sheet(BRIEF, MADE, COSTS, [offer("butter", 1, 24 * 1.1 * up - 1, 1)], jars=12),
    }
    for what, other in again.items():
        assert told[what] == pytest.approx(other.full), what


def test_how_much_the_formula_can_move(demo: Brief) -> None:
    assert demo.reference is not None
    costs = read_costs(DEMO / "costs.toml", demo.catalogue, "EUR")
    sheet = cost_sheet(demo, demo.reference, costs)
    assert sheet.reach is not None
    assert sheet.reach.formula is not None
    assert sheet.full is not None
    assert sheet.reach.share == pytest.approx(sum((x.cost or 0) + (x.lost or 0) for x in sheet.lines) / sheet.full)
    again: CostSheet = cost_sheet(demo, sheet.reach.formula, costs)
    assert again.full == pytest.approx(sheet.reach.cost, abs=1e-6)
    assert again.reach is not None
    assert again.reach.saving == pytest.approx(0, abs=1e-6)


def test_reach_says_why_it_is_not_known() -> None:
    poor = replace(BUTTER, values={})
    sheet = cost_sheet(replace(brief_of([OIL, poor]), jar=0.25), formula(1.0), COSTS, jars=4)
    assert sheet.reach is not None
    assert sheet.reach.saving is None
    assert "butter" in why_none(sheet.reach.why)
    narrow = brief_of([OIL, BUTTER], {"oil phase": (None, 10.0)})
    impossible = cost_sheet(replace(narrow, jar=0.25), formula(1.0), COSTS, jars=4)
    assert impossible.reach is not None
    assert why_none(impossible.reach.why) == "no formula meets the brief"


@pytest.mark.parametrize(("jar", "jars", "batch"), [(None, 4, None), (0.25, 0, None), (0.25, None, 0.1)])
def test_no_jar_no_sheet(jar: float | None, jars: int | None, batch: float | None) -> None:
    with pytest.raises(BadInput):
        cost_sheet(replace(BRIEF, jar=jar), MADE, COSTS, jars=jars, batch=batch)


# -- several products, several numbers of jars -------------------------------------------------------------------------


def test_what_is_paid_once_for_several_products_is_borne_by_each_alike() -> None:
    shared = replace(COSTS, one_offs=(OneOff("test", 90, 900, 3),))
    alone, third = (cost_sheet(BRIEF, formula(0.5, 0.3, 0.2), costs) for costs in (COSTS, shared))
    paid = [part for sheet in (alone, third) for part in sheet.parts if part.group == "paid once"]
    assert [part.cost for part in paid] == pytest.approx([0.1, 0.1 / 3])
    names = [part_name(part, costs) for part, costs in zip(paid, (COSTS, shared), strict=True)]
    assert names == ["test", "test, one for 3 products"]


def test_the_curve_is_the_sheet_of_each_number_of_jars() -> None:
    sheet = cost_sheet(BRIEF, formula(0.5, 0.3, 0.2), COSTS)
    assert sheet.jars in [point.jars for point in sheet.curve]
    for point in sheet.curve:
        jars = None if point.jars == sheet.jars else point.jars
        own = cost_sheet(BRIEF, formula(0.5, 0.3, 0.2), COSTS, jars=jars)
        assert point.batches == own.batches
        assert point.cost == pytest.approx(own.full)
    costs = [point.cost for point in sheet.curve if point.batches == 1]
    assert costs == sorted(costs, reverse=True)  # in one batch more jars share its minutes


def test_the_short_telling_says_nothing_of_more_jars_where_they_change_nothing() -> None:
    sheet = cost_sheet(BRIEF, MADE, COSTS, jars=12)
    flat = replace(sheet, curve=tuple(replace(point, cost=sheet.curve[0].cost + 1e-6) for point in sheet.curve))
    moving, still = (costs(of).only("jars").sections[-1].instead for of in (sheet, flat))
    assert moving.startswith("With ")
    assert still == ""


def test_a_month_that_costs_nothing_costs_a_jar_nothing_and_is_told_so() -> None:
    free = replace(COSTS, month=0.0, units=0.0)
    sheet = cost_sheet(BRIEF, MADE, free)
    (overhead,) = (part for part in sheet.parts if part.group == "overhead")
    assert overhead.cost == 0.0
    assert part_name(overhead, free) == "none"
    assert {sale.month_jars for sale in sheet.sales} == {0}
