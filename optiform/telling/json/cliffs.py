"""What the last jars of a plan cost, as plain data; money with its unit."""

from collections.abc import Iterable

from optiform.costs.buy import Bought
from optiform.costs.cliffs import Cliffs
from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, quantity


def cliffs(of: Cliffs) -> Data:
    """The most jars first; `gone` and `come` are packs against the step before."""
    names = [product.name for product in of.plan.products]
    return answered(
        "planned" if of.whole else "stopped",
        title=of.plan.title,
        date=of.plan.date.isoformat(),
        steps=[
            {
                "jars": step.total,
                "of_each": [{"product": name, "jars": jars} for name, jars in zip(names, step.jars, strict=True)],
                "to_pay": quantity(step.money, of.plan.currency),
                "packs": _packs(step.packs),
                "gone": _packs(step.gone),
                "come": _packs(step.come),
            }
            for step in of.steps
        ],
        notes=list(of.notes),
    )


def _packs(packs: Iterable[Bought]) -> list[Data]:
    return [
        {
            "ingredient": pack.offer.ingredient,
            "supplier": pack.offer.supplier,
            "pack": quantity(pack.offer.pack, "kg"),
            "count": pack.count,
        }
        for pack in packs
    ]
