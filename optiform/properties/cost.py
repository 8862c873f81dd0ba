"""What the ingredients cost."""

from optiform.properties.base import Mix, Property, Terms, Vector


def cost(currency: str) -> Property:
    """Ingredient cost per kg of product: sum(price_i x_i), in `currency`/kg. Prices come from the maker's own file.

    A price in another currency counts as missing: nothing is converted.
    """
    unit = f"{currency}/kg"

    def terms(mix: Mix, _: Vector) -> Terms:
        prices = [item.price_in(currency) for item in mix.ingredients]
        return Terms.known(prices, mix.mask(lambda item, phase: True))

    return Property("cost", unit, "whole", terms)
