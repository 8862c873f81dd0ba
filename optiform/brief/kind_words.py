"""Words that makers have for what they make: the kinds of product they mean, or that no kind is near."""

from functools import cache

from optiform.brief.brief import KINDS as KINDS
from optiform.reading.frozen import frozen
from optiform.reading.near import nearest
from optiform.reading.tables import shipped

#: How a product begins whose kind is none of these.
WITHOUT = (
    "leave the kind out, and begin from a formula of yours (`optiform new --from today.csv`) "
    "or write a brief with limits of your own (`optiform guide brief`)"
)


@frozen
class Called:
    """One row of kind_words.csv.

    Attributes:
        kinds: that a maker may mean by it, the likeliest first; none where no kind is near.
        about: what it is, where no kind is that, and those named are made otherwise.
    """

    words: str
    kinds: tuple[str, ...]
    about: str = ""


@cache
def all_called() -> tuple[Called, ...]:
    """Every word for a product that is not the name of a kind.

    Source: none: custom of the trade.
    """
    rows = shipped("kind_words")
    return tuple(Called(row["called"], tuple(filter(None, row["kinds"].split("; "))), row["about"]) for row in rows)


def called(words: str) -> Called | None:
    """What a maker calls a product: by the most of the words that are known, else by one that looks like it.

    Example:
        >>> called("whipped shea butter").kinds, called("Rose Face Cream").kinds
        (('body butter',), ('lotion', 'hand and foot cream'))
        >>> called("shower gel").kinds, called("crem scrub").kinds, called("zebra")
        ((), ('cream scrub',), None)

    Source: none: custom of the trade.
    """
    known = {each.words: each for each in (*(Called(kind, (kind,)) for kind in KINDS), *all_called())}
    said = set(words.casefold().split())
    within = [each for name, each in known.items() if set(name.split()) <= said]
    if within:
        most = max(within, key=lambda each: len(each.words.split()))
        misspelt = "" if most.words in KINDS or " " in most.words else nearest(words.casefold(), KINDS)
        return known.get(misspelt, most)
    return known.get(nearest(words.casefold(), known))


def expected(words: str) -> str:
    """What was expected where a kind of product stood that is none, for a fault: the kinds, and what to do.

    Example:
        >>> expected("whipped butter").split("; ")[-1]
        'Did you mean body butter?'
        >>> expected("gel").split("; ")[1].split(". ")[0]
        'There are no usual ranges for a gel'
    """
    meant = called(words)
    if meant is None:
        told = f"`optiform guide brief` lists the kinds there are. If it is none of them, {WITHOUT}"
    else:
        none = f"There are no usual ranges for {meant.about}. " if meant.about else ""
        told = none + (f"Did you mean {' or '.join(meant.kinds)}?" if meant.kinds else f"To make it, {WITHOUT}")
    return f"one of: {', '.join(KINDS)}; {told}"
