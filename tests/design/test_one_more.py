"""The one purchase that would help most, against designing with each by hand."""

from dataclasses import replace

from optiform.brief.brief import Brief
from optiform.brief.leftout import Out
from optiform.design.answer import NoFormula
from optiform.design.around import held
from optiform.design.design import best
from optiform.design.entry import with_candidate
from optiform.design.feel import felt, steps_of
from optiform.design.one_more import one_more
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.telling.one_more import one_more as told
from tests.builders import brief_of, ingredient

WATER, OIL, SOFT = ingredient("water", 1, "water"), ingredient("oil", 4, "oil"), ingredient("soft", 12, "butter")
CHEAP, DEAR, PLAIN = (
    ingredient("cheap butter", 7, "butter"), ingredient("dear butter", 40, "butter"), ingredient("plain oil", 3, "oil"),
)  # fmt: skip
BARE = replace(ingredient("a butter without a price", 1, "butter"), values={})


def short_of(brief: Brief) -> Brief:
    """The brief with four more in the catalogue that are out of stock."""
    more = (CHEAP, DEAR, PLAIN, BARE)
    known = {item.name.casefold(): item for item in (*brief.mix.ingredients, *more)}
    out = tuple((item.name, Out.OUT_OF_STOCK) for item in more)
    return replace(brief, catalogue=Catalogue(known, {}), left_out=out)


BRIEF = short_of(brief_of([WATER, OIL, SOFT], {"share of butter": (20.0, None), "water phase": (40.0, 60.0)}))


def test_the_purchase_that_saves_most_stands_first_and_those_that_save_nothing_do_not() -> None:
    answer = one_more(BRIEF)
    assert [x.ingredient for x in answer.purchases] == ["cheap butter", "plain oil"]
    for purchase, item in zip(answer.purchases, (CHEAP, PLAIN), strict=True):
        again = best(with_candidate(BRIEF, item))
        assert not isinstance(again, NoFormula)
        assert (purchase.value, purchase.percent) == (again.value, 100 * again.formula.fraction(item.name))
    assert (answer.tried, answer.unlooked) == (3, (BARE.name,))
    assert "Buying cheap butter would help most: 1 EUR/kg, with 20 % of the jar of it." in told(answer).sentences


def test_where_nothing_can_be_made_the_purchase_that_makes_it_possible_is_told() -> None:
    brief = short_of(brief_of([WATER, OIL], {"share of butter": (20.0, None), "water phase": (40.0, 60.0)}))
    answer = one_more(brief)
    assert answer.value is None
    assert answer.purchases[0].ingredient == "cheap butter"
    assert told(answer).sentences[0] == "With what is in stock no formula meets the brief."


def test_a_step_of_feel_is_a_tolerance_and_they_add_up() -> None:
    today = Formula("today", (Line(WATER, 0.5, WATER.phase), Line(OIL, 0.3, OIL.phase), Line(SOFT, 0.2, SOFT.phase)))
    changed = Formula("new", (Line(WATER, 0.5, WATER.phase), Line(OIL, 0.33, OIL.phase), Line(SOFT, 0.17, SOFT.phase)))
    noticed = held(replace(BRIEF, reference=today), {"share of butter": 1.5, "share of oil": 1.0, "oil phase": 1.0})
    moves = felt(noticed, changed, "EUR")
    assert [(move.name, round(move.steps, 6)) for move in moves] == [
        ("share of oil", 3.0), ("share of butter", 2.0), ("oil phase", 0.0),
    ]  # fmt: skip
    assert round(steps_of(moves), 6) == 5.0
