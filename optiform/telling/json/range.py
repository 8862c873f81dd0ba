"""Formulas and packs chosen together, as plain data; money with its unit."""

from collections.abc import Sequence

from optiform.costs.buy import Parcel
from optiform.costs.file import OneOff
from optiform.costs.plan import Plan
from optiform.design.planned import NoRange, RangeAnswer, RangeProduct, UsedUp
from optiform.design.shared import CommonBase
from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, demand, formula, quantity
from optiform.telling.json.buy import day_of
from optiform.telling.json.options import moves


def range_design(of: RangeAnswer | NoRange, once: Sequence[OneOff] = ()) -> Data:
    """The products with their formulas, and the orders; or the products that cannot be made."""
    if isinstance(of, NoRange):
        return answered(
            "infeasible",
            title=of.plan.title,
            date=of.plan.date.isoformat(),
            products=[
                {"product": name, "contradicting": [demand(x) for x in why.conflict] if why else []}
                for name, why in of.products
            ],
        )
    money = of.plan.currency
    return answered(
        "planned" if of.finished else "stopped",
        title=of.plan.title,
        date=of.plan.date.isoformat(),
        products=[_product(product, money) for product in of.products],
        to_pay=quantity(of.money, money),
        as_planned=quantity(of.today, money),
        in_turn=quantity(of.in_turn, money),
        at_most_less=quantity(of.gap, money),
        used_up=_used_up(of.used_up) if of.used_up else None,
        goes=of.purchases.plan.goes,
        common_base=_base(of.common, once, money) if of.common else None,
        work=quantity(of.purchases.plan.minutes, "min"),
        orders=[_order(parcel, of.plan) for parcel in of.purchases.parcels],
        notes=list(of.purchases.notes),
    )


def _product(of: RangeProduct, money: str) -> Data:
    product = of.product
    return {
        "product": product.name,
        "jars": product.jars,
        "weighed": quantity(product.weighed, "kg"),
        "formula": formula(product.formula),
        "changes": moves(of.moves),
        "not_asked": [demand(limit) for limit in of.kept_as_is],
        "alone": quantity(of.alone, money),
    }


def _used_up(of: UsedUp) -> Data:
    return {
        "ingredient": of.ingredient,
        "there": quantity(of.there, "kg"),
        "used": quantity(of.used, "kg"),
        "products": [{"product": name, "takes": quantity(kg, "kg")} for name, kg in of.products],
    }


def _base(of: CommonBase, once: Sequence[OneOff], money: str) -> Data:
    fewer = max(0, len(of.products) - 1)
    return {
        "base": formula(of.base),
        "products": [
            {"product": name, "base": quantity(100 * share, "%"), "own": [
                {"ingredient": line.ingredient.name, "percent": 100 * line.fraction} for line in own
            ]}
            for name, share, own in zip(of.products, of.shares, of.own, strict=True)
        ],
        "free": quantity(of.free, money),
        "paid_once_less": quantity(fewer * sum(one.cost for one in once), money) if once else None,
    }  # fmt: skip


def _order(of: Parcel, plan: Plan) -> Data:
    money = plan.currency
    return {
        "supplier": of.supplier,
        "order_by": day_of(plan, of.supplier),
        "packs": [
            {
                "ingredient": bought.offer.ingredient,
                "pack": quantity(bought.offer.pack, "kg"),
                "count": bought.count,
                "cost": quantity(bought.cost, money),
            }
            for bought in of.packs
        ],
        "postage": quantity(of.postage, money),
        "cost": quantity(of.cost, money),
    }
