"""What to buy, told: the orders, what to take from the shelf, what is left of the packs."""

from collections.abc import Iterator

from optiform.batch.facts import LotAside
from optiform.brief.brief import called
from optiform.costs.buy import Parcel, Purchases, SetAside, Shelf, Unobtainable
from optiform.costs.money import shown
from optiform.costs.plan import Plan, Product
from optiform.reading import clock
from optiform.reading.units import count_of
from optiform.telling.costed import terms_notes
from optiform.telling.facts import in_words
from optiform.telling.parts import Cell, Column, Level, Section, Sentence, Table, Telling, sentences

NOTHING = "\u00a0"  # in a cell that is not to be filled in
MOST = 20  # rows of a table in the short telling


def buy(answer: Purchases | Unobtainable) -> Telling:
    """What to buy for the plan; where that cannot be had, what is missing."""
    return _purchases(answer) if isinstance(answer, Purchases) else _unobtainable(answer)


def _purchases(answer: Purchases) -> Telling:
    sections = (
        _money(answer), orders(answer), set_aside(answer), _notes(answer), from_stock(answer.shelf), balances(answer),
    )  # fmt: skip
    title = f"To buy for {answer.plan.title}, made on {answer.plan.date}"
    return Telling(title, sections, _table(answer))


def _unobtainable(answer: Unobtainable) -> Telling:
    columns = (
        Column("missing"), Column("needed", "kg", 3), Column("in stock", "kg", 3), Column("missing of it", "kg", 3),
        Column("for"),
    )  # fmt: skip
    rows = tuple(
        (x.ingredient, x.need, x.stock, x.lacking, ", ".join(use.product for use in x.uses)) for x in answer.missing
    )
    table = Table(columns, rows)
    words = "This cannot be made: some ingredients are neither in stock nor on offer."
    names = {x.ingredient for x in answer.missing}
    aside = tuple(_aside(lot) for lot in answer.shelf.aside if lot.ingredient in names)
    advice = "Add an offer for each of them, receive what has come in, or plan fewer jars."
    sections = (
        Section("missing", "", (Sentence(words, Level.STOP), table, Sentence(advice), *_made(answer.plan)), most=MOST),
        Section("notes", "Good to know", (*aside, *sentences(terms_notes(answer.plan, answer.terms))), most=MOST),
    )
    title = f"To buy for {answer.plan.title}, made on {answer.plan.date}"
    return Telling(title, sections, table)


def _table(answer: Purchases) -> Table:
    heads = ("supplier", "ingredient", "packs", "pack kg", "price", "shipping", "cost", "currency", "over kg")
    over = {balance.ingredient: balance.over for balance in answer.balances}
    rows: list[tuple[Cell, ...]] = []
    for parcel in answer.parcels:
        for pack in parcel.packs:
            o = pack.offer
            figures = (pack.count, o.pack, o.price, o.shipping, pack.cost, o.currency, over[o.ingredient])
            rows.append((parcel.supplier, o.ingredient, *figures))
        postage = (parcel.postage, answer.plan.currency, None)
        rows.append((parcel.supplier, "postage of the order", None, None, None, None, *postage))
    return Table(tuple(map(Column, heads)), tuple(rows))


# -- what is bought ----------------------------------------------------------------------------------------------------


def _money(answer: Purchases) -> Section:
    made = _made(answer.plan)
    if not answer.parcels:
        return Section(
            "money", "", (Sentence("Nothing has to be bought: the stock is enough."), *in_time(answer), *made)
        )
    money = answer.plan.currency
    packs = count_of(sum(pack.count for parcel in answer.parcels for pack in parcel.packs), "pack")
    words = (
        f"To pay: {shown(answer.money)} {money} for {packs} in {count_of(len(answer.parcels), 'order')}. Of that, "
        f"{shown(answer.tied)} {money} stays on the shelf, in what is left of the packs."
    )
    return Section("money", "", (Sentence(words), *in_time(answer), _checked(answer), *made), most=10)


def _checked(answer: Purchases) -> Sentence:
    worth, money = answer.plan.leftover, answer.plan.currency
    bound, value = shown(answer.proof.bound), shown(answer.proof.value)
    if not worth and bound == value:
        return Sentence("Checked: no choice of these packs costs less.")
    counted = f" What is left over counts {100 * worth:g} % of the lowest price on offer." if worth else ""
    words = f"Checked: no choice of these packs is better than {bound} {money}; this one is at {value}."
    return Sentence(words + counted)


