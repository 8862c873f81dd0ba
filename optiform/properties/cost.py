"""What the ingredients cost."""

from optiform.properties.base import Mix, Ratio, Terms
from optiform.reading.values import Bound


def cost(currency: str) -> Ratio:
    """Ingredient cost per kg of product: sum(price_i x_i), in `currency`/kg. Prices come from the maker's own file.

    A price in another currency counts as missing: nothing is converted.

    Example:
        >>> from optiform.ingredients.formula import Formula, Line
        >>> from optiform.ingredients.ingredient import Evidence, Ingredient, Value
        >>> prices = {"oil": 4.0, "butter": 24.0}  # EUR/kg; three to one, by hand 0.75 x 4 + 0.25 x 24 = 9
        >>> known = {name: Value(None, price, None, "EUR/kg", "own", Evidence.OWN) for name, price in prices.items()}
        >>> items = [Ingredient(name, (name,), "oil phase", values={("price", None): known[name]}) for name in prices]
        >>> lines = tuple(Line(item, share, "oil phase") for item, share in zip(items, (0.75, 0.25), strict=True))
        >>> cost("EUR").of(Formula("three to one", lines))
        9.0

    Source: none: the figures are the maker's own.
    """
    unit = f"{currency}/kg"
    return Ratio("cost", unit, "whole", Bound(_priced, (currency,)))


def _priced(mix: Mix, currency: str) -> Terms:
    prices = [item.price_in(currency) for item in mix.ingredients]
    return Terms.known(prices, mix.mask(lambda item, phase: True))
