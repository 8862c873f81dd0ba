"""What a draft of a label cannot settle, as facts; their words stand in telling/drafted.py."""

from optiform.ingredients.ingredient import Evidence
from optiform.label.order import Entry
from optiform.reading.frozen import frozen

# -- to settle before anything is printed ------------------------------------------------------------------------------


@frozen
class AllergensUnknown:
    """A fragrance whose allergens are not known; `may_lack`: names that have to stand in the list may be missing."""

    ingredient: str
    may_lack: bool


@frozen
class ProhibitedElsewhere:
    """An allergen that the EU prohibits, and of which no rule of the market is known."""

    name: str
    carriers: tuple[str, ...]
    reference: str


@frozen
class ColourUnknown:
    """What is bought as a colourant, and is none that the tables know."""

    ingredient: str
    inci: str


@frozen
class ColourNotListed:
    """A colour that the US does not list for the area; `reference` is empty where no section is known."""

    name: str
    reference: str
    evidence: Evidence


@frozen
class ColourToCertify:
    """A colour of which the US wants every batch certified."""

    name: str
    evidence: Evidence


@frozen
class ColourUnclear:
    """A colour whose CI number is not clear, and why."""

    inci: str
    note: str


# -- for a person to decide --------------------------------------------------------------------------------------------


@frozen
class OpenOrder:
    """Two names whose order hangs on shares that are known as ranges only."""

    before: Entry
    after: Entry


@frozen
class OpenSide:
    """A name that may lie on either side of the 1 % line."""

    entry: Entry


@frozen
class TakenAsComplete:
    """Fragrances whose allergen list the maker entered."""

    ingredients: tuple[str, ...]


@frozen
class Renamed:
    """Names that stand in the list as the entry of their allergen: each with that of its entry."""

    names: tuple[tuple[str, str], ...]


@frozen
class Minor:
    """Names that come beside a main constituent only, below so many %."""

    names: tuple[str, ...]
    below: float


@frozen
class UpperEndOnly:
    """An allergen that is named for the upper end of its range."""

    name: str


@frozen
class InLongList:
    """Allergens of the EU's long list that the list taken here does not have."""

    names: tuple[str, ...]
