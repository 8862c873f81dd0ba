"""Every answer is a value: the same question gives the same answer, in this process and in another."""

import pickle
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

import optiform as of
from optiform.brief.brief import Brief
from optiform.brief.goal import NearestUsual
from optiform.brief.leftout import Out
from optiform.design.answer import Designed
from optiform.reading.answer import Answer
from optiform.reading.paths import DEMO
from tests.answers import shared_by_pages
from tests.kind_shelves import bare_brief
from tests.sweeps import cases

BRIEF = of.demo()
LONGEST = 2_000

#: Each kind of answer: how it is asked for.
ASKED: dict[str, Callable[[Brief], Answer]] = {
    "design": of.design,
    "check": lambda brief: of.check(DEMO / "today.csv", brief),
    "compare": lambda brief: of.compare(DEMO / "today.csv", of.design(brief), brief=brief),
    "cheaper": lambda brief: of.cheaper(brief, saving=0.03),
    "substitute": lambda brief: of.substitute(brief, "mango butter"),
    "texture": lambda brief: of.texture(brief, step=20, at=10),
    "explore": lambda brief: of.explore(brief, "active surfactant", 2.5, "4 %"),
    "weigh": of.weigh,
    "round": lambda brief: of.weigh(brief, DEMO / "today.csv"),
    "declare": lambda brief: of.declare(of.design(brief), market="EU"),
    "costs": lambda brief: of.costs(of.design(brief), str(DEMO / "costs.toml")),
    "batch": lambda brief: of.batch(of.design(brief), jars=12),
    "buy": lambda _: of.buy(DEMO / "plan.toml", DEMO / "workshop" / "offers.csv", ()),
}


#: What takes seconds to be worked out a second time.
SLOW = {"cheaper", "substitute", "weigh"}


@cache
def answered(name: str) -> Answer:
    """The answer to one question, asked once in a run."""
    with shared_by_pages():
        return ASKED[name](BRIEF)


@pytest.fixture(scope="module")
def other() -> Brief:
    """The same brief read again: nothing of it but the shipped tables is shared."""
    return of.read_brief(str(DEMO / "brief.toml"))


def test_the_same_brief_read_twice_is_the_same(other: Brief) -> None:
    assert other is not BRIEF
    assert (other, hash(other)) == (BRIEF, hash(BRIEF))
    assert other.with_limit("oil phase", high=27) != BRIEF
    assert other.with_limit("oil phase", high="27 %") == BRIEF.with_limit("oil phase", high=27)
    assert len(repr(BRIEF)) < LONGEST


@pytest.mark.parametrize("name", cases(sorted(ASKED, key=SLOW.__contains__), len(ASKED) - len(SLOW)))
def test_an_answer_is_a_value(name: str, other: Brief) -> None:
    one, again = answered(name), ASKED[name](other)
    assert one == again
    assert hash(one) == hash(again)
    assert len(repr(one)) < LONGEST
    rebuilt = pickle.loads(pickle.dumps(one))
    assert rebuilt == one
    assert hash(rebuilt) == hash(one)


def test_the_parts_of_an_answer_are_short_to_look_at_too() -> None:
    answer = answered("design")
    assert isinstance(answer, Designed)
    assert 0 < len(repr(answer.limits)) < LONGEST
    assert 0 < len(repr(answer.prices)) < LONGEST
    assert 0 < len(repr(of.ingredients())) < LONGEST


@pytest.mark.parametrize("name", ASKED)
def test_an_answer_is_told_as_a_table_a_page_and_in_a_notebook(name: str, tmp_path: Path) -> None:
    answer = answered(name)
    assert len(answer.table()) > 0
    assert len(answer._repr_html_()) > 200
    answer.save(str(tmp_path / "answer.html"))
    answer.save(tmp_path / "answer.csv")
    assert (tmp_path / "answer.html").read_text(encoding="utf-8").startswith("<!doctype html>")
    with pytest.raises(of.BadInput):
        answer.save(tmp_path / "answer.html")
    answer.save(tmp_path / "answer.html", force=True)
    with pytest.raises(of.BadInput):
        answer.save(tmp_path / "answer.txt")


def test_answers_of_different_questions_differ() -> None:
    assert answered("design") != of.design(BRIEF.with_limit("oil phase", low=27))
    assert of.design(BRIEF).formula != of.design(BRIEF.with_limit("oil phase", low=27)).formula