def in_time(answer: Purchases) -> Iterator[Sentence]:
    """By when to order so that all is there, and how long the work takes."""
    plan = answer.plan
    days = {parcel.supplier: plan.order_by(parcel.supplier) for parcel in answer.parcels}
    late = [supplier for supplier, day in days.items() if day is not None and day < clock.today()]
    known = [f"{supplier} by {day}" for supplier, day in days.items() if day is not None]
    if known:
        yield Sentence(f"To be there on {plan.date}, order of {'; '.join(known)}.")
    if late:
        yield Sentence(f"Too late by the supplier's days: {'; '.join(late)}.", Level.MIND)
    if (minutes := plan.minutes) is not None:
        hours = f"{int(minutes // 60)} h {round(minutes % 60)} min"
        goes = "" if plan.goes is None else f" in {count_of(plan.goes, 'go', 'goes')}"
        yield Sentence(f"The work takes {hours}{goes}, by the minutes of your costs.")


def orders(answer: Purchases) -> Section:
    """Every order with what it costs, and below it its packs and its postage."""
    money = answer.plan.currency
    columns = (
        Column("order"), Column("packs"), Column("of", "kg"), Column("a pack", money, 2),
        Column("shipping", money, 2), Column("cost", money, 2), Column("priced on", short=False),
        Column("lot, expiry", by_hand="line"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    heads = set()
    for parcel in answer.parcels:
        heads.add(len(rows))
        rows += _order(parcel)
    inset = frozenset(range(len(rows))) - heads
    table = Table(columns, tuple(rows), inset=inset, strong=frozenset(heads))
    return Section("orders", "", (table,) if rows else (), most=MOST)


def _order(parcel: Parcel) -> Iterator[tuple[Cell, ...]]:
    yield parcel.supplier, None, None, None, None, parcel.cost, "", NOTHING
    for x in parcel.packs:
        yield (
            x.offer.ingredient, x.count, x.offer.pack, x.offer.price, x.offer.shipping, x.cost, str(x.offer.date), ""
        )  # fmt: skip
    posted = "postage, sent free" if parcel.free else "postage of the order"
    yield posted, None, None, None, None, parcel.postage, "", NOTHING


# -- what is there, and what stays -------------------------------------------------------------------------------------


def from_stock(shelf: Shelf) -> Section:
    """What to take of which lot."""
    columns = (
        Column("take from stock"), Column("lot"), Column("expires"), Column("take", "kg", 3),
        Column("stays", "kg", 3), Column("taken", by_hand="tick"),
    )  # fmt: skip
    rows = tuple((x.ingredient, x.lot, str(x.expiry or "no date"), x.kg, x.stays, "") for x in shelf.drawn if x.kg > 0)
    taken = (Table(columns, rows),) if rows else ()
    instead = f"{count_of(len(rows), 'lot')} to take from stock, what expires first before the rest" if rows else ""
    title = "From stock, what expires first before the rest"
    return Section("stock", title, taken, short=False, instead=instead)


def set_aside(answer: Purchases) -> Section:
    """Lots that are not used, and why."""
    return Section("warnings", "Watch out for", tuple(map(_aside, answer.shelf.aside)), most=5)


def _aside(lot: SetAside) -> Sentence:
    why = lot.why
    return Sentence(in_words(LotAside(lot.lot, lot.ingredient, lot.kg, why.day, why.expired)), Level.MIND)


def _named(of: Product) -> str:
    """What is made and by which formula; a product that is called as its formula, once."""
    formula = called(of.formula, of.brief)
    return formula if of.name == of.formula.name else f"{of.name} by {formula}"


def _made(plan: Plan) -> tuple[Sentence, ...]:
    """What is made of it, by which formula."""
    texts = [
        f"{count_of(x.jars, 'jar')} of {1000 * x.jar:g} g, {_named(x)}: "
        f"{x.weighed:.3f} kg weighed, {100 * x.loss:g} % lost on the way."
        for x in plan.products
    ]
    return sentences(texts)


def balances(answer: Purchases) -> Section:
    """Every ingredient from need to what is left."""
    money = answer.plan.currency
    columns = (
        Column("ingredient"), Column("needed", "kg", 3), Column("from stock", "kg", 3), Column("bought", "kg", 3),
        Column("left of it", "kg", 3), Column("worth", money, 2),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for x in answer.balances:
        bought = (x.bought, x.over, x.tied) if x.bought else (None, None, None)
        rows.append((x.ingredient, x.need, x.stock, *bought))
    rows.append(("in all", None, None, None, None, answer.tied))
    table = Table(columns, tuple(rows), strong=frozenset({len(rows) - 1}))
    instead = f"What {count_of(len(rows) - 1, 'ingredient')} need, and what is left of the packs"
    return Section("balance", "Need and leftover", (table,), short=False, instead=instead)


def _notes(answer: Purchases) -> Section:
    spare = (
        f"{x.spare} of the packs of {x.ingredient} are not needed: they make the order large enough to be sent free."
        for x in answer.balances
        if x.spare
    )
    return Section("notes", "Good to know", sentences((*spare, *terms_notes(answer.plan, answer.terms))), most=5)
