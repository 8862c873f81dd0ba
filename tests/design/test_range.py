"""Formulas and packs of several products chosen together: never dearer than any other way, and told when stopped."""

import itertools
import os
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import linprog  # type: ignore[import-untyped, unused-ignore]

from optiform.brief.brief import Brief, Range
from optiform.costs.buy import Purchases, buy
from optiform.costs.file import OneOff
from optiform.costs.plan import Order, Plan, Product
from optiform.design import joint
from optiform.design.planned import NoRange, RangeAnswer
from optiform.design.range import range_design
from optiform.ingredients.formula import Formula, Line
from optiform.program.timed import Timed, solve_within
from optiform.reading.faults import BadInput, Unsettled
from optiform.telling.parts import Table
from optiform.telling.range import range_design as told
from optiform.telling.range import steps
from optiform.workshop.records import Offer
from optiform.workshop.supplies import OnShelf
from tests.builders import brief_of, ingredient
from tests.costs.test_buy import DAY, lot, offer
from tests.kind_shelves import bare_brief
from tests.sweeps import cases, is_long

WATER, OIL, SOFT, HARD = (
    ingredient("water", 1, "water"), ingredient("oil", 4, "oil"), ingredient("soft butter", 12, "butter"),
    ingredient("hard butter", 24, "butter"),
)  # fmt: skip
SHELF = [WATER, OIL, SOFT, HARD]


def brief(**limits: tuple[float | None, float | None]) -> Brief:
    return brief_of(SHELF, {name.replace("_", " "): ends for name, ends in limits.items()})


def product(name: str, asked: Brief, jars: int, *shares: float, move: float = 1.0) -> Product:
    """Jars of 100 g; shares of water, oil, soft and hard butter, or none for a formula that is open."""
    lines = [Line(x, share, x.phase) for x, share in zip(SHELF, shares, strict=False) if share]
    return Product(name, asked, Formula(name, tuple(lines)), jars, 0.1, 0.0, move)


def plan(*products: Product, leftover: float = 0.0, **suppliers: Order) -> Plan:
    return Plan("a day's work", DAY, "EUR", products, suppliers, leftover)


def answered(found: RangeAnswer | NoRange) -> RangeAnswer:
    assert isinstance(found, RangeAnswer)
    return found


BUTTERY = brief(share_of_butter=(20.0, None), water_phase=(50.0, 60.0))


def test_the_butter_of_the_shelf_goes_where_it_saves_a_pack() -> None:
    """1 kg of butter is there, each product needs 0.8 kg of it by itself: together 0.6 kg lack, one pack of 1 kg."""
    asked = plan(product("one", BUTTERY, 40), product("two", BUTTERY, 40))
    offers = [offer("soft butter", 1, 14), offer("oil", 5, 20)]
    lots = [lot("W", "water", 20), lot("O", "oil", 20), lot("S", "soft butter", 1)]
    answer = answered(range_design(asked, offers, lots))
    assert (answer.money, answer.finished, answer.gap) == (14, True, 0)
    assert [x.alone for x in answer.products] == [0, 0]
    assert [x.product.formula.fraction("soft butter") for x in answer.products] == pytest.approx([0.2, 0.2])


def test_two_orders_become_one_that_is_sent_free() -> None:
    """Soft and hard butter do alike; taken of one supplier together the goods reach the free order."""
    asked = plan(
        product("one", BUTTERY, 40), product("two", BUTTERY, 60),
        mill=Order(9.0, 30.0), dock=Order(9.0),
    )  # fmt: skip
    offers = [offer("soft butter", 1, 15, "mill"), offer("hard butter", 1, 13, "dock")]
    answer = answered(range_design(asked, offers, [lot("W", "water", 20), lot("O", "oil", 20)]))
    assert answer.money == 30
    assert [(x.supplier, x.free) for x in answer.purchases.parcels] == [("mill", True)]


