"""How a batch is made: jars, loss, temperatures, times, how the mass cools, and the parts it is divided into."""

from optiform.batch.facts import Origin
from optiform.ingredients.ingredient import Ingredient
from optiform.reading.frozen import frozen
from optiform.rules.heat import HOT

PRACTICE = Origin.PRACTICE


@frozen
class Observed:
    """One observation of a cooling mass: at `start` degC at first, at `later` degC after `after` min, room `room`."""

    room: float
    start: float
    later: float
    after: float


@frozen
class OwnLine:
    """A line that a part has of its own: mass fraction of the finished part, and when it goes in."""

    ingredient: Ingredient
    fraction: float
    phase: str


@frozen
class Part:
    """A share of the batch with its own scent or colour.

    Attributes:
        name: what it is called on the sheet.
        weight: its size against the other parts: a share in %, or jars.
        lines: its own, in mass fractions of the finished part. One that the formula has too replaces that line.
        instead_of: lines of the formula that this part goes without.
    """

    name: str
    weight: float
    lines: tuple[OwnLine, ...] = ()
    instead_of: tuple[str, ...] = ()


@frozen
class Making:
    """How a batch is made. Masses in g, temperatures in degC, times in min.

    Attributes:
        jar: net mass of one jar; None takes the brief's.
        volume: what a jar holds, mL; `cup`: what a level cup of 100 mL of the finished product weighs. None: not given.
        fill: what is filled into one jar, the net mass or more; None is the net mass.
        loss: fraction of what is weighed that stays in pots and tools or evaporates.
        vessel: the most that is made at once; None for no such limit.
        from_batch: what was weighed of the batch made so far, where the cooling was seen; None where it is not said.
        retained: jars kept back of the batch.
        hot: what both phases are heated to.
        hold: how long they are held there.
        combining: how long the combined phases are mixed.
        addition: what the mass has cooled to when the cool-down additions go in.
        cools_fast: the mass cools fast, so what can go in warmer does.
        mixing: from the last addition to the grains.
        grains_at: what the mass has when the grains go in; None leaves it to the maker's trials.
        poured: what a kind is poured at that sets below: no addition goes in cooler. None for one that is not poured.
        observed: one point of its cooling.
        parts: what it is divided into; empty for one whole.
        counted: the parts' weights are jars, and with no other batch asked for they are the batch.
        stated: keys that the file states; the rest is common practice.
    """

    jar: float | None = None
    fill: float | None = None
    volume: float | None = None
    cup: float | None = None
    loss: float = 0.0
    vessel: float | None = None
    from_batch: float | None = None
    retained: int = 0
    hot: float = HOT
    hold: float = 20.0
    combining: float = 5.0
    addition: float = 43.0
    cools_fast: bool = False
    mixing: float = 5.0
    grains_at: float | None = None
    poured: float | None = None
    observed: Observed | None = None
    parts: tuple[Part, ...] = ()
    counted: bool = False
    stated: frozenset[str] = frozenset()

    def source(self, key: str) -> Origin:
        """Where a figure comes from: the maker's file, or a default."""
        return Origin.FILE if key in self.stated else PRACTICE
