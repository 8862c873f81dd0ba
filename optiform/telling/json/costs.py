"""What a jar costs, as plain data; money with its unit."""

from decimal import Decimal

from optiform.costs.sheet import CostSheet, Hit, IngredientCost, Reach, Sale
from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, figure, formula, quantity


def costs(sheet: CostSheet) -> Data:
    """The cost of one jar, part by part, and what it sells for."""
    money = sheet.brief.currency

    def paid(value: float | Decimal | None) -> Data:
        return quantity(value, money)

    return answered(
        "costed",
        title=sheet.brief.title,
        formula=formula(sheet.formula),
        jars=sheet.jars,
        jar=quantity(1000 * sheet.jar, "g"),
        weighed=quantity(sheet.weighed, "kg"),
        batches=sheet.batches,
        loss=quantity(100 * sheet.costs.loss, "%"),
        lines=[_line(line, money) for line in sheet.lines],
        parts=[
            {
                "group": part.group,
                "name": part.name,
                "cost": paid(part.cost),
                "share": None if part.share is None else quantity(100 * part.share, "%"),
            }
            for part in sheet.parts
        ],
        groups=[{"group": group, "cost": paid(cost)} for group, cost in sheet.groups],
        full=paid(sheet.full),
        known=paid(sheet.known),
        lacking=list(sheet.lacking),
        cash=paid(sheet.cash),
        wholesale=paid(sheet.wholesale),
        retail=paid(sheet.retail),
        price=None if sheet.price is None else paid(sheet.price),
        price_steps={"wholesale": sheet.costs.wholesale, "retail": sheet.costs.retail},
        sales=[_sale(sale, money) for sale in sheet.sales],
        sensitivity=[
            {"what": row.what, "cost": paid(row.cost), "change": paid(row.change)} for row in sheet.sensitivity
        ],
        by_jars=[{"jars": point.jars, "batches": point.batches, "cost": paid(point.cost)} for point in sheet.curve],
        reach=_reach(sheet.reach, money) if sheet.reach else None,
        hit=_hit(sheet.hit, money) if sheet.hit else None,
        notes=list(sheet.notes),
    )


def _line(of: IngredientCost, money: str) -> Data:
    landed = of.landed
    return {
        "ingredient": of.ingredient,
        "percent": of.percent,
        "grams": of.grams,
        "landed": {
            "per_kg": quantity(landed.per_kg, f"{money}/kg"),
            "pack": quantity(landed.pack, "kg"),
            "price": quantity(landed.price, money),
            "shipping": quantity(landed.shipping, money),
            "supplier": landed.supplier,
            "date": landed.date.isoformat() if landed.date else None,
        },
        "cost": quantity(of.cost, money),
        "lost": quantity(of.lost, money),
        "need": of.need,
        "stock": of.stock,
        "packs": of.packs,
        "cash": quantity(of.cash, money),
    }


def _sale(of: Sale, money: str) -> Data:
    return {
        "channel": of.channel,
        "price": quantity(of.price, money),
        "takings": quantity(of.takings, money),
        "fees": quantity(of.fees, money),
        "margin": quantity(of.margin, money),
        "margin_share": None if of.margin_share is None else quantity(100 * of.margin_share, "%"),
        "least_price": quantity(of.least_price, money),
        "least_jars": of.least_jars,
        "repaid_after": of.repaid_after,
        "month_jars": of.month_jars,
    }


def _reach(of: Reach, money: str) -> Data:
    return {
        "share": quantity(100 * of.share, "%"),
        "formula": formula(of.formula) if of.formula else None,
        "cost": quantity(figure(of.cost), money),
        "saving": quantity(figure(of.saving), money),
        "reason": of.reason,
    }


def _hit(of: Hit, money: str) -> Data:
    return {
        "target": quantity(of.target, money),
        "fixed": quantity(of.fixed, money),
        "ingredients": quantity(of.ingredients, money),
        "allowed": quantity(of.allowed, money),
        "least": quantity(figure(of.least), money),
        "formula": formula(of.formula) if of.formula else None,
        "cost": quantity(figure(of.cost), money),
        "points_moved": of.moved,
        "reason": of.reason,
    }
