"""Figures that can be read and are hardly meant: a fraction where a percentage is read, grams where kilograms are.

They are taken as they stand and told, with what to write where the other was meant.
"""

from optiform.reading import run
from optiform.reading.units import parse_number

HEAVY = 200.0  #: kg in a table without a unit; more than a small workshop buys or holds of one thing
LITTLE = 20.0  #: times; less than so much of what is usual at most is little there
APART = 100.0  #: times; two figures of one thing so far apart are a slip of a unit, not a change of price


def bare(given: object) -> bool:
    """Whether a figure has no unit with it.

    Example:
        >>> [bare(given) for given in (0.2, "0.2", "0.2 %")]
        [True, True, False]
    """
    if isinstance(given, str):
        try:
            parse_number(given)
        except ValueError:
            return False
    return not isinstance(given, bool)


def note_share(file: str, place: str, given: object, percent: float, usual: tuple[float, float] | None) -> None:
    """Note a share below 1 % that has no unit, unless what is usual there is as little.

    Args:
        file: where it stands.
        place: likewise.
        given: as it was written.
        percent: as it is read.
        usual: the usual range there in %, None where it is not known.
    """
    if not (bare(given) and 0 < percent < 1) or (usual and _as_little(percent, *usual)):
        return
    run.note(file, f"{place}: {percent:g} is read as {percent:g} %; write {100 * percent:g} % if you meant that")


def _as_little(percent: float, low: float, high: float) -> bool:
    """Whether a usual range is about as little as a share; one that begins at nothing says so by its other end only."""
    return max(low / 2, high / LITTLE) <= percent <= 2 * high


def note_mass(file: str, place: str, given: object, kg: float) -> None:
    """Note a mass without a unit that would be grams in a small workshop."""
    if bare(given) and kg >= HEAVY:
        run.note(file, f"{place}: {kg:g} is read as {kg:g} kg; write {kg:g} g if you meant that")


def far_apart(one: float, other: float) -> bool:
    """Whether two figures of one thing are a factor of `APART` or more from each other.

    Example:
        >>> far_apart(4.2, 4200.0), far_apart(4.2, 9.0)
        (True, False)
    """
    low, high = sorted((abs(one), abs(other)))
    return low > 0 and high >= APART * low
