"""What a kind of product is made without: such candidates are left out unless the maker names them."""

from collections.abc import Iterable
from functools import cache

from optiform.ingredients.ingredient import Evidence, Ingredient
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped


@frozen
class Exclusion:
    """One row of kind_excludes.csv.

    Attributes:
        what: `phase:...`, `function:...` (what it is bought for), or `value:...`, a figure of the ingredient.
        above: the figure above which an ingredient is left out; None for phases and functions.
    """

    kind: str
    what: str
    above: float | None
    reason: str
    evidence: Evidence

    def takes_out(self, item: Ingredient) -> bool:
        """Whether the kind is made without this ingredient, in the phase it has by itself."""
        about, _, word = self.what.partition(":")
        if about == "phase":
            return item.phase == word
        if about == "function":
            return item.functions[0] == word
        value = item.value(word)
        return value is not None and self.above is not None and value.figure > self.above


@cache
def exclusions(kind: str) -> tuple[Exclusion, ...]:
    """What a kind is made without; nothing for an unknown kind.

    Example:
        >>> [rule.what for rule in exclusions("lotion")], exclusions("no such kind")
        (['function:grain', 'phase:grains'], ())

    Source: none: custom of the trade.
    """
    return tuple(
        Exclusion(
            row["kind"], row["what"], float(row["above"]) if row["above"] else None, row["reason"],
            Evidence(row["evidence"]),
        )
        for row in shipped("kind_excludes")
        if row["kind"] == kind
    )  # fmt: skip


def ruled_out(kind: str, item: Ingredient) -> Exclusion | None:
    """By what a kind of product is made without an ingredient; None where it is not.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> ruled_out("body butter", read_catalogue().ingredients["water"]).reason
        'made without a water phase'

    Source: none: custom of the trade.
    """
    return next((rule for rule in exclusions(kind) if rule.takes_out(item)), None)


#: Kinds that stay on the skin. Common practice, no source.
LEAVE_ON = (
    "lotion", "hand and foot cream", "body butter", "emulsified body butter", "balm", "stick and lip balm",
)  # fmt: skip


def use_of(kind: str) -> tuple[str, str]:
    """How a product of a kind is used, and where, for a maker who does not say: the stricter law where it may be both.

    Example:
        >>> use_of("lotion"), use_of("cream scrub"), use_of("stick and lip balm")
        (('leave-on', 'body'), ('rinse-off', 'body'), ('leave-on', 'lips'))

    Source: none: custom of the trade.
    """
    return "leave-on" if kind in LEAVE_ON else "rinse-off", "lips" if kind == "stick and lip balm" else "body"


def used_so(kinds: Iterable[str], use: str = "", area: str = "") -> list[str]:
    """The kinds of product that are used so; an empty word says nothing. Of areas, lips have kinds of their own.

    Example:
        >>> used_so(["lotion", "cream scrub", "stick and lip balm"], "leave-on", "face")
        ['lotion']
        >>> used_so(["lotion", "cream scrub"], "rinse-off"), used_so(["lotion"])
        (['cream scrub'], ['lotion'])

    Source: none: custom of the trade.
    """
    ways = {kind: use_of(kind) for kind in kinds}
    return [
        kind
        for kind, way in ways.items()
        if use in ("", way[0]) and (not area or (area == "lips") == (way[1] == "lips"))
    ]
