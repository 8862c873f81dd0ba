"""What several answers have in common as plain data: quantities, formulas, limits, proofs, warnings."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from math import isfinite
from typing import Any

from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Evidence, Value
from optiform.program.build import Demand
from optiform.program.certificate import Certificate
from optiform.properties.firmness import Band
from optiform.review.answer import Caution, FormulaWarning, heaviest_first

Data = dict[str, Any]


def figure(value: float | Decimal | None) -> float | None:
    """A number as JSON has it: none for what is not known or has no end."""
    return float(value) if value is not None and isfinite(value) else None


def quantity(value: float | Decimal | None, unit: str) -> Data:
    """A figure with its unit, money too.

    Example:
        >>> quantity(4.5, "EUR/kg")
        {'value': 4.5, 'unit': 'EUR/kg'}
    """
    return {"value": figure(value), "unit": unit}


def formula(of: Formula) -> list[Data]:
    """The lines of a formula."""
    return [
        {
            "ingredient": line.ingredient.name,
            "inci": line.ingredient.inci,
            "phase": line.phase,
            "percent": 100 * line.fraction,
        }
        for line in of.lines
    ]


def demand(limit: Demand) -> Data:
    """One side of a limit."""
    return {
        "limit": limit.name,
        "side": limit.side,
        "target": limit.target,
        "unit": limit.unit,
        "kind": limit.kind,
        "words": limit.words,
    }


def certificate(proof: Certificate) -> Data:
    """A proof in figures."""
    return {
        "gap": proof.gap,
        "primal": proof.primal,
        "dual": proof.dual,
        "complementarity": proof.complementarity,
        "holds": proof.holds,
    }


def value(of: Value) -> Data:
    """A figure of a table, with its range and its source."""
    return {
        "low": of.low,
        "typical": of.typical,
        "high": of.high,
        "unit": of.unit,
        "source": of.source,
        "evidence": str(of.evidence),
        "note": of.note,
    }


def band(of: Band) -> Data:
    """A figure with its range."""
    return {"low": figure(of.low), "typical": figure(of.typical), "high": figure(of.high)}


def bands(at: Mapping[float, Band]) -> list[Data]:
    """A figure with its range at each temperature."""
    return [{"temperature": quantity(temperature, "°C"), **band(of)} for temperature, of in at.items()]


def warning(of: FormulaWarning) -> Data:
    """A warning: what it is about, how much it weighs, the ingredients at fault, and what says so."""
    return {
        "about": of.about,
        "level": of.level,
        "lines": list(of.lines),
        "text": of.text,
        "rule": of.rule,
        "evidence": str(of.evidence),
        "source": of.source,
    }


def as_read(text: str) -> Data:
    """What reading a formula changed of it, as a warning."""
    return warning(FormulaWarning("total", "note", text, "as-read", evidence=Evidence.OWN))


def warnings(of: Iterable[FormulaWarning]) -> list[Data]:
    """Each warning, every stop first."""
    return list(map(warning, heaviest_first(of)))


def cautions(of: Iterable[Caution]) -> list[Data]:
    """Each caution with where it belongs."""
    return [{"where": caution.where, "text": caution.text} for caution in of]
