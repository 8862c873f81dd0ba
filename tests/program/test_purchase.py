"""Packs to buy against every combination of packs, and the two solvers against each other."""

from itertools import product

import numpy as np
import pytest
from numpy.typing import NDArray

from optiform.program import integer, purchase
from optiform.program.certificate import NotCertified
from optiform.program.purchase import Pack, Postage, Shopping, choose
from tests.sweeps import cases

Whole = NDArray[np.int64]


def paid(shopping: Shopping, counts: Whole) -> Whole:
    """What each row of counts costs, in cents, written again from the rules."""
    price = np.array([round(100 * pack.price) for pack in shopping.packs])
    shipping = np.array([round(100 * pack.shipping) for pack in shopping.packs])
    total = counts @ (price + shipping)
    for s, order in enumerate(shopping.suppliers):
        goods = counts @ (price * np.array([pack.supplier == s for pack in shopping.packs]))
        free = np.zeros(len(goods), bool) if order.free_from is None else goods >= round(100 * order.free_from)
        total += round(100 * order.charge) * ((goods > 0) & ~free)
    return np.asarray(total)


def over(shopping: Shopping, counts: Whole) -> Whole:
    """Grams of each ingredient that are left, below 0 what is lacking. Shape (rows of counts, ingredients)."""
    grams = np.zeros((len(shopping.packs), len(shopping.lacking)), dtype=np.int64)
    for o, pack in enumerate(shopping.packs):
        grams[o, pack.ingredient] = round(1000 * pack.kg)
    return np.asarray(counts @ grams - np.array([round(1000 * lacking) for lacking in shopping.lacking]))


def by_hand(shopping: Shopping, most: int) -> tuple[float, int]:
    """The least value over every combination of up to `most` of each pack, and the fewest packs that reach it."""
    counts = np.array(list(product(range(most + 1), repeat=len(shopping.packs))))
    left = over(shopping, counts)
    counts, left = counts[(left >= 0).all(axis=1)], left[(left >= 0).all(axis=1)]
    values = paid(shopping, counts) / 100 - left @ np.array(shopping.worth) / 1000
    best = values.min()
    return float(best), int(counts.sum(axis=1)[values <= best + 1e-9].min())