def test_a_formula_moves_no_further_than_it_may_and_only_where_it_saves() -> None:
    free = brief(water_phase=(50.0, 60.0))
    made = [
        product("kept", free, 20, 0.55, 0.25, 0.2, move=0.0),
        product("moved", free, 20, 0.55, 0.25, 0.2, move=0.05),
    ]
    offers = [offer("soft butter", 0.1, 2)]
    lots = [lot("W", "water", 20), lot("O", "oil", 20), lot("S", "soft butter", 0.77)]
    answer = answered(range_design(plan(*made), offers, lots))
    kept, moved = answer.products
    assert kept.moves == ()
    assert max(abs(move.points) for move in moved.moves) <= 5 + 1e-6
    butter = next(move for move in moved.moves if move.ingredient == "soft butter")
    assert butter.after == pytest.approx(18.5, abs=1e-4)  # what customers notice: 1.5 % points of butter
    assert answer.today == pytest.approx(2.0)
    assert answer.money == pytest.approx(0.0)


def test_what_the_plan_breaks_already_is_not_asked_and_said() -> None:
    asked = plan(product("thin", BUTTERY, 20, 0.6, 0.3, 0.1))
    lots = [lot("W", "water", 20), lot("O", "oil", 20), lot("S", "soft butter", 1)]
    answer = answered(range_design(asked, [offer("oil", 1, 5)], lots))
    assert [demand.name for demand in answer.products[0].kept_as_is] == ["share of butter"]
    assert any(
        "for thin misses these limits, so they do not hold here: share of butter at least 20 %" in words
        for words in told(answer).sentences
    )
    assert answer.products[0].moves == ()
    assert answer.today == answer.money == 0
    assert not any(words.startswith("With the formulas of the plan") for words in told(answer).sentences)


def test_of_as_cheap_formulas_the_one_that_changes_least_is_taken() -> None:
    asked = plan(product("one", brief(water_phase=(50.0, 60.0)), 20, 0.55, 0.25, 0.2))
    lots = [lot(x.name[0], x.name, 20) for x in SHELF]
    answer = answered(range_design(asked, [offer("oil", 1, 5)], lots))
    assert (answer.money, answer.products[0].moves) == (0, ())
    assert told(answer).table.rows[0][3] == 0


def test_a_product_that_cannot_be_had_is_named() -> None:
    asked = plan(product("one", BUTTERY, 20), product("two", brief(water_phase=(50.0, 60.0)), 20))
    found = range_design(asked, [offer("oil", 1, 5)], [lot("W", "water", 20)])
    assert isinstance(found, NoRange)
    assert found.products == (("one", None),)
    assert "No formula for one can be made" in told(found).sentences[0]


def test_a_product_whose_limits_contradict_each_other_is_told_with_them() -> None:
    asked = plan(product("one", brief(share_of_butter=(60.0, None), water_phase=(50.0, None)), 20))
    found = range_design(asked, [], [lot(x.name[0], x.name, 20) for x in SHELF])
    assert isinstance(found, NoRange)
    ((name, why),) = found.products
    assert name == "one"
    assert why is not None
    assert {demand.name for demand in why.conflict} == {"share of butter", "water phase"}


# -- used up -----------------------------------------------------------------------------------------------------------


def test_as_much_of_a_stock_goes_in_as_can_and_then_money_counts() -> None:
    """Each brief lets butter be a fifth to a third: 2 kg and 4 kg of it would take at most 2 kg of 2.5."""
    asked = brief(share_of_butter=(20.0, 100 / 3), water_phase=(40.0, 60.0))
    made = plan(product("one", asked, 20), product("two", asked, 40))
    lots = [lot("W", "water", 20), lot("O", "oil", 20), lot("S", "soft butter", 2.5)]
    answer = answered(range_design(made, [offer("soft butter", 1, 14)], lots, use_up="soft butter"))
    assert answer.used_up is not None
    assert (answer.used_up.there, answer.used_up.used) == pytest.approx((2.5, 2.0), abs=1e-5)
    assert [kg for _, kg in answer.used_up.products] == pytest.approx([2 / 3, 4 / 3], abs=1e-5)
    assert answer.money == 0
    words = (
        "Of 2.500 kg soft butter in stock 2.000 kg go in, the most that can: one takes 0.667 kg, two takes 1.333 kg."
    )
    assert words in told(answer).sentences


def test_what_is_not_in_stock_is_told_to_be_none_to_use_up() -> None:
    asked = brief(share_of_butter=(20.0, 100 / 3), water_phase=(40.0, 60.0))
    lots = [lot("W", "water", 20), lot("O", "oil", 20)]
    answer = answered(
        range_design(plan(product("one", asked, 20)), [offer("soft butter", 1, 14)], lots, use_up="soft butter")
    )
    sentences = told(answer).sentences
    assert any(words.startswith("No soft butter is in stock on that day") for words in sentences)
    assert not any("does so" in words for words in sentences)


