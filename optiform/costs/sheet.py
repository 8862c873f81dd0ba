"""The cost of a jar as a value: ingredients at the door, parts of the cost, what a sale leaves, what would move it."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator, Sequence

from optiform.batch.jar import JarContent
from optiform.brief.brief import Brief
from optiform.costs.file import Costs
from optiform.design.answer import NoFormula
from optiform.ingredients.formula import Formula
from optiform.reading.answer import Answer
from optiform.reading.frozen import frozen

#: The groups of the parts, in the order of the sheet.
GROUPS = ("ingredients", "process loss", "packaging", "labour", "overhead", "paid once")
LOST, OVER = "lost", "over"  #: what ingredients that reach no jar are: lost on the way, or left over


@frozen
class Landed:
    """What an ingredient costs at the door.

    Attributes:
        pack: kg; None where only a price per kg is known.
        price: of a pack; None as above.
        shipping: that a pack bears; None as above.
        per_kg: with shipping; None where there is no price in the currency, or where it is `unpacked`: it has a price
            per kg and its shipping is stated by the pack, whose size is not known.
    """

    ingredient: str
    per_kg: float | None
    pack: float | None = None
    price: float | None = None
    shipping: float | None = None
    supplier: str = ""
    date: datetime.date | None = None
    unpacked: bool = False

    @property
    def pack_landed(self) -> float | None:
        """A pack with its shipping."""
        return None if self.price is None or self.shipping is None else self.price + self.shipping


@frozen
class IngredientCost:
    """One ingredient of the formula.

    Attributes:
        grams: in a jar.
        cost: of what is in the jar.
        lost: of what is weighed for it and never reaches a jar.
        need: kg for the batch, loss included.
        stock: kg on the shelf; None where the table does not say, and then nothing is counted on.
        packs: whole packs that are missing for the batch; None without a pack size.
        cash: what they cost, landed.
    """

    ingredient: str
    percent: float
    grams: float
    landed: Landed
    cost: float | None
    lost: float | None
    need: float
    stock: float | None
    packs: int | None
    cash: float | None


@frozen
class Part:
    """One part of the cost of a jar; `group` is one of GROUPS, `share` a fraction of the full cost.

    `name`: of an ingredient, a packaging, a step or a cost paid once; of process loss LOST or OVER; overhead has none.
    """

    group: str
    name: str
    cost: float | None
    share: float | None = None


@frozen
class Sale:
    """What one jar leaves where it is sold.

    Attributes:
        price: asked, before the discount.
        takings: price less discount; fees are taken of it.
        margin: takings less fees less full cost; `margin_share` is that of the takings.
        least_price: that leaves nothing and costs nothing.
        least_jars: fewest jars of one batch that pay for themselves at this price, the rest of the month as it is;
            None where no size does within the vessel.
        repaid_after: jars after which the costs that are paid once are earned; None where they never are.
        month_jars: jars that would carry the whole overhead of the month alone; None where none do.
    """

    channel: str
    price: float
    takings: float
    fees: float
    margin: float
    margin_share: float | None
    least_price: float
    least_jars: int | None
    repaid_after: int | None
    month_jars: int | None


@frozen
class Sensitivity:
    """The cost of a jar when one price is RISE higher; `group`: when all of a group is."""

    what: str
    cost: float
    change: float
    group: bool = False


@frozen
class ForJars:
    """What a jar costs where so many are made on one day, in so many batches."""

    jars: int
    batches: int
    cost: float


@frozen
class Unpriced:
    """Candidates without a landed price: among them nothing can be looked for."""

    ingredients: tuple[str, ...]


@frozen
class Reach:
    """How much of the cost a formula can move at all.

    Attributes:
        share: ingredients with their loss in the full cost, a fraction.
        formula: the brief's cheapest at the landed prices; None where there is none, and `why` says the reason.
        cost: its full cost; `saving` is what it saves.
    """

    share: float
    formula: Formula | None
    cost: float | None
    saving: float | None
    why: Unpriced | NoFormula | None = None


@frozen
class Hit:
    """A full cost that a jar should have, and what it leaves the formula.

    Attributes:
        target: the cost; `fixed` what no formula moves of it: packaging, work, overhead and the like.
        ingredients: what those of the formula cost now, with their loss; `allowed` what the target leaves for them.
        least: full cost with the brief's cheapest formula; None where that was not looked for, or there is none.
        formula: the nearest to this one that keeps to the target, itself where it does; None where none does.
        cost: its full cost; `moved` the % points that change hands.
        why: there is none, where it is not that the least is too much.
    """

    target: float
    fixed: float
    ingredients: float
    allowed: float
    least: float | None = None
    formula: Formula | None = None
    cost: float | None = None
    moved: float = 0.0
    why: Unpriced | NoFormula | None = None


@frozen
class CostSheet(Answer):
    """The cost of one jar of a batch, part by part.

    Attributes:
        jars: filled; `jar` is the net mass of one, kg.
        weighed: kg, loss included; made in so many `batches`.
        over: kg that come out and fill no jar.
        full: the sum of the parts; None while something is not known, and `lacking` says what.
        known: the sum of what is known.
        cash: to buy the whole packs that are missing; None where a pack or its price is not known.
        wholesale, retail: full cost by the price steps (common practice, no source).
        curve: what a jar costs with fewer and with more jars, this number among them; empty while it is not known.
        price: the retail price that was given instead, if one was; wholesale then follows by the price steps.
    """

    brief: Brief
    formula: Formula
    costs: Costs
    jars: int
    jar: float
    weighed: float
    over: float
    batches: int
    lines: tuple[IngredientCost, ...]
    parts: tuple[Part, ...]
    full: float | None
    known: float
    lacking: tuple[str, ...]
    cash: float | None
    wholesale: float | None
    retail: float | None
    price: float | None
    sales: tuple[Sale, ...]
    sensitivity: tuple[Sensitivity, ...]
    reach: Reach | None
    content: JarContent | None = None
    hit: Hit | None = None
    curve: tuple[ForJars, ...] = ()

    @property
    def groups(self) -> tuple[tuple[str, float | None], ...]:
        """The cost of each group of parts; None where one of its parts is not known."""
        return tuple((group, total(part.cost for part in self.parts if part.group == group)) for group in GROUPS)


def total(costs: Iterator[float | None] | Sequence[float | None]) -> float | None:
    """The sum, or None if one is not known."""
    parts = list(costs)
    return None if any(each is None for each in parts) else math.fsum(each or 0.0 for each in parts)
