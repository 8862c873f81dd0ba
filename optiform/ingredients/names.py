"""Which substance a name means: the one place that folds spellings for own tables, law, allergens, colours and labels.

It stands below rules/ because the maker's own table, the allergen columns and every declared constituent are read here
in ingredients/, and arrows point down only.

A name is *taken* where the tables or what was read are sure of it; *offered* where its spelling rests on memory; *asked
back* where several substances have it or it only looks like one. Nothing offered or asked back is counted anywhere.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import cache, lru_cache

from optiform.ingredients.spelling import (
    bracketed,
    fold,
    number,
    parts,
    tidy,
    turned,
    without_grade,
    without_share,
)
from optiform.reading.tables import shipped
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
        liquid solid white nano mixed rspo coconut palm rapeseed derived from based free grade cosmetic technical usp
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
_PLANT = re.compile(r"^[A-Z][a-z]+ [A-Z][a-z]+.* (?:Oil|Butter|Extract|Powder|Flour|Juice|Wax|Water|Starch|Gum|Cera)$")
#: One CAS number serves the whole family of such a name, whatever its number.
_FAMILY = re.compile(r"(?:PEG|PPG|eth|Polyglyceryl)-\d+\b")


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
class _Meaning:
    """The substances a spelling may mean. `sure`: it is the only one, and the spelling was read or follows a rule."""

    names: tuple[str, ...]
    sure: bool = True
    why: str = ""
    open: bool = False  # which substance it is has to be asked: the spelling has other meanings


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
    meaning = _read(text, DEEP)
    if meaning is None:
        return Resolved(name, None, False, tuple(_near(text)), "not a known name")
    if meaning.sure:
        return Resolved(name, meaning.names[0], True)
    offered = len(meaning.names) == 1 and not meaning.open
    return Resolved(name, meaning.names[0] if offered else None, False, meaning.names, meaning.why)


def canonical(name: str) -> str:
    """The INCI name that a name certainly is, else the name as written, in one line.

    Example:
        >>> canonical("glycerin  (vegetable)"), canonical("moon dust")
        ('Glycerin', 'moon dust')
    """
    if name in _declared():
        return name
    found = resolve(name)
    return found.inci if found.certain and found.inci else " ".join(name.split())


def share_behind(text: str) -> tuple[str, float | None]:
    """A declared name and the share in % that stands behind it, if the number is no part of the name.

    Raises:
        ValueError: a share that can be read in two ways.

    Example:
        >>> share_behind("Phenoxyethanol 70 %"), share_behind("Polysorbate 20"), share_behind("moon dust 20")
        (('Phenoxyethanol', 70.0), ('Polysorbate 20', None), ('moon dust 20', None))
    """
    name, share, signed = without_share(tidy(text))
    whole = fold(text) in _spellings() and not (signed and fold(name) in _spellings())
    if whole or not share or not (signed or _stripped(name, share)):
        return text, None
    return name, parse_number(share)


def several(text: str) -> tuple[str, ...]:
    """The names of a blend that are known, where a text is made of several names; empty where it is one name."""
    if resolve(text).certain:
        return ()
    meanings = [_read(part, WITHIN) for part in parts(text)[:PIECES]]
    names = dict.fromkeys(name for meaning in meanings if meaning for name in meaning.names if meaning.sure)
    return tuple(names) if len(names) > 1 else ()


# -- reading a name ----------------------------------------------------------------------------------------------------


def _read(text: str, deep: int) -> _Meaning | None:
    """The meaning of a text as it stands, else of what is left when something around the name is taken off."""
    known = _spellings().get(fold(text)) if text else None
    if not text or not deep or (known and known.sure):
        return known
    if digits := number(text):
        return _numbers().get(digits)
    ways = (_without_share, _without_grade, _without_bracket, _turned, _of_parts)
    built = next((meaning for way in ways if (meaning := way(text, deep - 1))), None)
    if known is None or built is None or not built.sure:
        return known or built
    return _joined((known, built))


def _without_share(text: str, deep: int) -> _Meaning | None:
    name, share, signed = without_share(text)
    return _read(name, deep) if share and (signed or _stripped(name, share)) else None


def _stripped(name: str, share: str) -> bool:
    """Whether a bare number behind a name is a share: the name is known and has no relatives with numbers.

    Two figures with a comma, as 1,3, say where something sits in a molecule.
    """
    if re.fullmatch(r"\d,\d", share) or float(share.replace(",", ".")) > MOST:
        return False
    return _read(name, DEEP - 1) is not None and fold(name) not in _numbered()


def _without_grade(text: str, deep: int) -> _Meaning | None:
    bare = without_grade(text)
    return _read(bare, deep) if bare != text else None


def _without_bracket(text: str, deep: int) -> _Meaning | None:
    for outside, inside, followed in bracketed(text):
        out, within = _read(outside, deep), _read(inside, min(deep, WITHIN))
        if out and within:
            return out if out.names == within.names and out.sure else _joined((within, out))
        if out:
            plain = _harmless(inside) or (followed and _PLANT.match(out.names[0]))
            return out if plain else replace(out, sure=False, why=out.why or f"what {inside!r} says of it is not known")
        if within:
            return replace(within, sure=False, why=within.why or f"{outside!r} is not known")
    return None


def _turned(text: str, deep: int) -> _Meaning | None:
    return _read(turned(text), deep)


def _of_parts(text: str, deep: int) -> _Meaning | None:
    """One name written twice, as Aqua/Water; a name with a remark behind a comma; or a blend, which is no one name."""
    pieces = parts(text)
    if not 2 <= len(pieces) <= PIECES:
        return None
    meanings = [_read(piece, min(deep, WITHIN)) for piece in pieces]
    known = [meaning for meaning in meanings if meaning]
    if not known:
        return None
    if len(known) == len(pieces):
        return _joined(known)
    if len(known) > 1:
        return _Meaning(_joined(known).names, False, "several names in one", open=True)
    rest = " ".join(piece for piece, meaning in zip(pieces, meanings, strict=True) if not meaning)
    if meanings[0] and _harmless(rest):
        return meanings[0]
    return replace(known[0], sure=False, why=known[0].why or f"{rest!r} is not known")


def _joined(meanings: Iterable[_Meaning]) -> _Meaning:
    """Several readings of one text: certain where all say the same."""
    meanings = list(meanings)
    names = tuple(dict.fromkeys(name for meaning in meanings for name in meaning.names))
    if len(names) > 1:
        return _Meaning(names, False, "several names in one", open=True)
    sure = any(meaning.sure for meaning in meanings)
    return _Meaning(names, sure, "" if sure else meanings[0].why, not sure and meanings[0].open)


def _harmless(words: str) -> bool:
    """Whether a remark beside a name leaves the substance what it is."""
    remark = re.findall(r"[^\W\d_]{2,}(?:-[^\W\d_]+)*", words.casefold())
    return bool(remark) and all(
        word in QUALIFIERS or not (_SALT.search(word) or fold(word) in _vocabulary()) for word in remark
    )


# -- what is not known -------------------------------------------------------------------------------------------------


def _near(text: str) -> Iterator[str]:
    """Names that look like a text, best first. Never used to guess."""
    key = fold(without_share(text)[0])
    alike = get_close_matches(key, _spellings(), n=2 * NEAR, cutoff=ALIKE) if key and len(text) <= 120 else []
    inside = sorted((k for k in _spellings() if key in k), key=len) if len(key) >= SHORTEST else []
    names = (name for k in [*alike, *inside] for name in _spellings()[k].names)
    yield from list(dict.fromkeys(names))[:NEAR]


# -- the tables --------------------------------------------------------------------------------------------------------


@cache
def _declared() -> frozenset[str]:
    """What the shipped ingredients declare: canonical as it stands, so that a start need not read every spelling."""
    return frozenset(row["inci"] for row in shipped("constituents"))


@cache
def _spellings() -> dict[str, _Meaning]:
    """Folded spelling to what it means: names.csv, then the names of all tables, then the words of the catalogue."""
    found = {fold(row["spelling"]): _of_row(row) for row in shipped("names")}
    for name in dict.fromkeys(_named()):
        known = found.get(fold(name))
        if known is None or not known.sure:
            found[fold(name)] = _Meaning((name,))
    for word, names in _trade_words():
        known, meant = found.get(fold(word)), _Meaning(names, len(names) == 1, "" if len(names) == 1 else _BLEND)
        if known is None or (not known.sure and known.names == names):
            found[fold(word)] = meant
        elif known.names != names and not known.sure:
            found[fold(word)] = _joined((meant, known))
    return found


_BLEND = "a blend, or a word for several"


def _of_row(row: dict[str, str]) -> _Meaning:
    if row["certainty"] == "ask":
        return _Meaning((row["inci"],), False, "others are called so too", open=True)
    sure = row["evidence"] != "recalled"
    return _Meaning((row["inci"],), sure, "" if sure else "the spelling is from memory")


def _named() -> Iterator[str]:
    """Every name that a table of ours calls a substance by."""
    yield from (row["inci"] for table in ("substances", "constituents") for row in shipped(table))
    for table, column in (("limits", "inci"), ("allergens", "name"), ("allergens", "inci"), ("colourants", "inci")):
        yield from (name.strip() for row in shipped(table) for name in row[column].split(";"))
    yield from (f"CI {row['ci']}" for row in shipped("colourants") if row["ci"])
    yield from (row["eu"] for row in shipped("label_names"))


def _trade_words() -> Iterator[tuple[str, tuple[str, ...]]]:
    """Words of the catalogue and of labels, with the substances they stand for."""
    for row in shipped("label_names"):
        yield from ((name, (row["eu"],)) for name in (*row["names"].split(";"), row["us"]))
    contents: dict[str, list[tuple[str, float]]] = defaultdict(list)
    for row in shipped("constituents"):
        contents[row["ingredient"]].append((row["inci"], float(row["typical"])))
    words: dict[str, dict[tuple[str, ...], str]] = defaultdict(dict)
    short: dict[str, dict[tuple[str, ...], str]] = defaultdict(dict)
    for row in shipped("ingredients"):
        names = _meant(row, contents[row["name"]])
        for word in filter(None, (row["name"], *row["synonyms"].split(";"))):
            words[fold(word)][names] = word
        short[fold(row["name"].partition(",")[0])][names] = row["name"].partition(",")[0]
    words = {**short, **words}  # "sugar" is a synonym of one sugar before it is short for another
    for meanings in words.values():
        names = tuple(dict.fromkeys(name for each in meanings for name in each))
        yield next(iter(meanings.values())), names


def _meant(row: dict[str, str], contents: list[tuple[str, float]]) -> tuple[str, ...]:
    """The substance a word of the catalogue stands for: the one beside water, or the one that it is called after."""
    called = {fold(word) for word in (row["name"], row["name"].partition(",")[0], *row["synonyms"].split(";"))}
    dry = [name for name, _ in contents if name != "Aqua"] or ["Aqua"]
    after = [name for name in dry if fold(name) in called and "colourant" not in row["functions"]]
    return tuple(after if len(after) == 1 else dry)


@cache
def _numbers() -> dict[str, _Meaning]:
    """CAS and EC numbers to the substances that have them; a number shared by several names none of them."""
    names: dict[str, dict[str, bool]] = defaultdict(dict)
    for row in shipped("constituents"):
        if row["cas"]:
            names[row["cas"]][row["inci"]] = True
    for row in shipped("substances"):
        for kind in ("cas", "ec"):
            if row[kind]:
                known = names[row[kind]].get(row["inci"], False)
                names[row[kind]][row["inci"]] = known or row[f"{kind} evidence"] != "recalled"
    return {digits: _of_number(known) for digits, known in names.items()}


def _of_number(known: dict[str, bool]) -> _Meaning:
    names = tuple(known)
    if len(names) > 1 or _FAMILY.search(names[0]):
        return _Meaning(names, False, "several substances share this number", open=True)
    return _Meaning(names, known[names[0]], "" if known[names[0]] else "the number is from memory")


@cache
def _numbered() -> frozenset[str]:
    """Names that others continue with a number: Benzophenone, because of Benzophenone-3."""
    keys = _spellings()
    stems = (re.fullmatch(r"(.+?[^0-9-])-?[0-9]+", key) for key in keys)
    return frozenset(stem[1] for stem in stems if stem and stem[1] in keys)


@cache
def _vocabulary() -> frozenset[str]:
    """Folded words of INCI names: beside another name they may make a third of it."""
    return frozenset(fold(word) for name in _named() for word in re.split(r"[\s/-]+", name) if len(word) > 1)
