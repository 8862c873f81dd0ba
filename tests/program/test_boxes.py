"""How many programs it takes to decide limits that bend, and where boxes of shares are split."""

from dataclasses import replace

import numpy as np
import pytest

from optiform.brief.brief import Brief, Limit
from optiform.brief.file import read_brief
from optiform.design.answer import NoFormula
from optiform.design.design import Best, best
from optiform.program import boxes, search
from optiform.program.claim import claim
from optiform.program.tree import Tree
from optiform.properties.bent import Quantity
from optiform.properties.registry import find_property
from optiform.reading.paths import DEMO
from tests.shelves import random_brief
from tests.sweeps import cases

SHARE = Quantity("share", np.ones(1), np.ones(1), (0.0, np.inf))
SLOW = 154  #: took 207 programs with shares split by their distance


def nodes_of(brief: Brief, monkeypatch: pytest.MonkeyPatch) -> int:
    """How many programs the tree of a brief solves, which it decides."""
    trees: list[Tree] = []  # type: ignore[type-arg]
    whole = Tree.search

    def counted(tree: Tree, *roots: object, **more: object) -> None:  # type: ignore[type-arg]
        trees.append(tree)
        whole(tree, *roots, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(Tree, "search", counted)
    answer = best(brief)
    assert isinstance(answer, Best)
    assert not answer.solution.local
    return max(tree.visited for tree in trees)


@pytest.mark.parametrize(
    ("number", "span"), [(292.0, (0.0, 438.0)), (1e-6, (0.0, 438.0)), (300.0, (1.0, 438.0)), (2.0, (1.0, 3.0))]
)
def test_a_share_is_split_well_inside_by_its_logarithm(number: float, span: tuple[float, float]) -> None:
    low, high = max(span[0], span[1] / boxes.RATIO), span[1]
    cut = boxes._inside(number, span, SHARE)
    part = np.log(cut / low) / np.log(high / low)
    assert boxes.WIDE - 1e-9 <= part <= 1 - boxes.WIDE + 1e-9
    inside = np.log(number / low) / np.log(high / low)
    assert cut == pytest.approx(number) or not boxes.WIDE < inside < 1 - boxes.WIDE


def test_shares_between_nothing_and_hundreds_take_few_boxes(monkeypatch: pytest.MonkeyPatch) -> None:
    brief, _ = random_brief(SLOW, 30, 1 + SLOW % 3)
    assert nodes_of(brief, monkeypatch) <= 160


def test_a_curved_optimum_is_come_to_by_secants(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same optimum in fewer programs than by a box that closes alone."""
    brief, _ = random_brief(13, 30, 2)
    programs: list[int] = []
    whole = claim

    def counted(*parts: object) -> object:
        programs.append(1)
        return whole(*parts)  # type: ignore[arg-type]

    monkeypatch.setattr(search, "claim", counted)
    with_secants, count = best(brief), len(programs)
    monkeypatch.setattr(search._Step, "turn", lambda *_: None)
    programs.clear()
    without = best(brief)
    assert isinstance(with_secants, Best)
    assert isinstance(without, Best)
    assert with_secants.value == pytest.approx(without.value, abs=1e-8)
    assert count < len(programs) - 5


def test_a_secant_finds_the_end_of_a_parabola() -> None:
    """At 1 and -2 of (t - 0.25)^2 the slopes are 1.5 and -4.5: between them it is 0 at 0.25."""
    there = search._Step(np.array([1.0]), np.array([-2.0]), 1.5)
    back = search._Step(np.array([-2.0]), np.array([1.0]), 4.5)
    turn = there.turn(back)
    assert turn is not None
    assert turn == pytest.approx([0.25])
    assert there.turn(there) is None
    assert search._Step.none().turn(back) is None


@pytest.mark.parametrize(
    ("low", "high", "fits"),
    cases(
        [
            (0.0, None, True),
            (None, 0.0, False),
            (-0.1, None, True),
            (None, 1.2, True),
            (None, -0.1, False),
            (1.2, None, False),
        ],
        2,
        4,
    ),
)
def test_a_water_activity_that_no_formula_has_is_always_kept_or_never(
    low: float | None, high: float | None, *, fits: bool
) -> None:
    """No reader of briefs lets such a target in; the program has an answer to it all the same."""
    demo = read_brief(DEMO / "brief.toml")
    limit = Limit(find_property("water activity", "EUR"), low, high)
    answer = best(replace(demo, limits=(*demo.limits, limit)))
    free = best(demo)
    assert isinstance(free, Best)
    if fits:
        assert isinstance(answer, Best)
        assert answer.value == pytest.approx(free.value)
    else:
        assert isinstance(answer, NoFormula)
        assert answer.decided
