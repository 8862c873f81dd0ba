"""Candidates that a formula does not use, and why."""

from collections.abc import Iterator, Sequence

from optiform.brief.brief import Brief
from optiform.brief.leftout import LeftOut, Reason
from optiform.design.answer import Designed
from optiform.design.facts import Fact
from optiform.ingredients.formula import Formula
from optiform.rules.kinds import Exclusion
from optiform.telling.facts import in_words
from optiform.telling.parts import Column, Part, Section, Sentence, Table, sentences


def unused(answer: Designed) -> Section:
    """Candidates left at nothing, those nearest to being worth using first."""
    priced = [entry for entry in answer.entries if entry.price is not None and entry.below is not None]
    priced.sort(key=lambda entry: (entry.price or 0) / (entry.below or 1))
    never = [entry.ingredient for entry in answer.entries if entry.below is None]
    if not priced:
        none = Sentence("No other candidate would be used at any price.")
        return Section("unused", "Not used", (none,), short=False)
    unit = f"{answer.brief.currency}/kg"
    columns = Column("not used"), Column("price now", unit, 2), Column("worth using below", unit, 2)
    parts: list[Part] = [Table(columns, tuple((entry.ingredient, entry.price, entry.below) for entry in priced))]
    if not all(entry.whole for entry in answer.entries):
        parts.append(Sentence("These prices hold near this formula; further off a candidate may pay at a higher one."))
    if never:
        parts.append(Sentence(f"Not used at any price within these limits: {'; '.join(never)}."))
    return Section("unused", "Not used, and the price below which it would be", tuple(parts), short=False)


def left_out(brief: Brief, formula: Formula | None = None) -> Section:
    """Candidates that cannot be used, by reason, and what the kind of product has to do with it.

    What is in `formula` though its kind is made without it is told with the formula, and not here.
    """
    ruled = set(_ruled_out(brief))
    others = [pair for pair in brief.left_out if pair not in ruled]
    words = [f"Left out, {in_words(why)}: {names}." for why, names in _by_reason(others)]
    words += [*kind_words(brief, formula), *_choices_words(brief)]
    return Section("unused", "", sentences(words, bullet=False), short=False)


def _choices_words(brief: Brief) -> Iterator[str]:
    """What `[[choose]]`, `[[when]]` and `if_used` name and is no candidate: no formula has any of it."""
    reasons, usable = dict(brief.left_out), {item.name for item in brief.mix.ingredients}
    bounds = (bound for either in brief.choices for way in either.ways for bound in way)
    names = dict.fromkeys(name for bound in bounds for name, _ in bound.weights if name not in usable)
    told = [f"{name} ({in_words(reasons.get(name, Fact.NOT_AMONG_CANDIDATES))})" for name in names]
    if told:
        yield f"The brief names these in a choice of ingredients, and they are no candidates: {'; '.join(told)}."


def kind_words(brief: Brief, formula: Formula | None) -> Iterator[str]:
    """Candidates that the kind of product is made without: those left out, and those that stay because named."""
    out = _by_reason(_ruled_out(brief))
    for why, names in out:
        yield f"Left out, because {in_words(why)}: {names}."
    if out:
        yield "To use one of these all the same, name it under [lines]."
    used = {line.ingredient.name for line in formula.lines} if formula else set()
    for why, names in _by_reason([pair for pair in brief.against_kind if pair[0] not in used]):
        yield f"A candidate only because the brief or today's formula names it, though {in_words(why)}: {names}."


def _ruled_out(brief: Brief) -> list[LeftOut]:
    return [pair for pair in brief.left_out if isinstance(pair[1], Exclusion)]


def _by_reason(pairs: Sequence[LeftOut]) -> list[tuple[Reason, str]]:
    reasons = dict.fromkeys(why for _, why in pairs)
    return [(why, "; ".join(name for name, reason in pairs if reason == why)) for why in reasons]
