"""The answer to a brief as plain data, or why it has none."""

from math import isfinite

from optiform.brief.brief import Brief
from optiform.brief.goal import Goal
from optiform.brief.parts import Lacking
from optiform.design.answer import Binding, Designed, NoFormula, Unsure
from optiform.ingredients.formula import Formula
from optiform.program.certificate import Certificate
from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, certificate, demand
from optiform.telling.json.report import costed, lines, report
from optiform.telling.unsure import could_be_missed, price_of_sureness


def best(brief: Brief, formula: Formula, proof: Certificate, local: bool, gap: float | None = None) -> Data:
    """The formula that answers a brief, against today's, and its proof: the part of an answer that is known first.

    `gap`: where a limit bends, by how much another formula could be better at most, in the goal's unit.
    """
    scope = {"scope": "near this formula" if local else "all"}
    left = {"left": gap} if gap is not None and isfinite(gap) else {}
    return answered(
        "optimal",
        title=brief.title,
        **costed(formula, brief.currency, brief.batch),
        today=lines(brief.reference, brief.currency, brief.batch) if brief.reference else None,
        changes=_changes(formula, brief.reference) if brief.reference else [],
        certificate={**certificate(proof), **scope, **left},
    )


def designed(answer: Designed) -> Data:
    """The answer to a brief that has one."""
    brief = answer.brief
    return {
        **best(brief, answer.report.formula, answer.certificate, answer.local, answer.gap),
        "goal": {"words": brief.goal.words, "value": answer.objective},
        **report(answer.report, brief.currency, brief.batch),
        "binding": [_binding(bound) for bound in answer.binding],
        "unpriced": [demand(limit) for limit in answer.unpriced],
        "unused": [
            {
                "ingredient": entry.ingredient,
                "price": entry.price,
                "enters_below": entry.below,
                "whole": entry.whole,
            }
            for entry in answer.entries
        ],
        **_left_out(brief),
        "tie": lines(answer.tie, brief.currency, brief.batch) if answer.tie else None,
        "conflict": [],
        "repairs": [],
        "unsure": _unsure(answer.unsure, brief.goal) if answer.unsure else None,
        "gave": [{**demand(end.demand), "reached": end.reached} for end in answer.gave],
        "lacking": [_lacking(part) for part in answer.lacking],
    }


def impossible(answer: NoFormula) -> Data:
    """The answer to a brief that nothing fits."""
    return answered(
        "infeasible" if answer.decided else "undecided",
        title=answer.brief.title,
        goal={"words": answer.brief.goal.words, "value": None},
        formula=[],
        cost=None,
        properties={},
        binding=[],
        **_left_out(answer.brief),
        conflict=[demand(limit) for limit in answer.conflict],
        minimal=answer.minimal,
        repairs=[[{**demand(change.demand), "new": change.target} for change in changes] for changes in answer.repairs],
        reason=answer.reason,
        warnings=[],
        certificate=certificate(answer.certificate) if answer.certificate else None,
        lacking=[_lacking(part) for part in answer.lacking],
    )


def _lacking(part: Lacking) -> Data:
    """A part that a product of the kind must have and no candidate serves, and what to buy."""
    return {"part": part.part, "low": part.low, "high": part.high, "unit": part.unit, "buy": list(part.buy),
            "reached": part.reached, "rules": list(part.rules)}  # fmt: skip


def _unsure(of: Unsure, goal: Goal) -> Data:
    """Limits that could be missed. `figures`: against how many wrong ones of each limit the price guards, or `all`."""
    return {
        "limits": [{**demand(limit), "worst": worst} for limit, worst in of.limits],
        "figures": "all" if of.budget is None else of.budget,
        "price": of.price,
        "at_most": of.at_most,
        "decided": of.decided,
        "text": f"{could_be_missed(of)} {price_of_sureness(of, goal)}",
    }


def _left_out(brief: Brief) -> Data:
    """Candidates that were not used, and those that the maker's naming them kept, each with the reason."""
    return {
        "left_out": [{"ingredient": name, "reason": why} for name, why in brief.left_out],
        "against_kind": [{"ingredient": name, "reason": why} for name, why in brief.against_kind],
    }


def _changes(now: Formula, before: Formula) -> list[Data]:
    """Every line of either formula: its percent before and now, and the change in points."""
    names = dict.fromkeys(line.ingredient.name for line in (*now.lines, *before.lines))
    pairs = [(name, 100 * before.fraction(name), 100 * now.fraction(name)) for name in names]
    return [{"ingredient": name, "before": was, "after": is_, "change": is_ - was} for name, was, is_ in pairs]


def _binding(bound: Binding) -> Data:
    return {
        **demand(bound.demand),
        "price": bound.price,
        "price_unit": bound.price_unit,
        "valid_from": bound.valid_from,
        "valid_to": bound.valid_to,
        "tighter_price": bound.tighter,
        "tighter_proven": bound.tighter_proven,
        "whole": bound.whole,
    }
