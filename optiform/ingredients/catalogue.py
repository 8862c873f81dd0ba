"""All ingredients a brief may draw on: the shipped tables, with the maker's own file on top."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from functools import cache, cached_property
from pathlib import Path
from typing import TYPE_CHECKING
from unicodedata import normalize

from optiform.ingredients.ingredient import Constituent, Evidence, Ingredient, Value
from optiform.ingredients.names import certain, share_behind
from optiform.ingredients.own_table import read_own_file
from optiform.reading import run
from optiform.reading.faults import MOST, BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.reading.values import Comparable

if TYPE_CHECKING:
    import pandas


SHORTEST = 3  #: letters of a word that is looked for inside names
LONGEST = 100  #: letters of a name that others can look like


@frozen
class Source:
    """Where figures come from."""

    id: str
    title: str
    note: str = ""


@frozen
class Catalogue(Comparable):
    """Ingredients by name, and the sources their figures name. `owned` are those in the maker's own files."""

    ingredients: Mapping[str, Ingredient]
    sources: Mapping[str, Source]
    owned: frozenset[str] = frozenset()

    def find(self, name: str) -> Ingredient | None:
        """The ingredient of this name, synonym or INCI name; None if there is none, or several declare that name."""
        if item := self.called(name):
            return item
        alone = self.declaring(name)
        return alone[0] if len(alone) == 1 else None

    def called(self, name: str) -> Ingredient | None:
        """The ingredient of this name or synonym, whatever its case; None if there is none."""
        key = _key(name)
        return self.ingredients.get(key) or self.ingredients.get(self._synonyms.get(key, ""))

    def declaring(self, name: str) -> list[Ingredient]:
        """The ingredients that declare this substance and, water apart, nothing else; none for a name with a share."""
        substance = certain(name)
        if substance is None or share_behind(name)[1] is not None:
            return []
        return [self.ingredients[key] for key in self._alone.get(substance, ())]

    def near(self, name: str, most: int = 3) -> list[str]:
        """Names that look like `name`, best first, for a message. Never used to guess."""
        if len(name) > LONGEST:
            return []
        from difflib import get_close_matches  # only for what is not known

        if declared := [item.name for item in self.declaring(name)]:
            return declared[:most]
        known = {key: item.name for key, item in self.ingredients.items()}
        known |= {word: self.ingredients[key].name for word, key in self._synonyms.items()}
        alike = get_close_matches(_key(name), known, n=2 * most, cutoff=0.6)
        words = [key for key in known if _key(name) in key] if len(_key(name)) >= SHORTEST else []
        asked = set(_key(name).split())
        whole = [key for key in known if len(asked) > 1 and asked <= set(key.split())]
        return list(dict.fromkeys(known[key] for key in [*whole, *alike, *sorted(words, key=len)]))[:most]

    def search(self, words: str) -> list[Ingredient]:
        """Ingredients that have every one of `words` in name, synonyms, functions, phase or constituents."""
        wanted = _key(words).split()
        return [item for item in self.ingredients.values() if all(word in _text(item) for word in wanted)]

    def unknown(self, name: str) -> str:
        """What was expected where an unknown `name` stood."""
        if (substance := certain(name)) and not self.declaring(name):
            return f"a known ingredient; {substance} is a substance: give it a row in your own table, with its inci"
        near = self.near(name)
        return f"a known ingredient; near: {'; '.join(near)}" if near else "a known ingredient"

    def table(self) -> pandas.DataFrame:
        """Every figure of every ingredient, one row each."""
        import pandas

        rows = [
            (item.name, name, at, value.low, value.typical, value.high, value.unit, value.source, str(value.evidence))
            for item in self.ingredients.values()
            for (name, at), value in item.values.items()
        ]
        columns = ["ingredient", "property", "temperature", "low", "typical", "high", "unit", "source", "evidence"]
        return pandas.DataFrame(rows, columns=columns)

    @cached_property
    def _alone(self) -> dict[str, list[str]]:
        """INCI name to the keys of the ingredients that declare it and, water apart, nothing else."""
        aliases: dict[str, list[str]] = defaultdict(list)
        for key, item in self.ingredients.items():
            names = {part.inci for part in item.constituents}
            for name in names if len(names) == 1 else names - {"Aqua"}:
                if len(names - {"Aqua"}) <= 1:
                    aliases[name].append(key)
        return aliases

    @cached_property
    def _synonyms(self) -> dict[str, str]:
        return {_key(word): key for key, item in self.ingredients.items() for word in item.synonyms}


def _key(name: str) -> str:
    """A name as names are compared: whatever its case and blanks, and however its accents are coded."""
    return " ".join(normalize("NFC", normalize("NFC", name).casefold()).split())


def _text(item: Ingredient) -> str:
    incis = (part.inci for part in item.constituents)
    return " ".join((item.name, *item.synonyms, *item.functions, item.phase, *incis)).casefold()


