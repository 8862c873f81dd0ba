"""What a shelf lacks for a first trial: parts that nothing serves, or of which the rules leave too little.

A product without one of its parts is none of its kind, so no brief is answered with one, whatever it reaches for.
Where every part has a candidate and they still do not come together, what stands in the way is tried out: each rule
that is left away, and each purchase of what makers of the kind take first. How far the maker's own limits and lines
keep the parts apart is the maker's word, and does not count.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from optiform.brief.brief import Brief
from optiform.brief.parts import Lacking, lacking, serving, suits
from optiform.brief.usual import UsualLimit, advised, usual_limits
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.program.usual import Eased, Usual, eased_near, nearest_point, usual_of
from optiform.properties.base import Mix
from optiform.reading.frozen import frozen
from optiform.rules.chemistry import chemistry, eithers, merged
from optiform.rules.forms import Either, Rule
from optiform.rules.kinds import ruled_out
from optiform.rules.positive import not_settled
from optiform.rules.quantities import amount
from optiform.rules.usual import first_choices, served

#: Sum of breaches of parts, each over half its usual width, from which a formula is none of its kind. No source.
NONE_OF_ITS_KIND = 1.0
TRIED = 60  # nodes that each trial of a rule or a purchase may take


@frozen
class _Short:
    """A needed part whose usual end gave, and by how many half widths."""

    limit: UsualLimit
    end: Eased
    breach: float


def wanting(brief: Brief) -> tuple[Lacking, ...]:
    """The parts of its kind that the candidates of a brief do not make, each with what to buy.

    What the brief's own limits and lines ask is the maker's word: nothing is lacking for it.

    Example:
        >>> from optiform.brief.file import read_brief
        >>> from optiform.reading.paths import DEMO
        >>> wanting(read_brief(DEMO / "brief.toml"))
        ()
    """
    if parts := lacking(brief):
        return parts
    short = _short(brief, usual_of(brief))
    if not short or _total(short) <= NONE_OF_ITS_KIND or _total(short) <= (most := _most_short(brief)):
        return ()
    worst, broken = max(short, key=lambda x: (x.end.demand.side == "low", x.breach)), _broken(brief)
    rules = tuple(_in_the_way(brief, broken, most))
    buy = tuple(_purchases(brief, broken, worst.limit.property.name, most))
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


def _most_short(brief: Brief) -> float:
    """The sum of breaches from which a formula is none of its kind, beyond what the brief's own words cost."""
    if not brief.limits and not any(span.source == "brief" for span in brief.ranges):
        return NONE_OF_ITS_KIND
    return NONE_OF_ITS_KIND + _total(_short(brief, eased_near(brief, nearest_point(brief, ()))))


def _short(brief: Brief, usual: Usual) -> tuple[_Short, ...] | None:
    """The needed parts that had to give; None where nothing meets what is firm."""
    if not usual.demands:
        return None
    limits = {limit.property.name: limit for limit in brief.usual if limit.needed}
    ends = ((limits[end.demand.name], end) for end in usual.gave if end.demand.name in limits)
    return tuple(_Short(limit, end, abs(end.demand.target - end.reached) / limit.size) for limit, end in ends)


def _total(short: tuple[_Short, ...] | None) -> float:
    return float("inf") if short is None else sum(part.breach for part in short)


def _comes_together(brief: Brief, most: float, rules: tuple[Either, ...] | None = None) -> bool:
    """Whether a product of the kind is found; where it takes long to find one, it is taken not to be."""
    usual = eased_near(brief, nearest_point(brief, rules, TRIED))
    return _total(_short(brief, usual)) <= most


def _broken(brief: Brief) -> tuple[Rule, ...]:
    """The rules that the formula breaks which no rule holds back."""
    free = nearest_point(brief, ())
    if free is None:
        return ()
    lines = zip(brief.mix.ingredients, free, brief.mix.phases, strict=True)
    formula = Formula("without rules", tuple(Line(item, float(share), phase) for item, share, phase in lines))
    return tuple(x.rule for x in _rules(brief) if x.broken(formula))


def _rules(brief: Brief) -> tuple[Either, ...]:
    of, area = brief.mix.ingredients, brief.scope.area
    return eithers(of, brief.kind, brief.ph, brief.overrule, exposure=brief.exposure, area=area)


def _in_the_way(brief: Brief, broken: Sequence[Rule], most: float) -> Iterator[Rule]:
    """Of these rules those without any one of which the parts come together."""
    for rule in broken:
        if _comes_together(brief, most, merged([other for other in _rules(brief) if other.rule != rule])):
            yield rule


def _purchases(brief: Brief, broken: Sequence[Rule], part: str, most: float) -> Iterator[str]:
    """What makers of the kind take first for each function, where one of it makes the parts come together.

    Only what serves the part, or what one of these rules asks for, is tried; a preservative before what helps one.
    """
    owned = {item.name for item in brief.mix.ingredients}
    wanted = tuple(_asked_for(broken))
    for function in sorted({*served(brief.kind), "ph adjuster"}, key=lambda word: (word != "preservative", word)):
        names = (name for name in first_choices(brief.kind, [function]) if name not in owned)
        items = (item for name in names if (item := brief.catalogue.find(name)) and _usable(brief, item))
        first = next(items, None)
        if first is None or not (function in serving(part) or any(amount(first, what) > 0 for what in wanted)):
            continue
        if _comes_together(_with(brief, first), most):
            yield first.name


def _asked_for(broken: Sequence[Rule]) -> Iterator[str]:
    """The quantities of which these rules want some."""
    ids = {rule.id for rule in broken}
    for row in chemistry():
        if row.rule.id in ids:
            yield from (term.what for way in row.ways for term in way if term.side == "low")


def _usable(brief: Brief, item: Ingredient) -> bool:
    return not ruled_out(brief.kind, item) and not not_settled(item, brief.scope) and suits(brief, item)


def _with(brief: Brief, item: Ingredient) -> Brief:
    """The brief with one more candidate, in its usual use."""
    mix = Mix((*brief.mix.ingredients, item), (*brief.mix.phases, item.phase))
    ranges = (*brief.ranges, advised(item, brief.kind))
    goal = brief.goal.wanted.name if brief.goal.wanted else ""
    usual = usual_limits(brief.kind, mix, ranges, brief.limits, brief.reference, brief.currency, goal)
    return replace(brief, mix=mix, ranges=ranges, usual=usual)
