"""Formulas of unlike ingredients, told: ranked, each with what it does without and what it has instead."""

from optiform.design.unlike import Unlike, Unlikes
from optiform.reading.units import count_of
from optiform.telling.around import amount, shares_table
from optiform.telling.parts import Cell, Column, Section, Sentence, Table

PROVEN = "Checked: no formula that does without something of each option before it is better than the next."


def unlikes(answer: Unlikes) -> tuple[Section, ...]:
    """The ranking, and the shares of what differs."""
    formulas = [option.formula for option in answer.options]
    names = [f"option {k}" for k in range(1, len(formulas) + 1)]
    return (
        Section("unlike", "", (Sentence(_answered(answer)), ranking(answer), Sentence(PROVEN))),
        Section("shares", "What they are made of", (shares_table(formulas, names, differing=False),), short=False),
    )


def _answered(answer: Unlikes) -> str:
    first, *others = answer.options
    best = f"Option 1 is the best ({answer.brief.goal.words}): {amount(first.value, answer.unit)}."
    if not others:
        return f"{best} There is no other: nothing of it can be done without."
    after = f"Then the best {count_of(len(others), 'other')}: each does without something that all before it have."
    if len(others) == 1:
        after = "Then the best other: it does without something that option 1 has."
    return f"{best} {after}{' There are no more.' if answer.all_there_are else ''}"


def ranking(answer: Unlikes) -> Table:
    """Each option, what the goal is there, and how its ingredients differ from those of option 1."""
    goal = Column(answer.brief.goal.words, answer.unit.strip("-"), 3)
    columns = (
        Column("option", "", 0),
        goal,
        Column("more", "% of option 1", 1, sign=True),
        Column("without"),
        Column("instead"),
    )
    first = answer.options[0].value
    return Table(columns, tuple(_row(k, option, first) for k, option in enumerate(answer.options, 1)))


def _row(number: int, option: Unlike, first: float) -> tuple[Cell, ...]:
    more = 100 * (option.value - first) / abs(first) if first else None
    return number, option.value, more if number > 1 else None, ", ".join(option.without), ", ".join(option.instead)
