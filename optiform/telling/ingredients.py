"""Ingredients, told: a list of many, everything known of one, what names mean."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from optiform.ingredients.ingredient import Ingredient, Value
from optiform.ingredients.names import Resolved
from optiform.reading.units import count_of
from optiform.telling.figures import capital
from optiform.telling.measured import SURE
from optiform.telling.parts import Cell, Column, Level, Section, Sentence, Table, Telling, sentences

MOST, FIGURES = 25, 14  # rows of a list, and of the figures, in the short telling
KNOWN = (Column("how sure"), Column("source"))
RANGE = (Column("could be from"), Column("to"))


def ingredients(items: Sequence[Ingredient], words: str = "") -> Telling:
    """One line for each ingredient.

    Args:
        items: to list.
        words: that were looked for.
    """
    columns = (Column("ingredient"), Column("bought as"), Column("phase"), Column("declares"))
    rows = tuple((item.name, ", ".join(item.functions), item.phase, item.inci) for item in items)
    table = Table(columns, rows)
    title = f"{count_of(len(items), 'ingredient')}{f' with {words}' if words else ''}"
    return Telling(title, (Section("list", "", (table,), most=MOST),), table)


def nothing(words: str, near: Sequence[str]) -> Telling:
    """That no ingredient has these words, and which are near."""
    advice = (
        f"Did you mean {' or '.join(near)}?"
        if near
        else "Try one word of its name, or give it a row in your own table."
    )
    perhaps = (Section("near", "", (Sentence(advice),)),)
    return Telling(f"No ingredient has all of: {words}.", perhaps, Table((Column("ingredient"),), ()))


def validated(telling: Telling, file: str, count: int) -> Telling:
    """The same, after a file of one's own was read whole.

    Args:
        telling: of its ingredients.
        file: its name.
        count: of its ingredients.
    """
    read = Sentence(f"{file}: {count_of(count, 'ingredient')} read, no fault found.")
    return replace(telling, sections=(Section("read", "", (read,)), *telling.sections))


def ingredient(item: Ingredient, titles: Mapping[str, str]) -> Telling:
    """Everything known of one ingredient, each figure with its source and how sure it is.

    Args:
        item: the ingredient.
        titles: of the sources.
    """
    figures, acids = _figures(item), len(item.fatty_acids)
    notes, named = sentences(_notes(item)), sentences(_sources(item, titles))
    sections = (
        Section("about", "", tuple(_about(item))),
        Section("figures", "Figures", (figures,), most=FIGURES),
        Section("declares", "What it declares", tuple(_declares(item)), most=4),
        Section("notes", "Notes", notes, False, instead=count_of(len(notes), "note") if notes else ""),
        Section(
            "fats", "Fatty acids", tuple(_acids(item)), False, instead=count_of(acids, "fatty acid") if acids else ""
        ),
        Section("sources", "Sources", named, False, instead=count_of(len(named), "source") if named else ""),
    )
    return Telling(item.name, sections, figures)


def _about(item: Ingredient) -> Iterator[Sentence]:
    yield Sentence(f"Bought as {', '.join(item.functions)}; {item.phase}.")
    if item.synonyms:
        yield Sentence(f"Also called {'; '.join(item.synonyms)}.")
    if item.origin:
        yield Sentence(f"Origin: {', '.join(item.origin)}.")
    for condition, paper in item.statements.items():
        yield Sentence(f"Your supplier's statement, {condition}: {paper}.")
    if item.note:
        yield Sentence(f"{capital(item.note.rstrip('.'))}.")


def _figures(item: Ingredient) -> Table:
    columns = (Column("figure"), Column("typical"), *RANGE, Column("unit"), *KNOWN)
    rows = tuple(
        (_figure(name, at), value.typical, value.low, value.high, value.unit,
         *_known(value))
        for name, at, value in _values(item)
    )  # fmt: skip
    return Table(columns, rows)


def _figure(name: str, at: float | None) -> str:
    """What a figure is called; what is a share of the jar, and not of the ingredient, says so."""
    if at is not None:
        return f"{name} at {at:g} degC"
    return f"{name}, of the jar" if name.endswith(" use") else name


def _declares(item: Ingredient) -> Iterator[Table]:
    columns = (Column("declares"), Column("% of it"), *RANGE, Column("CAS"), *KNOWN)
    rows = tuple(
        (x.inci, x.share.figure, x.share.low, x.share.high, x.cas or "", *_known(x.share)) for x in item.constituents
    )
    if rows:
        yield Table(columns, rows)


def _acids(item: Ingredient) -> Iterator[Table]:
    columns = (Column("fatty acid"), Column("% of the fatty acids"), *RANGE, *KNOWN)
    rows = tuple((acid, x.figure, x.low, x.high, *_known(x)) for acid, x in item.fatty_acids.items())
    if rows:
        yield Table(columns, rows)


def _notes(item: Ingredient) -> Iterator[str]:
    """Each note once, under the names of all the figures it belongs to."""
    under: dict[str, dict[str, None]] = {}
    for name, _, value in _values(item):
        if value.note:
            under.setdefault(value.note, {})[name] = None
    yield from (f"{', '.join(names)}: {note}" for note, names in under.items())


def _sources(item: Ingredient, titles: Mapping[str, str]) -> Iterator[str]:
    used = dict.fromkeys(value.source for value in _every(item))
    yield from (f"{source}: {titles.get(source, 'not in the list of sources')}" for source in used)


def _values(item: Ingredient) -> Iterator[tuple[str, float | None, Value]]:
    for (name, at), value in sorted(item.values.items(), key=lambda entry: (entry[0][0], entry[0][1] or 0.0)):
        yield name, at, value


def _every(item: Ingredient) -> Iterator[Value]:
    yield from (part.share for part in item.constituents)
    yield from item.values.values()
    yield from item.fatty_acids.values()


def _known(value: Value) -> tuple[Cell, Cell]:
    return SURE[value.evidence], value.source


# -- names -------------------------------------------------------------------------------------------------------------


def resolved(meanings: Sequence[Resolved]) -> Telling:
    """Which substance each name means; what is not certain is told below, with what to ask back."""
    columns = (Column("name"), Column("means", unknown="-"), Column("how sure"))
    rows = tuple(
        (m.name, m.inci or None, "taken" if m.certain else "offered" if m.inci else "not taken") for m in meanings
    )
    table = Table(columns, rows)
    asks = sentences((_ask(meaning) for meaning in meanings if not meaning.certain), Level.MIND, bullet=False)
    sections = (Section("names", "", (table,), most=MOST), Section("ask", "Ask back", asks, most=5))
    return Telling("What names mean", sections, table)


def _ask(meaning: Resolved) -> str:
    """Why a name is not taken, and what it may mean."""
    near = f" Do you mean {' or '.join(meaning.near)}?" if meaning.near else " No known name looks like it."
    return f"{meaning.name}: {meaning.why}.{near}"
