"""Several products on one shelf: formulas and packs chosen together, so that all that is planned costs least to make.

Compared with it: the plan as it stands, every product by itself on the whole shelf, and one product after the other, on
what the one before leaves. The last is one of the choices that the program has, so it is never cheaper; where the
program is stopped early and has nothing better yet, it is the answer.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from optiform.costs.buy import Purchases, Unobtainable, buy
from optiform.costs.plan import Plan, Product
from optiform.design.answer import NoFormula
from optiform.design.cheaper import SHOWN, Move
from optiform.design.design import best
from optiform.design.joint import Candidate, Formulas, Joint
from optiform.design.missing_parts import wanting
from optiform.design.planned import SAME_MONEY, NoRange, RangeAnswer, RangeProduct, UsedUp
from optiform.design.shared import base_of, groups
from optiform.ingredients.formula import Formula
from optiform.program.certificate import NotCertified
from optiform.program.timed import Watch
from optiform.reading.faults import BadInput, Fault, Unsettled
from optiform.reading.frozen import frozen
from optiform.reading.order import largest_first
from optiform.reading.progress import Progress
from optiform.workshop.records import Lot, Offer
from optiform.workshop.supplies import OnShelf, usable

SECONDS = 60.0  # for each of the programs


def range_design(
    plan: Plan,
    offers: Sequence[Offer],
    lots: Sequence[OnShelf],
    seconds: float = SECONDS,
    progress: Progress | None = None,
    use_up: str = "",
    common_base: bool = False,
) -> RangeAnswer | NoRange:
    """The formulas of a plan and the packs to buy for them, for the least money; of these the least changed formulas.

    A product with a formula keeps what customers notice of it and moves no line by more than the plan says; one
    without follows its brief alone. Stopped by the keyboard it answers with what it has by then.

    Args:
        plan: what is made, when, and the suppliers' terms.
        offers: packs that can be bought.
        lots: what is on the shelf.
        seconds: for each program; then what is best by then is the answer.
        progress: called with the programs solved and how many there are.
        use_up: an ingredient, as the catalogue names it, of whose stock as much is to go in as can; money comes after
            that, and the answer is compared with the plan as it stands only. Jars that the plan leaves open are chosen.
        common_base: as many products as can share one base, and what that costs against formulas that are free. With
            `use_up` most of the stock goes in that such a base can take; jars stay as planned, since the base of each
            product is a part of the jars.

    Raises:
        BadInput: no product can have what is to be used up; the plan takes more goes than it allows; or a base is asked
            for and the dose of an own line is open.
        Unsettled: when it was stopped before there was any answer.
        NotCertified: when an answer does not stand up to recomputation.
    """
    asked, plan = plan, _with_its_jars(plan) if common_base else plan
    candidates = tuple(map(Candidate, plan.products))
    programs = 1 if use_up or common_base else 2 * len(candidates)
    work = _Work(plan, candidates, tuple(offers), tuple(lots), seconds, progress, programs, use_up)
    _check(work)
    if short := tuple(_short_of_parts(candidates)):
        return NoRange(plan, short)
    if common_base:
        return replace(_sharing(work), plan=asked)
    try:
        together: Formulas | None = work.joint(candidates, lots, 0)
    except Unsettled:
        together = Formulas((), (), -math.inf, finished=False, stopped=False)
    if together is None:
        return NoRange(plan, tuple(_without(candidates, lots, work)))
    alone, in_turn = ((None,) * len(candidates), None) if together.stopped or use_up else work.compared()
    today = _today(plan, offers, lots)
    choices = [
        _made(plan, together, offers, lots) if together.formulas else None,
        in_turn.made if in_turn else None,
        today if not use_up and all(candidate.stays_possible() for candidate in candidates) else None,
    ]
    purchases = _least(choices)
    if (
        together.formulas
        and together.finished
        and purchases.proof.value > together.bound + SAME_MONEY
        and not work.bends
    ):
        raise NotCertified(f"{purchases.proof.value:.6f} for the packs, the program's bound is {together.bound:.6f}")
    answer = _answer(work, purchases, together, alone, today)
    used_up = _used_up(use_up, purchases, plan, lots) if use_up else None
    return replace(answer, in_turn=in_turn.money if in_turn else None, used_up=used_up)


def _with_its_jars(plan: Plan) -> Plan:
    """The plan with no jars left open: how much base a product takes has to be a number."""
    return replace(plan, products=tuple(replace(product, fewest=None) for product in plan.products))


def _check(work: "_Work") -> None:
    """Refuse what no program needs to be solved for."""
    plan, use_up = work.plan, work.use_up
    faults = []
    if use_up and not any(item.name == use_up for x in work.candidates for item in x.brief.mix.ingredients):
        faults.append(Fault(plan.title, "use up", use_up, "an ingredient that a product of the plan can have"))
    least = replace(plan, products=tuple(replace(x, jars=x.fewest or x.jars) if use_up else x for x in plan.products))
    if plan.most_goes is not None and least.goes is not None and least.goes > plan.most_goes:
        expected = f"{least.goes}, which the jars take at {plan.vessel:g} kg at once; or fewer jars"
        faults.append(Fault(plan.title, "goes", str(plan.most_goes), expected))
    if faults:
        raise BadInput(faults)


def _answer(
    work: "_Work", purchases: Purchases, together: Formulas, alone: Sequence[float | None], today: Purchases | None
) -> RangeAnswer:
    return RangeAnswer(
        plan=work.plan,
        products=tuple(
            RangeProduct(
                product, tuple(_moves(candidate.today, product)), candidate.broken, money, new=candidate.today is None
            )
            for candidate, product, money in zip(work.candidates, purchases.plan.products, alone, strict=True)
        ),
        purchases=purchases,
        today=today.money if today else None,
        in_turn=None,
        bound=together.bound,
        finished=together.finished,
    )


def _sharing(work: "_Work") -> RangeAnswer | NoRange:
    """The products on one base, as many of them as can; all of them free where no two can.

    Raises:
        Unsettled: when it was stopped before it was known who can.
    """
    plan, lots = work.plan, work.lots
    free = work.joint(work.candidates, lots, 0)
    if free is None:
        return NoRange(plan, tuple(_without(work.candidates, lots, work)))
    made = _made(plan, free, work.offers, lots) if free.finished else None
    shared, together, tried = work.on_one_base()
    together = together or free
    purchases = _least([_made(plan, together, work.offers, lots)])
    answer = _answer(work, purchases, together, (None,) * len(work.candidates), _today(plan, work.offers, lots))
    formulas = [purchases.plan.products[place].formula for place in shared]
    sharers = [work.candidates[place].sharer for place in shared]
    common = base_of(formulas, sharers, made.money if made else None, tried)
    if not work.use_up:
        return replace(answer, common=common)
    used_up = _used_up(work.use_up, purchases, plan, lots)
    freely = _used_up(work.use_up, made, plan, lots).used if made else None
    return replace(answer, common=replace(common, free_used=freely), used_up=used_up)


def _used_up(name: str, purchases: Purchases, plan: Plan, lots: Sequence[OnShelf]) -> UsedUp:
    """How much of an ingredient's stock goes into each product, the products in turn."""
    balance = next((row for row in purchases.balances if row.ingredient == name), None)
    uses = tuple((use.product, use.kg) for use in balance.uses) if balance else ()
    return UsedUp(name, usable(lots, plan.date).get(name, 0.0), balance.stock if balance else 0.0, uses)


