"""Ingredients: a list of many, a page on one."""

from collections.abc import Iterator, Sequence

from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.ingredients.names import Resolved
from optiform.reading.units import count_of
from optiform.telling.text import number, paragraph, shorten, table


def ingredient_list(items: Sequence[Ingredient]) -> str:
    """One line per ingredient."""
    rows = [["ingredient", "bought as", "phase", "declares"]]
    rows += [[item.name, ", ".join(item.functions), item.phase, shorten(item.inci, 50)] for item in items]
    return f"{table(rows)}\n\n  {count_of(len(items), 'ingredient')}"


def ingredient_page(item: Ingredient, sources: dict[str, str]) -> str:
    """Everything known of one ingredient, each figure with its source and how sure it is."""
    lines = [item.name, f"  bought as {', '.join(item.functions)}; {item.phase}"]
    if item.synonyms:
        lines.append(paragraph(f"also called {'; '.join(item.synonyms)}", ""))
    if item.origin:
        lines.append(f"  origin: {', '.join(item.origin)}")
    if item.note:
        lines.append(paragraph(item.note, ""))
    sections = ["\n".join(lines)]
    rows = [["declares", "%", "range", "CAS", "known how", "source"]]
    for part in item.constituents:
        rows.append([part.inci, number(part.share.figure), _range(part.share), part.cas or "", *_known(part.share)])
    if len(rows) > 1:
        sections.append(table(rows, right=[1]))
    rows = [["figure", "typical", "range", "unit", "known how", "source"]]
    rows += [
        [_at(name, at), _typical(value), _range(value), value.unit, *_known(value)] for name, at, value in _values(item)
    ]
    if len(rows) > 1:
        sections.append(table(rows, right=[1]))
    rows = [["fatty acid", "%", "range", "known how", "source"]]
    rows += [[acid, number(value.figure), _range(value), *_known(value)] for acid, value in item.fatty_acids.items()]
    if len(rows) > 1:
        sections.append(table(rows, right=[1]))
    used = dict.fromkeys(value.source for value in _all_values(item))
    if notes := _notes(item):
        sections.append("\n".join(["  Notes", *map(paragraph, notes)]))
    sections.append("\n".join(["  Sources", *(paragraph(f"{key}: {sources.get(key, 'unknown')}") for key in used)]))
    return "\n\n".join(sections)


def resolved_names(meanings: Sequence[Resolved]) -> str:
    """Which substance each name means; what is not certain is told below, with what to ask back."""
    rows = [["name", "means", "how sure"]]
    rows += [[m.name, m.inci or "-", "taken" if m.certain else "offered" if m.inci else "not taken"] for m in meanings]
    asked = [paragraph(_asked(meaning)) for meaning in meanings if not meaning.certain]
    return "\n".join([table(rows), *([""] if asked else []), *asked])


def _asked(meaning: Resolved) -> str:
    """Why a name is not taken, and what it may mean."""
    near = f" Do you mean {' or '.join(meaning.near)}?" if meaning.near else " No known name looks like it."
    return f"{meaning.name}: {meaning.why}.{near}"


def _notes(item: Ingredient) -> list[str]:
    """Each note once, under the names of all the figures it belongs to."""
    found: dict[str, dict[str, None]] = {}
    for name, _, value in _values(item):
        if value.note:
            found.setdefault(value.note, {})[name] = None
    return [f"{', '.join(names)}: {note}" for note, names in found.items()]


def _values(item: Ingredient) -> Iterator[tuple[str, float | None, Value]]:
    for (name, at), value in sorted(item.values.items(), key=lambda entry: (entry[0][0], entry[0][1] or 0.0)):
        yield name, at, value


def _all_values(item: Ingredient) -> Iterator[Value]:
    yield from (part.share for part in item.constituents)
    yield from item.values.values()
    yield from item.fatty_acids.values()


def _at(name: str, at: float | None) -> str:
    return name if at is None else f"{name} at {at:g} degC"


def _typical(value: Value) -> str:
    return number(value.typical) if value.typical is not None else ""


def _range(value: Value) -> str:
    if value.low is None and value.high is None:
        return ""
    ends = [number(end) if end is not None else "..." for end in (value.low, value.high)]
    return f"{ends[0]} to {ends[1]}"


def _known(value: Value) -> tuple[Evidence, str]:
    return value.evidence, value.source
