"""What a jar costs, all of it: landed ingredients, lost mass, packaging, work, overhead, what is paid once; and what
its price leaves.

Every figure is per jar and in the brief's currency unless it says otherwise. What has no price is not known: it is
named, and what depends on it is not known either.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from optiform.batch.jar import jar_content
from optiform.brief.brief import Brief
from optiform.costs.file import Channel, Costs
from optiform.costs.landed import landed_price
from optiform.costs.reach import LandedBrief, hit, reach_of
from optiform.costs.sheet import (
    LOST,
    OVER,
    CostSheet,
    ForJars,
    IngredientCost,
    Landed,
    Part,
    Sale,
    Sensitivity,
    total,
)
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Ingredient
from optiform.reading.faults import Inspection
from optiform.reading.frozen import frozen
from optiform.reading.order import largest_first
from optiform.workshop.records import Offer

CURVE = (6, 12, 24, 48, 96, 192, 384)  # jars at which a jar's cost is told too
RISE = 0.30  # of one price at a time, for the sensitivity
GRAIN = 1e-9  # relative: what a count of packs or jars may be off by rounding


@frozen
class _Run:
    """A batch: its jars, the net mass of one, the mass weighed and what comes out over the jars (kg), and how often the
    vessel is filled.
    """

    jars: int
    jar: float
    weighed: float
    over: float
    batches: int


def cost_sheet(
    brief: Brief,
    formula: Formula,
    costs: Costs,
    offers: Sequence[Offer] = (),
    jars: int | None = None,
    batch: float | None = None,
    price: float | None = None,
    shelf: Mapping[str, float] | None = None,
    target: float | None = None,
) -> CostSheet:
    """The full cost of a jar of a formula.

    Args:
        brief: gives currency, net mass of a jar and the batch; its cheapest formula is held beside this one.
        formula: what is made.
        costs: everything beside the ingredients.
        offers: packs whose price goes before the own table's: the newest of an ingredient, of these the least per kg.
        jars: how many are filled; what is weighed follows from the loss.
        batch: kg that come out instead; as many whole jars as they fill. The brief's batch if neither is given.
        price: retail price to look at, for every channel: one that sells wholesale asks it over its price step.
        shelf: kg in stock by ingredient, instead of what the own table says; what it does not name is not there.
        target: full cost that a jar should have; what that leaves the formula is looked for.

    Raises:
        BadInput: no net mass of a jar, or a batch that does not fill one.
    """
    run = _run(brief, costs, jars, batch)
    landed = {
        line.ingredient.name: landed_price(line.ingredient, brief.currency, costs, offers) for line in formula.lines
    }
    lines = tuple(_lines(formula, landed, run, shelf))
    parts = tuple(_parts(lines, costs, run))
    full = total(part.cost for part in parts)
    if full is not None:
        parts = tuple(replace(part, share=(part.cost or 0.0) / full if full else None) for part in parts)
    wholesale = None if full is None else full * costs.wholesale
    retail = None if wholesale is None else wholesale * costs.retail
    lacking = tuple(part.name for part in parts if part.cost is None and part.group != "process loss")
    cash = total(line.cash for line in lines)
    own = math.fsum((line.cost or 0.0) + (line.lost or 0.0) for line in lines)
    prices = LandedBrief(brief, costs, offers, run.weighed / run.jars)
    return CostSheet(
        brief=brief,
        formula=formula,
        costs=costs,
        jars=run.jars,
        jar=run.jar,
        weighed=run.weighed,
        over=run.over if run.over > GRAIN else 0.0,
        batches=run.batches,
        lines=lines,
        parts=parts,
        full=full,
        known=math.fsum(part.cost for part in parts if part.cost is not None),
        lacking=tuple(dict.fromkeys(lacking)),
        cash=cash,
        wholesale=wholesale,
        retail=retail,
        price=price,
        sales=() if full is None else tuple(_sales(full, costs, run, price)),
        sensitivity=() if full is None else tuple(_sensitivity(lines, parts, full)),
        reach=None if full is None else reach_of(prices, full, own),
        hit=None if full is None or target is None else hit(prices, formula, full - own, own, target),
        curve=() if full is None else tuple(_curve(formula, brief, costs, landed, run)),
        content=None if costs.volume is None else jar_content(formula, brief.kind, costs.volume, costs.cup),
    )


def _curve(formula: Formula, brief: Brief, costs: Costs, landed: dict[str, Landed], here: _Run) -> Iterator[ForJars]:
    """What a jar costs at each number of jars; a batch's own minutes are shared by its jars."""
    for jars in sorted({*CURVE, here.jars}):
        run = here if jars == here.jars else _run(brief, costs, jars, None)
        parts = _parts(tuple(_lines(formula, landed, run, None)), costs, run)
        yield ForJars(jars, run.batches, math.fsum(part.cost or 0.0 for part in parts))


