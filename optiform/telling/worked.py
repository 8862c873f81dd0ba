"""What is told of making a batch in text and as data alike: packaging that is not counted."""

from optiform.batch.keeping import Recorded
from optiform.batch.records import NoneBefore, Packed, TooFew, Uncounted

COUNT_IT = "How to count it: `optiform guide records`."


def uncounted(packaging: Uncounted) -> str:
    """Why a packaging is not counted out.

    Example:
        >>> uncounted(TooFew("lid", 5, 12))
        'lid: 5 there, 12 needed, so none is counted out.'
    """
    if isinstance(packaging, NoneBefore):
        return f"Packaging is not counted: no earlier batch of the product says which. {COUNT_IT}"
    if isinstance(packaging, TooFew):
        there, needed = packaging.there, packaging.needed
        return f"{packaging.packaging}: {there} there, {needed} needed, so none is counted out."
    went = f"{packaging.packaging}: {packaging.gone} went into batch {packaging.batch}"
    return f"{went}, no whole number for each jar, so it is not counted here. {COUNT_IT}"


def uncounted_of(packed: Packed) -> tuple[str, ...]:
    """What is not counted of a batch's packaging."""
    return tuple(map(uncounted, packed.uncounted))


def recorded_notes(of: Recorded) -> tuple[str, ...]:
    """What to know of a batch that was saved."""
    off = of.batch.deviation
    return (*map(uncounted, of.uncounted), *([f"Saved as a deviation: {off}."] if off else []))
