"""Looking at formulas that exist."""

from collections.abc import Sequence
from dataclasses import replace

from optiform.brief.brief import Brief, titled
from optiform.brief.limits import Amount
from optiform.face.arguments import (
    WHERE,
    OfBrief,
    OfFormula,
    OfTables,
    a_brief,
    a_formula,
    a_kind,
    a_reading,
    a_scope,
    apart,
    brief_beside,
    maybe,
    one_of,
    own_tables,
    word,
)
from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.label import declare as declare_job
from optiform.label.declare import Declaration
from optiform.label.net_content import stated_or_jar
from optiform.reading import clock
from optiform.reading.faults import BadInput, Fault
from optiform.review import compare as compare_job
from optiform.review.answer import Checked
from optiform.review.compare import Comparison
from optiform.review.measures import SCALE, Setting, setting_of
from optiform.review.report import report
from optiform.rules.law import MARKETS, Scope


def check(
    formula: OfFormula,
    brief: OfBrief | None = None,
    *,
    kind: str = "",
    scope: Scope | None = None,
    own: OfTables = (),
    basis: str | None = None,
) -> Checked:
    """The report on a formula: its properties, law in the tables, warnings, cautions.

    Args:
        formula: a formula, an answer that has one, or the path of one.
        brief: a brief, the path of one, or nothing: then the answer's own, else what follows counts.
        kind: the kind of product, without a brief.
        scope: use, area, markets and date, without a brief.
        own: the path of an own table, or several, without a brief.
        basis: `whole` or `base`, where a file's percentages leave it open.

    Raises:
        BadInput: with every fault of the files, or a kind, a use, an area or a market that is not known.

    Example:
        >>> import optiform as of
        >>> water = of.check(of.demo().reference, of.demo()).limits[0]
        >>> f"{water.name} {water.value:.1f} {water.unit}"
        'water phase 42.7 %'
    """
    against, catalogue, setting = _setting(brief, (formula,), own)
    if against is None:
        setting = replace(setting, kind=a_kind(kind) if kind else "", scope=a_scope(scope))
    reading = a_reading(formula, catalogue, basis)
    return Checked(reading, report(reading.formula, setting), against)


def compare(*formulas: OfFormula, brief: OfBrief | None = None, scale: Amount | None = None) -> Comparison:
    """Formulas side by side.

    Args:
        formulas: two or more formulas, answers that have one, or paths; those of one name are numbered.
        brief: a brief or the path of one; without it the first answer's own.
        scale: what the scale can show: text, or a number in g; smaller differences count as none.

    Raises:
        BadInput: fewer than two, or faults of the files.

    Example:
        >>> import optiform as of
        >>> brief = of.demo()
        >>> list(of.compare(brief.reference, of.design(brief)).table().columns)
        ['ingredient', 'today, % of the jar', 'answer, % of the jar']
    """
    if len(formulas) < 2:
        raise BadInput([Fault(WHERE, "compare", f"{len(formulas)}", "two or more formulas")])
    against, catalogue, setting = _setting(brief, formulas, ())
    step = maybe(scale, "scale", "g") or (against.step if against else SCALE)
    return compare_job.compare(apart([a_formula(formula, catalogue) for formula in formulas]), setting, step)


def declare(
    formula: OfFormula,
    brief: OfBrief | None = None,
    *,
    market: str | None = None,
    scope: Scope | None = None,
    net: str | None = None,
) -> Declaration:
    """A draft of the label's ingredient list for one market.

    Args:
        formula: a formula, an answer that has one, or the path of one.
        brief: a brief or the path of one; without it the answer's own.
        market: `EU`, `GB`, `US` or a state as `US-NY`; without it the brief's only one.
        scope: use, area, markets and date, without a brief.
        net: a mass or a volume with its unit; without it the brief's jar.

    Raises:
        BadInput: no market or several, a net content without a unit, or faults of the files.

    Example:
        >>> import optiform as of
        >>> of.declare(of.demo().reference, of.demo(), net="150 g").text[:28]
        'Ingredients: Maris Sal, Aqua'
    """
    read = a_brief(brief, figures=False) if brief is not None else None
    against, catalogue, setting = _setting(read, (formula,), ())
    asked = a_scope(scope) or setting.scope or Scope("rinse-off", "body", (), clock.today())
    one = _market(market, asked)
    reading = a_reading(formula, catalogue)
    labelled, scoped = titled(reading.formula, against), replace(asked, markets=(one,))
    content = stated_or_jar(net, against, one, (WHERE, "net"))
    return declare_job.declare(labelled, scoped, content, reading.notes, setting)


def _setting(
    brief: OfBrief | None, formulas: Sequence[OfFormula], own: OfTables
) -> tuple[Brief | None, Catalogue, Setting]:
    against = brief_beside(brief, *formulas)
    if against is None:
        return None, read_catalogue(own_tables(own)), Setting(batch=1.0)
    return against, against.catalogue, setting_of(against)


def _market(market: str | None, scope: Scope) -> str:
    if market is not None:
        return one_of(word(market, "market").upper(), "market", MARKETS)
    if len(scope.markets) == 1:
        return scope.markets[0]
    raise BadInput([Fault(WHERE, "market", "nothing", f"one of: {', '.join(scope.markets or MARKETS)}")])