# -- the batch ---------------------------------------------------------------------------------------------------------


def _run(brief: Brief, costs: Costs, jars: int | None, batch: float | None) -> _Run:
    inspection = Inspection(brief.title)
    if brief.jar is None:
        inspection.fault("jar", None, "the net mass of one jar in the brief, for instance 250 g")
    if jars is not None and jars < 1:
        inspection.fault("jars", jars, "1 or more")
    inspection.finish()
    assert brief.jar is not None
    if jars is None:
        made = brief.batch if batch is None else batch
        jars = math.floor(made / brief.jar * (1 + GRAIN))
        if jars < 1:
            inspection.fault("batch", f"{made:g} kg", f"enough to fill a jar of {1000 * brief.jar:g} g")
            inspection.finish()
    else:
        made = jars * brief.jar
    weighed = made / (1 - costs.loss)
    over = max(0.0, made - jars * brief.jar)
    return _Run(jars, brief.jar, weighed, over, 1 if costs.vessel is None else _whole(weighed / costs.vessel))


def _whole(ratio: float) -> int:
    """The least whole number that is not below a ratio, rounding apart."""
    return max(0, math.ceil(ratio * (1 - GRAIN)))


# -- ingredients -------------------------------------------------------------------------------------------------------


def _lines(
    formula: Formula, landed: dict[str, Landed], run: _Run, shelf: Mapping[str, float] | None
) -> Iterator[IngredientCost]:
    """One line per ingredient: the same in two phases is bought once."""
    for item in {line.ingredient.name: line.ingredient for line in formula.lines}.values():
        price, share = landed[item.name], formula.fraction(item.name)
        need, stock = share * run.weighed, _stock(item, shelf)
        packs = _packs(max(0.0, need - (stock or 0.0)), price.pack)
        spent = None if price.per_kg is None else share * run.jar * price.per_kg
        weighed = None if price.per_kg is None else need * price.per_kg / run.jars
        yield IngredientCost(
            ingredient=item.name,
            percent=100 * share,
            grams=1000 * share * run.jar,
            landed=price,
            cost=spent,
            lost=None if weighed is None or spent is None else weighed - spent,
            need=need,
            stock=stock,
            packs=packs,
            cash=_cash(packs, price.pack_landed),
        )


def _stock(item: Ingredient, shelf: Mapping[str, float] | None) -> float | None:
    """Kg on the shelf: by the records where they are given, else by the own table."""
    if shelf is not None:
        return shelf.get(item.name, 0.0)
    own = item.value("stock")
    return own.figure if own else None


def _packs(missing: float, pack: float | None) -> int | None:
    """Whole packs that hold what is missing, kg; None where it is not known how much one holds."""
    if missing <= 1e-6:  # kg; a milligram is no reason to buy
        return 0
    return None if pack is None else _whole(missing / pack)


def _cash(packs: int | None, pack: float | None) -> float | None:
    return 0.0 if packs == 0 else None if packs is None or pack is None else packs * pack


