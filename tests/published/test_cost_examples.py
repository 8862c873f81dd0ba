"""A batch worked by hand in fractions, and two errors that makers' own sums are known for.

There is no standard for the cost of a jar. The example below was worked by hand with fractions, not with the project:
each figure in the comments is the sum on paper. The rules are common practice, no source.

The errors: the overhead of a month divided by one product's or one batch's jars instead of all units of the month, and
shipping left out of the price of an ingredient.
"""

from dataclasses import replace
from fractions import Fraction

import pytest

from optiform.costs.file import Channel, Costs, OneOff, Step
from optiform.costs.jar import cost_sheet
from optiform.ingredients.formula import Formula, Line
from optiform.telling.costed import risen, sheet_notes
from tests.builders import brief_of, figure, ingredient

# Packs: 5 kg for 20.00 and 1 kg for 24.00, so 4 and 24 a kg; 10 % shipping: 4.40 and 26.40 landed.
OIL = ingredient("oil", 4, "oil", {})
BUTTER = ingredient("butter", 24, "butter", {})
for item, pack_price, pack in ((OIL, 20, 5), (BUTTER, 24, 1)):
    assert isinstance(item.values, dict)
    item.values["pack price", None] = figure(pack_price, "EUR")
    item.values["pack", None] = figure(pack, "kg")
    item.values["stock", None] = figure(0.5, "kg")
FORMULA = Formula("three to one", (Line(OIL, 0.75, "oil phase"), Line(BUTTER, 0.25, "oil phase")))
COSTS = Costs(
    loss=0.04,
    shipping_share=0.10,
    packaging={"jar": 0.60, "lid": 0.20, "label": 0.15},
    wage=18,
    steps=(Step("melt", 40, 0), Step("fill", 0, 1.5)),
    month=300,
    units=500,
    one_offs=(OneOff("assessment", 150, 1000),),
    channels=(
        Channel("shop", "wholesale"),
        Channel("market", "retail", fee=0.02, each=0.10),
        Channel("web", "retail", discount=0.10, fee=0.03),
    ),
)
BRIEF = replace(brief_of([OIL, BUTTER]), jar=0.2)
SHEET = cost_sheet(BRIEF, FORMULA, COSTS, jars=24)


def near(number: float | None, fraction: Fraction) -> None:
    assert number == pytest.approx(float(fraction), rel=1e-12)


def test_the_example_worked_by_hand() -> None:
    near(SHEET.weighed, Fraction(5))  # 24 x 200 g = 4.8 kg; 4.8 / 0.96
    groups = dict(SHEET.groups)
    near(groups["ingredients"], Fraction(198, 100))  # 0.2 x (0.75 x 4.40 + 0.25 x 26.40) = 0.2 x 9.90
    near(groups["process loss"], Fraction(33, 400))  # (5 - 4.8) x 9.90 / 24 = 0.0825
    near(groups["packaging"], Fraction(95, 100))
    near(groups["labour"], Fraction(95, 100))  # (40 / 24 + 1.5) min x 18 / 60 = 0.50 + 0.45
    near(groups["overhead"], Fraction(60, 100))  # 300 / 500
    near(groups["paid once"], Fraction(15, 100))  # 150 / 1000
    near(SHEET.full, Fraction(47125, 10000))
    near(SHEET.wholesale, Fraction(9425, 1000))
    near(SHEET.retail, Fraction(1885, 100))


def test_packs_and_cash_of_the_example() -> None:
    oil, butter = SHEET.lines
    assert [oil.need, butter.need] == pytest.approx([3.75, 1.25])
    assert (oil.packs, butter.packs) == (1, 1)  # 3.25 kg lack of 5 kg packs; 0.75 kg of 1 kg packs
    near(SHEET.cash, Fraction(484, 10))  # 22.00 + 26.40


def test_prices_of_the_example() -> None:
    shop, market, web = SHEET.sales
    near(shop.margin, Fraction(47125, 10000))  # 9.425 - 4.7125
    near(market.fees, Fraction(477, 1000))  # 0.377 + 0.10
    near(market.margin, Fraction(136605, 10000))  # 18.85 - 0.477 - 4.7125
    near(web.takings, Fraction(16965, 1000))
    near(web.fees, Fraction(50895, 100000))
    near(web.least_price, Fraction(47125, 10000) / Fraction(873, 1000))  # 0.9 x 0.97
    # Batch work 12.00. At 9.425 a jar pays 9.425 - 4.7125 + 0.50 = 5.2125 towards it: 2.3, so 3 jars.
    assert shop.least_jars == 3
    assert shop.repaid_after == 31  # 150 / (4.7125 + 0.15) = 30.8
    assert shop.month_jars == 57  # 300 / (4.7125 + 0.60) = 56.5


def test_thirty_per_cent_of_the_example() -> None:
    changes = {each.what: each.change for each in SHEET.sensitivity}
    near(changes["butter"], Fraction(3, 10) * Fraction(33, 24))  # 0.3 x 1.25 kg x 26.40 / 24
    near(changes["wage"], Fraction(285, 1000))
    assert [risen(each) for each in SHEET.sensitivity][:2] == ["butter", "packaging, all of it"]


def test_overhead_is_spread_over_the_month_and_not_over_the_batch() -> None:
    """The known error gives 300 / 24 = 12.50 a jar; the batch's size must not move the overhead of a jar at all."""
    for jars in (1, 24, 50, 480):
        sheet = cost_sheet(BRIEF, FORMULA, COSTS, jars=jars)
        near(dict(sheet.groups)["overhead"], Fraction(6, 10))


def test_shipping_is_in_the_price() -> None:
    """Left out, the ingredients of this jar would cost 1.80 and not 1.98."""
    bare = cost_sheet(BRIEF, FORMULA, replace(COSTS, shipping_share=0.0), jars=24)
    near(dict(bare.groups)["ingredients"], Fraction(18, 10))
    assert any("shipping" in note for note in sheet_notes(bare))
    assert not any("shipping" in note for note in sheet_notes(SHEET))


def test_parts_are_added_and_nothing_is_added_twice() -> None:
    """Ingredients that cost 3.07 are 3.07: pages are known to add parts of a sum to the sum again."""
    costs = Costs(0, 0, {}, 0, (), 0, 1)
    sheet = cost_sheet(replace(BRIEF, jar=0.31), FORMULA, costs, jars=1)
    near(sheet.full, Fraction(31, 100) * 9)
    assert [part.cost for part in sheet.parts if part.group not in ("ingredients", "process loss")] == [0.0]
