"""From a brief to formulas."""

from collections.abc import Sequence
from math import inf
from typing import TypeVar

from optiform.brief.limits import Amount
from optiform.design import cheaper as cheaper_job
from optiform.design import design as design_job
from optiform.design import entry as entry_job
from optiform.design import explore as explore_job
from optiform.design import substitute as substitute_job
from optiform.design import texture as texture_job
from optiform.design import weigh as weigh_job
from optiform.design.answer import Designed, NoFormula
from optiform.design.changes import WhyNot
from optiform.design.cheaper import CheaperOptions
from optiform.design.explore import TradeOff
from optiform.design.scale import least_shown
from optiform.design.stepped import WAYS, Stepped, Way
from optiform.design.steps import Unweighable, Weighed
from optiform.design.substitute import Substitutes
from optiform.design.texture import Texture
from optiform.face.arguments import (
    OfBrief,
    OfFormula,
    a_brief,
    a_formula,
    amount,
    count,
    counted,
    maybe,
    one_of,
    pairs,
    share,
    subject_of,
    unit_of,
    words,
)
from optiform.face.errors import Impossible
from optiform.reading.answer import words_of
from optiform.reading.faults import Unsettled

T = TypeVar("T")


def design(brief: OfBrief) -> Designed:
    """The best formula that meets a brief, why it is that one, and the proof.

    Its prices, what would come in and what it could miss take longer than all the rest, and are worked out where they
    are looked at first; where a proof of theirs does not check, that is `Unproven` there.

    Args:
        brief: a brief, or the path of one.

    Raises:
        BadInput: with every fault of the brief.
        Impossible: no formula meets it; `conflict` and `repairs` say why and what would help.
        Unproven: no verdict.

    Example:
        >>> import optiform as of
        >>> answer = of.design(of.demo())
        >>> f"{answer.objective:.3f}", answer.prices[0].demand.words
        ('4.731', 'fragrance oil at least 0.6 % of the jar')
    """
    return _settled(design_job.design(a_brief(brief)))


def why_not(brief: OfBrief, subject: str | OfFormula) -> WhyNot:
    """What would have to change for an ingredient to be used, or for a formula to be the best.

    Args:
        brief: a brief, or the path of one.
        subject: an ingredient by name; or a formula, an answer that has one, or the path of one.

    Raises:
        BadInput: with every fault of the brief and the formula, a name that is not known, or a figure that lacks.
        Impossible: no formula meets the brief.
        Unproven: no verdict.
    """
    asked = a_brief(brief)
    return _settled(entry_job.why_not(asked, subject_of(subject, asked.catalogue)))


def cheaper(
    brief: OfBrief, saving: Amount | None = None, most_change: Amount = "100 %", new_ingredients: bool = True
) -> CheaperOptions:
    """Today's formula at less cost, changing one line after another; what a skin would notice is held.

    Args:
        brief: a brief with a reference, or the path of one.
        saving: a further line saves at least so much: text, or a number in the brief's currency per kg; None: 1 % of
            what today's formula costs.
        most_change: no line changes by more: text, or a number in % of the whole.
        new_ingredients: whether candidates that today's formula has not may come in.

    Raises:
        BadInput: with every fault of the brief.
        Impossible: no formula meets it, or not together with what is held.
        Unproven: no verdict.

    Example:
        >>> import optiform as of
        >>> best = of.cheaper(of.demo()).best
        >>> f"{best.lines} lines change, {best.saving:.2f} EUR/kg less"
        '4 lines change, 1.09 EUR/kg less'
    """
    asked = a_brief(brief)
    answer = cheaper_job.cheaper(
        asked,
        least_saving=None if saving is None else amount(saving, "saving", f"{asked.currency}/kg"),
        most_change=share(most_change, "most_change"),
        new_ingredients=new_ingredients,
    )
    if answer.impossible is not None:
        _settled(answer.impossible)
    return answer


def substitute(brief: OfBrief, *missing: str, blend: int = 2, follow: Amount = 0.0) -> Substitutes:
    """What can replace ingredients of today's formula, nearest first.

    Args:
        brief: a brief with a reference, or the path of one.
        missing: names of what has to go.
        blend: at most so many ingredients in a replacement.
        follow: by so much the other lines may move to fit: text, or a number in % of the whole.

    Raises:
        BadInput: with every fault of the brief, no name, or one that today's formula has not.

    Example:
        >>> import optiform as of
        >>> of.substitute(of.demo(), "mango butter").best.formula.name
        'shea butter, refined'
    """
    gone, most = words(missing, "missing"), count(blend, "blend")
    return substitute_job.substitute(a_brief(brief), gone, blend=most, follow=share(follow, "follow"))


