"""The cost sheet, told."""

from collections.abc import Iterator

from optiform.brief.brief import called
from optiform.costs.jar import RISE
from optiform.costs.money import shown
from optiform.costs.sheet import CostSheet, Landed
from optiform.telling.parts import Chart, Column, Level, Part, Section, Sentence, Table, Telling, sentences

STEPS = "The price steps are common practice, no source. Prices are taken without sales tax."


def costs(sheet: CostSheet) -> Telling:
    """What a jar costs part by part, what its price leaves, and what would change it."""
    full = [_prices(sheet), _sensitivity(sheet), _reach(sheet)] if sheet.full is not None else []
    sections = [_head(sheet), _parts(sheet), *full, _ingredients(sheet), _packs(sheet), _notes(sheet)]
    title = f"Cost of {sheet.brief.title}: {called(sheet.formula, sheet.brief)}"
    return Telling(title, tuple(section for section in sections if section.parts), _table(sheet))


def _table(sheet: CostSheet) -> Table:
    columns = (Column("group"), Column("part"), Column("a jar", sheet.brief.currency), Column("share", "%"))
    return Table(columns, tuple((p.group, p.name, p.cost, _share(p.cost, sheet.full)) for p in sheet.parts))


def _head(sheet: CostSheet) -> Section:
    money = sheet.brief.currency
    batches = "1 batch" if sheet.batches == 1 else f"{sheet.batches} batches"
    run = (
        f"{sheet.jars} jars of {1000 * sheet.jar:g} g in {batches}: {sheet.weighed:.3f} kg weighed, "
        f"{100 * sheet.costs.loss:g} % lost on the way."
    )
    if sheet.full is None:
        cost = f"A jar costs at least {shown(sheet.known)} {money}; in full it is not known: {sheet.lacking_words}."
        return Section("cost", "", (Sentence(cost, Level.MIND), Sentence(run)))
    return Section("cost", "", (Sentence(f"A jar costs {shown(sheet.full)} {money}."), Sentence(run)))


def _parts(sheet: CostSheet) -> Section:
    money = sheet.brief.currency
    rows: list[tuple[str, float | None, float | None]] = []
    inset = set()
    for group, cost in sheet.groups:
        own = [part for part in sheet.parts if part.group == group]
        inner = own if group != "ingredients" and len(own) > 1 else []
        if own:
            only = f" ({own[0].name})" if len(own) == 1 and group != own[0].name else ""
            rows.append((f"{group}{only}", cost, _share(cost, sheet.full)))
        inset |= {len(rows) + k for k in range(len(inner))}
        rows += [(part.name, part.cost, _share(part.cost, sheet.full)) for part in inner]
    rows.append(("full cost", sheet.full, _share(sheet.full, sheet.full)))
    columns = (Column("a jar"), Column("cost", money, 3, unknown="not known"), Column("share", "%", 1))
    table = Table(columns, tuple(rows), inset=frozenset(inset), strong=frozenset({len(rows) - 1}))
    bars = Table(columns[:2], tuple((group, cost) for group, cost in sheet.groups if cost))
    return Section("parts", "What a jar is made of", (table, Chart(bars, "bar", "cost", "a jar")))


def _share(cost: float | None, full: float | None) -> float | None:
    return None if cost is None or not full else 100 * cost / full


def _prices(sheet: CostSheet) -> Section:
    money = sheet.brief.currency
    columns = (
        Column("sold at"), Column("price", money, 2), Column("after discount", money, 2), Column("fees", money, 2),
        Column("margin", money, 2), Column("of takings", "%", 0), Column("no loss from", money, 2),
    )  # fmt: skip
    rows = tuple(
        (s.channel, s.price, s.takings, s.fees, s.margin, s.margin_share and 100 * s.margin_share, s.least_price)
        for s in sheet.sales
    )
    pays = (
        Column("jars that pay at this price"),
        Column("smallest batch that pays", unknown="never"),
        Column("for what is paid once", unknown="never"),
        Column("for the month alone", unknown="never"),
    )
    jars = tuple((sale.channel, sale.least_jars, sale.repaid_after, sale.month_jars) for sale in sheet.sales)
    tables = (Table(columns, rows), Table(pays, jars)) if rows else ()
    losses = (
        Sentence(f"{sale.channel} loses {shown(-sale.margin)} {money} on every jar.", Level.MIND)
        for sale in sheet.sales
        if sale.margin < 0
    )
    return Section("prices", "Prices", (Sentence(sheet.prices_words), *losses, *tables, Sentence(STEPS, Level.NOTE)))


def _sensitivity(sheet: CostSheet) -> Section:
    money = sheet.brief.currency
    columns = (Column(f"{100 * RISE:.0f} % dearer"), Column("a jar", money, 3), Column("change", money, 3, sign=True))
    rows = tuple((each.what, each.cost, each.change) for each in sheet.sensitivity)
    return Section("dearer", "If one price rises", (Table(columns, rows),), short=False)


def _reach(sheet: CostSheet) -> Section:
    words = sheet.reach.words(sheet.brief.currency) if sheet.reach else ()
    return Section("reach", "What the formula can move", sentences(words, bullet=False))


def _ingredients(sheet: CostSheet) -> Section:
    money = sheet.brief.currency
    columns = (
        Column("ingredient"), Column("share", "%", 2), Column("a jar", "g", 2),
        Column("landed", f"{money}/kg", 2, unknown="not known"), Column("cost of a jar", money, 3, unknown="not known"),
        Column("of full cost", "%", 1),
    )  # fmt: skip
    rows = tuple(
        (line.ingredient, line.percent, line.grams, line.landed.per_kg, line.cost, _share(line.cost, sheet.full))
        for line in sheet.lines
    )
    return Section("ingredients", "Ingredients of a jar", (Table(columns, rows),), short=False)


def _packs(sheet: CostSheet) -> Section:
    money = sheet.brief.currency
    columns = (
        Column("ingredient"), Column("pack", "kg"), Column("price", money, 2), Column("shipping", money, 2),
        Column("need", "kg", 3), Column("in stock", "kg", 3, unknown="?"), Column("packs", unknown="?"),
        Column("to pay", money, 2),
    )  # fmt: skip
    rows = tuple(
        (
            line.ingredient, line.landed.pack, line.landed.price, line.landed.shipping, line.need, line.stock,
            line.packs, line.cash if line.packs else None,
        )
        for line in sheet.lines
    )  # fmt: skip
    return Section("packs", "Packs for the batch", (Table(columns, rows), *_money(sheet)), short=False)


def _money(sheet: CostSheet) -> Iterator[Part]:
    yield Sentence(f"Whole packs that are missing cost {shown(sheet.cash)} {sheet.brief.currency}.")
    offers = [line.landed for line in sheet.lines if line.landed.supplier]
    if offers:
        yield Sentence(f"Prices: {'; '.join(map(_offer, offers))}.", Level.NOTE)


def _offer(price: Landed) -> str:
    return f"{price.ingredient} {price.supplier}, {price.date}"


def _notes(sheet: CostSheet) -> Section:
    return Section("notes", "Good to know", sentences(sheet.notes))
