"""Limits whose price rounding leaves unproven are told, never left out; and why a limit has no tighter price."""

import pickle
from collections.abc import Sequence

import pytest

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.design.alternatives import Alternatives, alternatives
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import Best, best, design, explained
from optiform.design.sheet import sheet
from optiform.design.steps import Weighed
from optiform.design.weigh import weigh
from optiform.design.why import Why
from optiform.design.wishes import wishes
from optiform.program import sensitivity
from optiform.program.build import Demand
from optiform.program.certificate import NotCertified
from optiform.program.prices import Pricer, Segment
from optiform.program.search import BestFormula
from optiform.reading.paths import DEMO
from optiform.telling.design import designed as told
from optiform.telling.explore import explore
from optiform.telling.json import designed as as_json
from optiform.telling.parts import Table
from optiform.telling.terminal import short
from optiform.telling.weigh import weighed
from tests.builders import brief_of, ingredient
from tests.program.real_briefs import random_brief
from tests.sweeps import cases


def answer() -> Designed:
    """Water, and as much of a dearer oil as is asked for."""
    items = [ingredient("water", 1.0, "water"), ingredient("oil", 9.0, "oil")]
    answered = design(brief_of(items, {"oil phase": (40.0, None)}))
    assert isinstance(answered, Designed)
    return answered


def as_text(answered: Designed) -> str:
    return " ".join(told(answered).only("prices").sentences)


def tighter(answered: Designed) -> list[str]:
    """The cells of what the tighter side costs."""
    (section,) = told(answered).only("prices").sections
    (table,) = (part for part in section.parts if isinstance(part, Table))
    head, *rows = table.texts
    return [row[head.index("tighter")] for row in rows]


def unproven(self: Pricer, row: int) -> Segment:  # noqa: ARG001
    raise NotCertified("rounding")


def test_a_limit_without_a_proven_price_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    assert [bound.demand.words for bound in answer().binding] == ["oil phase at least 40 % of the jar"]
    assert not answer().unpriced
    monkeypatch.setattr(Pricer, "looser", unproven)
    blind = answer()
    assert not blind.binding
    assert [demand.words for demand in blind.unpriced] == ["oil phase at least 40 % of the jar"]
    assert "rounding hides what easing it would save: oil phase at least 40 % of the jar" in as_text(blind)
    assert [one["words"] for one in as_json(blind)["unpriced"]] == ["oil phase at least 40 % of the jar"]


def test_what_cannot_be_tighter_and_what_is_not_proven_are_told_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Pricer, "tighter", lambda self, row: None)
    (bound,) = answer().binding
    assert (bound.tighter, bound.tighter_proven) == (None, True)
    assert tighter(answer()) == ["cannot be"]
    monkeypatch.setattr(Pricer, "tighter", unproven)
    (bound,) = answer().binding
    assert (bound.tighter, bound.tighter_proven) == (None, False)
    assert tighter(answer()) == ["not proven"]
    assert as_json(answer())["binding"][0]["tighter_proven"] is False


def test_where_the_ways_are_too_many_prices_are_those_of_the_answers_own(monkeypatch: pytest.MonkeyPatch) -> None:
    """A shelf of nine waxes and fatty alcohols took a minute, nearly all of it for how far each price holds."""
    brief = random_brief(5)
    whole = design(brief)
    assert isinstance(whole, Designed)
    assert all(binding.whole for binding in whole.binding)  # they are worked out here
    monkeypatch.setattr(sensitivity, "MOST_COVER", 1)
    own = design(brief)
    assert isinstance(own, Designed)
    assert own.objective == whole.objective
    assert own.binding
    assert not any(binding.whole for binding in own.binding)
    assert not any(entry.whole for entry in own.entries if entry.below is not None)


def test_prices_do_not_wait_for_how_far_they_hold_and_what_was_not_worked_out_is_not_told() -> None:
    found = best(read_brief(DEMO / "brief.toml"))
    assert isinstance(found, Best)
    at_once, whole = explained(found, "prices"), explained(found)
    prices, same = ([(bound.demand, bound.price, bound.tighter) for bound in x.binding] for x in (at_once, whole))
    assert prices == same
    assert {bound.valid_to for bound in at_once.binding} == {None} != {bound.valid_to for bound in whole.binding}
    assert at_once.entries == () != whole.entries
    heads = [{column.head for table in told(x).tables for column in table.columns} for x in (at_once, whole)]
    assert heads[1] - heads[0] >= {"each point of easing saves", "worth using below"}
    assert "Your wishes that cost most" not in " ".join(told(at_once).sentences)


