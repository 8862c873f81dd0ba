"""The cost sheet, told."""

from collections.abc import Iterator
from dataclasses import replace

from optiform.brief.brief import called
from optiform.costs.jar import RISE
from optiform.costs.money import shown
from optiform.costs.sheet import CostSheet, Hit, Landed, Reach
from optiform.telling.costed import lacking, part_name, risen, sheet_notes, why_none
from optiform.telling.jar import holds
from optiform.telling.parts import Chart, Column, Level, Section, Sentence, Table, Telling, number, sentences

CENT = 0.005  # of a jar's cost: below that it is shown as the same
STEPS = "The price steps are common practice, no source. Prices are without sales tax."


def costs(sheet: CostSheet) -> Telling:
    """What a jar costs part by part, what its price leaves, and what would change it."""
    full = (
        [_prices(sheet), _curve(sheet), _pays(sheet), _sensitivity(sheet), _reach(sheet)]
        if sheet.full is not None
        else []
    )
    sections = [_head(sheet), _hit(sheet), _parts(sheet), *full, _ingredients(sheet), _packs(sheet), _notes(sheet)]
    if sheet.hit:  # that was the question: the sheet stands behind it
        sections[2:] = [replace(section, short=False, instead=section.title) for section in sections[2:]]
    title = f"Cost of {sheet.brief.title}: {called(sheet.formula, sheet.brief)}"
    return Telling(title, tuple(sections), _table(sheet))


def _table(sheet: CostSheet) -> Table:
    columns = (
        Column("group"),
        Column("part"),
        Column("a jar", sheet.brief.currency),
        Column("share", "% of full cost"),
    )
    rows = tuple((p.group, part_name(p, sheet.costs), p.cost, _share(p.cost, sheet.full)) for p in sheet.parts)
    return Table(columns, rows)


def _head(sheet: CostSheet) -> Section:
    money = sheet.brief.currency
    batches = "1 batch" if sheet.batches == 1 else f"{sheet.batches} batches"
    run = (
        f"{sheet.jars} jars of {1000 * sheet.jar:g} g in {batches}: {sheet.weighed:.3f} kg weighed, "
        f"{100 * sheet.costs.loss:g} % lost on the way."
    )
    if sheet.full is None:
        cost = f"A jar costs at least {shown(sheet.known)} {money}; in full it is not known: {lacking(sheet)}."
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
            names = [part_name(part, sheet.costs) for part in own]
            only = f" ({names[0]})" if len(own) == 1 and group != names[0] else ""
            rows.append((f"{group}{only}", cost, _share(cost, sheet.full)))
        inset |= {len(rows) + k for k in range(len(inner))}
        rows += [(part_name(part, sheet.costs), part.cost, _share(part.cost, sheet.full)) for part in inner]
    rows.append(("full cost", sheet.full, _share(sheet.full, sheet.full)))
    columns = (Column("a jar"), Column("cost", money, 3, unknown="not known"), Column("of full cost", "%", 1))
    table = Table(columns, tuple(rows), inset=frozenset(inset), strong=frozenset({len(rows) - 1}), fold=True)
    bars = Table(columns[:2], tuple((group, cost) for group, cost in sheet.groups if cost))
    return Section("parts", "What a jar is made of", (table, Chart(bars, "bar", "cost", "a jar")))


def _share(cost: float | None, full: float | None) -> float | None:
    return None if cost is None or not full else 100 * cost / full


def _prices(sheet: CostSheet) -> Section:
    money = sheet.brief.currency
    columns = (
        Column("sold at"), Column("price", money, 2), Column("after discount", money, 2, short=False),
        Column("fees", money, 2, short=False), Column("margin", money, 2),
        Column("of takings", "%", 0), Column("no loss from", money, 2),
    )  # fmt: skip
    rows = tuple(
        (s.channel, s.price, s.takings, s.fees, s.margin, s.margin_share and 100 * s.margin_share, s.least_price)
        for s in sheet.sales
    )
    sold = (Table(columns, rows),) if rows else ()
    losses = (
        Sentence(f"{sale.channel} loses {shown(-sale.margin)} {money} on every jar.", Level.MIND)
        for sale in sheet.sales
        if sale.margin < 0
    )
    return Section("prices", "Prices", (Sentence(prices_in_words(sheet)), *losses, *sold, Sentence(STEPS, Level.NOTE)))


