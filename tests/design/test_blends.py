"""The nearest blends: the same ten as by weighing out every one, and a bound that no blend goes below."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache
from itertools import combinations
from math import comb

import numpy as np
import pytest

from optiform.brief.brief import Brief, Range
from optiform.brief.file import read_brief
from optiform.design import substitute as module
from optiform.design.amounts import Weighed, weighed
from optiform.design.exchange import NEW_NAME, Exchange
from optiform.design.substitute import Substitutes, substitute
from optiform.design.task import Task
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.reading.paths import DEMO
from tests import sweeps
from tests.builders import brief_of, ingredient

WATER = ingredient("water", 0.1, "water", {"water": 100})
BUTTER = ingredient("butter", 9.0, "oil", {"iodine value": 40, "required hlb": 8}, contains={"Butter": 100})
SOAP = ingredient("soap", 3.0, "emulsifier", {"hlb": 14}, contains={"Soap": 100})
WAX = ingredient("wax", 6.0, "emulsifier", {"hlb": 12}, contains={"Wax": 100})
WEIGHTS = {"iodine value": 10.0, "required hlb": 0.5, "emulsifier per 100 of oil phase": 2.5, "cost": 0.5}
SIZES = range(1, 4)


def shop(seed: int, count: int = 9, most_iodine: float | None = None) -> Brief:
    """Fats at random, two to a name of the label; today uses one that is not on the shelf and one that is."""
    rng = np.random.default_rng(seed)
    fats = [
        ingredient(
            f"fat {number}",
            float(rng.uniform(2, 20)),
            str(rng.choice(["oil", "ester"])),
            {"iodine value": float(rng.uniform(30, 150)), "required hlb": float(rng.uniform(5, 11))},
            contains={f"Fat {number // 2}": 100},
            phase="oil phase",
        )
        for number in range(count + 2)
    ]
    gone, away, *shelf = fats
    limits = {} if most_iodine is None else {"iodine value": (None, most_iodine)}
    brief = brief_of((WATER, BUTTER, SOAP, WAX, *shelf), limits)
    parts = {gone: 0.2, WATER: 0.5, BUTTER: 0.15, WAX: 0.1, shelf[0]: 0.05}
    today = Formula("today", tuple(Line(item, share, item.phase) for item, share in parts.items()))
    every = {item.name: item for item in (*brief.mix.ingredients, gone, away)}
    return replace(brief, catalogue=Catalogue(every, {}), reference=today)


class Counted:
    """How many blends are weighed out, and each of them."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.blends: list[Weighed] = []

        def counted(exchange: Exchange, places: Sequence[int]) -> Weighed | None:
            swap = weighed(exchange, places)
            self.blends += [swap] if swap is not None else []
            return swap

        monkeypatch.setattr(module, "weighed", counted)


