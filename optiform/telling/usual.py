"""What an answer went by where the brief is silent: what is usual, which of it had to give, which parts are lacking."""

from collections.abc import Iterator, Sequence

from optiform.brief.brief import Brief
from optiform.brief.goal import Nearest, NearestUsual
from optiform.brief.parts import Lacking
from optiform.ingredients.formula import Formula
from optiform.program.usual import Eased
from optiform.reading.units import with_article
from optiform.review.answer import Report
from optiform.telling.facts import in_words
from optiform.telling.measured import unit_of
from optiform.telling.parts import Level, Sentence, number

CHEAPEST = 'For the cheapest write [goal] lowest = "cost" in the brief.'
FIGURE = 1e-4  # mass fraction: hundredths of a percent
NOTHING = 1e-6  # of such a figure


def went_by(brief: Brief, formula: Formula) -> Iterator[Sentence]:
    """What a brief without a goal of its own was answered by: between formulas as near, in the order of preference."""
    if isinstance(brief.goal, Nearest) and brief.goal.formula == brief.reference and not brief.limits:
        yield Sentence(f"The brief sets no limits, so today's formula stands as far as it can. {CHEAPEST}")
    if not isinstance(brief.goal, NearestUsual):
        return
    shares = [line.fraction / FIGURE for line in formula.lines]
    figures = " in round figures" if all(abs(share - round(share)) < NOTHING for share in shares) else ""
    yield Sentence(
        f"This is the formula nearest to what is usual in {with_article(brief.kind)}{figures}, not the cheapest. "
        f"Among formulas as near, what makers take goes first, then few lines, then price. {CHEAPEST}"
    )


def gave(eased: Sequence[Eased]) -> Iterator[Sentence]:
    """The usual ranges that had to give beside the brief's limits, and by how much, in one sentence."""
    if eased:
        words = "; ".join(map(_gave, eased))
        yield Sentence(f"Unusual, because of your limits and your shelf: {words}.", Level.MIND)


def _gave(end: Eased) -> str:
    demand, unit = end.demand, unit_of(end.demand)
    side = "at least" if demand.side == "low" else "at most"
    whose = "usual" if demand.reason.startswith("usual") else demand.reason
    return f"{demand.name} {number(end.reached)} {unit}".rstrip() + f" ({whose}: {side} {demand.target:g})"


def against_kind(report: Report, brief: Brief | None) -> Iterator[Sentence]:
    """What is in a formula though its kind of product is usually made without it, a sentence for each reason."""
    reasons = dict.fromkeys((why, _named_by(brief, name)) for name, why in report.against_kind)
    for why, by in reasons:
        names = [name for name, reason in report.against_kind if (reason, _named_by(brief, name)) == (why, by)]
        are, they, them = ("is", "it is", "it") if len(names) == 1 else ("are", "they are", "them")
        because = f"; {they} in because {by} {them}" if by else ""
        yield Sentence(f"{'; '.join(names)} {are} usually left out, as {in_words(why)}{because}.")


def _named_by(brief: Brief | None, name: str) -> str:
    """Who names an ingredient that its kind is made without; empty where nobody does."""
    if brief is None or name not in dict(brief.against_kind):
        return ""
    by_line = any(
        item.name == name and span.source == "brief"
        for item, span in zip(brief.mix.ingredients, brief.ranges, strict=True)
    )
    today = brief.reference is not None and brief.reference.fraction(name) > 0
    return "today's formula has" if today and not by_line else "the brief names"


def lacking(parts: Sequence[Lacking], kind: str) -> Iterator[Sentence]:
    """Parts that a shelf lacks, each with what to buy."""
    needs = f"{with_article(kind).capitalize()} needs"
    for part in parts:
        most = "" if part.high is None else f" to {part.high:g}"
        need = f"{part.part}, {part.low:g}{most} {part.unit}".rstrip()
        buy = f" Buy for instance {' or '.join(part.buy)}." if part.buy else ""
        words = f"{needs} {need}, and no candidate brings it."
        if part.most > NOTHING:
            within = f"{number(part.most)} {part.unit}".rstrip()
            words = f"{needs} {need}, and the candidates bring at most {within} within their usual use."
        if part.reached is not None:
            rules = f" In the way: {'; or '.join(map(in_words, part.rules))}." if part.rules else ""
            rules += " Set another pH in the brief." if any(rule.ph is not None for rule in part.rules) else ""
            value = f"{number(part.reached)} {part.unit}".rstrip()
            words = (
                f"These candidates make no {kind}: it needs {need}; beside its other parts and the rules the nearest "
                f"they come is {value}.{rules}"
            )
        yield Sentence(f"{words}{buy}", Level.MIND)