def test_what_no_product_can_have_is_no_thing_to_use_up() -> None:
    with pytest.raises(BadInput, match="use up"):
        range_design(plan(product("one", BUTTERY, 20)), [], [], use_up="mango butter")


# -- stopped -----------------------------------------------------------------------------------------------------------


def several() -> tuple[Plan, list[Offer], list[OnShelf]]:
    made = [product("one", BUTTERY, 40, 0.55, 0.2, 0.25), product("two", BUTTERY, 40, 0.5, 0.25, 0.25)]
    return plan(*made), [offer("soft butter", 1, 14), offer("oil", 5, 20), offer("water", 5, 2)], []


def test_stopped_before_any_answer_it_stays_with_the_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object, **__: object) -> Timed:
        raise Unsettled("no time")

    monkeypatch.setattr(joint, "solve_within", never)
    answer = answered(range_design(*several()))
    assert answer.money == answer.today
    assert not answer.finished
    assert "Stopped before anything was proven" in " ".join(told(answer).sentences)


def test_stopped_on_the_way_it_says_how_much_less_it_could_be(monkeypatch: pytest.MonkeyPatch) -> None:
    def early(*asked: object, **how: object) -> Timed:
        whole = solve_within(*asked, **how)  # type: ignore[arg-type]
        assert whole.best is not None
        return Timed(replace(whole.best, bound=whole.best.value - 5.0), finished=False)

    monkeypatch.setattr(joint, "solve_within", early)
    answer = answered(range_design(*several()))
    assert answer.gap == pytest.approx(5.0, abs=1e-6)
    assert "Not proven to the end: another choice may cost up to 5.00 EUR less." in told(answer).sentences


def test_the_keyboard_stops_it_with_what_there_is() -> None:
    seen: list[tuple[int, int]] = []

    def stop(done: int, programs: int) -> None:
        seen.append((done, programs))
        if done == 2:
            raise KeyboardInterrupt

    answer = answered(range_design(*several(), progress=stop))
    assert answer.finished
    assert [x.alone is None for x in answer.products] == [False, True]
    assert answer.in_turn is None
    assert {programs for _, programs in seen} == {4}


# -- against every other way -------------------------------------------------------------------------------------------


def at_random(seed: int, formulas: bool) -> tuple[Plan, list[Offer], list[OnShelf]]:
    """One to three products of three or four ingredients, some in stock, packs of two suppliers."""
    rng = np.random.default_rng(seed)
    made = []
    for number in range(int(rng.integers(1, 4))):
        low = float(rng.uniform(5, 30))
        asked = brief(share_of_butter=(low, low + 15), water_phase=(40.0, float(rng.uniform(45, 60))))
        shares = (0.42, 0.58 - low / 100 - 0.05, 0.03 + low / 100, 0.02) if formulas else ()
        made.append(
            product(f"p{number}", asked, int(rng.integers(5, 60)), *shares, move=float(rng.choice([0.03, 1.0])))
        )
    lots = [lot(f"L{j}", x.name, round(float(rng.uniform(0, 2)), 3)) for j, x in enumerate(SHELF) if rng.random() < 0.7]
    offers = [
        offer(x.name, float(rng.choice([0.5, 1, 2, 5])), float(rng.integers(3, 40)), str(rng.choice(["mill", "dock"])))
        for x in SHELF
        for _ in range(int(rng.integers(1, 3)))
    ]
    terms = {name: Order(float(rng.integers(0, 12)), float(rng.integers(20, 90))) for name in ("mill", "dock")}
    return Plan("a day's work", DAY, "EUR", tuple(made), terms), offers, lots


def never_dearer(seed: int) -> None:
    asked, offers, lots = at_random(seed, formulas=bool(seed % 2))
    answer = answered(range_design(asked, offers, lots))
    assert answer.finished
    assert answer.in_turn is None or answer.money <= answer.in_turn + 1e-6
    assert answer.today is None or answer.money <= answer.today + 1e-6
    again = buy(answer.purchases.plan, offers, lots)
    assert isinstance(again, Purchases)
    assert again.money == pytest.approx(answer.money)
    assert max(x.alone or 0.0 for x in answer.products) <= answer.money + 1e-6


