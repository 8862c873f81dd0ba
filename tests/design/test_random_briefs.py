"""Random briefs by kind: whatever shelf, goal and limits, there is a verdict, and what is proposed keeps the rules.

A few in the ordinary run, more with `-m long`, OPTIFORM_KIND_BRIEFS=500 with `-m exhaustive` looks at five hundred.
"""

import os
from typing import Any

import numpy as np
import pytest

from optiform.brief.brief import KINDS, Brief
from optiform.design.answer import NoFormula
from optiform.design.design import Best, best
from optiform.properties.registry import find_property
from optiform.review.measures import setting_of
from optiform.review.report import report
from tests.design.test_kinds import first_trials
from tests.kind_shelves import bare_brief, random_shelf
from tests.sweeps import cases

SEEDS = int(os.environ.get("OPTIFORM_KIND_BRIEFS", "52"))
QUICK = 5
GOALS: tuple[dict[str, str] | None, ...] = (
    None, {"lowest": "cost"}, {"highest": "oil phase"}, {"lowest": "oil phase"}, {"highest": "water phase"},
    {"lowest": "share of emulsifier"}, {"highest": "humectant active"},
)  # fmt: skip
#: What a random brief may limit; each near what a sound formula of its kind has.
LIMITED = ("oil phase", "water phase", "share of butter", "share of oil", "humectant active", "grains", "share of wax")
#: What the maker's own word brings about, and what is no rule of chemistry.
ASKED = ("figures", "total", "usual")


def random_brief(seed: int) -> Brief:
    """A kind, a shelf, one of `GOALS`, up to three limits around the kind's formula by hand, and half have a line."""
    rng, kind = np.random.default_rng(seed), KINDS[seed % len(KINDS)]
    shelf, sound = random_shelf(kind, 5000 + seed), first_trials()[kind]
    goal, limits = GOALS[int(rng.integers(len(GOALS)))], {}
    for name in rng.permutation(LIMITED)[: int(rng.integers(0, 4))]:
        value = find_property(str(name), "EUR").of(sound) or 0.0
        side, factor = ("low", rng.uniform(0.6, 1.2)) if rng.random() < 0.5 else ("high", rng.uniform(0.8, 1.5))
        if value > 0:
            limits[str(name)] = {side: f"{min(value * factor, 95.0):.1f} %"}
    more: dict[str, Any] = {"goal": goal} if goal else {}
    if rng.random() < 0.5:
        more["lines"] = {str(rng.choice(sorted(shelf))): {"high": f"{rng.uniform(0.1, 5):.1f} %"}}
    return bare_brief(kind, shelf, **more, **({"limits": limits} if limits else {}))


def has_a_verdict(seed: int) -> None:
    brief = random_brief(seed)
    answer = best(brief)
    if isinstance(answer, NoFormula):
        assert answer.decided, (seed, answer.reason)
        assert answer.lacking or answer.conflict, (seed, "says why")
        return
    assert isinstance(answer, Best)
    setting = setting_of(brief)
    grave = [x for x in report(answer.formula, setting).warnings if x.level in ("stop", "mind")]
    # A line of the brief's own goes before what is advised of it, and what had to give is told.
    named = setting.lines | {eased.demand.name for eased in answer.gave}
    assert [x.text for x in grave if x.about not in ASKED and not set(x.lines) & named] == [], seed


@pytest.mark.parametrize("seed", cases(range(26), QUICK, 21))
def test_a_random_brief_of_each_kind_has_a_verdict(seed: int) -> None:
    has_a_verdict(seed)


@pytest.mark.exhaustive
def test_none_of_many_random_briefs_is_undecided() -> None:
    for seed in range(26, SEEDS):
        has_a_verdict(seed)
