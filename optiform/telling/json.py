"""Answers as plain data for JSON: the contract other tools rely on (see design: keys, units, exit codes)."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from decimal import Decimal
from math import isfinite
from pathlib import Path
from typing import Any

from optiform.brief.brief import Brief
from optiform.brief.goal import Goal
from optiform.design.answer import Binding, Designed, Impossible, Unsure
from optiform.design.unsure import words_of
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Ingredient, Value
from optiform.ingredients.names import Resolved
from optiform.program.build import Demand
from optiform.program.certificate import Certificate
from optiform.properties.cost import cost
from optiform.review.answer import Checked, Measured, Report
from optiform.review.compare import Comparison

Data = dict[str, Any]

#: Parts of results that are there to be calculated with, not to be read.
INNER = frozenset(
    {"curve", "scale", "program", "unprotected", "scope", "taken", "posterior", "unread", "in_the_way", "spreads"}
)


def best(brief: Brief, formula: Formula, proof: Certificate, local: bool, gap: float | None = None) -> Data:
    """The formula that answers a brief, against today's, and its proof: the part of an answer that is known first.

    `gap`: where a limit bends, by how much another formula could be better at most, in the goal's unit.
    """
    scope = {"scope": "near this formula" if local else "all"}
    left = {"left": gap} if gap is not None and isfinite(gap) else {}
    return {
        "status": "optimal",
        "title": brief.title,
        **_costed(formula, brief.currency, brief.batch),
        "today": _formula(brief.reference, brief.currency, brief.batch) if brief.reference else None,
        "changes": _changes(formula, brief.reference) if brief.reference else [],
        "certificate": {**_certificate(proof), **scope, **left},
    }


def designed(answer: Designed) -> Data:
    """The answer to a brief that has one."""
    brief = answer.brief
    return {
        **best(brief, answer.report.formula, answer.certificate, answer.local, answer.gap),
        "goal": {"words": brief.goal.words, "value": answer.objective},
        **_report(answer.report, brief.currency, brief.batch),
        "binding": [_binding(bound) for bound in answer.binding],
        "unpriced": [_demand(demand) for demand in answer.unpriced],
        "unused": [
            {"ingredient": e.ingredient, "price": e.price, "enters_below": e.below, "whole": e.whole}
            for e in answer.entries
        ],
        **_left_out(brief),
        "tie": _formula(answer.tie, brief.currency, brief.batch) if answer.tie else None,
        "conflict": [],
        "repairs": [],
        "unsure": _unsure(answer.unsure, brief.goal) if answer.unsure else None,
    }


def _unsure(found: Unsure, goal: Goal) -> Data:
    """Limits that could be missed. `figures`: against how many wrong ones of each limit the price guards, or `all`."""
    return {
        "limits": [{**_demand(demand), "worst": worst} for demand, worst in found.limits],
        "figures": "all" if found.budget is None else found.budget,
        "price": found.price,
        "at_most": found.at_most,
        "decided": found.decided,
        "text": words_of(found, goal),
    }


def _left_out(brief: Brief) -> Data:
    """Candidates that were not used, and those that the maker's naming them kept, each with the reason."""
    told = {"left_out": brief.left_out, "against_kind": brief.against_kind}
    return {key: [{"ingredient": name, "reason": why} for name, why in pairs] for key, pairs in told.items()}


def _changes(now: Formula, before: Formula) -> list[Data]:
    """Every line of either formula: its percent before and now, and the change in points."""
    names = dict.fromkeys(line.ingredient.name for line in (*now.lines, *before.lines))
    pairs = [(name, 100 * before.fraction(name), 100 * now.fraction(name)) for name in names]
    return [{"ingredient": name, "before": was, "after": is_, "change": is_ - was} for name, was, is_ in pairs]


def impossible(answer: Impossible) -> Data:
    """The answer to a brief that nothing fits."""
    return {
        "status": "infeasible" if answer.decided else "undecided",
        "title": answer.brief.title,
        "goal": {"words": answer.brief.goal.words, "value": None},
        "formula": [],
        "cost": None,
        "properties": {},
        "binding": [],
        **_left_out(answer.brief),
        "conflict": [_demand(demand) for demand in answer.conflict],
        "repairs": [[{**_demand(c.demand), "new": c.target} for c in changes] for changes in answer.repairs],
        "warnings": [answer.reason] if answer.reason else [],
        "certificate": _certificate(answer.certificate) if answer.certificate else None,
    }


def checked(answer: Checked, currency: str, batch: float) -> Data:
    """The report on a given formula."""
    reading = answer.reading
    return {
        "status": "checked",
        "name": reading.formula.name,
        "basis": str(reading.basis),
        "total": {"read": reading.total, "rescaled": reading.rescaled},
        "keeps": {"law": answer.report.keeps_law, "limits": answer.report.keeps_limits},
        **_report(answer.report, currency, batch, notes=reading.notes),
    }


