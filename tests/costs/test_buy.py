"""What to buy: stock by expiry, whole packs for the rest, every kilogram and every cent accounted for."""

import datetime
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from optiform.costs.buy import Purchases, Unobtainable, buy
from optiform.costs.plan import Order, Plan, Product
from optiform.ingredients.formula import Formula, Line
from optiform.telling.costed import terms_notes
from optiform.workshop.records import Lot, Offer
from optiform.workshop.supplies import OnShelf
from tests.builders import brief_of, ingredient

OIL, BUTTER = ingredient("oil", 4, "oil"), ingredient("butter", 24, "butter")
BRIEF = brief_of([OIL, BUTTER])
DAY = datetime.date(2026, 12, 5)


def product(name: str, oil: float, jars: int, jar: float = 0.1, loss: float = 0.0) -> Product:
    lines = [Line(OIL, oil, "oil phase"), Line(BUTTER, 1 - oil, "oil phase")]
    return Product(name, BRIEF, Formula(name, tuple(line for line in lines if line.fraction)), jars, jar, loss)


def plan(*products: Product, leftover: float = 0.0, **suppliers: Order) -> Plan:
    return Plan("a day's work", DAY, "EUR", products, suppliers, leftover)


def offer(name: str, pack: float, price: float, supplier: str = "mill", shipping: float = 0.0, **more: str) -> Offer:
    return Offer(
        ingredient=name, supplier=supplier, pack=pack, price=price, currency=more.get("currency", "EUR"),
        date=datetime.date(2026, 11, 2), shipping=shipping,
    )  # fmt: skip


def lot(number: str, name: str, left: float, expiry: str = "", received: str = "") -> OnShelf:
    day = {"expiry": expiry, "received": received}
    dates = {key: datetime.date.fromisoformat(text) for key, text in day.items() if text}
    return OnShelf(Lot(number=number, ingredient=name, **dates), left)  # type: ignore[arg-type]


def bought(found: Purchases | Unobtainable) -> Purchases:
    assert isinstance(found, Purchases)
    return found


def test_two_products_share_a_pack() -> None:
    """0.8 + 0.9 kg of oil: one pack of 2 kg does for both, where each alone would need one."""
    asked = plan(product("one", 0.8, 10), product("two", 0.9, 10))
    found = bought(buy(asked, [offer("oil", 2, 9), offer("butter", 0.5, 12)], []))
    assert found.money == 9 + 12
    oil = found.balances[0]
    assert [use.kg for use in oil.uses] == pytest.approx([0.8, 0.9])
    assert (oil.need, oil.bought, oil.over) == (1.7, 2.0, 0.3)
    assert oil.tied == pytest.approx(0.3 * 4.5)
    assert found.tied == pytest.approx(sum(each.tied for each in found.balances))


def test_the_loss_is_bought_too() -> None:
    found = bought(buy(plan(product("one", 1.0, 19, 0.1, 0.05)), [offer("oil", 0.5, 3)], []))
    assert found.balances[0].need == 2.0
    assert found.parcels[0].packs[0].count == 4


def test_what_expires_first_is_used_first() -> None:
    lots = [
        lot("D", "oil", 1.0),
        lot("C", "oil", 0.3, "2027-06-01", received="2026-09-01"),
        lot("B", "oil", 0.3, "2027-06-01", received="2026-03-01"),
        lot("A", "oil", 0.2, "2027-01-01"),
    ]
    found = bought(buy(plan(product("one", 1.0, 9)), [], lots))
    assert [(each.lot, each.kg, each.stays) for each in found.shelf.drawn] == [
        ("A", 0.2, 0.0), ("B", 0.3, 0.0), ("C", 0.3, 0.0), ("D", 0.1, 0.9),
    ]  # fmt: skip
    assert (found.parcels, found.money) == ((), 0.0)


def test_a_lot_past_its_day_is_named_and_not_used() -> None:
    lots = [lot("old", "oil", 5, "2026-12-04"), lot("late", "oil", 5, received="2026-12-06"),
            lot("today", "oil", 0.4, "2026-12-05"), lot("other", "butter", 5, "2026-01-01")]  # fmt: skip
    found = bought(buy(plan(product("one", 1.0, 10)), [offer("oil", 1, 6)], lots))
    assert [each.lot for each in found.shelf.drawn] == ["today"]
    assert [(each.lot, each.why.expired) for each in found.shelf.aside] == [("old", True), ("late", False)]
    assert found.balances[0].lacking == 0.6


def test_what_cannot_be_had_is_named_with_its_kilograms() -> None:
    asked = plan(product("one", 0.6, 10), product("two", 0.5, 10))
    found = buy(asked, [offer("butter", 1, 20, currency="GBP")], [lot("A", "oil", 0.7)])
    assert isinstance(found, Unobtainable)
    assert [(each.ingredient, each.need, each.stock, each.lacking) for each in found.missing] == [
        ("oil", 1.1, 0.7, 0.4), ("butter", 0.9, 0.0, 0.9),
    ]  # fmt: skip
    assert [use.product for use in found.missing[0].uses] == ["one", "two"]
    assert found.terms.foreign == (("butter", "mill"),)


