"""JSON Schemas of what the program says and reads: one for each answer and for each kind of TOML file.

Each is a file of telling/schemas. What several share stands once in common.json, and what the program's tables list
(kinds of product, properties) is taken from there, so that a schema is whole only as it is printed.
"""

import json
from functools import cache
from pathlib import Path
from typing import Any

from optiform.brief.brief import KINDS
from optiform.ingredients.phases import PHASES
from optiform.properties.registry import AT_TEMPERATURE, PLAIN
from optiform.rules.claims import CLAIMS
from optiform.rules.law import AREAS, MARKETS, USES

FOLDER = Path(__file__).with_name("schemas")
COMMON = "common"
_SHARED = f"{COMMON}.json#/$defs/"
_HERE = "#/$defs/"
FILE = ".toml"

Schema = dict[str, Any]


def names() -> tuple[str, ...]:
    """Every schema by its name: answers, then kinds of files.

    Example:
        >>> "design" in names(), names()[-1]
        (True, 'plan.toml')
    """
    every = sorted(path.stem for path in FOLDER.glob("*.json") if path.stem != COMMON)
    return (*(name for name in every if FILE not in name), *(name for name in every if FILE in name))


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
    document = _read(name)
    needed = _needed(document, {})
    return {**_here(document), "$defs": _here(needed)} if needed else document


def title(name: str) -> str:
    """What a schema is of."""
    return str(_read(name)["title"])


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


def _here(part: Any) -> Any:
    """The part with its references inside the same document."""
    text = json.dumps(part, ensure_ascii=False)
    return json.loads(text.replace(_SHARED, _HERE))


@cache
def _shared() -> Schema:
    """What several refer to: of common.json, and lists of the program's own tables."""
    shared: Schema = _read(COMMON)["$defs"]
    lists = {"kind": KINDS, "use": USES, "area": AREAS, "market": MARKETS, "phase": PHASES, "claim": tuple(CLAIMS)}
    return {**shared, **{name: {"enum": list(words)} for name, words in lists.items()}, "property": _property()}


def _property() -> Schema:
    """Words for a property: those with a name of their own to choose from, or any others (`optiform guide words`)."""
    warm = [f"{words} at 20 °C" for words in AT_TEMPERATURE]
    return {"anyOf": [{"enum": ["cost", *PHASES, *PLAIN, *warm]}, {"type": "string"}]}


def _read(name: str) -> Schema:
    text = (FOLDER / f"{name}.json").read_text(encoding="utf-8")
    document: Schema = json.loads(text)
    return document
