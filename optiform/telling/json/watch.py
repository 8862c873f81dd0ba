"""What begins for saved formulas, as JSON."""

from optiform.reading.plain import answered
from optiform.review.watch import Coming, Watch
from optiform.rules.duties import Duty
from optiform.telling.json.basic import Data


def watched(of: Watch) -> Data:
    """Each formula with the rules that begin for it, and what begins for whoever sells there."""
    return answered(
        "looked ahead",
        markets=list(of.scope.markets),
        use=of.scope.use,
        area=of.scope.area,
        after=of.scope.date.isoformat(),
        until=of.until.isoformat(),
        formulas=[
            {"name": formula.name, "broken": formula.broken, "rules": list(map(_rule, formula.rules))}
            for formula in of.formulas
        ],
        duties=list(map(_duty, of.duties)),
        not_read=list(of.not_read),
        others=list(of.others),
    )


def _rule(rule: Coming) -> Data:
    return {
        "id": rule.id, "day": rule.day.isoformat(), "market": rule.market, "effect": rule.effect, "about": rule.about,
        "content": rule.content, "limit": rule.limit, "unit": "%", "reference": rule.reference,
        "evidence": str(rule.evidence), "note": rule.note,
    }  # fmt: skip


def _duty(duty: Duty) -> Data:
    return {
        "id": duty.id, "market": duty.market, "title": duty.title, "what": duty.what,
        "from": duty.start.isoformat() if duty.start else None, "reference": duty.reference,
        "evidence": str(duty.evidence),
    }  # fmt: skip
