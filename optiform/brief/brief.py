"""What is wanted: candidates, limits and a goal, for a use, a market and a date."""

from dataclasses import dataclass
from typing import Literal

from optiform.brief.goal import Goal
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Mix, Property
from optiform.reading.values import Comparable
from optiform.rules.law import Scope

KINDS = (
    "cream scrub", "anhydrous emulsified scrub", "foaming scrub", "lotion", "body butter", "balm",
    "solid cleansing bar",
)  # fmt: skip

#: Claims a candidate can break, and the origin that breaks them. What has no origin noted is not known to keep them.
CLAIMS = {"vegan": "animal", "palm-free": "palm"}


@dataclass(frozen=True)
class Limit:
    """A property with its least and greatest value, in the property's unit. At least one of them is set."""

    property: Property
    low: float | None
    high: float | None


@dataclass(frozen=True)
class Range:
    """The least and greatest mass fraction of one candidate, and who asked for it.

    `source` is `brief` where the maker set it, `advice` where it is the catalogue's maximum or top of usual use.
    """

    low: float = 0.0
    high: float = 1.0
    source: Literal["brief", "advice", "none"] = "none"

    @property
    def pinned(self) -> bool:
        """Whether it leaves one value only."""
        return self.low == self.high


@dataclass(frozen=True, eq=False, repr=False)
class Brief(Comparable):
    """Everything a job needs to know. `ranges` runs parallel to the lines of `mix`.

    Attributes:
        batch: mass to make, kg.
        step: what the scale can show, g.
        left_out: candidates that cannot be used, each with the reason.
        against_kind: candidates that stay because the maker names them, each with why their kind is made without.
        reference: the formula made today, if there is one.
        jar: net mass of one jar, kg; None where not given.
        claims: claims of the label that every candidate keeps, of `CLAIMS`.
    """

    title: str
    kind: str
    scope: Scope
    currency: str
    batch: float
    step: float
    mix: Mix
    ranges: tuple[Range, ...]
    limits: tuple[Limit, ...]
    goal: Goal
    catalogue: Catalogue
    left_out: tuple[tuple[str, str], ...] = ()
    against_kind: tuple[tuple[str, str], ...] = ()
    reference: Formula | None = None
    jar: float | None = None
    claims: tuple[str, ...] = ()


def called(formula: Formula, brief: Brief | None) -> str:
    """A formula as the first lines of a document name it: where it is from, and whether it is the one made today.

    Example:
        >>> called(Formula("new", (), "new.csv"), None)
        'new (new.csv)'
    """
    name = f"{formula.name} ({formula.origin})" if formula.origin else formula.name
    if brief is None or brief.reference is None:
        return name
    return f"{name}, {'' if formula.lines == brief.reference.lines else 'not '}today's formula"


def against(claim: str, item: Ingredient) -> str:
    """Why an ingredient cannot stand under a claim; empty if it can. The supplier confirms what is usual."""
    if not item.origin:
        return f"not known to be {claim}: no origin given"
    return f"not {claim}" if CLAIMS[claim] in item.origin else ""
