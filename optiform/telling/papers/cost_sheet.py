"""The cost sheet to print and file."""

from collections.abc import Iterator

from optiform.brief.brief import called
from optiform.costs.jar import RISE, CostSheet, IngredientCost, Sale
from optiform.costs.money import shown
from optiform.telling.page import bullets, heading, page, paragraph, section, table


def cost_sheet_page(found: CostSheet) -> str:
    """The cost of a jar as an HTML document: ingredients with packs, parts, prices, what would change it."""
    parts = [*_head(found), *_parts(found)]
    if found.notes:
        parts.append(section(heading("To know"), bullets(found.notes)))
    parts += _ingredients(found)
    if found.full is not None:
        parts += [*_prices(found), *_sensitivity(found), *_reach(found)]
    return page(f"Cost sheet: {found.brief.title}", *parts)


def _head(found: CostSheet) -> Iterator[str]:
    batches = "1 batch" if found.batches == 1 else f"{found.batches} batches"
    yield paragraph(
        f"{called(found.formula, found.brief)}: {found.jars} jars of {1000 * found.jar:g} g, {batches}, "
        f"{found.weighed:.3f} kg weighed, {100 * found.costs.loss:g} % lost on the way. "
        f"Money in {found.brief.currency}. Calculated from the figures named here, prices without sales tax."
    )
    if found.full is None:
        lacking = found.lacking_words
        yield paragraph(
            f"Full cost of a jar: not known, at least {shown(found.known)}. {lacking[:1].upper()}{lacking[1:]}.",
            "caution",
        )
    else:
        yield heading(f"Full cost of a jar: {shown(found.full)} {found.brief.currency}")


def _ingredients(found: CostSheet) -> Iterator[str]:
    head = ["", "%", "g", "landed per kg", "cost", "of full cost"]
    lines = table(head, (_ingredient(line, found) for line in found.lines), right=range(1, 6))
    yield section(heading("Ingredients of a jar"), lines)
    head = ["", "pack", "price", "shipping", "need kg", "stock kg", "packs", "to pay"]
    packs = table(head, map(_packs, found.lines), right=range(1, 8))
    money = paragraph(f"Money for the whole packs that are missing: {shown(found.cash)}.")
    yield section(heading("Packs for the batch"), packs, money)
    told = [line.landed for line in found.lines if line.landed.supplier]
    if told:
        yield paragraph("Prices: " + "; ".join(f"{p.ingredient} {p.supplier}, {p.date}" for p in told) + ".", "small")


def _ingredient(line: IngredientCost, found: CostSheet) -> list[str]:
    return [
        line.ingredient,
        f"{line.percent:.2f}",
        f"{line.grams:.2f}",
        shown(line.landed.per_kg),
        shown(line.cost, 3),
        _share(line.cost, found.full),
    ]


def _packs(line: IngredientCost) -> list[str]:
    price = line.landed
    return [
        line.ingredient,
        "" if price.pack is None else f"{price.pack:g} kg",
        "" if price.price is None else shown(price.price),
        "" if price.shipping is None else shown(price.shipping),
        f"{line.need:.3f}",
        "?" if line.stock is None else f"{line.stock:.3f}",
        "?" if line.packs is None else str(line.packs or ""),
        shown(line.cash) if line.packs else "",
    ]


def _parts(found: CostSheet) -> Iterator[str]:
    rows = [["full cost", "", shown(found.full, 3), _share(found.full, found.full)]]
    for group, cost in found.groups:
        own = [part for part in found.parts if part.group == group]
        inner = own if group != "ingredients" and len(own) > 1 else []
        if own:
            rows.append([group, "" if len(own) > 1 else own[0].name, shown(cost, 3), _share(cost, found.full)])
        rows += [["", part.name, shown(part.cost, 3), _share(part.cost, found.full)] for part in inner]
    yield section(heading("A jar"), table(["part", "", "cost", "share"], rows, right=[2, 3]))


def _share(cost: float | None, full: float | None) -> str:
    return "" if cost is None or not full else f"{100 * cost / full:.1f} %"


def _prices(found: CostSheet) -> Iterator[str]:
    ladder = paragraph(f"{found.prices_words} The ladder is common practice, it has no source.")
    yield section(heading("Prices"), ladder, *(_sold(found) if found.sales else ()))


def _sold(found: CostSheet) -> Iterator[str]:
    head = ["sold at", "price", "after discount", "fees", "margin", "of takings", "no loss from"]
    yield table(head, map(_sale, found.sales), right=range(1, 7))
    head = ["jars that pay at this price", "smallest batch that pays", "for what is paid once", "for the month alone"]
    yield table(head, map(_pays, found.sales), right=range(1, 4))
    yield paragraph(
        "No loss from: the price that leaves nothing. For the month alone: jars that carry its whole overhead.",
        "small",
    )


def _sale(sale: Sale) -> list[str]:
    share = "" if sale.margin_share is None else f"{100 * sale.margin_share:.0f} %"
    money = (sale.price, sale.takings, sale.fees, sale.margin)
    return [sale.channel, *map(shown, money), share, shown(sale.least_price)]


def _pays(sale: Sale) -> list[str]:
    counts = (sale.least_jars, sale.repaid_after, sale.month_jars)
    return [sale.channel, *("never" if count is None else str(count) for count in counts)]


def _sensitivity(found: CostSheet) -> Iterator[str]:
    rows = [[each.what, shown(each.cost, 3), f"+{shown(each.change, 3)}"] for each in found.sensitivity]
    yield section(heading(f"One price {100 * RISE:.0f} % higher"), table(["", "a jar", "change"], rows, right=[1, 2]))


def _reach(found: CostSheet) -> Iterator[str]:
    if found.reach is None:
        return
    yield section(heading("What the formula can move"), *map(paragraph, found.reach.words(found.brief.currency)))


def cost_table(found: CostSheet) -> Iterator[list[object]]:
    """The parts of a jar's cost as a table, under a header."""
    yield ["group", "part", f"{found.brief.currency} per jar", "share %"]
    for part in found.parts:
        yield [part.group, part.name, part.cost, None if part.share is None else 100 * part.share]
    yield ["full cost", "", found.full, None if found.full is None else 100.0]