# -- parts -------------------------------------------------------------------------------------------------------------


def _parts(lines: Sequence[IngredientCost], costs: Costs, run: _Run) -> Iterator[Part]:
    for line in lines:
        yield Part("ingredients", line.ingredient, line.cost)
    yield from _lost(total([line.lost for line in lines]), costs, run)
    for name, price in costs.packaging.items():
        yield Part("packaging", name, price)
    for step in costs.steps:
        minutes = run.batches * step.batch / run.jars + step.jar
        yield Part("labour", step.name, minutes / 60 * costs.wage)
    yield Part("overhead", "", costs.overhead)
    for once in costs.one_offs:
        yield Part("paid once", once.name, once.borne / once.units)


def _lost(spent: float | None, costs: Costs, run: _Run) -> Iterator[Part]:
    """What ingredients that reach no jar have cost: lost on the way, and what comes out but fills no jar."""
    over = run.over / (run.over + costs.loss * run.weighed) if run.over > GRAIN else 0.0
    yield Part("process loss", LOST, None if spent is None else (1 - over) * spent)
    if over:
        yield Part("process loss", OVER, None if spent is None else over * spent)


def _group(parts: Sequence[Part], *groups: str) -> float:
    return math.fsum(part.cost or 0.0 for part in parts if part.group in groups)


# -- prices ------------------------------------------------------------------------------------------------------------


def _sales(full: float, costs: Costs, run: _Run, price: float | None) -> Iterator[Sale]:
    retail = full * costs.wholesale * costs.retail if price is None else price
    steps = {"wholesale": retail / costs.retail, "retail": retail}
    for channel in costs.channels:
        asked = channel.price if price is None and channel.price else steps[channel.step]
        yield _sale(channel, asked, full, costs, run)


def _sale(channel: Channel, price: float, full: float, costs: Costs, run: _Run) -> Sale:
    takings = price * (1 - channel.discount)
    fees = takings * channel.fee + channel.each
    margin = takings - fees - full
    batch_work = math.fsum(step.batch for step in costs.steps) / 60 * costs.wage
    each_batch = run.batches * batch_work / run.jars
    once = math.fsum(each.borne / each.units for each in costs.one_offs)
    once_all = math.fsum(each.borne for each in costs.one_offs)
    least = _pays_after(batch_work, margin + each_batch)
    most = None if costs.vessel is None else math.floor(costs.vessel * run.jars / run.weighed * (1 + GRAIN))
    return Sale(
        channel=channel.name,
        price=price,
        takings=takings,
        fees=fees,
        margin=margin,
        margin_share=margin / takings if takings else None,
        least_price=(full + channel.each) / ((1 - channel.fee) * (1 - channel.discount)),
        least_jars=None if least is None or (most is not None and least > most) else max(1, least),
        repaid_after=_pays_after(once_all, margin + once),
        month_jars=_pays_after(costs.month, margin + costs.overhead),
    )


def _pays_after(fixed: float, each: float) -> int | None:
    """How many units earn a fixed cost; None if they never do."""
    return _whole(fixed / each) if each > 0 else None


# -- what would change it ----------------------------------------------------------------------------------------------


def _sensitivity(lines: Sequence[IngredientCost], parts: Sequence[Part], full: float) -> Sequence[Sensitivity]:
    """Every price raised alone, the largest change first."""
    moved = {line.ingredient: (line.cost or 0.0) + (line.lost or 0.0) for line in lines}
    moved["wage"] = _group(parts, "labour")
    rises = [Sensitivity(name, full + RISE * part, RISE * part) for name, part in moved.items()]
    groups = {group: _group(parts, group) for group in ("packaging", "overhead")}
    rises += [Sensitivity(name, full + RISE * part, RISE * part, group=True) for name, part in groups.items()]
    return sorted(rises, key=lambda each: largest_first(each.change, each.what))
