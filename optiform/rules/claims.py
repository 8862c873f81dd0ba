"""Claims of a label that a maker may ask for, and what in an ingredient stands against each.

A claim is judged by what is known of the ingredient: what it is usually made from (`origin`), or the names that it is
declared under. The supplier confirms both. None of them is the mark or standard of anybody: such a mark has rules of
its own, which no table here knows.
"""

import re
from collections.abc import Callable, Iterable, Sequence

from optiform.ingredients.ingredient import Ingredient
from optiform.reading.frozen import frozen

#: Polyoxyethylene in declared names, as the nomenclature forms them: PEG, -eth with or without a number, polysorbates,
#: poloxamers. One single unit, as of phenoxyethanol, is none. Practice of the nomenclature, no source of its own.
ETHOXYLATE = re.compile(
    r"\bPEG\b|\b\w+eth-\d+|\b(?:laur|myr|par|tridec|cetear|stear|ole|cet)eth\b|polysorbate|poloxamer|(?:non|oct)oxynol",
    re.IGNORECASE,
)
#: Functions whose ingredients are worked up from fats, sugars or oil, so that their names do not say from which: fatty
#: acids and alcohols, glycerin, emulsifiers. Common practice, no source.
WORKED_UP = (
    "fatty alcohol", "fatty acid", "emulsifier", "ester", "humectant", "solid surfactant", "liquid surfactant",
    "antioxidant", "active", "chelator", "ph adjuster", "preservative", "fragrance",
)  # fmt: skip


@frozen
class Claim:
    """What is judged, and whether an ingredient can stand under it.

    Attributes:
        by_origin: whether it is judged by what an ingredient is usually made from; else by its declared names.
        breaks: the declared names that break it, or whether the origin does.
        known: whether what it is judged by is known of an ingredient.
    """

    name: str
    by_origin: bool
    breaks: Callable[[Ingredient], Sequence[str] | bool]
    known: Callable[[Ingredient], bool]


@frozen
class Against:
    """Why an ingredient cannot stand under a claim: by its origin, by these declared names, or it is not `known`."""

    claim: str
    names: tuple[str, ...] = ()
    known: bool = True


def against(claim: str, item: Ingredient) -> Against | None:
    """Why an ingredient cannot stand under a claim; None if it can. The supplier confirms what is usual.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> wax = read_catalogue().find("emulsifying wax NF")
        >>> against("no ethoxylates", wax).names, against("vegan", wax)
        (('Polysorbate 60',), None)

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    of = CLAIMS[claim]
    if not of.known(item):
        return Against(claim, known=False)
    broken = of.breaks(item)
    return Against(claim, () if isinstance(broken, bool) else tuple(broken)) if broken else None


def known_for(claim: str, item: Ingredient) -> bool:
    """Whether what the claim is judged by is known of an ingredient.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> known_for("natural origin", read_catalogue().find("cocoa butter"))
        True

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return CLAIMS[claim].known(item)


def to_confirm(claim: str, item: Ingredient) -> bool:
    """Whether an ingredient can stand under a claim by what it is usually made from, and its name leaves that open.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> known = read_catalogue().ingredients
        >>> [to_confirm("vegan", known[name]) for name in ("stearic acid", "sweet almond oil", "beeswax")]
        [True, False, False]

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    open_ = item.functions[0] in WORKED_UP or "palm" in item.origin
    return open_ and CLAIMS[claim].by_origin and not against(claim, item)


def _made_from(claim: str, origin: str) -> Claim:
    return Claim(claim, True, lambda item: origin in item.origin, lambda item: bool(item.origin))


def _ethoxylates(item: Ingredient) -> list[str]:
    return [part.inci for part in item.constituents if ETHOXYLATE.search(part.inci)]


NO_ETHOXYLATES = "no ethoxylates"
CLAIMS = {
    claim.name: claim
    for claim in (
        _made_from("vegan", "animal"),
        _made_from("palm-free", "palm"),
        _made_from("natural origin", "synthetic"),
        Claim(NO_ETHOXYLATES, False, _ethoxylates, lambda item: bool(item.constituents)),
    )
}


def unconfirmed(
    claims: Sequence[str], items: Iterable[Ingredient]
) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
    """What suppliers have to confirm: claims, each time with the names of the ingredients to ask about.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> known = read_catalogue().ingredients
        >>> unconfirmed(["vegan"], [known["water"], known["stearic acid"]])
        ((('vegan',), ('stearic acid',)),)

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    asked: dict[tuple[str, ...], list[str]] = {}
    for item in items:
        if of := tuple(claim for claim in claims if to_confirm(claim, item)):
            asked.setdefault(of, []).append(item.name)
    return tuple((of, tuple(names)) for of, names in asked.items())