def compared(found: Comparison, notes: Sequence[str] = ()) -> Data:
    """Formulas side by side; `notes` say what reading them changed."""
    return {
        "status": "compared",
        "formulas": [formula.name for formula in found.formulas],
        "resolution": {"value": found.resolution, "unit": "%"},
        "lines": [{"ingredient": row.ingredient, "percent": row.percents, "same": row.same} for row in found.lines],
        "properties": {
            row.name: {
                "values": row.values,
                "states": [each.state for each in row.measured],
                "lacking": [each.lacking for each in row.measured],
                "unit": row.unit,
                "same": row.same,
            }
            for row in found.properties
        },
        "declaration": [{"inci": row.inci, "places": row.places} for row in found.label],
        "warnings": list(notes),
    }


def resolved(meaning: Resolved) -> Data:
    """What a name means: `inci` is taken where `certain`, else only offered; `near` is what to ask back."""
    return {"name": meaning.name, "inci": meaning.inci, "certain": meaning.certain, "near": list(meaning.near)}


def ingredient(item: Ingredient) -> Data:
    """Everything known of one ingredient."""
    return {
        "name": item.name,
        "inci": item.inci,
        "synonyms": item.synonyms,
        "functions": item.functions,
        "phase": item.phase,
        "origin": item.origin,
        "note": item.note,
        "constituents": [{"inci": part.inci, "cas": part.cas, **_value(part.share)} for part in item.constituents],
        "values": [{"property": name, "temperature": at, **_value(v)} for (name, at), v in item.values.items()],
        "fatty_acids": [{"fatty_acid": acid, **_value(value)} for acid, value in item.fatty_acids.items()],
    }


def data(value: Any) -> Any:
    """Any result of a job as plain data: formulas and demands in the contract's shape, everything else by its names."""
    if isinstance(value, Formula):
        return [{"ingredient": x.ingredient.name, "phase": x.phase, "percent": 100 * x.fraction} for x in value.lines]
    if isinstance(value, Demand):
        return _demand(value)
    if isinstance(value, Brief):
        return value.title
    if isinstance(value, Report):
        return {"formula": data(value.formula), "warnings": list(value.warnings)}
    if isinstance(value, Certificate):
        return _certificate(value)
    if is_dataclass(value) and not isinstance(value, type):
        shown = [each.name for each in fields(value)] + [
            k for k, v in vars(type(value)).items() if isinstance(v, property)
        ]
        return {name: data(getattr(value, name)) for name in shown if name not in INNER}
    if isinstance(value, Mapping):
        return {str(key): data(each) for key, each in value.items()}
    if isinstance(value, tuple | list):
        return [data(each) for each in value]
    if isinstance(value, float):
        return float(value) if isfinite(value) else None
    return (
        float(value) if isinstance(value, Decimal) else str(value) if isinstance(value, datetime.date | Path) else value
    )


def _report(found: Report, currency: str, batch: float, notes: Sequence[str] = ()) -> Data:
    return {
        **_costed(found.formula, currency, batch),
        "properties": {measured.name: _measured(measured) for measured in found.measures},
        "rules": [
            {
                "id": rule.id, "group": rule.group, "expressed_as": rule.expressed_as,
                "content": rule.content, "limit": rule.limit, "unit": "%", "market": rule.market,
                "kind": rule.kind, "reference": rule.reference, "evidence": str(rule.evidence), "kept": rule.kept,
                "note": rule.note,
            }
            for rule in found.rules
        ],
        "warnings": [*notes, *found.warnings],
        "cautions": [{"where": caution.where, "text": caution.text} for caution in found.cautions],
    }  # fmt: skip


def _costed(formula: Formula, currency: str, batch: float) -> Data:
    total = cost(currency).of(formula)
    return {"formula": _formula(formula, currency, batch), "cost": {"value": total, "unit": f"{currency}/kg"}}


def _formula(formula: Formula, currency: str, batch: float) -> list[Data]:
    total = cost(currency).of(formula)
    rows = []
    for line in formula.lines:
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


def _measured(found: Measured) -> Data:
    return {
        "value": found.value,
        "state": found.state,
        "unit": found.unit,
        "basis": found.basis,
        "low": found.low,
        "high": found.high,
        "evidence": str(found.evidence),
        "span": found.span,
        "lacking": found.lacking,
        "note": found.note,
        "bar": found.bar,
    }


def _binding(bound: Binding) -> Data:
    return {
        **_demand(bound.demand),
        "price": bound.price,
        "price_unit": bound.price_unit,
        "valid_from": bound.valid_from,
        "valid_to": bound.valid_to,
        "tighter_price": bound.tighter,
        "tighter_proven": bound.tighter_proven,
        "whole": bound.whole,
    }


def _demand(demand: Demand) -> Data:
    return {
        "limit": demand.name,
        "side": demand.side,
        "target": demand.target,
        "unit": demand.unit,
        "kind": demand.kind,
        "words": demand.words,
    }


def _certificate(proof: Certificate) -> Data:
    return {
        "gap": proof.gap,
        "primal": proof.primal,
        "dual": proof.dual,
        "complementarity": proof.complementarity,
        "holds": proof.holds,
    }


def _value(value: Value) -> Data:
    return {
        "low": value.low,
        "typical": value.typical,
        "high": value.high,
        "unit": value.unit,
        "source": value.source,
        "evidence": str(value.evidence),
        "note": value.note,
    }
