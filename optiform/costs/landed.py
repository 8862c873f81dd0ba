"""What an ingredient costs where it is used: the price of its pack with the shipping."""

from collections.abc import Sequence

from optiform.costs.file import Costs
from optiform.costs.sheet import Landed
from optiform.ingredients.ingredient import Ingredient
from optiform.workshop.records import Offer


def landed_price(item: Ingredient, currency: str, costs: Costs, offers: Sequence[Offer]) -> Landed:
    """The landed price of an ingredient: of the newest offer, else of the own table; none where none is known."""
    own = [offer for offer in offers if offer.ingredient == item.name and offer.currency == currency]
    if own:
        best = min(own, key=lambda offer: (-offer.date.toordinal(), (offer.price + offer.shipping) / offer.pack))
        per_kg = (best.price + best.shipping) / best.pack
        return Landed(item.name, per_kg, best.pack, best.price, best.shipping, best.supplier, best.date)
    price, pack = item.price_in(currency), item.value("pack price")
    if price is None:
        return Landed(item.name, None)
    if pack is None or pack.unit != currency or price.figure == 0:
        if item.name in costs.shipping:  # the shipping of a pack of unknown size says nothing of a kg
            return Landed(item.name, None, unpacked=True)
        return Landed(item.name, price.figure * (1 + costs.shipping_share))
    shipping = costs.shipping.get(item.name, pack.figure * costs.shipping_share)
    kg = pack.figure / price.figure  # the own table weighs a pack by volume through its density
    return Landed(item.name, (pack.figure + shipping) / kg, kg, pack.figure, shipping)
