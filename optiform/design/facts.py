"""What answers say beside their figures, as facts; their words stand in telling/noted.py."""

from enum import Enum, auto
from typing import Literal

from optiform.ingredients.ingredient import Evidence, Value
from optiform.program.build import Demand
from optiform.program.chance import Chance
from optiform.program.usual import Eased
from optiform.properties.viscosity import Thickness
from optiform.reading.frozen import frozen

Speed = Literal["faster", "slower", "alike"]


class Fact(Enum):
    """What holds or not, without a figure."""

    HELD_AS_BEST = auto()
    ONE_WAY = auto()
    NOT_PROVEN = auto()
    NO_CANDIDATE = auto()
    NO_FORMULA = auto()
    NOTHING_CHEAPER = auto()
    NO_MORE_TO_SAVE = auto()
    NEAR_GRAMS = auto()
    WAY_EMPTY = auto()
    WAY_NO_WORSE = auto()
    NO_STEPS = auto()
    NO_GRAMS = auto()
    ONE_UP_ONE_DOWN = auto()
    NEAREST = auto()
    NEAREST_EVEN = auto()
    TWO_SEASONS = auto()
    LINES_STAY = auto()
    NOT_AMONG_CANDIDATES = auto()
    OTHER_GRAIN = auto()
    HARSHER = auto()
    OTHER_FUNCTION = auto()
    HOLDS_NO_GRAINS = auto()
    NOT_IN_OPTION = auto()


# -- why there is no formula, or none better ---------------------------------------------------------------------------


@frozen
class TooFew:
    """At most so many ingredients are asked for, and so many are needed."""

    most: int
    least: int


@frozen
class NotAmongBest:
    """A candidate that is none of the best so many."""

    most: int


@frozen
class OtherKin:
    """An ingredient of the same function, of another kin than what goes; `kin` is empty where it has no name."""

    kin: str
    gone: str
    gone_kin: str


@frozen
class NoValue:
    """A goal, in the brief's words, that has no value for the formula that was found."""

    goal: str


@frozen
class NothingFits:
    """A limit of which no target fits."""

    limit: str


@frozen
class NothingBetween:
    """A limit, of which no target from one to another fits, in its unit."""

    limit: str
    way: Literal["low", "high", "exactly"]
    start: float
    end: float
    unit: str


@frozen
class NoneGuarded:
    """There is a formula with typical figures, and none that guards against so many, or with this chance."""

    budget: int | Chance | None


@frozen
class Undecided:
    """Numbers of changed lines of which it is not known whether there is more to save, and why."""

    lines: tuple[int, ...]
    why: tuple[str, ...]


@frozen
class LittleToSave:
    """Changed lines save less than this each, in a currency per kg; `share` of today's cost if nobody said one.

    `more`: those beyond the options that there are.
    """

    saving: float
    currency: str
    share: float | None = None
    more: bool = True


@frozen
class MovesTooSmall:
    """No formula keeps the limits where a line moves by so much at most, %."""

    percent: float


@frozen
class NotDecided:
    """Why it is not known whether a formula reaches what is wanted."""

    why: str


@frozen
class OutOfReach:
    """No formula was found that reaches what is wanted: what is in the way, and how far it goes.

    `softest`: whether it is to be softer; `reach` is the softest, or the firmest, that was found.
    """

    in_the_way: tuple[Demand | Fact, ...]
    softest: bool
    reach: float | None


# -- what was taken as simpler than it is ------------------------------------------------------------------------------


@frozen
class TakenNear:
    """Limits that bend, taken as they are near the answer at typical prices."""

    limits: tuple[str, ...]


@frozen
class TypicalOnly:
    """Limits that are kept with typical figures only."""

    limits: tuple[str, ...]


# -- grams -------------------------------------------------------------------------------------------------------------


@frozen
class NotWhole:
    """A batch that is no whole number of steps, and what is weighed instead, g."""

    batch: float
    step: str
    weighed: str


@frozen
class LeastDose:
    """Every line in use is at least so many % of the batch; `own`: the brief sets other least amounts too."""

    percent: float
    grams: float
    own: bool


@frozen
class UsualGave:
    """Usual ranges that whole steps do not keep."""

    ends: tuple[Eased, ...]


Note = Fact | NotWhole | LeastDose | UsualGave  #: on grams


# -- what is different of what comes in --------------------------------------------------------------------------------


@frozen
class OtherWindow:
    """The pH window of what comes in and of what goes."""

    new: str
    window: Value | None
    old: str
    before: Value | None


@frozen
class OtherUse:
    """What makers say of an exchange."""

    ingredient: str
    changes: str
    evidence: Evidence


@frozen
class Oxidising:
    """C18:2 and twice C18:3 in % of the oils, before and after, and what is usual against it.

    Attributes:
        speed: against before.
        low, high: of the antioxidant, % of the oils.
        oils: % of the whole, of which that is.
        has: of the antioxidant, % of the whole; None where there is none.
    """

    speed: Speed
    before: float
    after: float
    antioxidant: str
    low: float
    high: float
    evidence: Evidence
    oils: float
    has: float | None


@frozen
class OtherThickness:
    """How many times as thick as what goes what comes in is, as liquids."""

    thickness: Thickness


@frozen
class UnknownThickness:
    """Liquids of which nothing says how thick they are."""

    ingredients: tuple[str, ...]


@frozen
class MoreAllergens:
    """Allergens that a label has to name now and had not to, in a market."""

    market: str
    names: tuple[str, ...]


@frozen
class UnknownAllergens:
    """Ingredients whose allergens are not known."""

    ingredients: tuple[str, ...]


Difference = OtherWindow | OtherUse | Oxidising | OtherThickness | UnknownThickness | MoreAllergens | UnknownAllergens