def test_what_has_no_chart_says_so() -> None:
    with pytest.raises(of.Absent, match="Comparison has no chart"):
        answered("compare").chart()


def test_a_step_that_is_no_share_is_bad_input() -> None:
    for step in ("x", "3 kg", "-101 %"):
        with pytest.raises(of.BadInput):
            of.texture(BRIEF, step=step)


def test_what_cannot_be_met_is_an_error_that_carries_its_answer() -> None:
    with pytest.raises(of.Impossible) as no:
        of.design(BRIEF.with_limit("oil phase", low="90 %"))
    rebuilt = pickle.loads(pickle.dumps(no.value))
    assert (rebuilt.answer, str(rebuilt)) == (no.value.answer, str(no.value))
    assert "oil phase at least 90 %" in str(no.value)
    assert len(no.value.answer.table()) == len(no.value.conflict)


def test_a_brief_without_a_candidate_never_uses_it() -> None:
    used = [line.ingredient.name for line in of.design(BRIEF).formula.lines]
    spare = next(name for name in used if BRIEF.ranges[[x.name for x in BRIEF.mix.ingredients].index(name)].low == 0)
    fewer = BRIEF.without(spare)
    assert spare not in [item.name for item in fewer.mix.ingredients]
    assert (spare, Out.EXCLUDED) in fewer.left_out
    assert fewer.without(spare) == fewer


@pytest.mark.parametrize(
    ("brief", "name", "words"),
    [
        (BRIEF, "stearic acid", "at least 2 %, but exclude names stearic acid"),
        (BRIEF.without("coconut oil"), "coconut oil", "exclude names coconut oil"),
        (replace(BRIEF, claims=("vegan",)), "beeswax", "but the claim vegan leaves it out"),
    ],
)
def test_an_amount_of_what_a_brief_leaves_out_is_refused_with_both(brief: Brief, name: str, words: str) -> None:
    with pytest.raises(of.BadInput, match=words):
        brief.with_limit(name, low="2 %")
    assert brief.with_limit(name, high=0) == brief


def test_a_net_content_without_a_unit_is_refused_by_its_name() -> None:
    with pytest.raises(of.BadInput, match="net: “250” does not go here"):
        of.declare(of.design(BRIEF), market="EU", net="250")


def test_an_amount_of_what_is_only_usually_left_out_takes_it_in() -> None:
    sold_out = BRIEF.with_limit("mango butter", low="2 %")
    assert of.design(sold_out).formula.fraction("mango butter") >= 0.02 - 1e-9
    assert "mango butter" not in dict(sold_out.left_out)
    shelf = {"shea butter, refined": 9.0, "sunflower oil, high oleic": 4.0, "mixed tocopherols": 50.0, "glycerin": 2.0}
    butter = bare_brief("body butter", shelf)
    assert "glycerin" in dict(butter.left_out)
    wet = butter.with_limit("glycerin", low="2 %", high="3 %")
    assert [name for name, _ in wet.against_kind] == ["glycerin"]
    by_file = bare_brief("body butter", shelf, lines={"glycerin": {"low": "2 %", "high": "3 %"}})
    assert isinstance(wet.goal, NearestUsual)
    assert isinstance(by_file.goal, NearestUsual)
    assert (wet.goal.aims, dict(wet.goal.ranks)) == (by_file.goal.aims, dict(by_file.goal.ranks))
    assert dict(zip(wet.mix.ingredients, wet.ranges, strict=True)) == dict(
        zip(by_file.mix.ingredients, by_file.ranges, strict=True)
    )
    assert (wet.usual, wet.against_kind, set(wet.left_out)) == (
        by_file.usual, by_file.against_kind, set(by_file.left_out)
    )  # fmt: skip
    with pytest.raises(of.BadInput, match="no figure for honey"):
        BRIEF.with_limit("honey", low=1)


def test_another_goal_reaches_for_it() -> None:
    more = of.design(BRIEF.with_goal(highest="oil phase"))
    assert more.objective == pytest.approx(28)
    assert isinstance(more.brief.goal, of.Highest)
    assert BRIEF.reference is not None
    near = of.design(BRIEF.with_goal(nearest=BRIEF.reference))
    assert near.objective < of.design(BRIEF.with_goal(lowest="cost")).objective * 100


def test_a_candidate_may_be_limited_like_a_property() -> None:
    few = of.design(BRIEF.with_limit("glycerin", high="2 %"))
    assert few.formula.fraction("glycerin") <= 0.02 + 1e-9