@pytest.mark.parametrize("seed", cases(range(20 + int(os.environ.get("OPTIFORM_PLANS", "100"))), 3, 12))
def test_it_is_never_dearer_than_one_after_the_other(seed: int) -> None:
    """Some plans; by hand 500, OPTIFORM_PLANS=500."""
    never_dearer(seed)


def possible(asked: Plan, lots: Sequence[OnShelf], bought: dict[str, float]) -> bool:
    """Whether some formulas of the briefs can be made of so much, by a linear program of its own."""
    count, width = len(SHELF), len(SHELF) * len(asked.products)
    above, most, equal = [], [], np.zeros((len(asked.products), width))
    for p, made in enumerate(asked.products):
        block = slice(p * count, (p + 1) * count)
        equal[p, block] = 1.0
        for limit in made.brief.limits:
            weights = np.array([float(x.phase == "water phase" if limit.property.name == "water phase"
                                      else x.functions[0] == "butter") for x in SHELF])  # fmt: skip
            for sign, end in ((1.0, limit.high), (-1.0, limit.low)):
                if end is not None:
                    row = np.zeros(width)
                    row[block] = sign * weights
                    above.append(row)
                    most.append(sign * end / 100)
    for j, item in enumerate(SHELF):
        row = np.zeros(width)
        row[j::count] = [made.weighed for made in asked.products]
        there = sum(shelf.left for shelf in lots if shelf.lot.ingredient == item.name)
        above.append(row)
        most.append(there + bought.get(item.name, 0.0))
    return bool(linprog(np.zeros(width), above, most, equal, np.ones(len(equal)), bounds=(0, 1)).status == 0)


def by_enumeration(asked: Plan, offers: Sequence[Offer], lots: Sequence[OnShelf], most: int) -> float:
    """The least money over every number of packs up to `most` of each offer."""
    ways = []
    for counts in itertools.product(range(most + 1), repeat=len(offers)):
        goods: dict[str, float] = {}
        bought: dict[str, float] = {}
        for count, pack in zip(counts, offers, strict=True):
            if count:
                goods[pack.supplier] = goods.get(pack.supplier, 0.0) + count * pack.price
                bought[pack.ingredient] = bought.get(pack.ingredient, 0.0) + count * pack.pack
        terms = {name: asked.suppliers.get(name, Order()) for name in goods}
        posted = [0.0 if x.free_from is not None and goods[s] >= x.free_from else x.postage for s, x in terms.items()]
        ways.append((sum(goods.values()) + sum(posted), bought))
    return next(money for money, bought in sorted(ways, key=lambda way: way[0]) if possible(asked, lots, bought))


@pytest.mark.parametrize("seed", cases(range(8), 3, 5))
def test_small_plans_cost_what_enumeration_says(seed: int) -> None:
    rng = np.random.default_rng(seed)
    low = rng.uniform(10, 30, 2)
    asked = plan(
        *(product(f"p{p}", brief(share_of_butter=(low[p], 50.0), water_phase=(40.0, 50.0)), int(rng.integers(5, 20)))
          for p in range(2)),
        mill=Order(6.0, 25.0), dock=Order(4.0),
    )  # fmt: skip
    offers = [
        offer("soft butter", 0.5, float(rng.integers(6, 12)), "mill"), offer("hard butter", 0.25, 5, "dock"),
        offer("oil", 1, float(rng.integers(4, 9)), "mill"), offer("oil", 0.5, 4, "dock"),
    ]  # fmt: skip
    lots = [lot("W", "water", 9), lot("O", "oil", float(rng.uniform(0.2, 1))), lot("S", "soft butter", 0.2)]
    answer = answered(range_design(asked, offers, lots))
    assert answer.money == pytest.approx(by_enumeration(asked, offers, lots, 4), abs=1e-6)


def test_a_line_that_the_brief_fixes_stays_fixed() -> None:
    fixed = brief_of(SHELF, {"water phase": (50.0, 60.0)}, {"hard butter": Range(0.1, 0.1, "brief")})
    asked = plan(product("one", fixed, 20, 0.55, 0.2, 0.15, 0.1))
    lots = [lot(x.name[0], x.name, 20) for x in SHELF[:3]]
    answer = answered(range_design(asked, [offer("hard butter", 1, 30)], lots))
    assert answer.money == 30


