"""The rules that cover a formula: what it contains of each, and whether it keeps it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from optiform.ingredients.ingredient import Evidence
from optiform.ingredients.names import resolve
from optiform.properties.base import Mix, Vector
from optiform.review.answer import RuleCheck, Stop
from optiform.review.rounding import apart
from optiform.rules.law import Scope, applying, certificate_class, certificate_terms, known, uncertified, unjudged


def rule_checks(mix: Mix, x: Vector, scope: Scope) -> Iterator[RuleCheck]:
    """Every rule of the scope that counts something in the formula, then the fragrance certificates."""
    for rule in applying(scope, [item for item, share in zip(mix.ingredients, x, strict=True) if share > 0]):
        content = float(rule.terms(mix).numerator @ x)
        kept = rule.limit is None or _kept(content, rule.limit)
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
        )
    used = certificate_terms(mix, scope)
    if used.numerator @ x > 0:
        words, where = (
            "fragrance, used of what its certificate allows",
            f"certificate, class {certificate_class(scope)}",
        )
        content = float(used.numerator @ x)
        yield RuleCheck(words, content, 100.0, "own", "certificate", where, Evidence.OWN, _kept(content, 100.0))


def _kept(content: float, limit: float) -> bool:
    """Whether a content is within its limit, but for the last digit of a formula as it is written to a file."""
    return content <= limit + 1e-6 * max(1.0, limit)


@dataclass(frozen=True)
class Unjudged:
    """What keeps a formula's law from being known: `what` it is about, and the sentence on it.

    A missing certificate has no sentence here: the warnings on fragrances tell of it and say what to do.
    """

    what: str
    words: str = ""


def unjudged_parts(mix: Mix, x: Vector, scope: Scope) -> Iterator[Unjudged]:
    """What no table was looked up for: names that none knows, ingredients that declare nothing, and certificates."""
    used = [item for item, share in zip(mix.ingredients, x, strict=True) if share > 0]
    for item in dict.fromkeys(used):
        if not item.constituents:
            words = "declares nothing: no law was looked up for it. Enter its declaration names in the column inci."
            yield Unjudged(item.name, f"{item.name} {words}")
        for inci in unjudged(item, scope):
            near = resolve(inci).near
            asked = f" If you mean {' or '.join(near[:3])}, write that in your table." if near else ""
            where = " and ".join(market for market in scope.markets if inci not in known(market))
            words = (
                f"{inci}, in {item.name}, stands in no table of law for {where}: nothing was looked up for it.{asked}"
            )
            yield Unjudged(inci, words)
    for name in dict.fromkeys(uncertified(mix, scope)):
        if any(item.name == name for item in used):
            yield Unjudged(f"{name}, without a certificate")


def certified(check: RuleCheck) -> str:
    """How much of its certificate's allowance the fragrance takes, in words. Not its share of the product."""
    used = f"{check.content:.3g}" if check.kept else apart(check.content, check.limit, digits=3)
    return f"the fragrance uses {used} % of what its certificate allows ({check.reference})"


def broken(checks: Sequence[RuleCheck]) -> Iterator[str]:
    """Words for each rule that is not kept."""
    for check in checks:
        if check.kept:
            continue
        where = f"{check.market}, {check.reference}"
        amount = f"{check.group} at {apart(check.content, check.limit, digits=3)} % is over {check.limit:g} % ({where})"
        yield {
            "maximum": Stop(f"Over a legal limit: {amount}."),
            "prohibited": Stop(f"Not allowed: {check.group} ({where})."),
            "label": f"May need a statement on the label: {amount}.",
            "certificate": Stop(f"Over the certificate: {certified(check)}."),
        }.get(check.kind, f"Above a panel's advice: {amount}.")
