"""What to buy so that several products can be made on a day: stock first, what expires first before the rest, then
whole packs at the least money. Formulas are as given.
"""

import datetime
import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from optiform.costs.plan import Order, Plan
from optiform.program.certificate import Certificate
from optiform.program.purchase import Chosen, Pack, Postage, Shopping, choose
from optiform.program.solver import SolverName
from optiform.reading.answer import Answer
from optiform.reading.frozen import frozen
from optiform.workshop.records import Offer
from optiform.workshop.stock import Unusable, first_expired, unusable, used_up
from optiform.workshop.supplies import OnShelf

MG_PLACES = 6  # kg; masses are told and bought to the milligram


@frozen
class Use:
    """What a product needs of an ingredient, kg, loss included."""

    product: str
    kg: float


@frozen
class Drawn:
    """What is taken of a lot and what stays in it, kg."""

    lot: str
    ingredient: str
    expiry: datetime.date | None
    kg: float
    stays: float


@frozen
class SetAside:
    """A lot of a needed ingredient that is not used, and why."""

    lot: str
    ingredient: str
    kg: float
    why: Unusable


@frozen
class Bought:
    """So many packs of one offer. `cost` is of all of them with the shipping each bears."""

    offer: Offer
    count: int

    @property
    def kg(self) -> float:
        """What they hold."""
        return self.count * self.offer.pack

    @property
    def goods(self) -> float:
        """Their price."""
        return self.count * self.offer.price

    @property
    def cost(self) -> float:
        """Their price and the shipping each pack bears."""
        return self.count * (self.offer.price + self.offer.shipping)


@frozen
class Parcel:
    """An order of one supplier: its packs, its postage and what it costs in all."""

    supplier: str
    packs: tuple[Bought, ...]
    postage: float
    free: bool

    @property
    def goods(self) -> float:
        """The value of the goods."""
        return math.fsum(each.goods for each in self.packs)

    @property
    def cost(self) -> float:
        """Packs, their shipping and the postage."""
        return math.fsum([*(each.cost for each in self.packs), self.postage])


@frozen
class Balance:
    """One ingredient from need to what is left, kg.

    Attributes:
        uses: what each product needs.
        stock: taken of the lots that may be used; `bought`: in the packs.
        over: left of the packs; `tied`: its money at the mean price paid, shipping of the packs included.
        spare: packs that are bought only to reach a free order.
    """

    ingredient: str
    uses: tuple[Use, ...]
    need: float
    stock: float
    lacking: float
    bought: float = 0.0
    over: float = 0.0
    tied: float = 0.0
    spare: int = 0


@frozen
class Proof:
    """No choice of packs is better than `bound`; `value` is money less what the leftovers count for."""

    value: float
    bound: float
    gap: float
    certificate: Certificate


@frozen
class Shelf:
    """What the stock gives: what is taken and stays of each lot, and what may not be used."""

    drawn: tuple[Drawn, ...]
    aside: tuple[SetAside, ...]


@frozen
class Terms:
    """What offers and suppliers' terms do not say of each other.

    Attributes:
        foreign: offers in another currency than the plan's, left out: ingredient and supplier.
        unposted: suppliers for whom neither terms nor a pack's shipping are stated; they count as sending free.
        unoffered: suppliers with terms and no offer.
    """

    foreign: tuple[tuple[str, str], ...] = ()
    unposted: tuple[str, ...] = ()
    unoffered: tuple[str, ...] = ()


@frozen
class Needs:
    """What every ingredient needs and lacks, the offers in the plan's currency, and what these do not say."""

    balances: tuple[Balance, ...]
    offers: tuple[Offer, ...]
    shelf: Shelf
    terms: Terms


@frozen
class Purchases(Answer):
    """What to buy. `money` is all that is paid for it, `tied` what of that stands on the shelf afterwards."""

    plan: Plan
    parcels: tuple[Parcel, ...]
    balances: tuple[Balance, ...]
    shelf: Shelf
    money: float
    tied: float
    proof: Proof
    terms: Terms = Terms()


