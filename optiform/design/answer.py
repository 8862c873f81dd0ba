"""What a job answers: values only, no solver. It can be printed, compared and written as JSON."""

from collections.abc import Hashable
from dataclasses import field
from functools import cached_property
from typing import Literal

from optiform.brief.brief import Brief
from optiform.brief.parts import Lacking
from optiform.ingredients.formula import Formula
from optiform.program.build import Demand
from optiform.program.certificate import Certificate
from optiform.program.linear import Program
from optiform.program.usual import Eased
from optiform.reading.answer import Answer, Rows
from optiform.reading.frozen import frozen
from optiform.reading.order import largest_first
from optiform.reading.values import Bound
from optiform.review.answer import Report, Reported

#: What of an answer's prices is worked out: what each limit costs on both sides; what easing the maker's own saves in
#: all, as the short telling says it; or everything, with the targets between which each price holds and the prices at
#: which unused candidates would pay.
Look = Literal["prices", "savings", "whole"]


@frozen
class Binding:
    """A limit that shapes the answer, and its price: what one unit looser would gain in the goal.

    The price holds while the target lies between `valid_from` and `valid_to`. `tighter` is the price of one unit more
    where that differs, None where the limit cannot be tighter at all, or, not `tighter_proven`, where rounding or too
    many ways leave open whether it can. Not `whole`: a limit bends, or there were too
    many ways to keep the brief's limits to look into all, or rounding decides; the price is then that near the answer,
    in the way it keeps, and whether the limit can be tighter is not known. Not `eased_whole`: that is so of easing it.
    """

    demand: Demand
    price: float
    price_unit: str
    valid_from: float | None
    valid_to: float | None
    tighter: float | None
    whole: bool = True
    tighter_proven: bool = True
    eased_whole: bool = True


@frozen
class Entry:
    """A candidate the answer does not use, and the price per kg below which it would; None if no price helps.

    Not `whole`: a limit bends, or there were too many ways to keep the brief's limits to look into all, or rounding
    decides; `below` is then what holds near the answer, and far from it the candidate may pay at more.
    """

    ingredient: str
    price: float | None
    below: float | None
    whole: bool = True


@frozen
class Unsure:
    """Limits that an answer could miss, as the figures behind them are ranges, and what being sure of them costs.

    Attributes:
        limits: each with its value with every figure at the worse end of its range, in its unit.
        budget: how many figures of each limit the price guards against; None for all of them. 1 where no formula is
            sure against all.
        price: by how much the goal gets worse, in its unit; None where no formula is sure even so.
        at_most: looked for in the answer's own way only, or near it: another formula may be sure for less.
        decided: False where the search did not come to rest.
        unguarded: those that the model of firmness could miss, each with the worse end of its band. No figure brings
            that band, so nothing in the formula makes sure of them and no price is told.
    """

    limits: tuple[tuple[Demand, float], ...]
    budget: int | None
    price: float | None
    at_most: bool
    decided: bool = True
    unguarded: tuple[tuple[Demand, float], ...] = ()


@frozen
class Reasons:
    """Why an answer is the best: its limits that bind, what it does not use, and what rests on ranges.

    `binding`, `entries`, `unsure`, `unpriced`: as in `Designed`.
    """

    binding: tuple[Binding, ...] = ()
    entries: tuple[Entry, ...] = ()
    unsure: Unsure | None = None
    unpriced: tuple[Demand, ...] = ()


@frozen
class Designed(Reported):
    """The best formula for a brief, why it is that one, and the proof.

    `local`: something in the brief bends, so the proof is of being the best near this formula, and `tie` tells only
    of what is as good near it. `gap`: with a limit that bends, and of a first trial in round figures, no formula
    is better by more than this, in the goal's unit; None where the certificate says all, or nothing is known beyond
    what is near.

    `unpriced`: limits that bind too, but rounding leaves unproven whether easing them gains anything, and how much.

    `gave`: usual ranges that could not be kept beside the brief's limits, each with the value that was reached.

    `look`: what of its prices was worked out, see `Look`; what was not is not told.

    `program` is the linear program at rest, in plain arrays. `unsure`: what of it rests on figures that are ranges.

    `why` works out why it is that one, which takes longer than all the rest: it is asked where that is looked at first,
    and the same question always gives the same. A proof that does not check is raised there.
    """

    brief: Brief
    report: Report
    objective: float
    program: Program
    tie: Formula | None
    certificate: Certificate
    local: bool = False
    gap: float | None = None
    gave: tuple[Eased, ...] = ()
    look: Look = "whole"
    why: Bound[Reasons] = field(default=Bound(Reasons), repr=False, hash=False)

    @cached_property
    def reasons(self) -> Reasons:
        """Why it is the best.

        Raises:
            NotCertified: when the solver's claim does not stand up to recomputation.
        """
        return self.why()

    def settled(self) -> "Designed":
        """The same with its reasons worked out now: for who must know that they check before going on.

        Raises:
            NotCertified: as `reasons`.
        """
        self.reasons  # noqa: B018
        return self

    @property
    def binding(self) -> tuple[Binding, ...]:
        """The limits that shape it, each with its price."""
        return self.reasons.binding

    @property
    def entries(self) -> tuple[Entry, ...]:
        """The candidates that it does not use."""
        return self.reasons.entries

    @property
    def unsure(self) -> Unsure | None:
        """What it could miss, as figures are ranges."""
        return self.reasons.unsure

    @property
    def unpriced(self) -> tuple[Demand, ...]:
        """Limits that bind, of which rounding leaves open what easing them gains."""
        return self.reasons.unpriced

    @property
    def prices(self) -> Rows[Binding]:
        """The limits that shape the answer, each with what easing it by one unit saves, dearest first."""
        return Rows(sorted(self.binding, key=lambda bound: largest_first(bound.price, bound.demand.words)))


@frozen
class Change:
    """One target that a repair moves."""

    demand: Demand
    target: float


@frozen
class NoFormula(Answer):
    """No formula meets the brief: which of its demands clash, and what would make one possible.

    Without a certificate it is not proven; not `decided`: it is not even known, and `reason` says why. Not `minimal`:
    the conflict holds, but it is not proven of each of its demands that it is needed for it.
    `lacking`: parts that a product of the brief's kind must have and its candidates do not make; then nothing else was
    looked for.
    """

    brief: Brief
    conflict: tuple[Demand, ...]
    repairs: tuple[tuple[Change, ...], ...]
    certificate: Certificate | None
    reason: Hashable = ""
    decided: bool = True
    minimal: bool = True
    lacking: tuple[Lacking, ...] = ()