# -- jars that are open, goes ------------------------------------------------------------------------------------------


def test_jars_that_are_open_use_up_what_fixed_ones_leave() -> None:
    """2.5 kg of butter, at most a third of each jar of 100 g: 75 jars take all of it."""
    asked = brief(share_of_butter=(20.0, 100 / 3), water_phase=(40.0, 60.0))
    lots = [lot("W", "water", 20), lot("O", "oil", 20), lot("S", "soft butter", 2.5)]
    made = plan(product("one", asked, 20), replace(product("two", asked, 90), fewest=40))
    answer = answered(range_design(made, [], lots, use_up="soft butter"))
    assert answer.used_up is not None
    assert answer.used_up.used == pytest.approx(2.5, abs=1e-5)
    jars = [x.product.jars for x in answer.products]
    assert jars[0] == 20
    assert 55 <= jars[1] <= 90  # (20 + n) / 10 kg at a third each: 55 jars take all of it
    assert f"{jars[1]} of two (40 to 90 in the plan)" in " ".join(told(answer).sentences)


def test_open_jars_come_down_where_more_would_have_to_be_bought() -> None:
    """As much butter goes into 30 jars as into 90, and for more oil lacks."""
    asked = brief(share_of_butter=(20.0, 50.0), water_phase=(40.0, 60.0))
    lots = [lot("W", "water", 20), lot("O", "oil", 0.5), lot("S", "soft butter", 1.0)]
    made = plan(replace(product("one", asked, 90), fewest=10))
    answer = answered(range_design(made, [offer("oil", 1, 5)], lots, use_up="soft butter"))
    assert answer.used_up is not None
    assert (answer.used_up.used, answer.money) == pytest.approx((1.0, 0.0), abs=1e-5)
    assert answer.products[0].product.jars >= 20


def by_every_number(made: Plan, offers: Sequence[Offer], lots: Sequence[OnShelf]) -> tuple[float, float]:
    """Most used, then least money, over every choice of jars, each solved with fixed jars."""
    ways = []
    spans = [range(x.fewest or x.jars, x.jars + 1) for x in made.products]
    for jars in itertools.product(*spans):
        fixed = [replace(x, jars=n, fewest=None) for x, n in zip(made.products, jars, strict=True)]
        answer = range_design(replace(made, products=tuple(fixed)), offers, lots, use_up="soft butter")
        if isinstance(answer, RangeAnswer):
            assert answer.used_up is not None
            ways.append((round(answer.used_up.used, 5), -round(answer.money, 5)))
    used, money = max(ways)
    return used, -money


@pytest.mark.parametrize("seed", cases(range(4), 1, 3))
def test_open_jars_do_as_well_as_every_number_of_jars_tried(seed: int) -> None:
    rng = np.random.default_rng(seed)
    low = rng.uniform(10, 30, 2)
    made = plan(
        *(replace(product(f"p{p}", brief(share_of_butter=(low[p], low[p] + 10), water_phase=(40.0, 50.0)), 12 + 3 * p),
                  fewest=9 + 3 * p) for p in range(2)),
        mill=Order(6.0, 25.0),
    )  # fmt: skip
    offers = [
        offer("oil", 0.5, 4, "mill"),
        offer("soft butter", 0.25, 5, "mill"),
        offer("hard butter", 0.25, 4, "dock"),
    ]
    lots = [lot("W", "water", 9), lot("O", "oil", 0.6), lot("S", "soft butter", float(rng.uniform(0.3, 1)))]
    answer = answered(range_design(made, offers, lots, use_up="soft butter"))
    assert answer.used_up is not None
    assert (answer.used_up.used, answer.money) == pytest.approx(by_every_number(made, offers, lots), abs=2e-5)


def test_what_moves_of_a_formula_is_held_where_its_jars_are_open() -> None:
    free = brief(water_phase=(50.0, 60.0))
    made = plan(replace(product("moved", free, 30, 0.55, 0.25, 0.2, move=0.01), fewest=10))
    lots = [lot("W", "water", 20), lot("O", "oil", 20), lot("S", "soft butter", 0.62)]
    answer = answered(range_design(made, [], lots, use_up="soft butter"))
    assert max(abs(move.points) for x in answer.products for move in x.moves) <= 1 + 1e-6
    assert answer.used_up is not None
    assert answer.used_up.used == pytest.approx(0.62, abs=1e-5)


