"""JSON Schemas of what the program says and reads: one for each answer and for each kind of TOML file.

That of an answer comes from the form that says it (answers.py). That of a kind of file is a file of telling/schemas,
whole only as it is printed: what several share stands once in common.json, and what the program's tables list (kinds of
product, properties) is taken from there.
"""

import json
from functools import cache
from pathlib import Path

from optiform.brief.brief import KINDS
from optiform.ingredients.phases import PHASES
from optiform.properties.registry import AT_TEMPERATURE, PLAIN
from optiform.rules.claims import CLAIMS
from optiform.rules.law import AREAS, MARKETS, USES
from optiform.rules.packs import PACKS
from optiform.telling.json.answers import ANSWERS
from optiform.telling.json.form import Schema

FOLDER = Path(__file__).parents[1] / "schemas"
DIALECT = "https://json-schema.org/draft/2020-12/schema"
COMMON = "common"
_SHARED = f"{COMMON}.json#/$defs/"
_HERE = "#/$defs/"
FILE = ".toml"


def names() -> tuple[str, ...]:
    """Every schema by its name: answers, then kinds of files.

    Example:
        >>> "design" in names(), names()[-1]
        (True, 'plan.toml')
    """
    return (*sorted(ANSWERS), *sorted(path.stem for path in FOLDER.glob("*.json") if path.stem != COMMON))


def schema(name: str) -> Schema:
    """A schema, whole: with all it refers to.

    Args:
        name: one of `names`; of a kind of file also without its ending, where no answer is called the same.

    Raises:
        KeyError: there is none of this name.

    Example:
        >>> schema("brief")["title"]
        'A brief: what a formula must do'
    """
    name = name if name in names() else f"{name}{FILE}"
    if name not in names():
        raise KeyError(name)
    if name in ANSWERS:
        shared: Schema = {}
        said = ANSWERS[name][1].schema(shared)
        return {"$schema": DIALECT, "title": title(name), **said, **({"$defs": shared} if shared else {})}
    document = _read(name)
    return {**_here(document), "$defs": _here(_needed(document, {}))}


def title(name: str) -> str:
    """What a schema is of."""
    return ANSWERS[name][0] if name in ANSWERS else str(_read(name)["title"])


def _needed(part: object, known: Schema) -> Schema:
    """What a part of a schema refers to, and what that refers to."""
    for name in _references(part):
        if name not in known:
            known[name] = _shared()[name]
            _needed(known[name], known)
    return known


def _references(part: object) -> set[str]:
    if isinstance(part, dict):
        own = {part["$ref"].removeprefix(_SHARED)} if isinstance(part.get("$ref"), str) else set()
        return own.union(*map(_references, part.values()))
    return set().union(*map(_references, part)) if isinstance(part, list) else set()


def _here(part: Schema) -> Schema:
    """The part with its references inside the same document."""
    text = json.dumps(part, ensure_ascii=False)
    here: Schema = json.loads(text.replace(_SHARED, _HERE))
    return here


@cache
def _shared() -> Schema:
    """What several refer to: of common.json, and lists of the program's own tables."""
    shared: Schema = _read(COMMON)["$defs"]
    lists = {
        "kind": KINDS,
        "use": USES,
        "area": AREAS,
        "market": MARKETS,
        "phase": PHASES,
        "claim": tuple(CLAIMS),
        "pack": PACKS,
    }
    return {**shared, **{name: {"enum": list(words)} for name, words in lists.items()}, "property": _property()}


def _property() -> Schema:
    """Words for a property: those with a name of their own to choose from, or any others (`optiform guide words`)."""
    warm = [f"{words} at 20 °C" for words in AT_TEMPERATURE]
    return {"anyOf": [{"enum": ["cost", *PHASES, *PLAIN, *warm]}, {"type": "string"}]}


def _read(name: str) -> Schema:
    text = (FOLDER / f"{name}.json").read_text(encoding="utf-8")
    document: Schema = json.loads(text)
    return document
