"""What the tables know of names: every folded spelling and every number with the substances it may mean."""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cache

from optiform.ingredients.spelling import fold
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped

#: One CAS number serves the whole family of such a name, whatever its number.
_FAMILY = re.compile(r"(?:PEG|PPG|eth|Polyglyceryl)-\d+\b")
_BLEND = "a blend, or a word for several"


@frozen
class Meaning:
    """The substances a spelling may mean. `sure`: it is the only one, and the spelling was read or follows a rule."""

    names: tuple[str, ...]
    sure: bool = True
    why: str = ""
    open: bool = False  # which substance it is has to be asked: the spelling has other meanings


def joined(meanings: Iterable[Meaning]) -> Meaning:
    """Several readings of one text: certain where all say the same."""
    meanings = list(meanings)
    names = tuple(dict.fromkeys(name for meaning in meanings for name in meaning.names))
    if len(names) > 1:
        return Meaning(names, False, "several names in one", open=True)
    sure = any(meaning.sure for meaning in meanings)
    return Meaning(names, sure, "" if sure else meanings[0].why, not sure and meanings[0].open)


@cache
def declared() -> frozenset[str]:
    """What the shipped ingredients declare: canonical as it stands, so that a start need not read every spelling."""
    return frozenset(row["inci"] for row in shipped("constituents"))


@cache
def spellings() -> dict[str, Meaning]:
    """Folded spelling to what it means: names.csv, then the names of all tables, then the words of the catalogue."""
    table = {fold(row["spelling"]): _of_row(row) for row in shipped("names")}
    for name in dict.fromkeys(_named()):
        known = table.get(fold(name))
        if known is None or not known.sure:
            table[fold(name)] = Meaning((name,))
    for word, names in _trade_words():
        known, meant = table.get(fold(word)), Meaning(names, len(names) == 1, "" if len(names) == 1 else _BLEND)
        if known is None or (not known.sure and known.names == names):
            table[fold(word)] = meant
        elif known.names != names and not known.sure:
            table[fold(word)] = joined((meant, known))
    return table


def _of_row(row: dict[str, str]) -> Meaning:
    if row["certainty"] == "ask":
        return Meaning((row["inci"],), False, "others are called so too", open=True)
    sure = row["evidence"] != "recalled"
    return Meaning((row["inci"],), sure, "" if sure else "the spelling is from memory")


def _named() -> Iterator[str]:
    """Every name that a table of ours calls a substance by."""
    yield from (row["inci"] for table in ("substances", "constituents") for row in shipped(table))
    tables = ("limits", "positive_lists", "unlisted", "allergens", "colourants")
    for table, column in (*((table, "inci") for table in tables), ("allergens", "name")):
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
def numbers() -> dict[str, Meaning]:
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


def _of_number(known: dict[str, bool]) -> Meaning:
    names = tuple(known)
    if len(names) > 1 or _FAMILY.search(names[0]):
        return Meaning(names, False, "several substances share this number", open=True)
    return Meaning(names, known[names[0]], "" if known[names[0]] else "the number is from memory")


@cache
def numbered() -> frozenset[str]:
    """Names that others continue with a number: Benzophenone, because of Benzophenone-3, not goods of some strength."""
    keys = spellings()
    stems = ((key, re.fullmatch(r"(.+?[^0-9-])-?[0-9]+", key)) for key in keys)
    return frozenset(
        stem[1] for key, stem in stems if stem and stem[1] in keys and keys[key].names != keys[stem[1]].names
    )


@cache
def vocabulary() -> frozenset[str]:
    """Folded words of INCI names: beside another name they may make a third of it."""
    return frozenset(fold(word) for name in _named() for word in re.split(r"[\s/-]+", name) if len(word) > 1)