@frozen
class Unobtainable(Answer):
    """Ingredients that are neither in stock, all of them, nor on offer."""

    plan: Plan
    missing: tuple[Balance, ...]
    shelf: Shelf
    terms: Terms = Terms()


def buy(
    plan: Plan, offers: Sequence[Offer], lots: Sequence[OnShelf], solver: SolverName = "highs"
) -> Purchases | Unobtainable:
    """The packs that make every product of a plan possible at the least money.

    Args:
        plan: what is made, when, and the suppliers' terms.
        offers: packs that can be bought; those in another currency are left out, by name.
        lots: what is on the shelf. A lot that expires before the day of making, or comes in after it, is not used.
        solver: HiGHS, or CBC as the second opinion.

    Raises:
        SolverFailed: when the solver stops without a verdict.
        NotCertified: when its answer does not stand up to recomputation.
    """
    needs = needs_of(plan, offers, lots)
    balances, usable, shelf, terms = needs.balances, needs.offers, needs.shelf, needs.terms
    on_offer = {offer.ingredient for offer in usable}
    missing = tuple(each for each in balances if each.lacking > 0 and each.ingredient not in on_offer)
    if missing:
        return Unobtainable(plan, missing, shelf, terms)
    shopping = shopping_of(plan, balances, usable)
    chosen = choose(shopping, solver)
    assert chosen is not None  # every lacking ingredient is on offer, in any number
    return _purchases(plan, balances, usable, shelf, chosen, terms)


def needs_of(plan: Plan, offers: Sequence[Offer], lots: Sequence[OnShelf]) -> Needs:
    """What a plan needs and lacks, and the offers and lots that count for it."""
    uses = _uses(plan)
    shelf = _draw(plan, {name: _tidy(math.fsum(use.kg for use in own)) for name, own in uses.items()}, lots)
    wanted = [offer for offer in offers if offer.ingredient in uses]
    usable = tuple(offer for offer in wanted if offer.currency == plan.currency)
    balances = tuple(_balance(name, own, shelf) for name, own in uses.items())
    return Needs(balances, usable, shelf, _terms(plan, wanted))


def _tidy(kg: float) -> float:
    return round(kg, MG_PLACES) + 0.0


# -- need and stock ----------------------------------------------------------------------------------------------------


def _uses(plan: Plan) -> dict[str, tuple[Use, ...]]:
    """What every product needs of each ingredient."""
    by_name: dict[str, list[Use]] = defaultdict(list)
    for product in plan.products:
        names = dict.fromkeys(line.ingredient.name for line in product.formula.lines)
        for name in names:
            by_name[name].append(Use(product.name, product.formula.fraction(name) * product.weighed))
    return {name: tuple(uses) for name, uses in by_name.items()}


def _draw(plan: Plan, need: Mapping[str, float], lots: Sequence[OnShelf]) -> Shelf:
    """What is taken of each lot, and the lots that may not be used."""
    held = [shelf for shelf in lots if shelf.lot.ingredient in need and shelf.left > 0]
    reasons = {shelf.lot.number: unusable(shelf.lot, plan.date) for shelf in held}
    drawn: list[Drawn] = []
    for name, kg in need.items():
        drawn += _taken([s for s in held if s.lot.ingredient == name and not reasons[s.lot.number]], kg, plan.date)
    aside = [SetAside(s.lot.number, s.lot.ingredient, s.left, why) for s in held if (why := reasons[s.lot.number])]
    return Shelf(tuple(drawn), tuple(aside))


def _taken(lots: Sequence[OnShelf], need: float, day: datetime.date) -> Iterator[Drawn]:
    """Every lot of one ingredient in the order they are used up, and what is taken of it."""
    taken = {lot.number: kg for lot, kg in used_up([(shelf.lot, shelf.left) for shelf in lots], need, day)}
    for shelf in sorted(lots, key=lambda each: first_expired(each.lot)):
        kg = taken.get(shelf.lot.number, 0.0)
        yield Drawn(shelf.lot.number, shelf.lot.ingredient, shelf.lot.expiry, _tidy(kg), _tidy(shelf.left - kg))


