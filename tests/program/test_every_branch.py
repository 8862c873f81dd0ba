"""What an answer says of its limits and of what it leaves out, against solving again in every branch (real_briefs.py).

A sample in the ordinary run, more with `-m long`, with `-m exhaustive` the rest or as many as OPTIFORM_BRIEFS says.
"""

import os
from collections.abc import Callable
from functools import cache

import numpy as np
import pytest

from optiform.design.answer import Binding, Designed, NoFormula
from optiform.design.design import design
from tests.program.real_briefs import RATIOS, EveryBranch, Key, random_brief, sides_of
from tests.sweeps import cases

SAMPLE = (*range(12), 1056)  #: in 1056 no more than a hundred-thousandth of an oil fits, and pays
REST = (*range(12, 40), 1193)  #: in 1193 a price for 100 of base holds until it has come to almost nothing
LONG = range(1000, 1000 + int(os.environ.get("OPTIFORM_BRIEFS", "50")))  #: 300 by hand, see DEVELOPERS.md
STEP = 2e-5  # relative to the target: beyond the nudge that prices are read at, short of most corners
ROUNDING = 1e-8  # EUR/kg, of a solved cost
VISIBLE = 1000 * ROUNDING
ONE_PER_CENT = 0.01


@cache
def answered(seed: int) -> tuple[Designed | NoFormula, EveryBranch]:
    brief = random_brief(seed)
    return design(brief), EveryBranch(brief)


def key(binding: Binding) -> Key:
    return binding.demand.name, binding.demand.side


def looser(binding: Binding, step: float) -> float:
    """The target moved by `step` towards asking for less."""
    return binding.demand.target + (-step if binding.demand.side == "low" else step)


def ends(binding: Binding) -> tuple[float, float]:
    """How far the price holds: towards looser, and towards tighter, as distances from the target."""
    at = binding.demand.target
    down = np.inf if binding.valid_from is None else at - binding.valid_from
    up = np.inf if binding.valid_to is None else binding.valid_to - at
    return (down, up) if binding.demand.side == "low" else (up, down)


def step_of(binding: Binding, distance: float) -> float:
    size = 1 + abs(binding.demand.target)
    return STEP * size if distance < 1e-7 * size else min(STEP * size, distance / 2)


def faults(seed: int) -> list[str]:
    """Everything an answer says that solving again does not bear out."""
    answer, branches = answered(seed)
    best = branches.best()
    if isinstance(answer, NoFormula):
        return [] if answer.decided and np.isinf(best.cost) else [f"{seed}: impossible, but there is {best.cost}"]
    if answer.objective != pytest.approx(best.cost, rel=1e-7):
        return [f"{seed}: {answer.objective}, the best is {best.cost}"]
    checks = (of_price, of_range)
    wrong = [fault for binding in answer.binding for check in checks for fault in check(answer, branches, binding)]
    words = [(binding.demand.name, binding.demand.side) for binding in answer.binding]
    wrong += [f"{name} {side} is told twice" for name, side in set(words) if words.count((name, side)) > 1]
    return [f"{seed}: {fault}" for fault in (*wrong, *of_silence(answer, branches), *of_entries(answer, branches))]


def priced(branches: EveryBranch, binding: Binding, target: float) -> float:
    """The re-solved cost with the target of one limit, or the range of one line, moved."""
    return branches.best({key(binding): target}).cost


def of_price(answer: Designed, branches: EveryBranch, binding: Binding) -> list[str]:
    wrong, (down, up) = [], ends(binding)
    step = step_of(binding, down)
    gain = (answer.objective - priced(branches, binding, looser(binding, step))) / step
    if gain != pytest.approx(binding.price, rel=1e-3, abs=2 * ROUNDING / step):
        wrong.append(f"{binding.demand.words}: looser gains {gain}, told {binding.price}")
    step = step_of(binding, up)
    loss = (priced(branches, binding, looser(binding, -step)) - answer.objective) / step
    told = np.inf if binding.tighter is None else binding.tighter
    if loss != pytest.approx(told, rel=1e-3, abs=2 * ROUNDING / step):
        wrong.append(f"{binding.demand.words}: tighter costs {loss}, told {told}")
    return wrong