def prices_in_words(sheet: CostSheet) -> str:
    """What the price steps ask, as a sentence, and where each price comes from."""
    money, costs = sheet.brief.currency, sheet.costs
    if sheet.price is None:
        return (
            f"Wholesale {shown(sheet.wholesale)} {money} ({costs.wholesale:g} times full cost), retail "
            f"{shown(sheet.retail)} {money} ({costs.retail:g} times wholesale)."
        )
    return (
        f"Retail {shown(sheet.price)} {money} as given, wholesale {shown(sheet.price / costs.retail)} {money} "
        f"(retail divided by {costs.retail:g}). The full cost would ask for wholesale {shown(sheet.wholesale)}, "
        f"retail {shown(sheet.retail)} {money}."
    )


def _pays(sheet: CostSheet) -> Section:
    columns = (
        Column("jars that pay at this price"),
        Column("smallest batch that pays", unknown="never"),
        Column("for what is paid once", unknown="never"),
        Column("for the month alone", unknown="never"),
    )
    jars = tuple((sale.channel, sale.least_jars, sale.repaid_after, sale.month_jars) for sale in sheet.sales)
    parts = (Table(columns, jars),) if jars else ()
    instead = "How many jars pay for themselves, for what is paid once and for the month" if jars else ""
    return Section("pays", "How many jars pay", parts, short=False, instead=instead)


def _curve(sheet: CostSheet) -> Section:
    """What a jar costs with fewer and with more jars."""
    columns = Column("jars"), Column("batches"), Column("cost of a jar", sheet.brief.currency, 2)
    table = Table(columns, tuple((point.jars, point.batches, point.cost) for point in sheet.curve))
    first, last = sheet.curve[0], sheet.curve[-1]
    before, after = shown(first.cost), shown(last.cost)
    change = f"With {first.jars} jars a jar costs {before} {sheet.brief.currency}, with {last.jars} {after}; the curve"
    instead = change if before != after else ""
    chart = Chart(table, "line", "jars", "cost of a jar")
    return Section("jars", "What a jar costs with fewer and more jars", (table, chart), short=False, instead=instead)


def _sensitivity(sheet: CostSheet) -> Section:
    money = sheet.brief.currency
    columns = (Column(f"{100 * RISE:.0f} % dearer"), Column("a jar", money, 3), Column("change", money, 3, sign=True))
    rows = tuple((risen(each), each.cost, each.change) for each in sheet.sensitivity)
    return Section("dearer", "If one price rises", (Table(columns, rows),), short=False)


def _reach(sheet: CostSheet) -> Section:
    words = _reached(sheet.reach, sheet.brief.currency) if sheet.reach else ()
    return Section("reach", "What the formula can move", sentences(words, bullet=False))


def _reached(reach: Reach, money: str) -> Iterator[str]:
    share = f"{100 * reach.share:.0f} % of the full cost"
    yield f"A formula moves only its ingredients and what is lost of them: {share}."
    if reach.saving is None:
        yield f"What the brief's cheapest formula would save is not known: {why_none(reach.why)}."
    elif abs(reach.saving) < CENT:
        yield "The brief's cheapest formula costs the same, to the cent."
    elif reach.saving < 0:
        more = f"{shown(-reach.saving)} {money} more a jar"
        yield f"The brief's cheapest formula costs {more}: this one does not meet every limit of the brief."
    else:
        saves = f"saves {shown(reach.saving)} {money} a jar, which then costs {shown(reach.cost)}"
        yield f"The brief's cheapest formula at these landed prices {saves} {money}."