def every_one(brief: Brief, missing: list[str], follow: float) -> Substitutes:
    """The same with no blend spared: each is weighed out, and the nearest are picked."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "ROUNDING", np.inf)
        return substitute(brief, missing, 3, follow, weights=WEIGHTS)


@cache
def cases() -> tuple[tuple[Brief, list[str], float], ...]:
    return tuple(_cases())


def _cases() -> Iterator[tuple[Brief, list[str], float]]:
    for seed in range(12):
        limit = 75.0 if seed % 3 == 0 else None
        yield shop(seed, most_iodine=limit), ["fat 0"], 0.03 if seed % 2 else 0.0
    for seed in range(4):  # two that go at once, of two families: parts of both are needed
        yield shop(seed), ["fat 0", "wax"], 0.0


#: With a limit and the others following, and two that go at once without either.
KINDS = (3, 12)
MORE = tuple(number for number in range(16) if number not in KINDS)


@pytest.mark.parametrize("number", sweeps.cases([*KINDS, *MORE], len(KINDS)))
def test_the_ten_are_those_of_weighing_out_every_blend(number: int, monkeypatch: pytest.MonkeyPatch) -> None:
    brief, missing, follow = cases()[number]
    wanted = every_one(brief, missing, follow)
    count = Counted(monkeypatch)
    nearest = substitute(brief, missing, 3, follow, weights=WEIGHTS)
    assert nearest.swaps == wanted.swaps
    assert nearest.purchase == wanted.purchase
    assert len(nearest.swaps) == 10
    assert count.blends


def test_weighing_out_every_one_does_so_and_ranks_them(monkeypatch: pytest.MonkeyPatch) -> None:
    count = Counted(monkeypatch)
    ranking = every_one(shop(1), ["fat 0"], 0.0)
    able = 9 + 1  # the fats on the shelf and the butter
    blends = sum(comb(able, size) for size in SIZES)
    assert len(count.blends) == able + blends + 1  # before that each alone, and at last the one that could be bought
    real = [swap for swap in count.blends[able:-1] if swap.real]
    by_hand = sorted(real, key=lambda swap: (bool(swap.broken), swap.distance))[:10]
    assert [swap.distance for swap in ranking.swaps] == [swap.distance for swap in by_hand]


def test_few_of_many_are_weighed_out(monkeypatch: pytest.MonkeyPatch) -> None:
    count = Counted(monkeypatch)
    told: list[tuple[int, int]] = []
    substitute(shop(3, 30), ["fat 0"], 3, weights=WEIGHTS, progress=lambda done, total: told.append((done, total)))
    blends = sum(comb(31, size) for size in SIZES)
    assert len(count.blends) < blends / 20
    assert {total for _, total in told} == {blends}
    assert max(done for done, _ in told) == blends


@pytest.mark.parametrize("number", [0, 1, 5, 12])
def test_no_blend_is_nearer_than_its_bound(number: int) -> None:
    brief, missing, follow = cases()[number]
    rng = np.random.default_rng(number)
    gone = [item for name in missing if (item := brief.catalogue.find(name))]
    assert brief.reference is not None
    kept = module._wanted(brief, brief.reference, WEIGHTS)
    task = Task(brief, brief.reference, tuple(gone), follow, kept)
    able = [item for item in brief.mix.ingredients if item.functions[0] in ("oil", "butter", "emulsifier")]
    able = [item for item in able if item not in gone and (item.functions[0] != "emulsifier" or len(gone) > 1)]
    exchange = Exchange(task, tuple(able))
    shelf = exchange.shelf
    blends = np.array(list(combinations(range(len(able)), 3)))
    swaps = [weighed(exchange, blend) for blend in blends]
    duals = [(swap.u, swap.v) for swap in swaps[::5] if swap is not None]
    duals += [(rng.normal(size=len(shelf.rows)), float(rng.normal())) for _ in range(20)]
    names = shelf.new_names(blends)
    moves = np.array([np.inf if swap is None else swap.rank for swap in swaps]) - names
    bounds = np.array([shelf.bound(blends, u, v) for u, v in duals])
    assert (bounds <= moves + 1e-6).all()
    assert (bounds.max(axis=0) > moves / 2).any()  # and it says something
    assert number != 0 or (bounds.max(axis=0) > moves - 1e-6).any()  # where no mean changes its group, all of it
    for swap, told in zip(swaps, names, strict=True):
        parts = [brief.catalogue.find(name) for name, _ in swap.parts] if swap else []
        fresh = {part.inci for item in parts if item for part in item.constituents}
        old = {inci for inci, _ in brief.reference.declaration()}
        assert swap is None or not swap.real or told == NEW_NAME * len(fresh - old)


def test_where_few_keep_the_limits_not_all_are_weighed_out(monkeypatch: pytest.MonkeyPatch) -> None:
    brief = shop(3, 30)
    kept = [fat for fat in brief.mix.ingredients if fat.name in ("fat 5", "fat 9")]
    ranges = tuple(span if item in (*kept, WATER, BUTTER) else Range(0.0, 0.1, "brief")
                   for item, span in zip(brief.mix.ingredients, brief.ranges, strict=True))  # fmt: skip
    count = Counted(monkeypatch)
    answer = substitute(replace(brief, ranges=ranges), ["fat 0"], 2, weights=WEIGHTS)
    blends = sum(comb(31, size) for size in (1, 2))
    assert len(count.blends) < blends / 2
    keeps = [not swap.broken for swap in answer.swaps]
    assert keeps == sorted(keeps, reverse=True)


def test_on_the_demo_it_is_the_same_too(monkeypatch: pytest.MonkeyPatch) -> None:
    brief = read_brief(DEMO / "brief.toml")
    nearest = substitute(brief, ["mango butter"])
    monkeypatch.setattr(module, "ROUNDING", np.inf)
    wanted = substitute(brief, ["mango butter"])
    assert nearest.swaps == wanted.swaps
    assert nearest.purchase == wanted.purchase
