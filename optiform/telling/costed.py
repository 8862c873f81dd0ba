"""What is told of money and of the shelf in text and as data alike: notes, reasons, what a part is called."""

from collections.abc import Iterator

from optiform.costs.buy import Terms
from optiform.costs.file import Costs
from optiform.costs.plan import Plan
from optiform.costs.sheet import LOST, OVER, CostSheet, Part, Sensitivity, Unpriced
from optiform.design.answer import NoFormula
from optiform.telling.facts import in_words
from optiform.telling.figures import capital
from optiform.telling.warned import set_aside
from optiform.workshop.stock import Unusable

UNPACKED = "shipping is stated by the pack, and how much a pack holds is not known, for"
LOSSES = {LOST: "lost on the way", OVER: "left over, fills no jar"}

# -- a jar -------------------------------------------------------------------------------------------------------------


def lacking(sheet: CostSheet) -> str:
    """What is not known of the full cost."""
    unpacked = [line.ingredient for line in sheet.lines if line.landed.unpacked]
    names = [name for name in sheet.lacking if name not in unpacked]
    told = [f"no price for {', '.join(names)}"] if names else []
    return "; ".join([*told, *([f"{UNPACKED} {', '.join(unpacked)}"] if unpacked else [])])


def part_name(part: Part, costs: Costs) -> str:
    """What a part of the cost is called.

    Example:
        >>> part_name(Part("process loss", OVER, 0.1), Costs(0.03, 0.1, {}, 15.0, (), 120.0, 80.0))
        'left over, fills no jar'
    """
    if part.group == "overhead":
        return f"{costs.month:g} over {costs.units:g} units of the month" if costs.month else "none"
    once = next((x for x in costs.one_offs if part.group == "paid once" and x.name == part.name), None)
    if once is not None and once.products > 1:
        return f"{once.name}, one for {once.products} products"
    return LOSSES[part.name] if part.group == "process loss" else part.name


def risen(price: Sensitivity) -> str:
    """What rises in price."""
    return f"{price.what}, all of it" if price.group else price.what


def why_none(why: Unpriced | NoFormula | None) -> str:
    """Why there is no formula to hold beside this one; empty where there is one."""
    if why is None:
        return ""
    if isinstance(why, Unpriced):
        return f"no landed price is known of the candidates {', '.join(why.ingredients)}"
    return "no formula meets the brief" if why.decided else in_words(why.reason)


def sheet_notes(sheet: CostSheet) -> Iterator[str]:
    """What a sheet does not know, and what it counts."""
    unpacked = [line.ingredient for line in sheet.lines if line.landed.unpacked]
    if unpacked:
        yield f"{capital(UNPACKED)} {', '.join(unpacked)}: enter its pack and pack price."
    unpriced = [line.ingredient for line in sheet.lines if line.landed.per_kg is None and not line.landed.unpacked]
    if unpriced:
        of = f"No price in {sheet.brief.currency} for {'; '.join(unpriced)}"
        yield f"{of}: what depends on it is not known, not zero."
    uncounted = [line.ingredient for line in sheet.lines if line.stock is None]
    if uncounted:
        yield f"The stock of {'; '.join(uncounted)} is not known, and counts as none."
    packless = [line.ingredient for line in sheet.lines if line.landed.per_kg is not None and line.packs is None]
    if packless:
        yield f"No pack size for {'; '.join(packless)}: what to buy is not known."
    yield from _run_notes(sheet)


def _run_notes(sheet: CostSheet) -> Iterator[str]:
    """What a batch of so many jars brings with it."""
    costs = sheet.costs
    if sheet.batches > 1 and costs.vessel is not None:
        vessel = f"the vessel of {costs.vessel:g} kg"
        yield f"{sheet.weighed:.2f} kg do not fit {vessel}: made in {sheet.batches} batches."
    yield (
        f"This counts {sheet.jars} jars of {1000 * sheet.jar:g} g net, and {100 * costs.loss:g} % loss. "
        "The batch sheet also counts what is filled beyond the net mass, and jars held back."
    )
    if sheet.over:
        yield f"{1000 * sheet.over:.0f} g are left that fill no jar; what they cost counts as loss."
    if costs.shipping_share == 0 and not costs.shipping and all(not line.landed.shipping for line in sheet.lines):
        yield "No ingredient bears any shipping. Check that: it is often a tenth of the price or more."


# -- what is bought ----------------------------------------------------------------------------------------------------


def terms_notes(plan: Plan, terms: Terms) -> Iterator[str]:
    """What the count goes by, and what offers and terms do not say."""
    yield (
        "This counts the plan's jars at their net mass, and its loss. The batch sheet also counts what is filled "
        "beyond the net mass, and jars held back."
    )
    if terms.foreign:
        offers = ", ".join(f"{ingredient} from {supplier}" for ingredient, supplier in terms.foreign)
        yield f"Not in {plan.currency}, so left out: {offers}."
    if terms.unposted:
        yield f"No postage is given for {', '.join(terms.unposted)}, so it counts as sent free."
    if terms.unoffered:
        yield f"Terms of a supplier with no offer here: {', '.join(terms.unoffered)}."


def why_unusable(why: Unusable) -> str:
    """Why a lot is not taken.

    Example:
        >>> import datetime
        >>> why_unusable(Unusable(datetime.date(2026, 11, 1), expired=True))
        'expires on 2026-11-01, before the making'
    """
    return set_aside(why.day, why.expired)