def test_goes_in_the_vessel_are_told_and_kept() -> None:
    asked = brief(share_of_butter=(20.0, 100 / 3), water_phase=(40.0, 60.0))
    lots = [lot("W", "water", 20), lot("O", "oil", 20), lot("S", "soft butter", 2.5)]
    made = replace(plan(replace(product("one", asked, 90), fewest=10)), vessel=1.0, most_goes=4)
    answer = answered(range_design(made, [], lots, use_up="soft butter"))
    assert answer.products[0].product.jars == 40  # 4 kg in 4 goes: a third of that is butter
    assert "At 1 kg at once that is 4 goes, of 4 at most." in told(answer).sentences
    assert told(answer).table.columns[3].words == "goes"


def test_more_goes_than_the_plan_allows_are_refused_with_their_number() -> None:
    made = replace(plan(product("one", BUTTERY, 60)), vessel=1.0, most_goes=4)
    with pytest.raises(BadInput, match="6, which the jars take at 1 kg at once"):
        range_design(made, [], [])


# -- one base ----------------------------------------------------------------------------------------------------------

ROSE = ingredient("rose", 200, "fragrance")


def scented(name: str, low: float, high: float, dose: float, jars: int = 20) -> Product:
    """Jars of 100 g of a brief alone: a share of butter, and a scent of one dose."""
    limits = {"share of butter": (low, high), "water phase": (40.0, 60.0)}
    asked = brief_of([*SHELF, ROSE], limits, {"rose": Range(dose, dose, "brief")})
    return Product(name, asked, Formula(name, ()), jars, 0.1, 0.0)


def test_products_that_can_share_a_base_do_and_its_price_is_told() -> None:
    """Free, each takes its least butter; on one base both take what the buttery one needs, of the base 20 %."""
    made = plan(scented("plain", 10, 40, 0.0), scented("rich", 19.8, 40, 0.01))
    lots = [lot("W", "water", 20), lot("O", "oil", 20), lot("R", "rose", 1)]
    answer = answered(range_design(made, [offer("soft butter", 0.01, 0.12)], lots, common_base=True))
    common = answer.common
    assert common is not None
    assert common.products == ("plain", "rich")
    assert common.shares == pytest.approx((1.0, 0.99))
    assert common.base.fraction("soft butter") == pytest.approx(0.2, abs=1e-6)
    assert common.base.fraction("rose") == 0
    bases = [
        [x.product.formula.fraction(item.name) / share for item in SHELF]
        for x, share in zip(answer.products, common.shares, strict=True)
    ]
    assert bases[0] == pytest.approx(bases[1], abs=1e-6)
    assert common.free == pytest.approx(0.12 * (20 + 40), abs=0.13)
    assert answer.money == pytest.approx(0.12 * 80, abs=0.13)
    words = " ".join(told(answer, [OneOff("assessment", 165, 500)]).sentences)
    assert "plain and rich share one base" in words
    assert "Paid once for the base and not 2 times, assessment: 165.00 EUR less." in words


def test_a_line_of_the_base_that_both_briefs_fix_differs_as_much_as_the_base() -> None:
    """A brief fixes a line of the jar, and where the base is 99 % of the jar there is 99 % of it."""
    made = []
    for name, dose in (("plain", 0.0), ("rich", 0.01)):
        lines = {"rose": Range(dose, dose, "brief"), "hard butter": Range(0.05, 0.05, "brief")}
        asked = brief_of([*SHELF, ROSE], {"share of butter": (10.0, 40.0), "water phase": (40.0, 60.0)}, lines)
        made.append(Product(name, asked, Formula(name, ()), 20, 0.1, 0.0))
    lots = [lot(x.name[0], x.name, 20) for x in (*SHELF, ROSE)]
    answer = answered(range_design(plan(*made), [], lots, common_base=True))
    assert answer.common is not None
    assert answer.common.products == ("plain", "rich")
    doses = [x.product.formula.fraction("hard butter") for x in answer.products]
    assert doses == pytest.approx([0.05, 0.05 * 0.99], abs=1e-7)


