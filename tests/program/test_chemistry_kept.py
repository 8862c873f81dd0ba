"""What the tool would warn of, it does not propose: the best formula under the rules of chemistry breaks none."""

import random
from dataclasses import replace
from pathlib import Path

import pytest

from optiform.brief.brief import Brief
from optiform.brief.file import brief_of, read_brief
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Evidence, Value
from optiform.program.optimum import best_formula
from optiform.program.usual import requirements
from optiform.reading.paths import DEMO
from optiform.review.chemistry import clashes
from optiform.review.measures import setting_of
from optiform.rules.chemistry import eithers, merged
from optiform.rules.forms import Either

#: What any shelf holds that a lotion and a wash can be made of.
SHELF = (
    "water", "phenoxyethanol + ethylhexylglycerin", "cetearyl alcohol + ceteareth-20", "glycerin", "sweet almond oil",
    "mixed tocopherols", "cetyl alcohol", "disodium EDTA", "cocamidopropyl betaine, 30 %",
)  # fmt: skip
LIMITS = (
    {"water": {"low": "60 %", "high": "75 %"}, "oil phase": {"low": "18 %"}},
    {"water": {"low": "40 %"}, "active surfactant": {"low": "6 %"}},
    {"oil phase": {"low": "95 %"}},
)


def random_brief(seed: int) -> Brief:
    """The shelf and forty other ingredients at any price, with few limits."""
    chance, catalogue = random.Random(seed), read_catalogue()
    names = [*SHELF, *chance.sample(sorted(catalogue.ingredients), 40)]
    items = dict.fromkeys(catalogue.ingredients[name.casefold()] for name in names)
    priced = {
        item.name.casefold(): replace(item, values={**item.values, ("price", None): price(chance)}) for item in items
    }
    document = {
        "kind": "lotion" if seed % 3 == 0 else "",
        "candidates": [item.name for item in items],
        "limits": LIMITS[seed % 3],
        "goal": {"lowest": "cost"},
        "missing": "leave out",
    }
    return brief_of(Path("b.toml"), document, replace(catalogue, ingredients={**catalogue.ingredients, **priced}))


def price(chance: random.Random) -> Value:
    return Value(None, chance.uniform(1, 40), None, "EUR/kg", "own file", Evidence.OWN)


def best(brief: Brief, rules: tuple[Either, ...]) -> tuple[float, Formula] | None:
    """The least cost under these rules, and the formula that has it."""
    best = best_formula(brief, requirements(brief, rules)).best
    if best is None:
        return None
    lines = zip(brief.mix.ingredients, brief.mix.phases, best[1].x, strict=True)
    formula = Formula("best", tuple(Line(item, float(x), phase) for item, phase, x in lines if x > 1e-8))
    return float(best[1].value), formula


def rules_of(brief: Brief) -> tuple[Either, ...]:
    return merged(eithers(brief.mix.ingredients, brief.kind, brief.ph, brief.overrule))


def faults(formula: Formula, brief: Brief) -> list[str]:
    return [warning.rule for warning in clashes(formula, setting_of(brief)) if warning.level != "note"]


@pytest.mark.parametrize("seed", range(9))
def test_the_best_formula_under_the_rules_draws_no_stop_and_nothing_to_mind(seed: int) -> None:
    brief = random_brief(seed)
    free, ruled = best(brief, ()), best(brief, rules_of(brief))
    assert free is not None
    assert ruled is not None
    assert faults(ruled[1], brief) == []
    assert ruled[0] >= free[0] - 1e-9


def test_without_the_rules_the_cheapest_formulas_do_draw_them() -> None:
    drawn = [faults(found[1], brief) for brief in map(random_brief, range(9)) if (found := best(brief, ()))]
    assert sum(map(bool, drawn)) >= 6


def test_the_demo_keeps_every_rule_at_no_cost() -> None:
    brief = read_brief(DEMO / "brief.toml")
    free, ruled = best(brief, ()), best(brief, rules_of(brief))
    assert free is not None
    assert ruled is not None
    assert ruled[0] == pytest.approx(free[0], abs=1e-9)
    assert brief.reference is not None
    assert faults(brief.reference, brief) == [], "the salt scrub that is sold today does not warn of itself"
