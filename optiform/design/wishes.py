"""What a wish costs in all: how much better the goal gets without it, the other limits as they are."""

from collections.abc import Sequence

from optiform.design.answer import Binding
from optiform.program.build import OWN_KINDS
from optiform.reading.frozen import frozen
from optiform.reading.order import largest_first

NOTHING = 1e-9  # of a target: what floating point leaves of 0
WHOLE = 100.0  # %: a line is never more


@frozen
class Wish:
    """One of the brief's own limits and what easing it wholly saves, in the goal's unit.

    `least`: the price does not hold all the way, and `saving` is what it saves as far as it holds: easing it further
    saves no less. (A goal's best value is convex in a target of one limit, so that each further point saves less, but
    never costs.)
    """

    bound: Binding
    saving: float
    least: bool


def wishes(binding: Sequence[Binding]) -> tuple[Wish, ...]:
    """The brief's own limits that are only just met, those that cost most first.

    The saving is the price times the way from the target to where easing ends: nothing for at least, as far as the
    price holds. For a ratio the price drifts a little on the way, so that it is near, not exact.
    """
    own = (_wish(bound) for bound in binding if bound.demand.kind in OWN_KINDS)
    return tuple(sorted(filter(None, own), key=lambda wish: largest_first(wish.saving, wish.bound.demand.words)))


def _wish(bound: Binding) -> Wish | None:
    target = bound.demand.target
    if bound.demand.side == "low":
        end = max(0.0, bound.valid_from or 0.0)
        eased, ended = target - end, end <= NOTHING * (1 + abs(target))
    else:
        if bound.valid_to is None:
            return None
        eased = bound.valid_to - target
        ended = bound.demand.kind == "line" and bound.valid_to >= WHOLE - NOTHING
    return (
        Wish(bound, bound.price * eased, not ended or not bound.eased_whole) if eased > 0 and bound.price > 0 else None
    )
