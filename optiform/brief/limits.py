"""What is asked of a property or a candidate, and how that is changed by a word."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Literal

from optiform.properties.base import Mix, Property, Vector
from optiform.properties.solubility import OutOfRange
from optiform.reading.faults import Inspection
from optiform.reading.frozen import frozen
from optiform.reading.units import parse_quantity

Amount = str | float  #: a text such as "30 %", or a number in the unit that is documented


@frozen
class Limit:
    """A property with its least and greatest value, in the property's unit. At least one of them is set."""

    property: Property
    low: float | None
    high: float | None


@frozen
class Range:
    """The least and greatest mass fraction of one candidate, and who asked for it.

    `source` is `brief` where the maker set it, `advice` where it is the catalogue's maximum or the top of usual use of
    what is dosed, `usual` where it is that of anything else.
    """

    low: float = 0.0
    high: float = 1.0
    source: Literal["brief", "advice", "usual", "none"] = "none"

    @property
    def pinned(self) -> bool:
        """Whether it leaves one value only."""
        return self.low == self.high


@frozen
class Ends:
    """The ends that are wanted of something, in its unit; None where an end stays as it was."""

    low: float | None
    high: float | None

    @staticmethod
    def read(low: Amount | None, high: Amount | None, unit: str, place: str, inspection: Inspection) -> "Ends":
        """Two amounts in `unit`; what is wrong with them goes to `inspection`."""
        if low is None and high is None:
            inspection.fault(place, None, "low, high or both")
        least, most = (
            _amount(end, unit, f"{place} {side}", inspection) for side, end in (("low", low), ("high", high))
        )
        if least is not None and most is not None and least > most:
            inspection.fault(place, f"low {least:g} and high {most:g}", "low not above high")
        return Ends(least, most)

    def of(self, limits: Sequence[Limit], wanted: Property) -> tuple[Limit, ...]:
        """The limits with these ends of a property; an end that is not wanted stays what it was.

        Where it then clashes with the other, no formula meets the brief: that is for the answer to say.
        """
        before = [limit for limit in limits if limit.property.name == wanted.name]
        low, high = self.low, self.high
        for limit in before:
            low, high = limit.low if low is None else low, limit.high if high is None else high
        changed = Limit(wanted, low, high)
        if not before:
            return (*limits, changed)
        place_of = limits.index(before[0])
        others = [limit for limit in limits if limit not in before]
        return (*others[:place_of], changed, *others[place_of:])

    def around(self, before: Range, place: str, inspection: Inspection) -> Range:
        """A candidate's range with these ends, in % here and mass fractions there."""
        low = before.low if self.low is None else self.low / 100
        high = before.high if self.high is None else self.high / 100
        if not (0 <= low <= 1 and 0 <= high <= 1):
            inspection.fault(place, f"low {100 * low:g} % and high {100 * high:g} %", "0 to 100 %")
        return replace(before, low=low, high=high, source="brief")


def _amount(given: Amount | None, unit: str, place: str, inspection: Inspection) -> float | None:
    if given is None:
        return None
    try:
        return parse_quantity(given, unit)
    except ValueError as error:
        inspection.fault(place, given, str(error))
        return None


def no_value(wanted: Property, low: float | None, high: float | None) -> str:
    """What is expected of the ends of a limit, where no formula has such a value; empty where one may.

    Example:
        >>> from optiform.properties.registry import find_property
        >>> activity = find_property("water activity", "EUR")
        >>> no_value(activity, None, 1.4), no_value(activity, 0.9, None)
        ('over 0, at most 1: water activity is a share of that of pure water', '')
    """
    ends = [end for end in (low, high) if end is not None]
    if wanted.name == "water activity" and not all(0 < end <= 1 for end in ends):
        return "over 0, at most 1: water activity is a share of that of pure water"
    return ""


def judge(wanted: Property, mix: Mix, place: str, inspection: Inspection) -> None:
    """Note what keeps a property from being asked of these candidates: a figure that lacks, a table that ends."""
    try:
        missing = wanted.everywhere(mix).missing
    except OutOfRange as error:
        inspection.fault(place, str(error), "a condition the tables cover")
        return
    if lacking := "; ".join(_lacking(mix, missing)):
        inspection.fault(place, f"no figure for {lacking}", "the figure in an own file, or a brief without them")


def _lacking(mix: Mix, missing: Vector) -> Iterator[str]:
    return (item.name for item, gap in zip(mix.ingredients, missing, strict=True) if gap)
