"""Formulas and packs chosen together, as plain data; money with its unit."""

from optiform.costs.buy import Parcel
from optiform.design.range import NoRange, RangeAnswer, RangeProduct
from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, demand, formula, quantity
from optiform.telling.json.options import moves


def range_design(of: RangeAnswer | NoRange) -> Data:
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
        orders=[_order(parcel, money) for parcel in of.purchases.parcels],
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


def _order(of: Parcel, money: str) -> Data:
    return {
        "supplier": of.supplier,
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