def read_catalogue(own_files: Iterable[Path] = ()) -> Catalogue:
    """The shipped ingredients with the maker's own files laid over them, later files over earlier ones.

    Raises:
        BadInput: with every fault of every own file.
    """
    ours = _shipped()
    ingredients, sources = dict(ours.ingredients), dict(ours.sources)
    owned: set[str] = set()
    own_names: set[str] = set()
    faults: list[Fault] = []
    for path in own_files:
        first: dict[str, int] = {}
        before = Catalogue(dict(ingredients), sources)
        try:
            rows, bad_cells = read_own_file(path)
            faults.extend(bad_cells)
            for row in rows:
                if len(faults) >= MOST:
                    break
                known = before.called(row.name) or (None if row.whole else before.find(row.name))
                key = _key(known.name if known else row.name)
                if (line := first.setdefault(key, row.line)) != row.line:
                    faults.append(
                        Fault(str(path), f"row {row.line}", repr(row.name), f"{key} once; also in row {line}")
                    )
                    continue
                alike = before.find(row.like) if row.like else None
                if row.like and alike is None:
                    faults.append(Fault(str(path), f"row {row.line}, column like", row.like, before.unknown(row.like)))
                    continue
                try:
                    item = row.over(known, alike)
                except ValueError as error:
                    near = "" if known else f"{before.unknown(row.name)}; "
                    faults.append(Fault(str(path), f"row {row.line}", repr(row.name), f"{near}{error}"))
                else:
                    _note_differences(known, item, path, own_names)
                    ingredients[_key(item.name)] = _as_before(item)
                    owned.add(_key(item.name))
            own_names.add(path.name)
            sources[path.name] = Source(path.name, f"the maker's own file {path.name}")
        except BadInput as bad:
            faults.extend(bad.faults)
    if faults:
        raise BadInput(faults)
    return Catalogue(ingredients, sources, frozenset(owned))


#: What was made of a row last, by its name.
_MADE: dict[str, Ingredient] = {}
MADE = 4_096  #: so many are kept


def _as_before(item: Ingredient) -> Ingredient:
    """The one that the same row gave when it was read before: all that was worked out for that one holds."""
    before = _MADE.get(item.name)
    if before == item:
        return before
    if len(_MADE) >= MADE:
        _MADE.clear()
    _MADE[item.name] = item
    return item


def _note_differences(before: Ingredient | None, item: Ingredient, path: Path, own_names: Collection[str]) -> None:
    """Note where a file says otherwise than one of the maker's own before it: the later one counts."""
    for key, value in item.values.items():
        old = before.value(*key) if before else None
        if old and old.source in own_names and _figures(old) != _figures(value):
            words = f"{_shown(value)} here, {_shown(old)} in {old.source}: the later file counts, which is this one"
            run.note(str(path), f"{item.name}, {key[0]}: {words}")


def _figures(value: Value) -> tuple[float | None, float | None, float | None, str]:
    return value.low, value.typical, value.high, value.unit


def _shown(value: Value) -> str:
    return f"{value.figure:g} {value.unit}".strip()


@cache
def _shipped() -> Catalogue:
    """The tables of ingredient_db. Their schema is checked by the tests, not at every start."""
    constituents, values, acids = _constituents(), _values(), _fatty_acids()
    ingredients = {}
    for row in shipped("ingredients"):
        name = row["name"]
        ingredients[_key(name)] = Ingredient(
            name=name,
            functions=_split(row["functions"]),
            phase=row["phase"],
            synonyms=_split(row["synonyms"]),
            solute=row["solute"],
            origin=_split(row["origin"]),
            note=row["note"],
            constituents=tuple(constituents.get(name, ())),
            values=values.get(name, {}),
            fatty_acids=acids.get(name, {}),
        )
    sources = {row["id"]: Source(row["id"], row["title"], row["note"]) for row in shipped("sources")}
    return Catalogue(ingredients, sources)


def _split(cell: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in cell.split(";") if part.strip())


def _value(row: dict[str, str], unit: str) -> Value:
    low, typical, high = (float(cell) if (cell := row[end]) else None for end in ("low", "typical", "high"))
    return Value(low, typical, high, unit, row["source"], Evidence(row["evidence"]), row["note"])


def _constituents() -> dict[str, list[Constituent]]:
    constituents: dict[str, list[Constituent]] = defaultdict(list)
    for row in shipped("constituents"):
        part = Constituent(row["inci"], row["cas"], _value(row, "%"))
        constituents[row["ingredient"]].append(part)
    return constituents


def _values() -> dict[str, dict[tuple[str, float | None], Value]]:
    values: dict[str, dict[tuple[str, float | None], Value]] = defaultdict(dict)
    for row in shipped("values"):
        at = row["temperature"]
        key = (row["property"], float(at) if at else None)
        values[row["ingredient"]][key] = _value(row, row["unit"])
    return values


def _fatty_acids() -> dict[str, dict[str, Value]]:
    acids: dict[str, dict[str, Value]] = defaultdict(dict)
    for row in shipped("fatty_acids"):
        acids[row["ingredient"]][row["fatty acid"]] = _value(row, "%")
    return acids