def test_the_most_products_that_can_share_a_base_are_named_and_the_others_stay_free() -> None:
    made = plan(scented("lean", 5, 10, 0.0), scented("soft", 20, 30, 0.0), scented("rich", 25, 40, 0.01))
    lots = [lot(x.name[0], x.name, 20) for x in (*SHELF, ROSE)]
    answer = answered(range_design(made, [], lots, common_base=True))
    assert answer.common is not None
    assert answer.common.products == ("soft", "rich")
    assert answer.common.tried == 3  # all three, and lean with either
    assert answer.products[0].product.formula.fraction("soft butter") <= 0.1 + 1e-6


def test_where_no_two_share_a_base_the_free_formulas_stand_and_it_is_said() -> None:
    made = plan(scented("lean", 5, 10, 0.0), scented("rich", 25, 40, 0.01))
    lots = [lot(x.name[0], x.name, 20) for x in (*SHELF, ROSE)]
    answer = answered(range_design(made, [], lots, common_base=True))
    assert answer.common is not None
    assert answer.common.products == ()
    assert answer.money == answer.common.free == 0
    words = " ".join(told(answer).sentences)
    assert "No two of the products can share a base" in words
    assert "own: optiform guide buying" in words
    one = answered(range_design(plan(made.products[0]), [], lots, common_base=True))
    assert "A common base takes two products or more." in " ".join(told(one).sentences)


def test_a_base_takes_as_much_of_a_stock_as_both_briefs_let_it() -> None:
    """Jars of 2 kg each: free 30 and 40 % of it are butter, on one base 30 % of the base and 29.7 % of the scented."""
    made = plan(scented("plain", 10, 30, 0.0), replace(scented("rich", 20, 40, 0.01), fewest=5))
    lots = [lot("W", "water", 20), lot("O", "oil", 20), lot("R", "rose", 1), lot("S", "soft butter", 2)]
    answer = answered(range_design(made, [], lots, use_up="soft butter", common_base=True))
    assert answer.common is not None
    assert answer.used_up is not None
    assert answer.common.products == ("plain", "rich")
    assert answer.used_up.used == pytest.approx(0.6 + 0.594, abs=1e-4)
    assert answer.common.free_used == pytest.approx(0.6 + 0.8, abs=1e-4)
    words = " ".join(told(answer).sentences)
    assert "1.194 kg go in, the most that can with a common base" in words
    assert "With free formulas it would be 0.00 EUR, and 1.400 kg would go in" in words
    assert "Jars stay as planned" in words


def test_of_products_that_can_share_a_base_those_do_that_use_up_more() -> None:
    """Rich with mid leaves both at 30 % of butter: 2.2 kg. Mid with lean leaves rich its 40 %: 2.4 kg."""
    made = plan(scented("rich", 25, 40, 0.0, 40), scented("mid", 15, 30, 0.0), scented("lean", 5, 20, 0.0))
    lots = [lot("W", "water", 20), lot("O", "oil", 20), lot("S", "soft butter", 9)]
    answer = answered(range_design(made, [], lots, use_up="soft butter", common_base=True))
    assert answer.common is not None
    assert answer.used_up is not None
    assert answer.common.products == ("mid", "lean")
    assert answer.used_up.used == pytest.approx(2.4, abs=1e-4)


def test_a_product_without_a_formula_is_told_with_the_whole_of_its_new_one() -> None:
    made = plan(product("old", BUTTERY, 20, 0.6, 0.2, 0.2), product("new", BUTTERY, 20))
    lots = [lot(x.name[0], x.name, 20) for x in SHELF]
    answer = answered(range_design(made, [], lots))
    assert [x.new for x in answer.products] == [False, True]
    telling = told(answer)
    assert [row[3] for row in telling.table.rows] == [0, "new"]
    (section,) = [x for x in telling.sections if x.title == "new: its formula"]
    assert section.short
    (table,) = [x for x in section.parts if isinstance(x, Table)]
    formula = answer.products[1].product.formula
    assert {row[0]: row[2] for row in table.rows} == pytest.approx(
        {x.ingredient.name: 100 * x.fraction for x in formula.lines}
    )
    assert "Make a trial first" in " ".join(telling.sentences)
    line = "optiform range plan.toml"
    assert len(steps(answer, line, f"{line} --seconds 600")) == 2
    assert len(steps(answered(range_design(plan(made.products[0]), [], lots)), line, "")) == 1
    (longer, *_) = steps(replace(answer, finished=False), line, f"{line} --seconds 600")
    assert longer.command == f"{line} --seconds 600"