@frozen
class _InTurn:
    """One product after the other: what it costs, and what all of it costs bought at once."""

    money: float
    made: Purchases


@frozen
class _Work:
    """The programs of one answer."""

    plan: Plan
    candidates: tuple[Candidate, ...]
    offers: tuple[Offer, ...]
    lots: tuple[OnShelf, ...]
    seconds: float
    progress: Progress | None
    programs: int
    use_up: str = ""

    @property
    def bends(self) -> bool:
        """Whether something asked bends, so that the bound need not be reached."""
        return any(demand.bends for candidate in self.candidates for demand in candidate.needed.demands)

    def joint(
        self, candidates: Sequence[Candidate], lots: Sequence[OnShelf], done: int, shared: tuple[int, ...] = ()
    ) -> Formulas | None:
        """The best formulas of some products on a shelf, those at the places `shared` on one base."""
        watch: Watch | None = None
        if (progress := self.progress) is not None:
            progress(done, self.programs)
            watch = _watch(progress, done, self.programs)
        joint = Joint(self.plan, tuple(candidates), self.offers, tuple(lots), self.use_up, shared)
        return joint.best(self.seconds, watch)

    def on_one_base(self) -> tuple[tuple[int, ...], Formulas | None, int]:
        """The most products that can share a base, and how many groups cannot.

        Of several such groups the one that takes most of what is to be used up, and of these the cheapest.
        """
        tried = 0
        for of_one_size in groups(len(self.candidates)):
            ways = [(group, self.joint(self._on_base(group), self.lots, 0, group)) for group in of_one_size]
            there = [(group, formulas) for group, formulas in ways if formulas is not None]
            tried += len(ways) - len(there)
            if there:
                return *min(there, key=lambda way: _value(self, way[1])), tried
        return (), None, tried

    def _on_base(self, group: tuple[int, ...]) -> list[Candidate]:
        """The products, those of a group as they are on the base of its first."""
        first = self.candidates[group[0]].sharer.base
        return [
            replace(candidate, of_base=candidate.sharer.base / first) if place in group else candidate
            for place, candidate in enumerate(self.candidates)
        ]

    def compared(self) -> tuple[tuple[float | None, ...], _InTurn | None]:
        """Each product by itself, and one after the other; None for what the keyboard stops."""
        alone: list[Purchases | None] = [None] * len(self.candidates)
        in_turn = None
        try:
            for place, candidate in enumerate(self.candidates):
                alone[place] = self._one(candidate, self.lots, 1 + place)
            in_turn = self._in_turn(alone[0])
        except KeyboardInterrupt:
            pass  # what is there by now is told
        return tuple(made.money if made else None for made in alone), in_turn

    def _one(self, candidate: Candidate, lots: Sequence[OnShelf], done: int) -> Purchases | None:
        """What to buy for one product alone on a shelf; None where that is not known to be the least."""
        try:
            formulas = self.joint([candidate], lots, done)
        except Unsettled:
            return None
        if formulas is not None and formulas.stopped:
            raise KeyboardInterrupt
        if formulas is None or not formulas.finished:
            return None
        plan = replace(self.plan, products=(candidate.product,))
        return _bought(plan, formulas.formulas, self.offers, lots)

    def _in_turn(self, first: Purchases | None) -> _InTurn | None:
        """One product after the other, each on what the ones before leave; the first as it is by itself."""
        lots, money, formulas = self.lots, 0.0, []
        for place, candidate in enumerate(self.candidates):
            made = self._one(candidate, lots, len(self.candidates) + place) if place else first
            if made is None:
                return None
            money += made.money
            formulas.append(made.plan.products[0].formula)
            lots = tuple(_left(lots, made, place))
        whole = _bought(self.plan, formulas, self.offers, self.lots)
        return None if whole is None else _InTurn(money, whole)