def texture(brief: OfBrief, step: Amount, at: Amount = 20.0) -> Texture:
    """Today's formula firmer or softer, with fewest changes.

    Args:
        brief: a brief with a reference, or the path of one.
        step: text, or a number in % of today's firmness: 20 is a fifth firmer, -20 a fifth softer.
        at: the temperature: text, or a number in degC.

    Raises:
        BadInput: with every fault of the brief, or a step that is no share.
        Unproven: no verdict.

    Example:
        >>> import optiform as of
        >>> firmer = of.texture(of.demo(), step=20, at="10 degC")
        >>> firmer.temperature, len(firmer.ranked()) > 0
        (10.0, True)
    """
    change = amount(step, "step", "%", -100.0)
    return texture_job.texture(a_brief(brief), change, amount(at, "at", "degC", -273.15))


def explore(brief: OfBrief, name: str, start: Amount, end: Amount, way: Way = "low") -> TradeOff | Stepped:
    """The best the goal can be as one limit moves: one curve, or steps where something bends.

    Args:
        brief: a brief, or the path of one.
        name: a property or a candidate.
        start: the lowest target: text in %, or a number in the property's unit, for a candidate in %.
        end: the highest target, likewise.
        way: `low` for at least, `high` for at most, `exactly` for both.

    Raises:
        BadInput: with every fault of the brief, or a name that is not known.
        Impossible: nothing fits in this range.
        Unproven: no verdict.

    Example:
        >>> import optiform as of
        >>> curve = of.explore(of.demo(), "active surfactant", 2.5, "4 %")
        >>> f"{curve.value_at(3.1):.3f} {curve.value_unit}"
        '4.818 EUR/kg'
    """
    asked = a_brief(brief)
    one_of(way, "way", WAYS)
    unit = unit_of(asked, name)
    first, last = (amount(end, f"explore {name}", unit, -inf) for end in (start, end))
    curve = explore_job.explore_limit(asked, name, way, first, last)
    if isinstance(curve, NoFormula):
        raise _refusal(curve)
    return curve


def weigh(
    brief: OfBrief,
    formula: OfFormula | None = None,
    *,
    most: int | None = None,
    least_dose: Amount | None = None,
    apart: Sequence[tuple[str, str]] = (),
    step: Amount | None = None,
    fine_step: Amount | None = None,
) -> Weighed:
    """The best formula for a brief that the scale can show, or the one nearest to a given formula.

    Args:
        brief: a brief, or the path of one.
        formula: a formula, an answer that has one, or the path of one; nothing for the brief's best.
        most: at most so many ingredients.
        least_dose: each either none or so much: text, or a number in %. Without it, what the scale shows well.
        apart: pairs of candidates of which only one is used.
        step: what the scale can show: text, or a number in g; the brief's own without it.
        fine_step: of a finer scale for small doses, likewise.

    Raises:
        BadInput: with every fault of the brief and the formula, or a wish beside a given formula.
        Impossible: nothing that can be weighed keeps the brief.
        Unproven: no verdict.

    Example:
        >>> import optiform as of
        >>> of.weigh(of.demo()).table()["grams"].sum().item()
        4000.0
    """
    asked = a_brief(brief)
    coarse, fine = maybe(step, "step", "g"), maybe(fine_step, "fine_step", "g")
    if formula is not None:
        return _settled(weigh_job.round_formula(asked, a_formula(formula, asked.catalogue), coarse, fine))
    dose = least_shown(asked, coarse, fine) if least_dose is None else share(least_dose, "least_dose")
    return _settled(weigh_job.weigh(asked, counted(most, "most"), dose, pairs(apart, "apart"), coarse, fine))


def _settled(answer: T | NoFormula | Unweighable) -> T:
    """The answer, if it is one.

    Raises:
        Impossible: it is proven that there is none.
        Unsettled: it is not known whether there is one.
    """
    if isinstance(answer, NoFormula | Unweighable):
        raise _refusal(answer)
    return answer


def _refusal(answer: NoFormula | Unweighable) -> Impossible | Unsettled:
    """That there is no answer, or that it is not known."""
    return Impossible(answer) if answer.decided else Unsettled(words_of(answer.reason))
