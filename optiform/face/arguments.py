"""What a verb is called with, brought to what the jobs take: paths are text or Path, amounts text or numbers."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import fsum
from numbers import Integral
from pathlib import Path

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.brief.kind_words import KINDS, expected
from optiform.brief.limits import Amount
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Basis, Formula, Reading, read_formula
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.registry import find_property
from optiform.reading.answer import Answer, Ranked
from optiform.reading.cells import COUNTED
from optiform.reading.faults import BadInput, Fault, as_written
from optiform.reading.units import parse_quantity
from optiform.rules.law import AREAS, MARKETS, USES, Scope

Place = str | Path
OfBrief = Brief | Place  #: a brief, or the path of one
OfFormula = Formula | Answer | Place  #: a formula, an answer that has one, or the path of one
OfTables = Place | Sequence[Place]  #: the path of one own table, or those of several

WHOLE = 1e-6  #: mass fraction: what rounding leaves of a whole
FILES = (".csv", ".toml")  #: endings of the files a formula stands in
WHERE = "Python"  #: where a bad argument stands, in a fault


def a_path(source: Place, wanted: str) -> Path:
    """The path that is given in place of a thing.

    Raises:
        BadInput: it is neither, or the text of such a file.
    """
    if isinstance(source, str) and "\n" in source:
        raise BadInput([Fault(WHERE, wanted, "its text", f"the path of a {wanted}: save the text in a file")])
    try:
        return Path(source)
    except TypeError:
        raise BadInput([Fault(WHERE, wanted, type(source).__name__, f"a {wanted}, or the path of one")]) from None


def own_tables(own: OfTables) -> list[Path]:
    """The paths of own tables: a text is one path, not a row of letters.

    Raises:
        BadInput: what is no path.
    """
    return [a_path(place, "price table") for place in ((own,) if isinstance(own, str | Path) else own)]


def _shown(given: object) -> str:
    """An argument as a fault shows it."""
    return repr(given) if isinstance(given, str) else as_written(given)


def word(given: str, name: str) -> str:
    """A name.

    Raises:
        BadInput: what is no text.
    """
    if not isinstance(given, str):
        raise BadInput([Fault(WHERE, name, _shown(given), "a name as text")])
    return given


def words(given: Sequence[str], name: str) -> tuple[str, ...]:
    """Names, at least one.

    Raises:
        BadInput: none, or what is no text.
    """
    if not given:
        raise BadInput([Fault(WHERE, name, "nothing", "one name or more")])
    return tuple(word(each, name) for each in given)


def pairs(given: Sequence[tuple[str, str]], name: str) -> list[tuple[str, str]]:
    """Pairs of names.

    Raises:
        BadInput: what is no pair.
    """
    odd = [each for each in given if isinstance(each, str) or len(each) != 2]
    if odd:
        raise BadInput([Fault(WHERE, name, as_written(each), "two names of which only one is used") for each in odd])
    return [(word(one, name), word(other, name)) for one, other in given]


def one_of(given: str, name: str, known: Iterable[str]) -> str:
    """One of a few words.

    Raises:
        BadInput: another.
    """
    every = list(known)
    if given not in every:
        raise BadInput([Fault(WHERE, name, _shown(given), f"one of: {', '.join(every)}")])
    return given


def a_kind(given: str) -> str:
    """A kind of product.

    Raises:
        BadInput: it is none; with the kinds that a maker may mean by it.
    """
    if given not in KINDS:
        raise BadInput([Fault(WHERE, "kind", _shown(given), expected(given))])
    return given


def count(given: int, name: str) -> int:
    """A whole number from 1 up.

    Raises:
        BadInput: another.
    """
    if not isinstance(given, Integral) or isinstance(given, bool) or not 1 <= given <= COUNTED:
        raise BadInput([Fault(WHERE, name, _shown(given), f"a whole number from 1 to {COUNTED}")])
    return int(given)


def counted(given: int | None, name: str) -> int | None:
    """The same, where it may be left out."""
    return None if given is None else count(given, name)


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
        BadInput: an answer without a formula, fractions that make no whole, or every fault of the file.
    """
    taken = Basis(one_of(basis, "basis", Basis)) if basis else None
    if isinstance(source, str | Path):
        return read_formula(Path(source), catalogue, taken)
    formula = _summed(source) if isinstance(source, Formula) else _formula_in(source)
    return Reading(formula, Basis.WHOLE, 100.0, rescaled=False)


def _summed(formula: Formula) -> Formula:
    """The formula, if its fractions are a whole: per cent in their place would be taken a hundredfold."""
    fractions = [line.fraction for line in formula.lines]
    if not (min(fractions, default=-1.0) >= 0 and abs(fsum(fractions) - 1) <= WHOLE):
        read = "no lines" if not fractions else f"{fsum(fractions):g} in sum, the least {min(fractions):g}"
        raise BadInput([Fault(WHERE, f"formula {formula.name}", read, "mass fractions of 0 or more that sum to 1")])
    return formula


def a_formula(source: OfFormula, catalogue: Catalogue) -> Formula:
    """The formula itself."""
    return a_reading(source, catalogue).formula


def subject_of(source: str | OfFormula, catalogue: Catalogue) -> Ingredient | Formula:
    """The ingredient of this name, or the formula.

    Raises:
        BadInput: a text that is neither a known name nor like the name of a file, or every fault of the file.
    """
    if not isinstance(source, str):
        return a_formula(source, catalogue)
    item = catalogue.find(source)
    if item is None and not source.casefold().endswith(FILES) and not Path(source).exists():
        raise BadInput([Fault(WHERE, "subject", repr(source), catalogue.unknown(source))])
    return item or a_formula(source, catalogue)


def a_scope(scope: Scope | None) -> Scope | None:
    """The scope, if law is known by its words: rules of another spelling would be passed over without one.

    Raises:
        BadInput: with every word that is not known.
    """
    if scope is None:
        return None
    if not isinstance(scope, Scope):
        raise BadInput([Fault(WHERE, "scope", _shown(scope), "a Scope(use, area, markets, date)")])
    asked = [
        ("use", scope.use, USES),
        ("area", scope.area, AREAS),
        *(("market", each, MARKETS) for each in scope.markets),
    ]
    faults = [
        Fault(WHERE, f"scope, {name}", _shown(given), f"one of: {', '.join(known)}")
        for name, given, known in asked
        if given not in known
    ]
    if faults:
        raise BadInput(faults)
    return scope


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
        raise BadInput([Fault(WHERE, name, _shown(given), str(error))]) from None
    if value < least:
        raise BadInput([Fault(WHERE, name, _shown(given), f"{least:g} {unit} or more")])
    return value


def unit_of(brief: Brief, name: str) -> str:
    """The unit of a property, of a candidate's share %.

    Raises:
        BadInput: a name that is neither.
    """
    if word(name, "property") in {item.name for item in brief.mix.ingredients}:
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
    """A mass fraction, from an amount in %.

    Raises:
        BadInput: no share, below 0 or above 100 %.
    """
    percent = amount(given, name, "%")
    if percent > 100:
        raise BadInput([Fault(WHERE, name, _shown(given), "at most 100 %")])
    return percent / 100
