"""What would have to change for an ingredient to be used, or a formula to be the best, as plain data."""

from optiform.design.changes import LimitMove, WhyNot
from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, demand, formula, quantity


def why_not(answer: WhyNot) -> Data:
    """Each change with today's figure and the one it would be; `prices` and `together` do only all at once."""
    money = f"{answer.brief.currency}/kg"
    return answered(
        "already" if answer.already else "explained",
        title=answer.brief.title,
        subject=answer.subject,
        formula=formula(answer.formula) if answer.formula else None,
        no_candidates=[{"ingredient": name, "reason": reason} for name, reason in answer.brings_in],
        percent=answer.percent,
        value=quantity(answer.value, answer.brief.goal.unit) if answer.value is not None else None,
        best=quantity(answer.best, answer.brief.goal.unit) if answer.best is not None else None,
        misses=[{**demand(limit), "value": value} for limit, value in answer.misses],
        prices=[
            {"ingredient": move.ingredient, "now": quantity(move.now, money), "new": quantity(move.to, money)}
            for move in answer.prices
        ],
        limits=list(map(_limit, answer.limits)),
        together=list(map(_limit, answer.together)),
        not_looked_at=list(answer.unlooked),
    )


def _limit(move: LimitMove) -> Data:
    asked = demand(move.demand)
    where = {name: asked[name] for name in ("limit", "side", "unit", "kind")}
    return {**where, "target": move.now, "new": move.to, "percent": move.percent}
