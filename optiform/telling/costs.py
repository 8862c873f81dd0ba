"""The cost sheet in a terminal."""

from optiform.brief.brief import called
from optiform.costs.jar import RISE, CostSheet, IngredientCost, Part, Sale
from optiform.costs.money import shown
from optiform.telling.text import number, paragraph, table

LADDER = "The ladder is the trade's usual one (common practice, no source). Prices are taken without sales tax."


def costs(found: CostSheet) -> str:
    """What a jar costs part by part, what its price leaves, and what would change it."""
    parts = [_head(found), _ingredients(found), _parts(found), _cash(found)]
    if found.full is not None:
        parts += [_prices(found), _sensitivity(found), _reach(found)]
    notes = "\n".join(map(paragraph, found.notes))
    return "\n\n".join(part for part in [*parts, notes, paragraph(LADDER, "")] if part)


def _head(found: CostSheet) -> str:
    currency = found.brief.currency
    batches = "1 batch" if found.batches == 1 else f"{found.batches} batches"
    lines = [
        f"{found.brief.title}: {called(found.formula, found.brief)}",
        f"  {found.jars} jars of {1000 * found.jar:g} g in {batches}: {found.weighed:.3f} kg weighed, "
        f"{100 * found.costs.loss:g} % lost on the way",
    ]
    if found.full is None:
        lines.append(f"  full cost of a jar: not known, at least {shown(found.known)} {currency}")
        lines.append(paragraph(found.lacking_words, ""))
    else:
        lines.append(f"  full cost of a jar: {shown(found.full)} {currency}")
    return "\n".join(lines)


def _ingredients(found: CostSheet) -> str:
    currency = found.brief.currency
    head = [
        "Ingredients",
        "%",
        "g per jar",
        f"{currency}/kg landed",
        "per jar",
        "need kg",
        "stock kg",
        "packs",
        "to pay",
    ]
    return table([head, *map(_ingredient, found.lines)], right=range(1, 9))


def _ingredient(line: IngredientCost) -> list[str]:
    pack = "" if not line.packs or line.landed.pack is None else f"{line.packs} x {number(line.landed.pack)} kg"
    stock = "?" if line.stock is None else f"{line.stock:.3f}"
    packs = "?" if line.packs is None else pack
    return [
        line.ingredient,
        f"{line.percent:.2f}",
        f"{line.grams:.2f}",
        shown(line.landed.per_kg),
        shown(line.cost, 3),
        f"{line.need:.3f}",
        stock,
        packs,
        "" if line.cash == 0 else shown(line.cash),
    ]


def _parts(found: CostSheet) -> str:
    rows = [[f"A jar, {found.brief.currency}", "", "cost", "share"]]
    for group, cost in found.groups:
        own = [part for part in found.parts if part.group == group]
        if own:
            rows.append([group, "" if len(own) > 1 else own[0].name, shown(cost, 3), _share(cost, found.full)])
            rows += [["", *_part(part)] for part in own if group != "ingredients" and len(own) > 1]
    rows.append(["full cost", "", shown(found.full, 3), _share(found.full, found.full)])
    return table(rows, right=[2, 3])


def _part(part: Part) -> list[str]:
    return [part.name, shown(part.cost, 3), "" if part.share is None else f"{100 * part.share:.1f} %"]


def _share(cost: float | None, full: float | None) -> str:
    return "" if cost is None or not full else f"{100 * cost / full:.1f} %"


def _cash(found: CostSheet) -> str:
    used = sum((line.need * line.landed.per_kg for line in found.lines if line.landed.per_kg is not None), 0.0)
    text = (
        f"Ingredients used up: {shown(used)} {found.brief.currency} at landed prices"
        f"{', those without a price not counted' if found.full is None else ''}. "
        f"Money for the whole packs that are missing: {shown(found.cash)}"
        f"{'' if found.cash is None else f' {found.brief.currency}'}."
    )
    return paragraph(text, "")


def _prices(found: CostSheet) -> str:
    ladder = found.prices_words
    if not found.sales:
        return paragraph(ladder, "")
    head = ["Sold at", "price", "after discount", "fees", "margin", "of takings", "no loss from"]
    rows = table([head, *map(_sale, found.sales)], right=range(1, 7))
    lines = (paragraph(_pays(sale)) for sale in found.sales)
    return "\n\n".join([paragraph(ladder, ""), rows, "\n".join(lines)])


def _sale(sale: Sale) -> list[str]:
    share = "" if sale.margin_share is None else f"{100 * sale.margin_share:.0f} %"
    money = (sale.price, sale.takings, sale.fees, sale.margin)
    return [sale.channel, *map(shown, money), share, shown(sale.least_price)]


def _pays(sale: Sale) -> str:
    """After how many jars a price has paid for a batch, for what is paid once, and for a month."""
    if sale.margin < 0 and sale.least_jars is None:
        return f"{sale.channel}: no size of one batch pays for itself at {shown(sale.price)}."
    batch = (
        "no single batch pays" if sale.least_jars is None else f"the smallest batch that pays: {sale.least_jars} jars"
    )
    once = "never" if sale.repaid_after is None else f"after {sale.repaid_after} jars"
    month = "no number of jars" if sale.month_jars is None else f"{sale.month_jars} jars"
    told = f"what is paid once is earned {once}; {month} would carry the month's overhead alone"
    return f"{sale.channel}: at {shown(sale.price)} {batch}; {told}."


def _sensitivity(found: CostSheet) -> str:
    rows = [[f"{100 * RISE:.0f} % dearer", "a jar", "change", ""]]
    for each in found.sensitivity:
        share = f"{100 * each.change / found.full:+.1f} %" if found.full else ""
        rows.append([each.what, shown(each.cost, 3), f"+{shown(each.change, 3)}", share])
    return table(rows, right=[1, 2, 3])


def _reach(found: CostSheet) -> str:
    words = found.reach.words(found.brief.currency) if found.reach else ()
    return "\n".join(paragraph(line, "") for line in words)