def _balance(name: str, uses: tuple[Use, ...], shelf: Shelf) -> Balance:
    need = _tidy(math.fsum(use.kg for use in uses))
    stock = _tidy(math.fsum(each.kg for each in shelf.drawn if each.ingredient == name))
    return Balance(name, uses, need, stock, max(0.0, _tidy(need - stock)))


# -- the program -------------------------------------------------------------------------------------------------------


def shopping_of(plan: Plan, balances: Sequence[Balance], offers: Sequence[Offer]) -> Shopping:
    """The numbers of the program. What is left over counts a share of the lowest price per kg on offer."""
    place = {each.ingredient: i for i, each in enumerate(balances)}
    suppliers = list(dict.fromkeys(offer.supplier for offer in offers))
    lowest = {
        name: min((offer.price / offer.pack for offer in offers if offer.ingredient == name), default=0.0)
        for name in place
    }
    terms = [plan.suppliers.get(name, Order()) for name in suppliers]
    return Shopping(
        lacking=tuple(each.lacking for each in balances),
        packs=tuple(
            Pack(place[o.ingredient], suppliers.index(o.supplier), o.pack, o.price, o.shipping) for o in offers
        ),
        suppliers=tuple(Postage(order.postage, order.free_from) for order in terms),
        worth=tuple(plan.leftover * lowest[name] for name in place),
    )


# -- what is told ------------------------------------------------------------------------------------------------------


def _purchases(
    plan: Plan,
    balances: Sequence[Balance],
    offers: Sequence[Offer],
    shelf: Shelf,
    chosen: Chosen,
    terms: Terms,
) -> Purchases:
    bought = [Bought(offer, count) for offer, count in zip(offers, chosen.counts, strict=True) if count]
    filled = tuple(_filled(each, [b for b in bought if b.offer.ingredient == each.ingredient]) for each in balances)
    return Purchases(
        plan=plan,
        parcels=tuple(_parcels(plan, bought)),
        balances=filled,
        shelf=shelf,
        money=chosen.money,
        tied=math.fsum(each.tied for each in filled),
        proof=Proof(chosen.value, chosen.bound, chosen.gap, chosen.certificate),
        terms=terms,
    )


def _filled(balance: Balance, bought: Sequence[Bought]) -> Balance:
    kg = _tidy(math.fsum(each.kg for each in bought))
    over = max(0.0, _tidy(kg - balance.lacking))
    cost = math.fsum(each.cost for each in bought)
    tied = over * cost / kg if kg else 0.0
    return Balance(
        balance.ingredient, balance.uses, balance.need, balance.stock, balance.lacking, kg, over, tied,
        _spare(over, bought),
    )  # fmt: skip


def _spare(over: float, bought: Sequence[Bought]) -> int:
    """How many packs could stay away and nothing would be lacking, the smallest first."""
    count = 0
    for pack in sorted(each.offer.pack for each in bought for _ in range(each.count)):
        over = _tidy(over - pack)
        if over < 0:
            break
        count += 1
    return count


def _parcels(plan: Plan, bought: Sequence[Bought]) -> Iterator[Parcel]:
    for supplier in dict.fromkeys(each.offer.supplier for each in bought):
        packs = tuple(each for each in bought if each.offer.supplier == supplier)
        order = plan.suppliers.get(supplier, Order())
        goods = math.fsum(each.goods for each in packs)
        postage = Postage(order.postage, order.free_from).of(goods)
        yield Parcel(supplier, packs, postage, free=order.postage > 0 and postage == 0)


def _terms(plan: Plan, offers: Sequence[Offer]) -> Terms:
    foreign = dict.fromkeys((x.ingredient, x.supplier) for x in offers if x.currency != plan.currency)
    silent = dict.fromkeys(offer.supplier for offer in offers if offer.supplier not in plan.suppliers)
    bare = (name for name in silent if all(o.shipping == 0 for o in offers if o.supplier == name))
    known = {offer.supplier for offer in offers}
    return Terms(tuple(foreign), tuple(bare), tuple(name for name in plan.suppliers if name not in known))
