"""One formula for several price lists, told: whether there is one, what it costs in each, and what it is."""

from collections.abc import Iterator

from optiform.design.price_lists import AtPrices, ForAllPrices
from optiform.telling.around import shares_table
from optiform.telling.parts import Column, Section, Sentence, Table

SAME = 5e-4  # share: dearer by less is told as no dearer


def for_all_prices(answer: ForAllPrices) -> tuple[Section, ...]:
    """Whether one formula will do, and how near it comes in each list."""
    names = ["for all", *(row.name for row in answer.lists)]
    formulas = [answer.formula, *(row.cheapest for row in answer.lists)]
    return (
        Section(
            "price-lists", "", (*_answered(answer), in_each(answer), shares_table(formulas, names, differing=True))
        ),
        Section("formula", "The formula for all", (shares_table([answer.formula], ["for all"], False),), short=False),
    )


def _answered(answer: ForAllPrices) -> Iterator[Sentence]:
    count, within = len(answer.lists), f"{100 * answer.within:g} %"
    furthest = max(answer.lists, key=lambda row: row.above)
    how = f"{_percent(answer.worst)} dearer than the cheapest there, at the prices of {furthest.name}"
    if answer.worst < SAME:
        yield Sentence(f"One formula is the cheapest in all {count} price lists.")
    elif answer.near_enough:
        yield Sentence(f"One formula is within {within} of the cheapest in all {count} price lists: at most {how}.")
    else:
        yield Sentence(f"No one formula is within {within} of the cheapest in all {count} price lists.")
        yield Sentence(f"The nearest is at worst {how}.")
    if answer.worst - answer.bound > 1e-4:
        words = f"Not proven to the end: none can be nearer than {_percent(answer.bound)}."
    else:
        words = "Checked: any other formula is at least as far from the cheapest in one of the lists."
    yield Sentence(words)


def in_each(answer: ForAllPrices) -> Table:
    """Each price list with the least cost there, and what two formulas cost."""
    money = f"{answer.brief.currency}/kg"
    columns = (
        Column("price list"), Column("cheapest", money, 3),
        Column("for all", money, 3), Column("dearer by", "% of the cheapest", 1, sign=True),
        Column("today's best", money, 3), Column("that dearer by", "% of the cheapest", 1, sign=True),
    )  # fmt: skip
    return Table(columns, tuple(map(_row, answer.lists)))


def _row(of: AtPrices) -> tuple[str | float, ...]:
    return of.name, of.least, of.cost, 100 * of.above, of.today, 100 * of.today_above


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"