def test_a_product_that_has_no_formula_yet_is_not_said_to_be_near_one() -> None:
    impossible = brief(share_of_butter=(20.0, None), water_phase=(90.0, None))
    answer = range_design(plan(product("new", impossible, 10)), [], [lot("W", "water", 20)])
    assert "new has no formula within its brief." in " ".join(told(answer).sentences)


def test_an_own_line_without_a_dose_is_asked_for() -> None:
    loose = brief_of([*SHELF, ROSE], {}, {"rose": Range(0.005, 0.01, "brief")})
    made = plan(scented("plain", 10, 40, 0.0), Product("loose", loose, Formula("loose", ()), 20, 0.1, 0.0))
    with pytest.raises(BadInput, match="one dose in"):
        range_design(made, [], [lot(x.name[0], x.name, 20) for x in (*SHELF, ROSE)], common_base=True)


@pytest.mark.sweep
@pytest.mark.parametrize("seed", cases(range(6), 2, 4))
def test_a_common_base_costs_no_less_than_free_formulas_and_no_more_than_any_base_tried(seed: int) -> None:
    """Against the dearest bound and, from above, against a grid of bases that both briefs allow."""
    rng = np.random.default_rng(seed)
    low = rng.uniform(5, 25, 2)
    made = plan(*(scented(f"p{k}", low[k], low[k] + 20, 0.0, 10) for k in range(2)))
    offers = [offer("soft butter", 0.1, 2), offer("oil", 0.2, 1)]
    lots = [lot("W", "water", 9), lot("O", "oil", float(rng.uniform(0.2, 0.9))), lot("S", "soft butter", 0.1)]
    answer = answered(range_design(made, offers, lots, common_base=True))
    assert answer.common is not None
    assert answer.common.products == ("p0", "p1")
    assert answer.common.free is not None
    assert answer.money >= answer.common.free - 1e-6
    finer = 1 if is_long() else 2
    for butter in np.linspace(max(low), min(low) + 20, 8)[::finer] / 100:
        for water in np.linspace(0.4, 0.6, 6)[::finer]:
            lines = [(WATER, water), (OIL, 1 - water - butter), (SOFT, butter)]
            base = Formula("base", tuple(Line(x, float(share), x.phase) for x, share in lines))
            bought = buy(replace(made, products=tuple(replace(x, formula=base) for x in made.products)), offers, lots)
            assert not isinstance(bought, Purchases) or answer.money <= bought.money + 1e-6


def test_a_line_that_goes_down_to_save_a_pack_ends_at_none_or_at_its_least_dose() -> None:
    """1 g of the chelator is there and 8 g are asked: 0.025 % of the jar would save the pack, and is no dose."""
    shares = {
        "water": 75.8, "olive oil": 12.0, "emulsifying wax NF": 5.0, "disodium EDTA": 0.2, "glycerin": 6.0,
        "phenoxyethanol + ethylhexylglycerin": 1.0,
    }  # fmt: skip
    wanted = replace(bare_brief("lotion", dict.fromkeys(shares, 5.0)).with_goal(lowest="cost"), usual=())
    lines = [Line(item, shares[item.name] / 100, item.phase) for item in wanted.mix.ingredients]
    today = Product("lotion", wanted, Formula("lotion", tuple(lines)), 40, 0.1, 0.0, 0.05)
    candidate = joint.Candidate(today)
    names = [item.name for item in candidate.brief.mix.ingredients]
    chelator, water = names.index("disodium EDTA"), names.index("water")
    for share, kept in ((0.0, True), (0.00025, False), (0.001, True), (0.002, True)):
        x = candidate.start.copy()
        x[water] += x[chelator] - share
        x[chelator] = share
        assert candidate.needed.kept_by(x) is kept, share
    lots = [lot(name[:3], name, 0.001 if name == "disodium EDTA" else 20) for name in shares]
    answer = answered(range_design(plan(today), [offer("disodium EDTA", 1, 30)], lots))
    assert (answer.today, answer.money) == (30, 0)
    assert answer.products[0].product.formula.fraction("disodium EDTA") == pytest.approx(0, abs=1e-9)
