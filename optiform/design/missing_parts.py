"""What a shelf lacks for a first trial: parts that nothing serves, or of which the rules leave too little.

A product without one of its parts is none of its kind, so a bare brief is not answered with one. Where every part has
a candidate and they still do not come together, what stands in the way is tried out: each rule that is left away, and
each purchase of what makers of the kind take first.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from optiform.brief.brief import Brief
from optiform.brief.parts import Lacking, lacking
from optiform.brief.usual import UsualLimit, advised, usual_limits
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.program.usual import Eased, nearest_point, usual_of
from optiform.properties.base import Mix
from optiform.rules.chemistry import eithers, merged
from optiform.rules.forms import Either
from optiform.rules.kinds import ruled_out
from optiform.rules.positive import not_settled
from optiform.rules.usual import first_choices, served

#: Sum of breaches of parts, each over half its usual width, from which a formula is none of its kind. No source.
NONE_OF_ITS_KIND = 1.0


@dataclass(frozen=True)
class _Short:
    """A needed part whose usual end gave, and by how many half widths."""

    limit: UsualLimit
    end: Eased
    breach: float


def wanting(brief: Brief) -> tuple[Lacking, ...]:
    """The parts of its kind that the candidates of a bare brief do not make, each with what to buy.

    What the brief's own lines ask is the maker's word: nothing is lacking for it.

    Example:
        >>> from optiform.brief.file import read_brief
        >>> from optiform.reading.paths import DEMO
        >>> wanting(read_brief(DEMO / "brief.toml"))
        ()
    """
    if parts := lacking(brief):
        return parts
    short = _short(brief)
    if not short or any(span.source == "brief" for span in brief.ranges) or _total(short) <= NONE_OF_ITS_KIND:
        return ()
    rules, buy = tuple(_in_the_way(brief)), tuple(_purchases(brief))
    worst = max(short, key=lambda x: (x.end.demand.side == "low", x.breach))
    named = Lacking(
        part=worst.limit.property.name,
        low=worst.limit.low or 0.0,
        high=worst.limit.high,
        unit=worst.limit.property.unit,
        buy=buy,
        reached=worst.end.reached,
        rules=rules,
    )
    return (named,) if rules or buy else ()


def _short(brief: Brief, rules: tuple[Either, ...] | None = None) -> tuple[_Short, ...] | None:
    """The needed parts that had to give; None where nothing meets what is firm."""
    usual = usual_of(brief, rules)
    if not usual.demands:
        return None
    limits = {limit.property.name: limit for limit in brief.usual if limit.needed}
    ends = ((limits[end.demand.name], end) for end in usual.gave if end.demand.name in limits)
    return tuple(_Short(limit, end, abs(end.demand.target - end.reached) / limit.size) for limit, end in ends)


def _total(short: tuple[_Short, ...] | None) -> float:
    return float("inf") if short is None else sum(part.breach for part in short)


def _in_the_way(brief: Brief) -> Iterator[str]:
    """The rules without any one of which the parts come together, each with its id.

    Only those are tried that the formula broke which no rule holds back.
    """
    rules = eithers(brief.mix.ingredients, brief.kind, brief.ph, brief.overrule)
    free = nearest_point(brief, ())
    if free is None:
        return
    lines = zip(brief.mix.ingredients, free, brief.mix.phases, strict=True)
    formula = Formula("without rules", tuple(Line(item, float(share), phase) for item, share, phase in lines))
    for rule in (rule for rule in rules if rule.broken(formula)):
        others = merged([other for other in rules if other is not rule])
        if _total(_short(brief, others)) <= NONE_OF_ITS_KIND:
            yield f"{rule.rule.title} ({rule.rule.id})"


def _purchases(brief: Brief) -> Iterator[str]:
    """What makers of the kind take first for each function, where one of it makes the parts come together."""
    owned = {item.name for item in brief.mix.ingredients}
    for function in (*sorted(served(brief.kind)), "ph adjuster"):
        names = (name for name in first_choices(brief.kind, [function]) if name not in owned)
        items = (item for name in names if (item := brief.catalogue.find(name)) and _usable(brief, item))
        first = next(items, None)
        if first is not None and _total(_short(_with(brief, first))) <= NONE_OF_ITS_KIND:
            yield first.name


def _usable(brief: Brief, item: Ingredient) -> bool:
    return not ruled_out(brief.kind, item) and not not_settled(item, brief.scope)


def _with(brief: Brief, item: Ingredient) -> Brief:
    """The brief with one more candidate, in its usual use."""
    mix = Mix((*brief.mix.ingredients, item), (*brief.mix.phases, item.phase))
    ranges = (*brief.ranges, advised(item, brief.kind))
    usual = usual_limits(brief.kind, mix, ranges, brief.limits, brief.reference, brief.currency)
    return replace(brief, mix=mix, ranges=ranges, usual=usual)
