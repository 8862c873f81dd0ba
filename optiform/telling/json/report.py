"""What is found of one formula, as plain data: what it costs, measures, rules, warnings, cautions."""

from collections.abc import Iterable

from optiform.ingredients.formula import Formula
from optiform.properties.cost import cost
from optiform.review.answer import Measured, Report, RuleCheck
from optiform.telling.json.basic import Data, cautions, quantity, warnings


def report(of: Report, currency: str, batch: float, remarks: Iterable[Data] = ()) -> Data:
    """A formula looked at from every side.

    Args:
        of: the report.
        currency: of the prices.
        batch: kg.
        remarks: on how it was read, before the warnings.
    """
    return {
        **costed(of.formula, currency, batch),
        "properties": {measured.name: _measured(measured) for measured in of.measures},
        "rules": [_rule(rule) for rule in of.rules],
        "warnings": [*remarks, *warnings(of.warnings)],
        "cautions": cautions(of.cautions),
    }


def keeps(of: Report) -> Data:
    """Whether law and limits are kept: true, false, or null where that is not known."""
    return {"law": of.keeps_law, "limits": of.keeps_limits}


def costed(of: Formula, currency: str, batch: float) -> Data:
    """A formula with what its lines cost, and what 1 kg of it costs."""
    return {"formula": lines(of, currency, batch), "cost": quantity(cost(currency).of(of), f"{currency}/kg")}


def lines(of: Formula, currency: str, batch: float) -> list[Data]:
    """Its lines: g in the batch, what each costs in 1 kg, and its share of that."""
    total = cost(currency).of(of)
    rows = []
    for line in of.lines:
        price = line.ingredient.price_in(currency)
        spent = line.fraction * price.figure if price else None
        rows.append(
            {
                "ingredient": line.ingredient.name,
                "inci": line.ingredient.inci,
                "phase": line.phase,
                "percent": 100 * line.fraction,
                "grams": 1000 * batch * line.fraction,
                "cost": spent,
                "cost_share": 100 * spent / total if spent is not None and total else None,
            }
        )
    return rows


def _measured(of: Measured) -> Data:
    return {
        "value": of.value,
        "state": of.state,
        "unit": of.unit,
        "basis": of.basis,
        "low": of.low,
        "high": of.high,
        "evidence": str(of.evidence),
        "span": list(of.span) if of.span else None,
        "lacking": list(of.lacking),
        "note": of.note,
        "bar": list(of.bar) if of.bar else None,
    }


def _rule(of: RuleCheck) -> Data:
    return {
        "id": of.id,
        "group": of.group,
        "expressed_as": of.expressed_as,
        "content": of.content,
        "limit": of.limit,
        "unit": "%",
        "market": of.market,
        "kind": of.kind,
        "reference": of.reference,
        "evidence": str(of.evidence),
        "kept": of.kept,
        "note": of.note,
    }