def test_postage_sends_all_to_one_supplier() -> None:
    offers = [offer("oil", 1, 5, "near"), offer("oil", 1, 7, "far"), offer("butter", 1, 20, "far")]
    found = bought(buy(plan(product("one", 0.5, 10), near=Order(4.0), far=Order(4.0)), offers, []))
    assert [parcel.supplier for parcel in found.parcels] == ["far"]
    assert found.money == found.parcels[0].cost == 31
    apart = bought(buy(plan(product("one", 0.5, 10), near=Order(1.0), far=Order(4.0)), offers, []))
    assert apart.money == 5 + 1 + 20 + 4


def test_a_spare_pack_for_a_free_order_is_told() -> None:
    offers = [offer("oil", 1, 2), offer("butter", 1, 20)]
    found = bought(buy(plan(product("one", 0.5, 10), mill=Order(9.0, 24.0)), offers, []))
    assert [(each.ingredient, each.bought, each.spare) for each in found.balances] == [
        ("oil", 2.0, 1),
        ("butter", 1.0, 0),
    ]
    assert found.parcels[0].free
    assert found.money == 24


def test_shipping_of_a_pack_is_paid_but_does_not_free_the_order() -> None:
    found = bought(buy(plan(product("one", 1.0, 10), mill=Order(3.0, 10.0)), [offer("oil", 1, 9, shipping=2.0)], []))
    assert found.money == 9 + 2 + 3
    assert found.balances[0].tied == 0


def test_a_supplier_without_terms_is_named() -> None:
    found = bought(buy(plan(product("one", 1.0, 10), other=Order(3.0)), [offer("oil", 1, 9)], []))
    assert (found.terms.unposted, found.terms.unoffered) == (("mill",), ("other",))
    told = list(terms_notes(found.plan, found.terms))
    assert any("No postage is given for mill" in note for note in told)
    assert any("no offer here: other" in note for note in told)


def test_leftovers_that_count_choose_the_large_pack() -> None:
    offers = [offer("oil", 1, 10), offer("oil", 5, 31)]
    asked = plan(product("one", 1.0, 22))
    assert bought(buy(asked, offers, [])).money == 30
    found = bought(buy(replace(asked, leftover=0.5), offers, []))
    assert found.money == 31
    assert found.proof.value == pytest.approx(31 - 0.5 * 6.2 * 2.8)


kilograms = st.floats(0, 4).map(lambda kg: round(kg, 3))


@settings(max_examples=40)
@given(
    oil=st.lists(kilograms, max_size=3), butter=st.lists(kilograms, max_size=2), jars=st.integers(1, 60),
    share=st.floats(0.05, 0.95), loss=st.floats(0, 0.3), postage=st.floats(0, 15), free=st.none() | st.floats(5, 80),
)  # fmt: skip
def test_nothing_is_lost_between_need_and_shelf(
    oil: list[float], butter: list[float], jars: int, share: float, loss: float, postage: float, free: float | None
) -> None:
    """Lots and packs together give the need and what is left, and the orders sum to the money."""
    lots = [lot(f"O{k}", "oil", kg, f"2027-0{k + 1}-01") for k, kg in enumerate(oil)]
    lots += [lot(f"B{k}", "butter", kg, f"2027-0{k + 1}-01") for k, kg in enumerate(butter)]
    offers = [
        offer("oil", 1, 6),
        offer("oil", 5, 22, "far"),
        offer("butter", 1, 19, "far", 0.5),
        offer("butter", 3, 51),
    ]
    asked = plan(product("one", share, jars, loss=loss), product("two", 0.5, 10), mill=Order(postage, free))
    found = bought(buy(asked, offers, lots))
    for each in found.balances:
        drawn = [draw for draw in found.shelf.drawn if draw.ingredient == each.ingredient]
        held = sum(shelf.left for shelf in lots if shelf.lot.ingredient == each.ingredient)
        assert sum(draw.kg + draw.stays for draw in drawn) == pytest.approx(held, abs=1e-9)
        assert each.need + each.over == pytest.approx(each.stock + each.bought, abs=3e-6)
        assert min([each.over, *(draw.stays for draw in drawn)]) >= 0
        for earlier, later in pairwise(drawn):
            assert later.kg == 0 or earlier.stays == 0
    assert found.money == pytest.approx(sum(parcel.cost for parcel in found.parcels))
    for parcel in found.parcels:
        assert parcel.cost == pytest.approx(
            sum(b.count * (b.offer.price + b.offer.shipping) for b in parcel.packs) + parcel.postage
        )
        goods = sum(b.count * b.offer.price for b in parcel.packs)
        due = 0 if parcel.supplier == "far" or (free is not None and goods >= free) else postage
        assert parcel.postage == pytest.approx(due)
