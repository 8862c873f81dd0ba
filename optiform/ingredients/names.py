"""Which substance a name means: the one place that folds spellings for own tables, law, allergens, colours and labels.

It stands below rules/ because the maker's own table, the allergen columns and every declared constituent are read here
in ingredients/, and arrows point down only.

A name is *taken* where the tables or what was read are sure of it; *offered* where its spelling rests on memory; *asked
back* where several substances have it or it only looks like one. Nothing offered or asked back is counted anywhere.
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from optiform.ingredients.lexicon import Meaning, declared, joined, numbered, numbers, spellings, vocabulary
from optiform.ingredients.spelling import (
    COLOUR_NUMBER,
    bracketed,
    fold,
    number,
    parts,
    tidy,
    turned,
    without_grade,
    without_share,
)
from optiform.reading.frozen import frozen
from optiform.reading.units import parse_number

NEAR = 5  #: names offered for one that is not known
ALIKE = 0.78  #: how near two folded names must be to be told
SHORTEST = 5  #: letters of a word that is looked for inside names
DEEP = 4  #: how often something is taken off around one name
WITHIN = 1  #: how often within a bracket or a part of a blend
PIECES = 20  #: names of a blend; what has more is a list
MOST = 100.0  #: %; a number above it is no share but a grade
#: Words beside a name that say nothing about which substance it is.
QUALIFIERS = frozenset(
    re.findall(
        r"\S+",
        """
        vegetable plant natural organic bio raw kosher refined unrefined cold pressed virgin pure purified distilled
        deionized deionised demineralised demineralized anhydrous powder powdered flakes pellets granules crystals
        liquid solid white mixed rspo coconut palm rapeseed derived from based free grade cosmetic technical usp
        bp nf ep preservative humectant emollient emulsifier antioxidant thickener solvent surfactant colourant
        colorant fragrance chelator active triple water-soluble oil-soluble contains as
        """,
    )
)
#: Words of chemistry that make another substance of the one they stand beside, whether an INCI name has them or not.
_SALT = re.compile(
    r"(?:ate|ide|ite|eth|amine|oxylated|fated|nated|nized|lysed|lyzed|acetylated|esters?|ether|salts?|polymer|lake|"
    r"derivatives?|substitute|replacement|alternative|type|complex|blend|extract|oil)$"
)
#: A mark of the nano form of a substance, which the lists of the law keep apart from it.
_NANO = re.compile(r"\bnano\b", re.IGNORECASE)
_PLANT = re.compile(r"^[A-Z][a-z]+ [A-Z][a-z]+.* (?:Oil|Butter|Extract|Powder|Flour|Juice|Wax|Water|Starch|Gum|Cera)$")


@frozen
class Resolved:
    """What a name means.

    Attributes:
        name: as it was asked.
        inci: the substance; None where several are meant or none is known.
        certain: whether it is taken. Otherwise `inci` is only offered: ask before it is used.
        near: names to ask back, best first; what is offered stands first.
        why: what kept it from being certain, in words; empty where it is.
    """

    name: str
    inci: str | None
    certain: bool
    near: tuple[str, ...] = ()
    why: str = ""


@lru_cache(maxsize=10_000)
def resolve(name: str) -> Resolved:
    """What a name means.

    Example:
        >>> resolve("PHENOXYETHANOL 100").inci, resolve("Water (Aqua)").inci
        ('Phenoxyethanol', 'Aqua')
        >>> asked = resolve("Phenoxyethanl")
        >>> asked.inci, asked.certain, asked.near[0]
        (None, False, 'Phenoxyethanol')
    """
    text = tidy(name)
    meaning = _meaning(text)
    if meaning is None:
        return Resolved(name, None, False, tuple(_near(text)), "not a known name")
    if meaning.sure:
        return Resolved(name, meaning.names[0], True)
    offered = len(meaning.names) == 1 and not meaning.open
    return Resolved(name, meaning.names[0] if offered else None, False, meaning.names, meaning.why)


@lru_cache(maxsize=10_000)
def certain(name: str) -> str | None:
    """The substance that a name certainly is; None where it is none, or has to be asked. Looks for no near names.

    Example:
        >>> certain("PHENOXYETHANOL 100"), certain("Phenoxyethanl")
        ('Phenoxyethanol', None)
    """
    meaning = _meaning(tidy(name))
    return meaning.names[0] if meaning is not None and meaning.sure else None


def is_nano(name: str) -> bool:
    """Whether a name is marked as the nano form of a substance.

    Example:
        >>> is_nano("Zinc Oxide [nano]"), is_nano("Cetearyl Isononanoate")
        (True, False)
    """
    return _NANO.search(name) is not None


def canonical(name: str) -> str:
    """The INCI name that a name certainly is, else the name as written, in one line.

    Example:
        >>> canonical("glycerin  (vegetable)"), canonical("moon dust")
        ('Glycerin', 'moon dust')
    """
    if name in declared():
        return name
    return certain(name) or " ".join(name.split())


def share_behind(text: str) -> tuple[str, float | None]:
    """A declared name and the share in % that stands behind it, if the number is no part of the name.

    Raises:
        ValueError: a share that can be read in two ways.

    Example:
        >>> share_behind("Phenoxyethanol 70 %"), share_behind("Polysorbate 20"), share_behind("moon dust 20")
        (('Phenoxyethanol', 70.0), ('Polysorbate 20', None), ('moon dust 20', None))
    """
    name, share, signed = without_share(tidy(text))
    known = certain(name) if share else None
    parted = signed or (known is not None and known == certain(text))  # goods named with their strength
    parted = parted or COLOUR_NUMBER.fullmatch(name) is not None
    whole = fold(text) in spellings() and not (parted and fold(name) in spellings())
    if whole or not share or not (parted or _stripped(name, share)):
        return text, None
    return name, parse_number(share)


def several(text: str) -> tuple[str, ...]:
    """The names of a blend that are known, where a text is made of several names; empty where it is one name."""
    if certain(text) is not None:
        return ()
    meanings = [_read(part, WITHIN) for part in parts(text)[:PIECES]]
    names = dict.fromkeys(name for meaning in meanings if meaning for name in meaning.names if meaning.sure)
    return tuple(names) if len(names) > 1 else ()


# -- reading a name ----------------------------------------------------------------------------------------------------


def _meaning(text: str) -> Meaning | None:
    """The meaning of a whole name; of a nano form only the substance, which is not taken for it."""
    meaning = _read(text, DEEP)
    if meaning is None or not is_nano(text):
        return meaning
    return replace(meaning, sure=False, why=meaning.why or "the nano form stands apart in the law")


def _read(text: str, deep: int) -> Meaning | None:
    """The meaning of a text as it stands, else of what is left when something around the name is taken off."""
    known = spellings().get(fold(text)) if text else None
    if not text or not deep or (known and known.sure):
        return known
    if digits := number(text):
        return numbers().get(digits)
    ways = (_without_share, _without_grade, _without_bracket, _turned, _of_parts)
    built = next((meaning for way in ways if (meaning := way(text, deep - 1))), None)
    if known is None or built is None or not built.sure:
        return known or built
    return joined((known, built))


def _without_share(text: str, deep: int) -> Meaning | None:
    name, share, signed = without_share(text)
    return _read(name, deep) if share and (signed or _stripped(name, share)) else None


def _stripped(name: str, share: str) -> bool:
    """Whether a bare number behind a name is a share: the name is known and has no relatives with numbers.

    Two figures with a comma, as 1,3, say where something sits in a molecule.
    """
    if re.fullmatch(r"\d,\d", share) or float(share.replace(",", ".")) > MOST:
        return False
    return _read(name, DEEP - 1) is not None and fold(name) not in numbered()


def _without_grade(text: str, deep: int) -> Meaning | None:
    bare = without_grade(text)
    return _read(bare, deep) if bare != text else None


def _without_bracket(text: str, deep: int) -> Meaning | None:
    for outside, inside, followed in bracketed(text):
        out, within = _read(outside, deep), _read(inside, min(deep, WITHIN))
        if out and within:
            return out if out.names == within.names and out.sure else joined((within, out))
        if out:
            plain = _harmless(inside) or (followed and _PLANT.match(out.names[0]))
            return out if plain else replace(out, sure=False, why=out.why or f"what {inside!r} says of it is not known")
        if within:
            return replace(within, sure=False, why=within.why or f"{outside!r} is not known")
    return None


def _turned(text: str, deep: int) -> Meaning | None:
    return _read(turned(text), deep)


def _of_parts(text: str, deep: int) -> Meaning | None:
    """One name written twice, as Aqua/Water; a name with a remark behind a comma; or a blend, which is no one name."""
    pieces = parts(text)
    if not 2 <= len(pieces) <= PIECES:
        return None
    meanings = [_read(piece, min(deep, WITHIN)) for piece in pieces]
    known = [meaning for meaning in meanings if meaning]
    if not known:
        return None
    if len(known) == len(pieces):
        return joined(known)
    if len(known) > 1:
        return Meaning(joined(known).names, False, "several names in one", open=True)
    rest = " ".join(piece for piece, meaning in zip(pieces, meanings, strict=True) if not meaning)
    if meanings[0] and _harmless(rest):
        return meanings[0]
    return replace(known[0], sure=False, why=known[0].why or f"{rest!r} is not known")


def _harmless(words: str) -> bool:
    """Whether a remark beside a name leaves the substance what it is."""
    remark = re.findall(r"[^\W\d_]{2,}(?:-[^\W\d_]+)*", words.casefold())
    return bool(remark) and all(
        word in QUALIFIERS or not (_SALT.search(word) or fold(word) in vocabulary()) for word in remark
    )


# -- what is not known -------------------------------------------------------------------------------------------------


def _near(text: str) -> Iterator[str]:
    """Names that look like a text, best first. Never used to guess."""
    if COLOUR_NUMBER.match(text):
        yield from _near_colours(fold(text))
        return
    key = fold(without_share(text)[0])
    from difflib import get_close_matches  # only for what is not known

    alike = get_close_matches(key, spellings(), n=2 * NEAR, cutoff=ALIKE) if key and len(text) <= 120 else []
    inside = sorted((k for k in spellings() if key in k), key=len) if len(key) >= SHORTEST else []
    names = (name for k in [*alike, *inside] for name in spellings()[k].names)
    yield from list(dict.fromkeys(names))[:NEAR]


def _near_colours(key: str) -> Iterator[str]:
    """Colours with one digit other than a number, which means nothing but a colour."""
    for k, meaning in spellings().items():
        if len(k) == len(key) and k.startswith("ci") and sum(a != b for a, b in zip(k, key, strict=True)) == 1:
            yield from meaning.names