def _hit(sheet: CostSheet) -> Section:
    """Whether a cost can be had, what it leaves the ingredients, and the lines that change."""
    if sheet.hit is None:
        return Section("hit", "", ())
    title = f"For {shown(sheet.hit.target)} {sheet.brief.currency} a jar"
    return Section(
        "hit",
        title,
        (*sentences(_hit_words(sheet.hit, sheet.reach, sheet.brief.currency), bullet=False), *_lines(sheet)),
    )


def _hit_words(hit: Hit, reach: Reach | None, money: str) -> Iterator[str]:
    fixed = f"{shown(hit.fixed)} {money} of a jar does not depend on its formula (packaging, work, overhead, paid once)"
    if hit.allowed <= 0:
        yield f"{fixed}. That alone is {shown(hit.fixed - hit.target)} {money} more than you ask for."
        if reach is not None and reach.cost is not None:
            yield _from_the_rest(reach.cost, hit.target, money)
        return
    yield f"{fixed}."
    yield f"That leaves {shown(hit.allowed)} {money} for the ingredients; now they cost {shown(hit.ingredients)}."
    if hit.formula is not None and not hit.moved:
        yield f"Nothing has to change: a jar costs {shown(hit.cost)} {money}."
    elif hit.formula is not None:
        yield f"The nearest formula that meets your limits and this cost changes {number(hit.moved, 1)} % of the jar."
        yield f"A jar then costs {shown(hit.cost)} {money}."
    elif hit.why:
        yield f"No formula was found that hits it: {why_none(hit.why)}."
    elif hit.least is not None:
        yield f"No formula within your limits does. {_from_the_rest(hit.least, hit.target, money)}"


def _from_the_rest(least: float, target: float, money: str) -> str:
    """What the cheapest formula leaves to be saved elsewhere."""
    rest = f"{shown(least - target)} {money} must come from the rest"
    return f"The brief's cheapest formula makes a jar {shown(least)} {money}: {rest}."


def _lines(sheet: CostSheet) -> Iterator[Table]:
    """The lines that change, the largest change first."""
    hit = sheet.hit
    if hit is None or hit.formula is None or not hit.moved:
        return
    names = dict.fromkeys(line.ingredient.name for line in (*sheet.formula.lines, *hit.formula.lines))
    pairs = [(name, 100 * sheet.formula.fraction(name), 100 * hit.formula.fraction(name)) for name in names]
    rows = sorted(((*pair, pair[2] - pair[1]) for pair in pairs), key=lambda row: -abs(row[3]))
    columns = (
        Column("ingredient"), Column("now", "% of the jar", 2), Column("then", "% of the jar", 2),
        Column("change", "% points", 2, sign=True),
    )  # fmt: skip
    yield Table(columns, tuple(row for row in rows if abs(row[3]) >= 0.005))


def _ingredients(sheet: CostSheet) -> Section:
    money = sheet.brief.currency
    columns = (
        Column("ingredient"), Column("% of the jar", "", 2), Column("a jar", "g", 2),
        Column("landed", f"{money}/kg", 2, unknown="not known"), Column("cost of a jar", money, 3, unknown="not known"),
        Column("% of full cost", "", 1),
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
            line.packs, line.cash,
        )
        for line in sheet.lines
    )  # fmt: skip
    return Section("packs", "Packs for the batch", (Table(columns, rows), *_money(sheet)), short=False)


def _money(sheet: CostSheet) -> Iterator[Sentence]:
    yield Sentence(f"Whole packs that are missing cost {shown(sheet.cash)} {sheet.brief.currency}.")
    offers = [line.landed for line in sheet.lines if line.landed.supplier]
    if offers:
        yield Sentence(f"Prices: {'; '.join(map(_offer, offers))}.", Level.NOTE)


def _offer(price: Landed) -> str:
    return f"{price.ingredient} {price.supplier}, {price.date}"


def _notes(sheet: CostSheet) -> Section:
    held = holds(sheet.content) if sheet.content else ()
    return Section("notes", "Good to know", (*sentences(sheet_notes(sheet)), *held))
