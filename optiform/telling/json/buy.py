"""Which packs to buy, as plain data; money with its unit."""

from collections.abc import Iterable

from optiform.costs.buy import Balance, Bought, Parcel, Purchases, Shelf, Unobtainable
from optiform.costs.plan import Plan
from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, certificate, quantity
from optiform.telling.json.records import record


def buy(of: Purchases | Unobtainable) -> Data:
    """The orders, what each ingredient needs and what is left; or what nobody offers."""
    money = of.plan.currency
    if isinstance(of, Unobtainable):
        return answered(
            "infeasible",
            plan=_plan(of.plan),
            missing=_balances(of.missing, money),
            shelf=_shelf(of.shelf),
            notes=list(of.notes),
        )
    return answered(
        "planned",
        plan=_plan(of.plan),
        orders=[_order(parcel, money) for parcel in of.parcels],
        balances=_balances(of.balances, money),
        shelf=_shelf(of.shelf),
        to_pay=quantity(of.money, money),
        on_the_shelf=quantity(of.tied, money),
        proof={
            "value": quantity(of.proof.value, money),
            "bound": quantity(of.proof.bound, money),
            "gap": of.proof.gap,
            "certificate": certificate(of.proof.certificate),
        },
        notes=list(of.notes),
    )


def day_of(plan: Plan, supplier: str) -> str | None:
    """The last day to order of a supplier; None where its days are not known."""
    day = plan.order_by(supplier)
    return None if day is None else day.isoformat()


def _plan(of: Plan) -> Data:
    return {
        "title": of.title,
        "date": of.date.isoformat(),
        "currency": of.currency,
        "leftover": quantity(100 * of.leftover, "%"),
        "products": [
            {
                "name": product.name,
                "brief": product.brief.title,
                "formula": product.formula.name,
                "jars": product.jars,
                "jar": quantity(1000 * product.jar, "g"),
                "loss": quantity(100 * product.loss, "%"),
                "weighed": quantity(product.weighed, "kg"),
            }
            for product in of.products
        ],
        "work": quantity(of.minutes, "min"),
        "suppliers": [
            {
                "supplier": name,
                "order_by": day_of(of, name),
                "postage": quantity(order.postage, of.currency),
                "free_from": quantity(order.free_from, of.currency),
            }
            for name, order in of.suppliers.items()
        ],
    }


def _order(of: Parcel, money: str) -> Data:
    return {
        "supplier": of.supplier,
        "packs": [_pack(bought, money) for bought in of.packs],
        "postage": quantity(of.postage, money),
        "free": of.free,
        "goods": quantity(of.goods, money),
        "cost": quantity(of.cost, money),
    }


def _pack(of: Bought, money: str) -> Data:
    return {
        "offer": record(of.offer),
        "count": of.count,
        "kg": of.kg,
        "goods": quantity(of.goods, money),
        "cost": quantity(of.cost, money),
    }


def _balances(of: Iterable[Balance], money: str) -> list[Data]:
    return [
        {
            "ingredient": row.ingredient,
            "uses": [{"product": use.product, "kg": use.kg} for use in row.uses],
            "need": row.need,
            "stock": row.stock,
            "lacking": row.lacking,
            "bought": row.bought,
            "over": row.over,
            "tied": quantity(row.tied, money),
            "spare": row.spare,
        }
        for row in of
    ]


def _shelf(of: Shelf) -> Data:
    return {
        "drawn": [
            {
                "lot": row.lot,
                "ingredient": row.ingredient,
                "expiry": row.expiry.isoformat() if row.expiry else None,
                "kg": row.kg,
                "stays": row.stays,
            }
            for row in of.drawn
        ],
        "aside": [
            {"lot": row.lot, "ingredient": row.ingredient, "kg": row.kg, "reason": row.reason} for row in of.aside
        ],
    }
