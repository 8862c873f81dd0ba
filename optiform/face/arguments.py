"""What a verb is called with, brought to what the jobs take: paths are text or Path, amounts text or numbers."""

from dataclasses import replace
from pathlib import Path

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.brief.limits import Amount
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Basis, Formula, Reading, read_formula
from optiform.properties.registry import find_property
from optiform.reading.answer import Answer, Ranked
from optiform.reading.faults import BadInput, Fault
from optiform.reading.units import parse_quantity

Place = str | Path
OfBrief = Brief | Place  #: a brief, or the path of one
OfFormula = Formula | Answer | Place  #: a formula, an answer that has one, or the path of one

WHERE = "Python"  #: where a bad argument stands, in a fault


def a_path(source: Place, wanted: str) -> Path:
    """The path that is given in place of a thing.

    Raises:
        BadInput: it is neither.
    """
    try:
        return Path(source)
    except TypeError:
        raise BadInput([Fault(WHERE, wanted, type(source).__name__, f"a {wanted}, or the path of one")]) from None


def a_brief(source: OfBrief, figures: bool = True) -> Brief:
    """The brief, read where a path is given; `figures` as in `read_brief`."""
    return source if isinstance(source, Brief) else read_brief(a_path(source, "brief"), figures)


def brief_beside(brief: OfBrief | None, *sources: OfFormula) -> Brief | None:
    """The brief that is given, else the first that one of the answers rests on; None where there is neither."""
    if brief is not None:
        return a_brief(brief)
    briefs = (getattr(source, "brief", None) for source in sources)
    return next((rest for rest in briefs if isinstance(rest, Brief)), None)


def needed_brief(brief: OfBrief | None, *sources: OfFormula) -> Brief:
    """The same, where there is no doing without.

    Raises:
        BadInput: neither a brief nor an answer that rests on one.
    """
    against = brief_beside(brief, *sources)
    if against is None:
        raise BadInput([Fault(WHERE, "brief", "nothing", "brief=..., or an answer that rests on a brief")])
    return against


def a_reading(source: OfFormula, catalogue: Catalogue, basis: str | None = None) -> Reading:
    """The formula as read from a file, or as it is.

    Raises:
        BadInput: an answer without a formula, or every fault of the file.
    """
    if isinstance(source, str | Path):
        return read_formula(Path(source), catalogue, Basis(basis) if basis else None)
    formula = source if isinstance(source, Formula) else _formula_in(source)
    return Reading(formula, Basis.WHOLE, 100.0, rescaled=False)


def a_formula(source: OfFormula, catalogue: Catalogue) -> Formula:
    """The formula itself."""
    return a_reading(source, catalogue).formula


def _formula_in(answer: Answer) -> Formula:
    formula = getattr(answer.best if isinstance(answer, Ranked) else answer, "formula", None)
    if not isinstance(formula, Formula):
        raise BadInput([Fault(WHERE, "formula", type(answer).__name__, "a formula, an answer that has one, or a path")])
    return formula


def apart(formulas: list[Formula]) -> list[Formula]:
    """The formulas, those of one name numbered."""
    names = [formula.name for formula in formulas]
    return [
        replace(formula, name=f"{formula.name} {names[: k + 1].count(formula.name)}")
        if names.count(formula.name) > 1
        else formula
        for k, formula in enumerate(formulas)
    ]


def amount(given: Amount, name: str, unit: str, least: float = 0.0) -> float:
    """An amount in a unit, not below `least`.

    Raises:
        BadInput: no amount in this unit, or below.
    """
    try:
        value = parse_quantity(given, unit)
    except ValueError as error:
        raise BadInput([Fault(WHERE, name, repr(given), str(error))]) from None
    if value < least:
        raise BadInput([Fault(WHERE, name, repr(given), f"{least:g} {unit} or more")])
    return value


def unit_of(brief: Brief, name: str) -> str:
    """The unit of a property, of a candidate's share %.

    Raises:
        BadInput: a name that is neither.
    """
    if name in {item.name for item in brief.mix.ingredients}:
        return "%"
    try:
        ingredients = brief.catalogue.ingredients.values()
        return find_property(name, brief.currency, ingredients, brief.reference).unit
    except ValueError as error:
        raise BadInput([Fault(WHERE, "property", repr(name), str(error))]) from None


def maybe(given: Amount | None, name: str, unit: str) -> float | None:
    """An amount that may be left out."""
    return None if given is None else amount(given, name, unit)


def share(given: Amount, name: str) -> float:
    """A mass fraction, from an amount in %."""
    return amount(given, name, "%") / 100
