"""What the ingredients cost."""

from optiform.ingredients.ingredient import Value
from optiform.properties.base import Mix, Ratio, Terms
from optiform.reading.values import Bound


def cost(currency: str) -> Ratio:
    """Ingredient cost per kg of product: sum(price_i x_i), in `currency`/kg. Prices come from the maker's own file.

    A price in another currency counts as missing: nothing is converted.
    """
    unit = f"{currency}/kg"
    return Ratio("cost", unit, "whole", Bound(_priced, (unit,)))


def _priced(mix: Mix, unit: str) -> Terms:
    prices = [_in(item.value("price"), unit) for item in mix.ingredients]
    return Terms.known(prices, mix.mask(lambda item, phase: True))


def _in(price: Value | None, unit: str) -> Value | None:
    return price if price is not None and price.unit == unit else None