def of_range(answer: Designed, branches: EveryBranch, binding: Binding) -> list[str]:
    """Inside the range the cost follows the price; beyond an end it does not, or nothing fits."""
    wrong, size = [], 1 + abs(binding.demand.target)
    for sign, distance in zip((1, -1), ends(binding), strict=True):
        if distance < -1e-7 * size:
            wrong.append(f"{binding.demand.words}: the target lies outside its range")
        if not (1e-4 * size < distance < np.inf):
            continue
        curve = curve_of(answer, branches, binding, sign * distance / 2)
        for gone in (sign * part * distance for part in (0.25, 0.9, 0.999)):
            cost = priced(branches, binding, looser(binding, gone))
            if cost != pytest.approx(curve(gone), rel=1e-7, abs=ROUNDING):
                wrong.append(f"{binding.demand.words}: {cost} at {looser(binding, gone)}, not {curve(gone)}")
        beyond = past(curve, sign * distance, size)
        if beyond is not None and looser(binding, beyond) > 0:
            cost = priced(branches, binding, looser(binding, beyond))
            if abs(cost - curve(beyond)) <= ROUNDING:
                wrong.append(f"{binding.demand.words}: the price still holds at {looser(binding, beyond)}")
    return wrong


def past(curve: Callable[[float], float], end: float, size: float) -> float | None:
    """As little beyond an end as a curve needs to be seen to go on: the flatter it has become there, the further.

    None where it goes so flat that nothing beyond could be told from it.
    """
    step = 2e-3 * size
    while abs(curve(end + np.copysign(step, end)) - curve(end)) < VISIBLE:
        step *= 2
        if step > max(0.2 * size, abs(end)):
            return None
    return float(end + np.copysign(step, end))


def curve_of(answer: Designed, branches: EveryBranch, binding: Binding, middle: float) -> Callable[[float], float]:
    """The cost while one basis lasts: straight for an amount; for a ratio  c - p d / (1 - b d),  b seen half way."""
    if not is_ratio(binding):
        return lambda gone: answer.objective - binding.price * gone
    gained = answer.objective - priced(branches, binding, looser(binding, middle))
    bend = (1 - binding.price * middle / gained) / middle
    return lambda gone: answer.objective - binding.price * gone / (1 - bend * gone)


def is_ratio(binding: Binding) -> bool:
    return binding.demand.name in RATIOS or "volume" in binding.demand.name


def of_silence(answer: Designed, branches: EveryBranch) -> list[str]:
    """A limit without a price can give way without a gain."""
    told, wrong = {key(binding) for binding in answer.binding}, []
    for limit in answer.brief.limits:
        for side, target in sides_of(limit):
            if (limit.property.name, side) not in told:
                moved = target * (1 - STEP if side == "low" else 1 + STEP)
                cost = branches.best({(limit.property.name, side): moved}).cost
                if answer.objective - cost > 10 * ROUNDING:
                    wrong.append(f"{limit.property.name} {side}: costs {answer.objective - cost}, not told")
    return wrong


def of_entries(answer: Designed, branches: EveryBranch) -> list[str]:
    """A candidate comes in 1 % below its price and not 1 % above; one without a price stays out when all but free."""
    names, wrong = [item.name for item in answer.brief.mix.ingredients], []
    for entry in answer.entries:
        j = names.index(entry.ingredient)
        if entry.below is None:
            if branches.best(prices={j: 1e-6}).cost < answer.objective - ROUNDING:
                wrong.append(f"{entry.ingredient} enters all but free, told at no price")
            continue
        under = branches.best(prices={j: entry.below * (1 - ONE_PER_CENT)})
        above = branches.best(prices={j: entry.below * (1 + ONE_PER_CENT)})
        if not (under.cost < answer.objective and under.x[j] > 1e-9):
            wrong.append(f"{entry.ingredient} does not enter 1 % below {entry.below}")
        if above.cost < answer.objective - ROUNDING:
            wrong.append(f"{entry.ingredient} enters 1 % above {entry.below}: {above.cost} < {answer.objective}")
    return wrong


@pytest.mark.parametrize("seed", cases(SAMPLE, 3, 5))
def test_prices_and_entries_hold_over_every_branch(seed: int) -> None:
    assert not faults(seed)


@pytest.mark.parametrize("seed", cases(sorted({*REST, *LONG} - {*SAMPLE}), 0, 8))
def test_prices_and_entries_hold_over_every_branch_of_many_briefs(seed: int) -> None:
    assert not faults(seed)


@pytest.mark.exhaustive
def test_half_of_the_briefs_have_limits_of_several_ways() -> None:
    """Guard: at least half, in the sample and in the many; and prices of limits of several pieces are among them."""
    for seeds in ([*SAMPLE, *REST], LONG):
        assert sum(EveryBranch(random_brief(seed)).several for seed in seeds) >= len(seeds) / 2
    answers = [answer for seed in [*SAMPLE, *REST] if isinstance(answer := answered(seed)[0], Designed)]
    pieced = [each for answer in answers for each in answer.binding if "dissolved" in each.demand.name]
    assert len(answers) >= 35
    assert len(pieced) >= 10
    assert sum(entry.below is not None for answer in answers for entry in answer.entries) >= 300
