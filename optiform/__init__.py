"""Design of cosmetic formulas by linear programming, for small makers.

    import optiform as of

    answer = of.design(of.demo())
    answer.formula.table()

Verbs take briefs, formulas, answers and paths (text or Path), amounts as text with a unit or as numbers in the unit
that is documented, and give answers: values that compare, hash and pickle, with `.table()`, `.chart()` and `.save()`.

Errors are one family:

Error:
    |-- Absent          an answer has no such thing: no chart, no option
    |-- BadInput        an input that cannot be used; .faults lists everything that is wrong with it
    |-- Impossible      what is asked for cannot be met; .conflict, .repairs and .answer say why and what would help
    `-- Unproven        no verdict: never shown as an answer
        |-- NotCertified    a solver's claim did not stand up to recomputation
        |-- SolverFailed    a solver gave none
        `-- Unsettled       the search did not come to rest
"""

from __future__ import annotations

import sys
from importlib import import_module
from types import ModuleType

from optiform.reading import faces as _faces

TYPE_CHECKING = False  # known to checkers; the module that has it takes a tenth of the time of a whole command to load

__version__ = "0.1.0"

if TYPE_CHECKING:
    from collections.abc import Callable

    from optiform.brief.brief import Brief
    from optiform.brief.goal import Highest, Lowest, Nearest
    from optiform.face.designing import cheaper, design, explore, substitute, texture, weigh, why_not
    from optiform.face.errors import Impossible
    from optiform.face.making import batch, buy, cliffs, costs, range_design
    from optiform.face.reviewing import check, compare, declare
    from optiform.face.sources import demo, ingredients, read_brief, workshop
    from optiform.ingredients.formula import Formula
    from optiform.ingredients.ingredient import Ingredient
    from optiform.program.certificate import NotCertified
    from optiform.program.solver import SolverFailed
    from optiform.reading.faults import Absent, BadInput, Error, Unproven, Unsettled
    from optiform.rules.law import Scope

#: Name to the module that has it; loaded when it is asked for.
_HOMES = {
    **dict.fromkeys(("cheaper", "design", "explore", "substitute", "texture", "weigh", "why_not"), "face.designing"),
    **dict.fromkeys(("check", "compare", "declare"), "face.reviewing"),
    **dict.fromkeys(("batch", "buy", "cliffs", "costs", "range_design"), "face.making"),
    **dict.fromkeys(("demo", "ingredients", "read_brief", "workshop"), "face.sources"),
    "Brief": "brief.brief",
    "Formula": "ingredients.formula",
    "Highest": "brief.goal",
    "Ingredient": "ingredients.ingredient",
    "Lowest": "brief.goal",
    "Nearest": "brief.goal",
    "Absent": "reading.faults",
    "BadInput": "reading.faults",
    "Error": "reading.faults",
    "Impossible": "face.errors",
    "NotCertified": "program.certificate",
    "Scope": "rules.law",
    "SolverFailed": "program.solver",
    "Unproven": "reading.faults",
    "Unsettled": "reading.faults",
}

__all__ = [
    "Absent",
    "BadInput",
    "Brief",
    "Error",
    "Formula",
    "Highest",
    "Impossible",
    "Ingredient",
    "Lowest",
    "Nearest",
    "NotCertified",
    "Scope",
    "SolverFailed",
    "Unproven",
    "Unsettled",
    "batch",
    "buy",
    "cheaper",
    "check",
    "cliffs",
    "compare",
    "costs",
    "declare",
    "demo",
    "design",
    "explore",
    "ingredients",
    "range_design",
    "read_brief",
    "substitute",
    "texture",
    "weigh",
    "why_not",
    "workshop",
]

#: Verbs that share their name with a folder: importing the folder sets this name on the package.
_FOLDERS = ("batch", "costs", "design", "ingredients", "workshop")


class _Verb(ModuleType):
    """A folder of the package that is called as the verb of its name, and shows its arguments and its help."""

    def __call__(self, *args: object, **named: object) -> object:
        """What the verb gives."""
        return self._verb(*args, **named)

    @property
    def _verb(self) -> Callable[..., object]:
        return _named(self.__name__.rpartition(".")[2])

    @property
    def __signature__(self) -> object:
        from inspect import signature  # only where it is asked for

        return signature(self._verb)

    @property
    def __doc__(self) -> str | None:  # type: ignore[override]
        return self._verb.__doc__


class _Face(ModuleType):
    """The package itself, which keeps its verbs callable when a folder of the same name is imported."""

    def __setattr__(self, name: str, value: object) -> None:
        if name in _FOLDERS and isinstance(value, ModuleType):
            value.__class__ = _Verb
        super().__setattr__(name, value)


def _named(name: str) -> Callable[..., object]:
    verb: Callable[..., object] = getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    return verb


if not TYPE_CHECKING:  # a checker knows the names from above, and a wrong one when it sees it

    def __getattr__(name: str) -> object:
        if name in _FOLDERS:
            return import_module(f"{__name__}.{name}")
        if name in _HOMES:
            return _named(name)
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return [*__all__, "__version__"]


sys.modules[__name__].__class__ = _Face
_faces.hand_in(lambda: import_module(f"{__name__}.face.told"))
