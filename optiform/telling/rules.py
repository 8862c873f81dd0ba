"""Rules of what goes together, told: a list of many, one in full."""

from collections.abc import Mapping, Sequence

from optiform.ingredients.ingredient import Evidence
from optiform.reading.units import count_of
from optiform.rules.packs import LITTLE, OPEN, USUAL
from optiform.telling.explained import Explained
from optiform.telling.measured import SURE
from optiform.telling.parts import Cell, Column, Section, Sentence, Step, Table, Telling, sentences

MOST = 12  # rules in the short telling
LEVELS = {
    "stop": "stop: made like this it fails or is not allowed",
    "mind": "mind: an experienced maker would look at it",
    "note": "note: unusual, no harm",
}
#: How far air and light reach the oils, in words.
PACKED = {
    OPEN: "a jar of what stays on the skin or that wet fingers reach into, or any clear pack",
    USUAL: "any other pack but an airless pump, or none said",
    LITTLE: "an airless pump",
}
OVERRULE = (
    'A brief can overrule a rule, but no law: overrule = ["ID"]. Design, weigh, check, compare, the batch sheet '
    "and the declaration still say so."
)


def rules(every: Sequence[Explained], words: str = "") -> Telling:
    """How many rules there are about what, or one line for each that has some words, the gravest first.

    Args:
        every: the rules.
        words: that were looked for.
    """
    columns = Column("rule"), Column("level"), Column("about"), Column("what"), Column("how sure"), Column("amounts")
    rows = tuple(
        (x.rule.id, x.rule.level, x.rule.about, x.rule.title, SURE[x.rule.evidence], SURE[x.figures]) for x in every
    )
    table, count = Table(columns, rows), count_of(len(every), "rule")
    short = Table(columns[:4], tuple(row[:4] for row in rows))
    sections = (
        Section("about", "", () if words else (_counted(every),)),
        Section("list", "Every rule", (short,), short=bool(words), most=MOST, instead="Every rule"),
        Section("sure", "How sure each is", (table,), short=False, instead="How sure each rule is"),
        Section("levels", "", (*sentences(LEVELS.values()), Sentence(OVERRULE))),
    )
    steps = Step("All about one thing", "optiform rules charge"), Step("One in full", "optiform rules acid-carbonate")
    return Telling(f"{count}{f' with {words}' if words else ''}", sections, table, steps)


def _counted(every: Sequence[Explained]) -> Table:
    """How many there are about each thing, by level, and how many of them were read at a source."""
    columns = (Column("about"), *map(Column, LEVELS), Column("read at a source"))
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            about,
            *(sum(x.rule.about == about and x.rule.level == level for x in every) for level in LEVELS),
            sum(x.rule.about == about and x.rule.evidence is Evidence.PUBLISHED for x in every),
        )
        for about in dict.fromkeys(x.rule.about for x in every)
    )
    return Table(columns, rows)


def nothing(words: str, count: int) -> Telling:
    """That no rule has these words."""
    every = Sentence(f"There are {count}: `optiform rules --all` lists them.")
    return Telling(f"No rule has all of: {words}.", (Section("list", "", (every,)),), Table((Column("rule"),), ()))


def rule(x: Explained, titles: Mapping[str, str]) -> Telling:
    """One rule in full: what happens, what keeps it, from where it is known.

    Args:
        x: the rule.
        titles: of the sources.
    """
    kinds = f"Kinds of product: {', '.join(x.kinds).replace('not, ', 'all but ')}." if x.kinds else ""
    areas = f"Used on: {', '.join(x.areas)}." if x.areas else ""
    packs = f"Packs: {'; '.join(PACKED[x] for x in x.exposures)}." if x.exposures else ""
    sure = f"How sure: the statement is {SURE[x.rule.evidence]}; its amounts are {SURE[x.figures]}."
    about = [
        f"{x.rule.about}; {LEVELS[x.rule.level]}.",
        x.rule.text,
        kinds,
        areas,
        packs,
        sure,
        x.note and f"Note: {x.note}.",
    ]
    named = [f"{key}: {titles.get(key, '')}" for key in x.rule.source.split("; ") if key]
    table = Table((Column("any one of these keeps it"),), tuple((way,) for way in x.ways))
    sections = (
        Section("about", "", sentences(filter(None, about), bullet=False)),
        Section("ways", "", (table,)),
        Section("sources", "Sources", sentences(named) or (Sentence("Common practice, no source."),)),
        Section("overrule", "", (Sentence(f'To overrule it in a brief: overrule = ["{x.rule.id}"].'),)),
    )
    return Telling(f"{x.rule.id}: {x.rule.title}", sections, table)
