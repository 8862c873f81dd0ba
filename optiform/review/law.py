"""The rules that cover a formula: what it contains of each, and whether it keeps it."""

from collections.abc import Iterable, Iterator, Sequence

from optiform.ingredients.ingredient import Evidence, Ingredient
from optiform.ingredients.names import is_nano, resolve
from optiform.properties.base import Mix, Vector
from optiform.review.answer import FormulaWarning, RuleCheck
from optiform.review.facts import NotInTables, NotSettled, OpenRule, Stated, Undeclared, Unjudged
from optiform.rules.acidity import meeting
from optiform.rules.certificates import certificate_class, certificate_terms, uncertified
from optiform.rules.forms import Level
from optiform.rules.law import Rule, Scope, applying, known, unjudged
from optiform.rules.positive import standings

ADJUSTING = 0.2  #: % of the whole: as much of a base as sets a pH, and no more. Common practice, no source.
#: How much a broken rule of each kind weighs; a panel's advice is to be minded.
LEVELS: dict[str, Level] = {
    "maximum": "stop", "below": "stop", "prohibited": "stop", "positive list": "stop", "certificate": "stop",
    "label": "note",
}  # fmt: skip


def rule_checks(mix: Mix, x: Vector, scope: Scope) -> Iterator[RuleCheck]:
    """Every rule of the scope that counts something in the formula, the lists, then the fragrance certificates.

    A rule that holds for some of its substance only is broken where that is over the limit beyond doubt.
    """
    for rule in applying(scope, _used(mix, x)):
        content = float(rule.terms(mix).numerator @ x)
        kept = rule.keeps(content) or (bool(rule.only) and rule.keeps(float(rule.certain(mix).numerator @ x)))
        kept = kept or not rule.covers(mix, x)
        yield RuleCheck(
            group=rule.group,
            content=content,
            limit=rule.limit,
            market=rule.market,
            kind=rule.kind,
            reference=rule.reference,
            evidence=rule.evidence,
            kept=kept,
            note=rule.note,
            id=rule.id,
            expressed_as=rule.expressed_as,
            words=rule.words,
            read=rule.read,
        )
    yield from _unlisted(mix, x, scope)
    used = certificate_terms(mix, scope)
    if used.numerator @ x > 0:
        words, where = (
            "fragrance, used of what its certificate allows",
            f"certificate, class {certificate_class(scope)}",
        )
        content = float(used.numerator @ x)
        yield RuleCheck(words, content, 100.0, "own", "certificate", where, Evidence.OWN, _kept(content, 100.0))


def _used(mix: Mix, x: Vector) -> list[Ingredient]:
    return [item for item, share in zip(mix.ingredients, x, strict=True) if share > 0]


def _unlisted(mix: Mix, x: Vector, scope: Scope) -> Iterator[RuleCheck]:
    """Lines that a list of preservatives, colourants or UV filters does not allow."""
    for item, share in zip(mix.ingredients, x, strict=True):
        for point in standings(item, scope) if share > 0 else ():
            if point.allowed is False:
                group = f"{item.name} as a {point.use}"
                yield RuleCheck(
                    group,
                    100 * share,
                    None,
                    point.market,
                    "positive list",
                    point.reference,
                    point.evidence,
                    False,
                    point.why,
                )


def _kept(content: float, limit: float) -> bool:
    """Whether a certificate's allowance is kept, but for the last digit of a formula as it is written to a file."""
    return content <= limit * (1 + 1e-6)


def unjudged_parts(mix: Mix, x: Vector, scope: Scope) -> Iterator[Unjudged]:
    """What no table was looked up for: names that none knows, ingredients that declare nothing, and certificates."""
    used = _used(mix, x)
    for rule in applying(scope, used):
        if fact := _open(rule, mix, x):
            counted = tuple(item.name for item in used if rule.beyond_doubt(item) > 0)
            yield Unjudged(rule.group, fact, counted)
    for item in dict.fromkeys(used):
        points = tuple(standings(item, scope))
        forbidden = {name for point in points if point.allowed is False for name in point.why.names}
        for point in points:
            if point.allowed is None:
                yield Unjudged(f"{item.name} as a {point.use}", NotSettled(item.name, point), (item.name,))
        if not item.constituents:
            yield Unjudged(item.name, Undeclared(item.name), (item.name,))
        for inci in unjudged(item, scope):
            if inci in forbidden:
                continue  # it was looked up: a list has it not
            where = tuple(market for market in scope.markets if inci not in known(market))
            unknown = NotInTables(inci, item.name, where, tuple(resolve(inci).near), is_nano(inci))
            yield Unjudged(inci, unknown, (item.name,))
    for name in dict.fromkeys(uncertified(mix, scope)):
        if any(item.name == name for item in used):
            yield Unjudged(name)


def _open(rule: Rule, mix: Mix, x: Vector) -> OpenRule | None:
    """A rule of which it is not known whether it is kept; None where it is known."""
    content = float(rule.terms(mix).numerator @ x)
    if rule.kind != "open" and (not rule.only or rule.keeps(content)):
        return None
    certain = float(rule.certain(mix).numerator @ x)
    if rule.kind == "open":
        is_open, only = not (rule.within(certain) or _set_below(rule, certain, _used(mix, x))), ""
    else:
        is_open, only = rule.keeps(certain), rule.only
    return _fact(rule, content, only) if is_open else None


def _fact(rule: Rule, content: float, only: str = "") -> OpenRule:
    return OpenRule(rule.group, rule.market, rule.reference, only, content, rule.limit, rule.note, rule.statement)


def statements(mix: Mix, x: Vector, scope: Scope) -> Iterator[Stated]:
    """What suppliers confirm of the ingredients in use, each with the rules of the scope that ask for it."""
    for item in dict.fromkeys(_used(mix, x)):
        for condition, paper in item.statements.items():
            rules = [rule for rule in applying(scope, [item]) if rule.statement == condition]
            asking = tuple(_fact(rule, float(rule.terms(mix).numerator @ x)) for rule in rules)
            yield Stated(item.name, condition, paper, asking)


def _set_below(rule: Rule, content: float, used: Sequence[Ingredient]) -> bool:
    """Whether a base is there in no more than makers set a pH with, and something whose window ends below its limit.

    Its batch sheet then has the step to set the pH within that window, and the caution that the law has a limit.
    """
    if rule.highest_ph is None or content > ADJUSTING:
        return False
    window = meeting(used)
    return window is not None and window[1] <= rule.highest_ph


def broken(checks: Sequence[RuleCheck]) -> Iterator[FormulaWarning]:
    """A warning of each rule that is not kept."""
    for check in checks:
        if not check.kept:
            level, rule = LEVELS.get(check.kind, "mind"), check.id or "fragrance-certificate"
            yield FormulaWarning("law", level, check, rule, evidence=check.evidence)


def unjudged_warnings(points: Iterable[Unjudged]) -> Iterator[FormulaWarning]:
    """A warning of each thing for which no law was looked up, where no other warning says so."""
    for point in points:
        if point.fact:
            yield FormulaWarning("law", "mind", point.fact, "law-not-looked-up", point.lines, Evidence.DERIVED)
