"""Making a formula: its batch, what it costs, what to buy for it."""

from collections.abc import Sequence
from pathlib import Path

from optiform.batch.batch import BatchSheet, batch_sheet
from optiform.batch.file import read_making
from optiform.batch.making import Making
from optiform.brief.limits import Amount
from optiform.costs import buy as buy_job
from optiform.costs import cliffs as cliffs_job
from optiform.costs.buy import Purchases, Unobtainable
from optiform.costs.cliffs import Cliffs
from optiform.costs.file import Costs, read_costs
from optiform.costs.jar import cost_sheet
from optiform.costs.plan import Plan, read_plan
from optiform.costs.sheet import CostSheet
from optiform.design import range as range_job
from optiform.design.planned import NoRange, RangeAnswer
from optiform.face.arguments import WHERE, OfBrief, OfFormula, Place, a_formula, a_path, counted, maybe, needed_brief
from optiform.face.errors import Impossible
from optiform.ingredients.catalogue import Catalogue
from optiform.reading.faults import BadInput, Fault
from optiform.workshop.records import Offer
from optiform.workshop.supplies import OnShelf, read_lots, read_offers


def costs(
    formula: OfFormula,
    costs: Costs | Place,
    brief: OfBrief | None = None,
    *,
    offers: Place | Sequence[Offer] = (),
    jars: int | None = None,
    batch: Amount | None = None,
    price: Amount | None = None,
) -> CostSheet:
    """The full cost of a jar of a formula.

    Args:
        formula: a formula, an answer that has one, or the path of one.
        costs: the costs, or the path of them (costs.toml).
        brief: a brief or the path of one; without it the answer's own.
        offers: packs on offer, or the path of a table of them.
        jars: how many are made.
        batch: how much is made at once: text, or a number in kg.
        price: of a jar: text, or a number in the brief's currency.

    Raises:
        BadInput: no brief, or every fault of the files.

    Example:
        >>> import optiform as of
        >>> from optiform.reading.paths import DEMO
        >>> f"{of.costs(of.demo().reference, DEMO / 'costs.toml', of.demo(), jars=24).full:.2f} EUR"
        '4.67 EUR'
    """
    against = needed_brief(brief, formula)
    made = a_formula(formula, against.catalogue)
    if not isinstance(costs, Costs):
        costs = read_costs(a_path(costs, "file of costs"), against.catalogue, against.currency)
    packs = _offers(offers, [against.catalogue])
    asked = maybe(batch, "batch", "kg"), maybe(price, "price", against.currency)
    return cost_sheet(against, made, costs, packs, counted(jars, "jars"), *asked)


def batch(
    formula: OfFormula,
    brief: OfBrief | None = None,
    *,
    making: Making | Place | None = None,
    grams: Amount | None = None,
    jars: int | None = None,
) -> BatchSheet:
    """The sheet to make a batch of a formula by.

    Args:
        formula: a formula, an answer that has one, or the path of one.
        brief: a brief or the path of one; without it the answer's own.
        making: how it is made, or the path of that (making.toml).
        grams: how much comes out: text, or a number in g.
        jars: or how many jars.

    Raises:
        BadInput: no brief, or every fault of the files.

    Example:
        >>> import optiform as of
        >>> of.batch(of.demo().reference, of.demo(), grams="2 kg").table()["grams"].sum().item()
        2000
    """
    against = needed_brief(brief, formula)
    made = a_formula(formula, against.catalogue)
    if making is not None and not isinstance(making, Making):
        making = read_making(a_path(making, "file on making"), against.catalogue, made, against.jar)
    return batch_sheet(made, against, making, maybe(grams, "grams", "g"), counted(jars, "jars"))


def buy(
    plan: Plan | Place,
    offers: Place | Sequence[Offer] | None = None,
    lots: Place | Sequence[OnShelf] | None = None,
) -> Purchases:
    """The packs that make every product of a plan possible at the least money.

    Args:
        plan: a plan, or the path of one.
        offers: packs on offer, or the path of a table of them; without it the file the plan names.
        lots: lots in stock, likewise.

    Raises:
        BadInput: no offers or lots, or every fault of the files.
        Impossible: something is not to be had.
    """
    answer = buy_job.buy(*_planned(plan, offers, lots))
    if isinstance(answer, Unobtainable):
        raise Impossible(answer)
    return answer


def cliffs(
    plan: Plan | Place,
    offers: Place | Sequence[Offer] | None = None,
    lots: Place | Sequence[OnShelf] | None = None,
) -> Cliffs:
    """What the last jars of a plan cost: every number of jars at which the money to pay falls.

    Args:
        plan: a plan, or the path of one; its jars are the most of each product.
        offers: packs on offer, as in `buy`.
        lots: lots in stock, likewise.

    Raises:
        BadInput: no offers or lots, or every fault of the files.
    """
    return cliffs_job.cliffs(*_planned(plan, offers, lots))


def range_design(
    plan: Plan | Place,
    offers: Place | Sequence[Offer] | None = None,
    lots: Place | Sequence[OnShelf] | None = None,
    *,
    seconds: float = range_job.SECONDS,
    use_up: str = "",
    common_base: bool = False,
) -> RangeAnswer:
    """Formulas and packs for several products on one shelf, chosen together for the least money.

    Args:
        plan: a plan, or the path of one; products of the path need no formula.
        offers: packs on offer, as in `buy`.
        lots: lots in stock, likewise.
        seconds: for each program; then what is best by then is the answer.
        use_up: an ingredient of whose stock as much is to go in as can; money comes after that.
        common_base: one base for as many products as can share it, and what that costs.

    Raises:
        BadInput: no offers or lots, or every fault of the files.
        Impossible: a product has no formula that can be made.
        Unsettled: the time was too short for any answer.
    """
    made = plan if isinstance(plan, Plan) else read_plan(a_path(plan, "plan"), formulas=False)
    answer = range_job.range_design(*_planned(made, offers, lots), seconds, use_up=use_up, common_base=common_base)
    if isinstance(answer, NoRange):
        raise Impossible(answer)
    return answer


def _planned(
    plan: Plan | Place, offers: Place | Sequence[Offer] | None, lots: Place | Sequence[OnShelf] | None
) -> tuple[Plan, tuple[Offer, ...], tuple[OnShelf, ...]]:
    """The plan with the offers and lots beside it, unless others are given."""
    made = plan if isinstance(plan, Plan) else read_plan(a_path(plan, "plan"))
    catalogues = [product.brief.catalogue for product in made.products]
    packs = _offers(_beside(made.offers, "offers") if offers is None else offers, catalogues)
    shelf = _lots(_beside(made.lots, "lots") if lots is None else lots, catalogues)
    return made, packs, shelf


def _beside(path: Path | None, name: str) -> Path:
    if path is None:
        raise BadInput([Fault(WHERE, name, "nothing", f"a path of {name}, here or in the plan")])
    return path


def _offers(source: Place | Sequence[Offer], catalogues: Sequence[Catalogue]) -> tuple[Offer, ...]:
    if isinstance(source, Sequence) and not isinstance(source, str):
        return tuple(source)
    return read_offers(a_path(source, "table of offers"), catalogues)


def _lots(source: Place | Sequence[OnShelf], catalogues: Sequence[Catalogue]) -> tuple[OnShelf, ...]:
    if isinstance(source, Sequence) and not isinstance(source, str):
        return tuple(source)
    return read_lots(a_path(source, "table of lots"), catalogues)
