"""The rules that cover a formula: what it contains of each, and whether it keeps it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from optiform.ingredients.ingredient import Evidence, Ingredient
from optiform.ingredients.names import is_nano, resolve
from optiform.properties.base import Mix, Vector
from optiform.review.answer import FormulaWarning, RuleCheck
from optiform.review.rounding import apart
from optiform.rules.forms import Level
from optiform.rules.law import (
    Rule,
    Scope,
    applying,
    certificate_class,
    certificate_terms,
    known,
    uncertified,
    unjudged,
)
from optiform.rules.markets import named
from optiform.rules.positive import standings

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
                group, note = f"{item.name} as a {point.use}", f"{point.why}"
                yield RuleCheck(
                    group,
                    100 * share,
                    None,
                    point.market,
                    "positive list",
                    point.reference,
                    point.evidence,
                    False,
                    note,
                )


def _kept(content: float, limit: float) -> bool:
    """Whether a certificate's allowance is kept, but for the last digit of a formula as it is written to a file."""
    return content <= limit * (1 + 1e-6)


@dataclass(frozen=True)
class Unjudged:
    """What keeps a formula's law from being known: `what` it is about, and the sentence on it.

    A missing certificate has no sentence here: the warnings on fragrances tell of it and say what to do.
    """

    what: str
    words: str = ""


def unjudged_parts(mix: Mix, x: Vector, scope: Scope) -> Iterator[Unjudged]:
    """What no table was looked up for: names that none knows, ingredients that declare nothing, and certificates."""
    used = _used(mix, x)
    for rule in applying(scope, used):
        if words := _open(rule, mix, x):
            yield Unjudged(rule.group, f"{rule.group} ({named(rule.market)}, {rule.reference}): {words}")
    for item in dict.fromkeys(used):
        for point in standings(item, scope):
            if point.allowed is None:
                words = f"whether it is allowed as a {point.use} is not known ({point.market}, {point.reference})"
                yield Unjudged(f"{item.name} as a {point.use}", f"{item.name}: {words}: {point.why}.")
        if not item.constituents:
            words = "declares nothing: no law was looked up for it. Enter its declaration names in the column inci."
            yield Unjudged(item.name, f"{item.name} {words}")
        for inci in unjudged(item, scope):
            near = resolve(inci).near
            asked = f" If you mean {' or '.join(near[:3])}, write that in your table." if near else ""
            if is_nano(inci):
                asked = " The lists of the law keep the nano form of a substance apart from it."
            where = " and ".join(market for market in scope.markets if inci not in known(market))
            words = (
                f"{inci}, in {item.name}, stands in no table of law for {where}: nothing was looked up for it.{asked}"
            )
            yield Unjudged(inci, words)
    for name in dict.fromkeys(uncertified(mix, scope)):
        if any(item.name == name for item in used):
            yield Unjudged(f"{name}, without a certificate")


def _open(rule: Rule, mix: Mix, x: Vector) -> str:
    """Why it is not known whether a rule is kept, in words; empty where it is known."""
    content = float(rule.terms(mix).numerator @ x)
    if rule.kind == "open":
        return f"whether it is kept is not known: {rule.note}." if content > (rule.limit or 0.0) else ""
    if not rule.only or rule.keeps(content) or not rule.keeps(float(rule.certain(mix).numerator @ x)):
        return ""
    if rule.only != "added":
        over = f"{content:.3g} % is over {rule.limit:g} %"
        return f"{over}, which holds for a {rule.only}; another purpose must be apparent."
    return f"{content:.3g} % is declared: a trace that cannot be avoided is let pass, what was added is not."


def _due(check: RuleCheck) -> str:
    return f'Due on the label: "{check.words}"' if check.words else "May need a statement on the label"


def _named_above(check: RuleCheck) -> str:
    """What a statement is due for: how much of it there is, and above how much, if not at any amount."""
    what = check.group.removesuffix(": statement").removesuffix(": warning")
    above = f", above {check.limit:g} %" if check.limit else ""
    return f"{what}, {check.content:.3g} % of the jar{above}"


def certified(check: RuleCheck) -> str:
    """How much of its certificate's allowance the fragrance takes, in words. Not its share of the product."""
    used = f"{check.content:.3g}" if check.kept else apart(check.content, check.limit, digits=3)
    return f"the fragrance uses {used} % of what its certificate allows ({check.reference})"


def broken(checks: Sequence[RuleCheck]) -> Iterator[FormulaWarning]:
    """A warning of each rule that is not kept."""
    for check in checks:
        if check.kept:
            continue
        where = f"{check.market}, {check.reference}"
        limit = check.limit or 0.0
        amount = f"{check.group} at {apart(check.content, limit, digits=3)} % is over {limit:g} % ({where})"
        words = {
            "maximum": f"Over a legal limit: {amount}.",
            "below": f"Not below a legal limit: {amount}.".replace(" is over ", ", has to be below "),
            "prohibited": f"Not allowed: {check.group} ({where}).",
            "positive list": f"Not allowed: {check.group} ({where}): {check.note}.",
            "label": f"{_due(check)}: {_named_above(check)} ({where}).",
            "certificate": f"Over the certificate: {certified(check)}.",
        }.get(check.kind, f"Above a panel's advice: {amount}.")
        yield FormulaWarning(
            "law", LEVELS.get(check.kind, "mind"), words, check.id or "fragrance-certificate", evidence=check.evidence
        )


def unjudged_warnings(points: Iterable[Unjudged]) -> Iterator[FormulaWarning]:
    """A warning of each thing for which no law was looked up, where no other warning says so."""
    for point in points:
        if point.words:
            yield FormulaWarning("law", "mind", point.words, "law-not-looked-up", evidence=Evidence.DERIVED)