@pytest.mark.parametrize("seed", cases([None, *range(12)], 4, 9))
def test_the_short_telling_is_the_same_where_only_savings_were_looked_at(seed: int | None) -> None:
    """The demo, and briefs at random."""
    answered = best(read_brief(DEMO / "brief.toml") if seed is None else random_brief(seed))
    if not isinstance(answered, Best):
        pytest.skip("no formula keeps this brief")
    less, whole = explained(answered, "savings"), explained(answered)
    assert short(told(less), 80) == short(told(whole), 80)
    assert less.entries == ()
    assert not any(bound.tighter for bound in less.binding)
    savings = [(wish.bound.demand, wish.least) for wish in wishes(whole.binding)]
    assert [(wish.bound.demand, wish.least) for wish in wishes(less.binding)] == savings


def test_a_tighter_side_whose_proof_fails_takes_nothing_from_what_easing_saves(monkeypatch: pytest.MonkeyPatch) -> None:
    answered = best(read_brief(DEMO / "brief.toml"))
    assert isinstance(answered, Best)
    whole = explained(answered).settled()
    beside = sensitivity.Sensitivity.beside

    def failing(self: sensitivity.Sensitivity, demand: Demand, change: float, below: float) -> Segment | None:
        if (change > 0) == (demand.side == "low"):
            raise NotCertified("the gap does not close")
        return beside(self, demand, change, below)

    monkeypatch.setattr(sensitivity.Sensitivity, "beside", failing)
    less = explained(answered)
    assert [x.demand for x in less.binding] == [x.demand for x in whole.binding]
    assert [x.price for x in less.binding] == pytest.approx([x.price for x in whole.binding])
    assert {(x.tighter, x.tighter_proven, x.whole) for x in less.binding} == {(None, False, False)}


def test_why_is_worked_out_where_it_is_looked_at_and_says_the_same_after_a_copy(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    brief, asked = read_brief(DEMO / "brief.toml"), list[Brief]()

    class Counted(Why):
        def __init__(self, brief: Brief, demands: Sequence[Demand], solution: BestFormula) -> None:
            asked.append(brief)
            super().__init__(brief, demands, solution)

    monkeypatch.setattr("optiform.design.design.Why", Counted)
    answer = design(brief)
    assert isinstance(answer, Designed)
    copy = pickle.loads(pickle.dumps(answer))
    assert answer.certificate.holds
    assert answer.report.measures
    assert not asked
    assert answer == copy
    assert hash(answer) == hash(copy)
    assert answer.binding
    assert answer.entries
    assert len(asked) == 1
    assert copy.binding == answer.binding
    assert copy.entries == answer.entries
    found = best(brief)
    assert isinstance(found, Best)
    assert answer == copy != explained(found, "prices")


def test_a_proof_of_a_price_that_does_not_check_is_raised_where_the_answer_is_settled(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise NotCertified("the gap does not close")

    monkeypatch.setattr("optiform.design.design.unsure", fails)
    answer = design(read_brief(DEMO / "brief.toml"))
    assert isinstance(answer, Designed)
    with pytest.raises(NotCertified, match="gap"):
        answer.settled()


def test_what_tells_no_price_answers_by_its_own_proof_where_a_price_has_none(monkeypatch: pytest.MonkeyPatch) -> None:
    """Grams to weigh, formulas nearly as good and the page of sliders claim nothing of what easing a limit gains."""

    def fails(*_: object, **__: object) -> None:
        raise NotCertified("the gap does not close")

    monkeypatch.setattr(Why, "bindings", fails)
    dear = answer()
    with pytest.raises(NotCertified, match="gap"):
        told(dear)
    brief = dear.brief
    grams, near, page = weigh(brief), alternatives(brief, 2.0), sheet(brief)
    assert isinstance(grams, Weighed)
    assert isinstance(near, Alternatives)
    assert not isinstance(page, NoFormula)
    assert grams.proof.certificate.holds
    assert "easing" not in short(weighed(grams)) + short(explore(brief.title, (near,)))
