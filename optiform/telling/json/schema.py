"""JSON Schemas of what the program says and reads: one for each answer and for each kind of TOML file.

That of an answer comes from the form that says it (answers.py), that of a kind of file from the keys that its reader
takes (`reading/keys.py`). What a file's keys refer to stands beside them in the schema that is printed; the lists among
it (kinds of product, properties) are those of the program's own tables.
"""

from functools import cache

from optiform.batch.file import KEYS as MAKING
from optiform.brief.brief import KINDS
from optiform.brief.file import KEYS as BRIEF
from optiform.costs.file import KEYS as COSTS
from optiform.costs.file import NEEDED
from optiform.costs.plan import KEYS as PLAN
from optiform.ingredients.phases import PHASES
from optiform.properties.registry import AT_TEMPERATURE, PLAIN
from optiform.reading.keys import HERE, SHARED, Holds, choice, either, table, text
from optiform.rules.claims import CLAIMS
from optiform.rules.law import AREAS, MARKETS, USES
from optiform.rules.packs import PACKS
from optiform.telling.json.answers import ANSWERS
from optiform.telling.json.form import Schema

DIALECT = "https://json-schema.org/draft/2020-12/schema"
ENDING = ".toml"
#: Kinds of files: what each is, and its keys.
FILES: dict[str, tuple[str, Holds]] = {
    "brief.toml": ("A brief: what a formula must do", table(BRIEF)),
    "costs.toml": ("What else a jar costs beside its ingredients", table(COSTS, needed=NEEDED)),
    "making.toml": ("How a batch is made", table(MAKING)),
    "plan.toml": ("What is made on a day, and on what terms packs are bought", table(PLAN, needed=("product",))),
}


def names() -> tuple[str, ...]:
    """Every schema by its name: answers, then kinds of files.

    Example:
        >>> "design" in names(), names()[-1]
        (True, 'plan.toml')
    """
    return (*sorted(ANSWERS), *FILES)


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
    shared: Schema = {}
    if name in ANSWERS:
        said = ANSWERS[name][1].schema(shared)
    else:
        name = name if name in FILES else f"{name}{ENDING}"
        said = FILES[name][1]
        _refer(said, shared)
    return {"$schema": DIALECT, "title": title(name), **said, **({"$defs": shared} if shared else {})}


def title(name: str) -> str:
    """What a schema is of."""
    return (ANSWERS.get(name) or FILES[name])[0]


def _refer(part: object, shared: Schema) -> None:
    """Put what a part of a schema refers to into `shared`, and what that refers to."""
    if isinstance(part, dict):
        name = str(part.get("$ref", "")).removeprefix(HERE)
        if name and name not in shared:
            shared[name] = _shared()[name]
            _refer(shared[name], shared)
        part = list(part.values())
    for inside in part if isinstance(part, list) else ():
        _refer(inside, shared)


@cache
def _shared() -> Schema:
    """What keys refer to: what many hold, and lists of the program's own tables."""
    warm = [f"{words} at 20 °C" for words in AT_TEMPERATURE]
    return {
        **SHARED,
        "kind": choice(KINDS),
        "use": choice(USES),
        "area": choice(AREAS),
        "market": choice(MARKETS),
        "phase": choice(PHASES),
        "claim": choice(tuple(CLAIMS)),
        "pack": choice(PACKS),
        "property": either(choice(["cost", *PHASES, *PLAIN, *warm]), text()),  # or any other: `optiform guide words`
    }
