"""What the last jars of a plan cost, told: the jars at which the money to pay falls, and the packs behind it."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from optiform.costs.buy import Bought
from optiform.costs.cliffs import Cliff, Cliffs
from optiform.costs.money import shown
from optiform.reading.units import count_of
from optiform.telling.costed import terms_notes
from optiform.telling.parts import Cell, Column, Section, Sentence, Table, Telling, sentences

MOST = 20  # rows in the short telling


def cliffs(answer: Cliffs) -> Telling:
    """The staircase from the most jars to what costs nothing."""
    table = _table(answer)
    sections = (
        Section("cliffs", "", (*_answer(answer), table), most=MOST),
        Section("notes", "Good to know", sentences(_notes(answer)), most=5),
    )
    plan = answer.plan
    return Telling(f"What the last jars cost: {plan.title}, made on {plan.date}", sections, table)


def _answer(answer: Cliffs) -> Iterator[Sentence]:
    first, last, money = answer.steps[0], answer.steps[-1], answer.plan.currency
    planned = sum(product.jars for product in answer.plan.products)
    if first.total < planned:
        yield Sentence(f"Not all {planned} jars can be made: something is neither in stock enough nor on offer.")
    if first.money == 0:
        yield Sentence(f"{count_of(first.total, 'jar')} cost nothing more: the stock is enough.")
        return
    yield Sentence(f"To pay for {count_of(first.total, 'jar')}: {shown(first.money)} {money}.")
    if last.money == 0:
        yield Sentence(f"{count_of(last.total, 'jar')} cost nothing more: the stock is enough for them.")
    (more, fewer) = max(pairwise(answer.steps), key=lambda pair: _each(*pair), default=(first, last))
    if more.total > fewer.total:
        yield Sentence(
            f"The dearest are the last {more.total - fewer.total} of {count_of(more.total, 'jar')}: they cost "
            f"{shown(more.money - fewer.money)} {money}, {shown(_each(more, fewer))} {money} each."
        )
    yield Sentence("Checked: between two lines no other choice of jars saves money.")


def _each(more: Cliff, fewer: Cliff) -> float:
    """What a jar between two cliffs costs."""
    jars = more.total - fewer.total
    return (more.money - fewer.money) / jars if jars else 0.0


def _table(answer: Cliffs) -> Table:
    money, products = answer.plan.currency, answer.plan.products
    columns = (
        Column("jars"), *(Column(product.name) for product in products if len(products) > 1),
        Column("to pay", money, 2), Column("saved", money, 2), Column("for each jar", money, 2), Column("packs"),
    )  # fmt: skip
    return Table(columns, tuple(_row(step, before) for before, step in pairwise((None, *answer.steps))))


def _row(step: Cliff | None, before: Cliff | None) -> tuple[Cell, ...]:
    assert step is not None  # only the first has none before it
    jars = step.jars if len(step.jars) > 1 else ()
    if before is None:
        return step.total, *jars, step.money, None, None, ""
    packs = [
        *([f"without {_packs(step.gone)}"] if step.gone else []),
        *([f"with {_packs(step.come)}"] if step.come else []),
    ]
    return step.total, *jars, step.money, before.money - step.money, _each(before, step), "; ".join(packs)


def _packs(packs: Sequence[Bought]) -> str:
    return ", ".join(f"{pack.count} x {pack.offer.pack:g} kg {pack.offer.ingredient}" for pack in packs)


def _notes(answer: Cliffs) -> Iterator[str]:
    if not answer.whole:
        yield "Stopped before the end: fewer jars were not looked at."
    yield "What is left over of a pack counts nothing here, whatever the plan says."
    yield from terms_notes(answer.plan, answer.terms)
