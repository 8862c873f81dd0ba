"""The parts that several answers share."""

from collections.abc import Sequence

from optiform.brief.brief import Brief
from optiform.ingredients.formula import Line
from optiform.ingredients.ingredient import Ingredient
from optiform.review.answer import Measured, Report, RuleCheck
from optiform.review.law import certified
from optiform.review.rounding import capped
from optiform.rules.kinds import ruled_out
from optiform.telling.text import amount, number, paragraph, shorten, table

WIDEST = 40  #: characters of a table's last column; what is longer stands below
NOT_A_RELEASE = (
    "These are calculations from published, recalled and own figures. Local law, a qualified assessor and a trial of "
    "your own decide what may be sold."
)
PROCESS = (
    "Process moves texture as much as composition: grains added hot or cool, days since making, batch size. Look at a "
    "trial cold and warm, after one day and after a week."
)
NOT_LOOKED_AT = "Not looked at: impurities and contaminants, the size of particles (nano), what a table does not name."
CLASH = "These cannot hold together; without any one of them the others can, but another clash may stand behind it:"


def repairs_head(count: int) -> str:
    """What stands above so many repairs."""
    return "This makes it possible:" if count == 1 else "Any one of these makes it possible:"


def limits(measures: Sequence[Measured]) -> str:
    """Properties that were asked for, then the others that apply."""
    asked = [found for found in measures if found.limited]
    rest = [found for found in measures if not found.limited and found.name != "cost"]
    parts = []
    if asked:
        parts.append(_measured(["Limits", "value", "asked", "range of the figures", "known how"], asked))
    if rest:
        parts.append(_measured(["Also", "value", "", "range of the figures", "known how"], rest))
    return "\n\n".join(parts)


def _measured(head: list[str], measures: Sequence[Measured]) -> str:
    """A table of properties; words too long for its last column stand below it, whole."""
    below = [f"{found.name}: {words}" for found in measures if len(words := _how(found)) > WIDEST]
    return "\n".join([table([head, *map(_measure_row, measures)], right=[1]), *map(paragraph, below)])


def _measure_row(found: Measured) -> list[str]:
    unit = "" if found.unit == "-" else f" {found.unit}"
    value = f"{number(found.value)}{unit}" if found.value is not None else found.state
    span = f"{number(found.span[0], 3)} to {number(found.span[1], 3)}" if found.span else ""
    how = _how(found)
    if len(how) > WIDEST:
        how = f"{found.evidence}, see below" if found.value is not None else "see below"
    return [found.name, value, _asked(found), span, how]


def _how(found: Measured) -> str:
    """How well a property is known, and what there is to know of it."""
    if found.lacking:
        return f"no figure for {', '.join(found.lacking)}"
    if found.beyond:
        return found.note
    if found.value is None:
        return ""
    return f"{found.evidence}; {found.note}" if found.note else str(found.evidence)


def _asked(found: Measured) -> str:
    if found.low is not None and found.high is not None:
        return f"{number(found.low)} to {number(found.high)}"
    if found.low is not None:
        return f"at least {number(found.low)}"
    return f"at most {number(found.high)}" if found.high is not None else ""


def rules(found: Report) -> str:
    """The legal limits and certificates that apply, with what the formula contains."""
    hard = [rule for rule in found.rules if rule.kind in ("maximum", "prohibited") and rule.limit is not None]
    none = [market for market in found.markets if all(rule.market != market for rule in hard)]
    told = [f"  {market}: no numeric limit in the tables applies." for market in none]
    told += [f"  Also {certified(rule)}." for rule in found.rules if rule.kind == "certificate"]
    if found.unjudged:
        told.append(paragraph(f"Whether the law is kept is not known, because of: {'; '.join(found.unjudged)}."))
    if found.markets:
        told.append(paragraph(NOT_LOOKED_AT))
    return "\n".join([*([_rule_table(hard)] if hard else []), *told])


def _rule_table(checked: Sequence[RuleCheck]) -> str:
    rows = [["Legal limits switched on", "contains", "at most", "where", "known how"]]
    for rule in checked:
        where = f"{rule.market}, {rule.reference}" if rule.market != "own" else rule.reference
        rows.append(
            [_group(rule), f"{number(rule.content, 3)} %", f"{rule.limit:g} %", shorten(where, 44), str(rule.evidence)]
        )
    return table(rows, right=[1, 2])


def _group(rule: RuleCheck) -> str:
    """The words of a rule, and what its mass is expressed as where the words do not say it."""
    plain = rule.expressed_as in ("", "the substance") or rule.expressed_as in rule.group
    return rule.group if plain else f"{rule.group}, as {rule.expressed_as}"


def warnings(texts: Sequence[str]) -> str:
    """What a maker should know before weighing."""
    return "\n".join(["  Warnings", *map(paragraph, texts)]) if texts else ""


def cautions(found: Report) -> str:
    """The usual cautions, by when they count."""
    lines = []
    for where in ("making", "using", "selling"):
        texts = [caution.text for caution in found.cautions if caution.where == where]
        lines += [f"  When {where}", *map(paragraph, texts)] if texts else []
    return "\n".join(["  Cautions", *lines]) if lines else ""


def left_out(brief: Brief) -> list[str]:
    """Candidates that are not used, by reason, and what the kind of product has to do with it."""
    ruled = set(_ruled_out(brief))
    others = [pair for pair in brief.left_out if pair not in ruled]
    return [*(paragraph(f"Left out, {why}: {names}.", "") for why, names in _by_reason(others)), *kind_rules(brief)]


def kind_rules(brief: Brief) -> list[str]:
    """Candidates that the kind of product is made without: those left out, and those kept because they are named."""
    out = _by_reason(_ruled_out(brief))
    told = [f"Left out, because {why}: {names}." for why, names in out]
    if out:
        told.append("Named under [lines], such a candidate is used all the same.")
    told += [
        f"A candidate only because the brief or today's formula names it, though {why}: {names}."
        for why, names in _by_reason(brief.against_kind)
    ]
    return [paragraph(line, "") for line in told]


def _ruled_out(brief: Brief) -> list[tuple[str, str]]:
    found = [(brief.catalogue.find(name), why) for name, why in brief.left_out]
    return [(item.name, why) for item, why in found if item and why == ruled_out(brief.kind, item)]


def _by_reason(pairs: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    reasons = dict.fromkeys(why for _, why in pairs)
    return [(why, "; ".join(name for name, reason in pairs if reason == why)) for why in reasons]


def share_of(line: Line) -> str:
    """A line's share of the whole, in %."""
    return amount(100 * line.fraction, capped=capped(line.ingredient))


def grams_of(line: Line, batch: float) -> str:
    """A line's mass in a batch of so many kg, in g."""
    return amount(1000 * batch * line.fraction, 1, capped(line.ingredient))


def price_of(item: Ingredient, currency: str) -> float | None:
    """The price per kg in this currency, None where there is none."""
    price = item.price_in(currency)
    return price.figure if price else None


def closing() -> str:
    """What no calculation settles."""
    return paragraph(PROCESS, "") + "\n" + paragraph(NOT_A_RELEASE, "")
