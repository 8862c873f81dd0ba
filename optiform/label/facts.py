"""What a draft of a label cannot settle, as facts; their words stand in telling/drafted.py."""

from dataclasses import dataclass

from optiform.ingredients.ingredient import Evidence
from optiform.label.order import Entry

# -- to settle before anything is printed ------------------------------------------------------------------------------


@dataclass(frozen=True)
class AllergensUnknown:
    """A fragrance whose allergens are not known; `may_lack`: names that have to stand in the list may be missing."""

    ingredient: str
    may_lack: bool


@dataclass(frozen=True)
class ProhibitedElsewhere:
    """An allergen that the EU prohibits, and of which no rule of the market is known."""

    name: str
    carriers: tuple[str, ...]
    reference: str


@dataclass(frozen=True)
class ColourUnknown:
    """What is bought as a colourant, and is none that the tables know."""

    ingredient: str
    inci: str


@dataclass(frozen=True)
class ColourNotListed:
    """A colour that the US does not list for the area; `reference` is empty where no section is known."""

    name: str
    reference: str
    evidence: Evidence


@dataclass(frozen=True)
class ColourToCertify:
    """A colour of which the US wants every batch certified."""

    name: str
    evidence: Evidence


@dataclass(frozen=True)
class ColourUnclear:
    """A colour whose CI number is not clear, and why."""

    inci: str
    note: str


# -- for a person to decide --------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class OpenOrder:
    """Two names whose order hangs on shares that are known as ranges only."""

    before: Entry
    after: Entry


@dataclass(frozen=True)
class OpenSide:
    """A name that may lie on either side of the 1 % line."""

    entry: Entry


@dataclass(frozen=True)
class TakenAsComplete:
    """Fragrances whose allergen list the maker entered."""

    ingredients: tuple[str, ...]


@dataclass(frozen=True)
class Renamed:
    """Names that stand in the list as the entry of their allergen: each with that of its entry."""

    names: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Minor:
    """Names that come beside a main constituent only, below so many %."""

    names: tuple[str, ...]
    below: float


@dataclass(frozen=True)
class UpperEndOnly:
    """An allergen that is named for the upper end of its range."""

    name: str


@dataclass(frozen=True)
class InLongList:
    """Allergens of the EU's long list that the list taken here does not have."""

    names: tuple[str, ...]
