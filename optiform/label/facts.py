"""What a draft of a label cannot settle, and what a label leaves open, as facts; telling/drafted.py has their words."""

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


# -- what the ranges of a label go by ----------------------------------------------------------------------------------


@frozen
class UsualLeftAside:
    """With the usual maxima of the catalogue no composition fits."""


@frozen
class CentreOf:
    """The kind of product that the list fits best, by which the centre goes; empty where no name tells one."""

    kind: str


@frozen
class Marker:
    """From this name on each has at most 1 %, by the cap of these words."""

    name: str
    cap: str


@frozen
class OpenLine:
    """The names after which the 1 % line stands at the earliest and at the latest; empty before the first."""

    earliest: str
    latest: str


@frozen
class LooksLike:
    """A name that is not known, and the known one with a legal limit that it may be; the limit was not counted."""

    name: str
    near: str


@frozen
class ColoursLast:
    """Colourants at the end of the list, of any amount."""

    names: tuple[str, ...]


@frozen
class DeclaredForbidden:
    """A declared name that the law of a market does not allow; it is no cap."""

    name: str
    market: str
    reference: str


LabelNote = UsualLeftAside | CentreOf | Marker | OpenLine | LooksLike | ColoursLast | DeclaredForbidden
