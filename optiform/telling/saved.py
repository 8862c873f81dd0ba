"""What went into the records, in words: one function for each kind of fact."""

from functools import singledispatch

from optiform.batch.ticks import Late
from optiform.reading.units import count_of
from optiform.telling.figures import listed, mass
from optiform.trials.forecasts import Sealed
from optiform.workshop import decisions
from optiform.workshop.decisions import Kept
from optiform.workshop.records import Version


def kept_in_words(kept: Kept) -> str:
    """What was saved; empty where nothing has to be said.

    Example:
        >>> kept_in_words(Kept((), decisions.WeighedAgain("G-1", 0.5, None)))
        'lot G-1 has 500 g by the records already'
    """
    return _words(kept.fact)


@singledispatch
def _words(fact: object) -> str:
    """A text says itself."""
    return str(fact)


@_words.register
def _received(fact: decisions.Received) -> str:
    lot = fact.lot
    past = f"; it expired on {lot.expiry}" if fact.expired else ""
    lacking = "".join(f" {sentence}" for sentence in _lacking(fact))
    return f"lot {lot.number}, {mass(fact.kg)} of {lot.ingredient}{past}{'.' if lacking else ''}{lacking}"


def _lacking(fact: decisions.Received) -> list[str]:
    """What a recall of the lot, or a cost of what is made from it, would lack."""
    lot = fact.lot
    known = {"supplier": lot.supplier, "supplier's lot": lot.supplier_lot, "expiry": lot.expiry}
    trace = [name for name, value in known.items() if not value]
    told = [f"In a recall you would miss its {listed(trace)}."] if trace else []
    return [*told, *(["It has no price, so no cost can count it."] if lot.price is None else [])]


@_words.register
def _used(fact: decisions.Used) -> str:
    return f"used {listed([f'{mass(-move.kg)} of lot {move.lot}' for move in fact.moves])}"


@_words.register
def _weighed_again(fact: decisions.WeighedAgain) -> str:
    if fact.off is None:
        return f"lot {fact.lot} has {mass(fact.kg)} by the records already"
    off = f"{mass(abs(fact.off))} {'more' if fact.off > 0 else 'less'}"
    return f"lot {fact.lot} has {mass(fact.kg)}, {off} than the records said"


@_words.register
def _counted(fact: decisions.Counted) -> str:
    return f"{count_of(fact.pieces, 'piece')} of {fact.packaging} in stock now"


@_words.register
def _new_version(version: Version) -> str:
    came = f", made from version {version.parent}" if version.parent else ""
    return f"version {version.name} of {version.product}{came}"


@_words.register
def _logged(fact: decisions.Logged) -> str:
    none = "no weighings: the version's own percentages count"
    how = count_of(fact.weighings, "weighing") if fact.weighings else none
    return f"trial {fact.trial.name} of {fact.trial.version}, {how}"


@_words.register
def _read(fact: decisions.Read) -> str:
    return f"{count_of(fact.readings, 'reading')} of trial {fact.trial}"


@_words.register
def _sealed(fact: Sealed) -> str:
    if not fact.unread:
        return "This was read before you asked for it, so it is no forecast, and none was sealed"
    if not fact.new:
        return "These forecasts are sealed in the records already"
    some = f" ({fact.asked - fact.unread} of {fact.asked} were read before)" if fact.unread < fact.asked else ""
    new = count_of(fact.new, "forecast")
    are, it = ("are", "them") if fact.new > 1 else ("is", "it")
    return f"{new} {are} sealed in the records{some}. `optiform trial show` sets {it} beside what you read"


@_words.register
def _late(fact: Late) -> str:
    if not fact.ticks:
        return ""
    return (
        f"{count_of(fact.ticks, 'tick')} came from a device that was away, after this batch had ended. Saved with the "
        "batch; no lot was changed."
    )