def at_random(seed: int, share: float = 0.0) -> Shopping:
    """Two or three ingredients, up to five offers of two suppliers, with and without free orders."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(2, 4))
    owners = [*range(count), *rng.integers(0, count, size=int(rng.integers(1, 3))).tolist()]
    packs = tuple(
        Pack(int(i), int(rng.integers(2)), float(rng.choice([0.5, 1, 2, 3])), float(rng.integers(3, 40)) / 2,
             float(rng.choice([0, 0, 1.25])))
        for i in owners
    )  # fmt: skip
    lacking = tuple(float(rng.choice([0, 0.4, 1, 1.5, 2.2])) for _ in range(count))
    suppliers = tuple(Postage(float(rng.integers(0, 9)), float(f) if (f := rng.choice([0, 10, 25])) else None)
                      for _ in range(2))  # fmt: skip
    lowest = [min(pack.price / pack.kg for pack in packs if pack.ingredient == i) for i in range(count)]
    return Shopping(lacking, packs, suppliers, tuple(share * each for each in lowest))


@pytest.mark.parametrize("seed", cases(range(40), 10, 30))
def test_no_combination_of_packs_is_better(seed: int) -> None:
    shopping = at_random(seed, share=0.5 * (seed % 3 == 0))
    found = choose(shopping)
    assert found is not None
    value, packs = by_hand(shopping, most=6)
    assert found.value == pytest.approx(value, abs=1e-6)
    assert found.money == pytest.approx(paid(shopping, np.array([found.counts]))[0] / 100, abs=1e-9)
    assert sum(found.counts) == packs
    assert abs(found.gap) < 1e-6


@pytest.mark.long
def test_some_of_the_random_cases_buy_for_the_free_order_and_some_pay_postage() -> None:
    """Else the enumeration above would not try the rule."""
    free, paying = 0, 0
    for seed in range(40):
        shopping = at_random(seed)
        found = choose(shopping)
        assert found is not None
        for s, goods in enumerate(shopping.goods(found.counts)):
            order = shopping.suppliers[s]
            if goods and order.charge:
                free += order.of(goods) == 0
                paying += order.of(goods) > 0
    assert min(free, paying) >= 5


@pytest.mark.parametrize("seed", range(100, 106))
def test_the_second_opinion(seed: int) -> None:
    shopping = at_random(seed)
    one, other = choose(shopping), choose(shopping, "cbc")
    assert one is not None
    assert other is not None
    assert one.value == pytest.approx(other.value, abs=1e-6)
    assert sum(one.counts) == sum(other.counts)


def test_a_pack_that_nobody_needs_makes_the_order_free() -> None:
    """One pack at 9.00 and postage 6.00 is 15.00; a second pack at 3.00 takes the order past 12.00: 12.00."""
    packs = (Pack(0, 0, 1, 9.0), Pack(1, 0, 1, 3.0))
    found = choose(Shopping((0.5, 0.0), packs, (Postage(6.0, 12.0),), (0.0, 0.0)))
    assert found is not None
    assert found.counts == (1, 1)
    assert found.money == pytest.approx(12.0)


def test_large_pack_or_small_ones_turns_on_what_is_left_over() -> None:
    """2.2 kg: three small ones are 30.00, a large one 31.00, but 2.8 kg of it are left and may count."""
    packs = (Pack(0, 0, 1, 10.0), Pack(0, 0, 5, 31.0))
    least = choose(Shopping((2.2,), packs, (Postage(),), (0.0,)))
    valued = choose(Shopping((2.2,), packs, (Postage(),), (0.5 * 6.2,)))
    assert least is not None
    assert valued is not None
    assert (least.counts, valued.counts) == ((3, 0), (0, 1))
    assert valued.money == pytest.approx(31.0)
    assert valued.value == pytest.approx(31.0 - 3.1 * 2.8)


@pytest.mark.parametrize(("kg", "packs"), [(5.0, 1), (5.000001, 2), (4.999999, 1), (5 * (1 + 1e-15), 1), (15.0, 3)])
def test_whole_packs_to_the_milligram(kg: float, packs: int) -> None:
    found = choose(Shopping((kg,), (Pack(0, 0, 5, 20.0),), (Postage(),), (0.0,)))
    assert found is not None
    assert found.counts == (packs,)


def test_nothing_lacking_buys_nothing() -> None:
    found = choose(Shopping((0.0,), (Pack(0, 0, 5, 20.0),), (Postage(4.0),), (0.0,)))
    assert found is not None
    assert (found.counts, found.money) == ((0,), 0.0)


def test_what_is_not_on_offer_cannot_be_had() -> None:
    assert choose(Shopping((1.0, 1.0), (Pack(0, 0, 5, 20.0),), (Postage(),), (0.0, 0.0))) is None


def test_a_wrong_answer_is_not_shown(monkeypatch: pytest.MonkeyPatch) -> None:
    """The recomputation does not lean on the program: packs too few or a bound too high are refused."""
    shopping = Shopping((7.0,), (Pack(0, 0, 5, 20.0),), (Postage(),), (0.0,))
    right = integer.solve_whole

    def too_few(*given: object) -> object:
        found = right(*given)  # type: ignore[arg-type]
        found.x[0] -= 1  # type: ignore[union-attr]
        return found

    monkeypatch.setattr(purchase, "solve_whole", too_few)
    with pytest.raises(NotCertified, match="lacking"):
        choose(shopping)
    monkeypatch.undo()
    monkeypatch.setattr(Shopping, "money", lambda self, counts: 41.0)
    with pytest.raises(NotCertified, match="bound"):
        choose(shopping)
