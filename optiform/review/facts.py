"""What warnings say, as facts; their words stand in telling/warned.py."""

from typing import Literal

from optiform.ingredients.ingredient import Evidence, Value
from optiform.reading.frozen import frozen
from optiform.rules.acidity import Window
from optiform.rules.essential_oils import Typical
from optiform.rules.forms import Level, Rule
from optiform.rules.positive import Standing
from optiform.rules.usual import UsualRange

# -- asked by the brief ------------------------------------------------------------------------------------------------


@frozen
class Missed:
    """A property outside what the brief asks, in its unit; `none`: it asks for none of it."""

    name: str
    value: float
    unit: str
    low: float | None
    high: float | None
    none: bool


@frozen
class Idle:
    """A limited property that nothing in the formula has."""

    name: str


@frozen
class NotChosen:
    """A choice of the brief that is not kept, in the brief's words."""

    choice: str


@frozen
class TooMany:
    """More ingredients than the brief asks for."""

    count: int
    most: int


# -- what is usual -----------------------------------------------------------------------------------------------------


@frozen
class Unusual:
    """A value outside what is usual in a kind of product."""

    kind: str
    usual: UsualRange
    value: float
    side: Literal["below", "above"]


@frozen
class AboveMaximum:
    """An ingredient above what its maker advises at most; % of the whole."""

    ingredient: str
    percent: float
    most: Value


@frozen
class OutsideUse:
    """An ingredient outside its usual use; % of the whole."""

    ingredient: str
    percent: float
    usual: Value


# -- what goes together ------------------------------------------------------------------------------------------------


@frozen
class Eutectic:
    """Two fats that melt lower together than each of them."""

    first: str
    second: str
    effect: str


@frozen
class Clash:
    """A broken rule of chemistry: the lines at fault, and how much there is of what is too much, % of the whole.

    `figures` is how well the rule's amounts are known, apart from the statement.
    """

    rule: Rule
    figures: Evidence
    lines: tuple[str, ...]
    amounts: tuple[tuple[str, float], ...]


@frozen
class DryEnough:
    """No preservative, in a product of so low a water activity that it may need none."""

    activity: float
    below: float


@frozen
class NoCommonPh:
    """Windows that keep a formula from one pH, or from the one that the brief sets."""

    ph: float | None
    windows: tuple[Window, ...]


@frozen
class TooHot:
    """An ingredient that does not bear the heat of its phase, degC."""

    ingredient: str
    phase: str
    limit: Value
    hot: float
    level: Level


# -- what is not known, and what is missing ----------------------------------------------------------------------------


@frozen
class WaterUnknown:
    """Nothing preserves, and it is not known how much water these ingredients bring."""

    ingredients: tuple[str, ...]


@frozen
class NoCertificate:
    """A fragrance without a certificate maximum for a class of products."""

    ingredient: str
    certificate_class: str


@frozen
class UnlistedAllergens:
    """What an essential oil usually holds that a label may have to name; `percent` of the whole is the oil."""

    ingredient: str
    percent: float
    due: tuple[Typical, ...]


@frozen
class OutsideHlb:
    """Emulsifiers that have no HLB."""

    ingredients: tuple[str, ...]


@frozen
class CountedAsEmulsifier:
    """An ingredient that a brief can count in the oil phase instead."""

    ingredient: str


@frozen
class Short:
    """Less in stock than the batch needs, kg."""

    ingredient: str
    need: float
    stock: float


# -- law ---------------------------------------------------------------------------------------------------------------


@frozen
class OpenRule:
    """A rule of law of which it is not known whether it is kept, % of the whole.

    `only`: what the limit holds for, as in `rules.law.Rule`; empty where the rule itself is open. `statement`: the
    condition that a supplier can confirm.
    """

    group: str
    market: str
    reference: str
    only: str
    content: float
    limit: float | None
    note: str
    statement: str = ""


@frozen
class Stated:
    """A condition of law on what is bought that its supplier confirms: in a formula, and what rules ask for it there.

    `paper`: day or file of the statement, as the maker wrote it; `rules` empty: none asks for it.
    """

    ingredient: str
    condition: str
    paper: str
    rules: tuple[OpenRule, ...]


@frozen
class NotSettled:
    """An ingredient of which it is not known whether a list allows it."""

    ingredient: str
    standing: Standing


@frozen
class Undeclared:
    """An ingredient that declares nothing."""

    ingredient: str


@frozen
class NotInTables:
    """A declared name of an ingredient that no table of law has; `near` are names like it; `nano`: of a nano form."""

    inci: str
    ingredient: str
    markets: tuple[str, ...]
    near: tuple[str, ...]
    nano: bool


@frozen
class Unjudged:
    """What keeps a formula's law from being known: `what` it is about, the fact, and the ingredients by name.

    A missing certificate has no fact here: the warnings on fragrances tell of it and say what to do.
    """

    what: str
    fact: OpenRule | NotSettled | Undeclared | NotInTables | None = None
    lines: tuple[str, ...] = ()
