"""Formulas and packs for several products on one shelf, told: what it costs, what moves, what is bought."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from optiform.costs.file import OneOff
from optiform.costs.money import shown
from optiform.design.planned import NoRange, RangeAnswer, RangeProduct, UsedUp
from optiform.design.shared import CommonBase
from optiform.reading.units import count_of
from optiform.telling.around import TRIAL, caveats, moves_table
from optiform.telling.base import base, on_one_base
from optiform.telling.buy import balances, from_stock, in_time, orders, set_aside
from optiform.telling.costed import terms_notes
from optiform.telling.impossible import impossible
from optiform.telling.measured import demanded
from optiform.telling.parts import Cell, Column, Level, Part, Section, Sentence, Step, Table, Telling, sentences
from optiform.telling.steps import free

LINES = 6  # that move, of a product in the short telling
NOT_HAD = "No formula for {name} can be made from what is in stock and on offer, beside the other products."


def range_design(answer: RangeAnswer | NoRange, once: Sequence[OneOff] = ()) -> Telling:
    """What the whole plan costs with formulas and packs chosen together; or which products cannot be made.

    Args:
        answer: told.
        once: what is paid once for a formula, so that a base that several share saves it.
    """
    title = f"Formulas and packs for {answer.plan.title}, made on {answer.plan.date}"
    if isinstance(answer, NoRange):
        return Telling(title, tuple(_impossible(answer)), Table((Column("product"),), _names(answer)))
    table = _products(answer)
    sections = (
        Section("answer", "", (*_answer(answer), table, *_alone(answer))),
        *([base(answer.common, answer, once)] if answer.common else []),
        *(_changes(x, k, x.product.name == most_changed(answer)) for k, x in enumerate(answer.products, 1)),
        orders(answer.purchases),
        Section(
            "notes",
            "Good to know",
            tuple(_notes(answer)),
            short=False,
            instead="What this counts and leaves open",
        ),
        set_aside(answer.purchases),
        from_stock(answer.purchases.shelf),
        balances(answer.purchases),
        caveats(),
    )
    return Telling(title, sections, table)


def most_changed(answer: RangeAnswer) -> str:
    """The product whose formula changes most; the first where none does."""
    return max(answer.products, key=_points).product.name


def steps(answer: RangeAnswer, line: str, longer: str) -> tuple[Step, ...]:
    """What can be done with the answer next; `line` is the command that gave it, `longer` the same with more time."""
    name = most_changed(answer)
    changed = any(map(_points, answer.products))
    return (
        *([Step("Look on for longer", longer)] if not answer.finished else []),
        *([Step(f"Take the formula for {name} along", f"{line} --write {free('new.csv')}")] if changed else []),
        Step("All of it, to print", f"{line} --html {free('range.html')}"),
    )


def _answer(answer: RangeAnswer) -> Iterator[Part]:
    money, made = answer.plan.currency, sum(x.product.jars for x in answer.products)
    jars = count_of(made, "jar")
    packs = count_of(sum(pack.count for parcel in answer.purchases.parcels for pack in parcel.packs), "pack")
    buying = f"for {packs} in {count_of(len(answer.purchases.parcels), 'order')}"
    yield Sentence(
        f"To pay for {jars}: {shown(answer.money)} {money} {buying}."
        if answer.purchases.parcels
        else f"Nothing has to be bought for {jars}: the stock is enough."
    )
    if answer.today is not None and max(answer.today, answer.money) > 0:
        planned = sum(x.jars for x in answer.plan.products)
        every = "" if planned == made else f" and all {planned} jars"
        yield Sentence(f"With the formulas of the plan{every} it would be {shown(answer.today)} {money}.")
    if answer.in_turn is not None and len(answer.products) > 1 and max(answer.in_turn, answer.money) > 0:
        yield Sentence(f"Chosen one product after the other it would be {shown(answer.in_turn)} {money}.")
    if answer.used_up is not None:
        yield Sentence(_used(answer.used_up, answer.common))
        yield from _chosen_jars(answer)
    if answer.common is not None:
        yield from on_one_base(answer.common, answer)
    yield from _in_goes(answer)
    yield from in_time(answer.purchases)
    yield _checked(answer)
    if any(map(_points, answer.products)):
        yield Sentence(TRIAL, Level.NOTE)


def _chosen_jars(answer: RangeAnswer) -> Iterator[Sentence]:
    """The jars of each product that the plan leaves open."""
    chosen = [
        f"{now.product.jars} of {now.product.name} ({was.fewest} to {was.jars} in the plan)"
        for was, now in zip(answer.plan.products, answer.products, strict=True)
        if was.fewest is not None
    ]
    if chosen and answer.common:
        yield Sentence("Jars stay as planned: with a common base none are chosen.")
    elif chosen:
        yield Sentence(f"Jars chosen for it: {', '.join(chosen)}.")


def _in_goes(answer: RangeAnswer) -> Iterator[Sentence]:
    """In how many goes all of it is made."""
    vessel, goes = answer.plan.vessel, answer.purchases.plan.goes
    if vessel is not None and goes is not None:
        most = "" if answer.plan.most_goes is None else f", of {answer.plan.most_goes} at most"
        yield Sentence(f"At {vessel:g} kg at once that is {count_of(goes, 'go', 'goes')}{most}.")


def _used(of: UsedUp, common: CommonBase | None) -> str:
    """How much of the stock goes in, and where."""
    if not of.there:
        return f"No {of.ingredient} is in stock on that day, so there is none to use up: only the money counts here."
    most = "the most that can with a common base" if common and common.products else "the most that can"
    takes = ", ".join(f"{name} takes {kg:.3f} kg" for name, kg in of.products) or "none"
    return f"Of {of.there:.3f} kg {of.ingredient} in stock {of.used:.3f} kg go in, {most}: {takes}."


def _checked(answer: RangeAnswer) -> Sentence:
    money = answer.plan.currency
    if answer.gap == 0:
        that = " that does so" if answer.used_up and answer.used_up.there else ""
        words = f"Checked: no other choice{that} costs less, and of those that cost as much none changes less."
        return Sentence(words)
    if answer.bound == float("-inf"):
        return Sentence("Stopped before anything was proven: how much less it could cost is not known.", Level.MIND)
    words = f"Not proven to the end: another choice may cost up to {shown(answer.gap)} {money} less."
    return Sentence(words, Level.NOTE if answer.finished else Level.MIND)


def _products(answer: RangeAnswer) -> Table:
    columns: tuple[Column, ...] = (
        Column("product"), Column("jars"), Column("weighed", "kg", 3), Column("lines move"),
        Column("moves most"), Column("% points", "", 2, sign=True),
        Column("by itself", answer.plan.currency, 2, unknown="not known"),
    )  # fmt: skip
    rows = tuple(map(_row, answer.products))
    if (vessel := answer.plan.vessel) is not None:
        columns = (*columns[:3], Column("goes"), *columns[3:])
        rows = tuple(
            (*row[:3], of.product.goes(vessel), *row[3:]) for row, of in zip(rows, answer.products, strict=True)
        )
    if _alone(answer):
        return Table(columns, rows)
    return Table(columns[:-1], tuple(row[:-1] for row in rows))


def _alone(answer: RangeAnswer) -> tuple[Sentence, ...]:
    """What the last column of the products means; nothing where it is not there."""
    several = len(answer.products) > 1 and any(product.alone is not None for product in answer.products)
    return (Sentence("By itself: what a product would cost if it had the whole shelf."),) if several else ()


def _row(of: RangeProduct) -> tuple[Cell, ...]:
    most = of.moves[0] if of.moves else None
    return (
        of.product.name, of.product.jars, of.product.weighed, "new" if of.new else len(of.moves),
        most.ingredient if most else "",
        most.points if most else None, of.alone,
    )  # fmt: skip


def _changes(of: RangeProduct, place: int, short: bool) -> Section:
    """What changes in one product, the largest change first; all of a formula that is new."""
    if of.new:
        columns = Column("ingredient"), Column("weigh", "kg", 3), Column("% of the jar", "", 2), Column("phase")
        lines = of.product.formula.lines
        rows = tuple((x.ingredient.name, of.product.weighed * x.fraction, 100 * x.fraction, x.phase) for x in lines)
        title = f"{of.product.name}: its formula"
        return Section(f"product-{place}", title, (Table(columns, rows),), short=short, instead=title)
    parts: tuple[Part, ...] = (moves_table(of.moves, "planned", "new"),) if of.moves else ()
    title = f"{of.product.name}: what changes"
    instead = f"{title} ({count_of(len(of.moves), 'line')})"
    return Section(f"product-{place}", title, parts, short=short, instead=instead, most=LINES)


def _notes(answer: RangeAnswer) -> Iterator[Part]:
    for product in answer.products:
        if product.kept_as_is:
            limits = "; ".join(map(demanded, product.kept_as_is))
            name = product.product.name
            yield Sentence(f"The plan's formula for {name} misses these limits, so they do not hold here: {limits}.")
    yield Sentence("What customers notice of each formula stays near what it is in the plan.")
    yield from sentences(terms_notes(answer.purchases.plan, answer.purchases.terms))


def _points(of: RangeProduct) -> float:
    """How much of the product changes hands, % points; all of one that is new."""
    return 200.0 if of.new else sum(abs(move.points) for move in of.moves)


def _names(answer: NoRange) -> tuple[tuple[Cell, ...], ...]:
    return tuple((name,) for name, _ in answer.products)


def _impossible(answer: NoRange) -> Iterator[Section]:
    """Each product with why it cannot be made."""
    with_formula = [product.name for product in answer.plan.products if product.formula.lines]
    for place, (name, why) in enumerate(answer.products, 1):
        if why is None:
            words = (Sentence(NOT_HAD.format(name=name), Level.STOP),)
            advice = Sentence("Add an offer for what is missing, let lines move further, or plan fewer jars.")
            yield Section(f"product-{place}", "", (*words, advice))
        else:
            near = ", near its formula in the plan" if name in with_formula else ""
            head = Sentence(f"{name} has no formula within its brief{near}.", Level.STOP)
            first, *others = impossible(why).sections
            yield replace(first, name=f"product-{place}", parts=(head, *first.parts))
            yield from (replace(x, name=f"{x.name}-{place}") for x in others)