def _value(work: _Work, formulas: Formulas) -> tuple[float, float]:
    """What stays of the stock to use up, to the gram, and the money: the less the better."""
    made = _made(work.plan, formulas, work.offers, work.lots)
    if made is None:
        return math.inf, math.inf
    used = _used_up(work.use_up, made, work.plan, work.lots)
    return round(used.there - used.used, 3), made.proof.value


def _made(plan: Plan, formulas: Formulas, offers: Sequence[Offer], lots: Sequence[OnShelf]) -> Purchases | None:
    """What to buy for formulas and the jars chosen with them."""
    products = [replace(product, jars=jars) for product, jars in zip(plan.products, formulas.jars, strict=True)]
    return _bought(replace(plan, products=tuple(products)), formulas.formulas, offers, lots)


def _watch(progress: Progress, done: int, programs: int) -> Watch:
    """Progress again while a program is being solved: what it raises stops the work."""
    return lambda: progress(done, programs)


def _bought(
    plan: Plan, formulas: Sequence[Formula], offers: Sequence[Offer], lots: Sequence[OnShelf]
) -> Purchases | None:
    products = [replace(product, formula=formula) for product, formula in zip(plan.products, formulas, strict=True)]
    purchases = buy(replace(plan, products=tuple(products)), offers, lots)
    return purchases if isinstance(purchases, Purchases) else None


def _today(plan: Plan, offers: Sequence[Offer], lots: Sequence[OnShelf]) -> Purchases | None:
    if not all(product.formula.lines for product in plan.products):
        return None
    purchases = buy(plan, offers, lots)
    return None if isinstance(purchases, Unobtainable) else purchases


def _least(choices: Sequence[Purchases | None]) -> Purchases:
    """The one of least value, the first of several."""
    there = [purchases for purchases in choices if purchases is not None]
    if not there:
        raise Unsettled("it was stopped before there was any answer; give it more time")
    return min(there, key=lambda purchases: round(purchases.proof.value, 6))


def _left(lots: Sequence[OnShelf], made: Purchases, place: int) -> Iterator[OnShelf]:
    """The shelf once a product is made: what stays in its lots, and what is left of the packs bought for it."""
    stays = {drawn.lot: drawn.stays for drawn in made.shelf.drawn}
    for shelf in lots:
        yield replace(shelf, left=stays.get(shelf.lot.number, shelf.left))
    for balance in made.balances:
        if balance.over > 0:
            yield OnShelf(
                Lot(number=f"bought {place} {balance.ingredient}", ingredient=balance.ingredient), balance.over
            )


def _moves(today: Formula | None, product: Product) -> Iterator[Move]:
    """Lines that differ, the largest change first."""
    if today is None:
        return
    lines = [line.ingredient.name for formula in (today, product.formula) for line in formula.lines]
    pairs = [(name, today.fraction(name), product.formula.fraction(name)) for name in dict.fromkeys(lines)]
    changed = [(name, was, now) for name, was, now in pairs if abs(now - was) > SHOWN]
    for name, was, now in sorted(changed, key=lambda change: largest_first(abs(change[2] - change[1]), change[0])):
        yield Move(name, 100 * was, 100 * now)


def _short_of_parts(candidates: Sequence[Candidate]) -> Iterator[tuple[str, NoFormula]]:
    """Each product whose brief is short of a part of its kind, and why; a formula of the plan's is the maker's word."""
    for candidate in candidates:
        if candidate.today is None and (parts := wanting(candidate.product.brief)):
            yield candidate.product.name, NoFormula(candidate.product.brief, (), (), None, lacking=parts)


def _without(
    candidates: Sequence[Candidate], lots: Sequence[OnShelf], work: _Work
) -> Iterator[tuple[str, NoFormula | None]]:
    """Each product that cannot be made by itself, and why; all of them where only together they cannot."""
    alone = [candidate for candidate in candidates if work.joint([candidate], lots, 0) is None]
    for candidate in alone or candidates:
        answer = best(candidate.brief)
        yield candidate.product.name, answer if isinstance(answer, NoFormula) else None
