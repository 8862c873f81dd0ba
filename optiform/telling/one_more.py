"""The one purchase that would help most, told."""

from collections.abc import Iterator

from optiform.design.one_more import OneMore, Purchase
from optiform.reading.units import count_of
from optiform.telling.figures import capital
from optiform.telling.goal import unit_of_goal
from optiform.telling.parts import Column, Section, Sentence, Table, Telling, number


def one_more(answer: OneMore) -> Telling:
    """What buying one ingredient that is out of stock would do, the best first."""
    table = _table(answer)
    title = f"{answer.brief.title}: one purchase"
    return Telling(title, (Section("one-more", "", (*_answer(answer), *([table] if table.rows else []))),), table)


def _answer(answer: OneMore) -> Iterator[Sentence]:
    unit, tried = unit_of_goal(answer.brief.goal), count_of(answer.tried, "ingredient")
    if answer.value is None:
        yield Sentence("With what is in stock no formula meets the brief.")
    else:
        yield Sentence(f"With what is in stock: {number(answer.value)} {unit} ({answer.brief.goal.words}).")
    if answer.purchases:
        yield Sentence(_most(answer, answer.purchases[0], unit))
    else:
        yield Sentence("No ingredient that is out of stock would help by itself.")
    yield Sentence(f"Looked at: {tried} out of stock, each by itself, and designed again with it.")
    if answer.unlooked:
        yield Sentence(f"Not looked at, because a figure is missing: {'; '.join(answer.unlooked)}.")


def _most(answer: OneMore, first: Purchase, unit: str) -> str:
    if answer.value is None:
        return f"{capital(first.ingredient)} would make one possible, at {number(first.value)} {unit}."
    gain = f"{number(abs(answer.value - first.value))} {unit}"
    return f"Buying {first.ingredient} would help most: {gain}, with {number(first.percent)} % of the jar of it."


def _table(answer: OneMore) -> Table:
    unit = unit_of_goal(answer.brief.goal)
    columns = (Column("bought"), Column(answer.brief.goal.words, unit, 3), Column("of it", "% of the jar", 2))
    return Table(columns, tuple((x.ingredient, x.value, x.percent) for x in answer.purchases))
