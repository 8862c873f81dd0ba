"""What is done in a step of the work, as facts. Their words stand in telling/method.py, a kind's own in its table."""

from enum import Enum, auto

from optiform.reading.frozen import frozen


class Act(Enum):
    """What is always done alike."""

    PREPARE = auto()  #: clean, check the scale, weigh
    FOLD_IN = auto()  #: the grains, last
    CLEAN_DOWN = auto()
    PLIABLE = auto()  #: keep a jar in the cold
    FIRST_TRIAL = auto()  #: the looks and tests that a formula is owed that was never made


@frozen
class MakePhase:
    """A phase made ready: the water phase, or the oil phase; in the cold where nothing has to be melted."""

    watery: bool
    heated: bool


@frozen
class Combine:
    """The phases combined; `foaming`: what forbids high shear, empty where nothing does."""

    heated: bool
    foaming: str


@frozen
class MixOn:
    """The mass mixed until it is even; `grains` go in after it."""

    grains: bool


@frozen
class Divide:
    """The common mass divided: each part with its grams."""

    parts: tuple[tuple[str, str], ...]


@frozen
class Cool:
    """The mass cooled to so many degC."""

    to: float


@frozen
class OwnLimit:
    """A heat limit that goes before the temperature otherwise wanted, degC."""

    ingredient: str
    limit: float
    wanted: float


@frozen
class StirIn:
    """Additions to a mass that cools. `weeps`: added too cool, this emulsion can break."""

    names: tuple[str, ...]
    limits: tuple[OwnLimit, ...]
    weeps: bool


@frozen
class StirInHot:
    """What no step of the kind names, stirred in before the mass cools."""

    names: tuple[str, ...]


@frozen
class JarsToFill:
    """What goes into the jars: how many, so many of them to keep, grams in each, and the net grams on the label."""

    jars: int
    retained: int
    fill: float
    net: float


@frozen
class Fill:
    """Jars filled, tubes poured or pieces wrapped; `more`: what the kind's own table says of it; `hot`: poured so."""

    jars: JarsToFill | None
    more: str = ""
    vessel: str = "jar"
    hot: bool = False


#: A step of a kind's own table says itself.
What = Act | MakePhase | Combine | MixOn | Divide | Cool | StirIn | StirInHot | Fill | str
