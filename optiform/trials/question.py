"""What one more trial is to decide, how its answer stands, and what a trial would do to it."""

from math import inf

from optiform.ingredients.formula import Formula
from optiform.properties.firmness import Band
from optiform.reading.frozen import frozen
from optiform.trials.cells import Uncounted
from optiform.trials.fit import Beyond
from optiform.workshop.records import Trial


@frozen
class Question:
    """Whether the firmness of a formula at a temperature lies between two values, or is above that of another.

    Attributes:
        low, high: on the scale on which the reference at 20 degC is 100; 0 and infinity where not asked.
        rival: the formula whose firmness at that temperature is to be passed; None where values are asked.
    """

    formula: Formula
    temperature: float
    low: float = 0.0
    high: float = inf
    rival: Formula | None = None


@frozen
class Standing:
    """How an answer stands: the probability of yes, of the likelier answer being wrong, and the band it rests on.

    The band is of the firmness asked for, or of its ratio to the rival's, in %.
    """

    yes: float
    wrong: float
    band: Band

    @property
    def answer(self) -> str:
        """The likelier answer."""
        return "yes" if self.yes > 0.5 else "no"


@frozen
class Proposal:
    """A trial to make.

    Attributes:
        formula: the reference with those changes; without one the reference `again`, or the formula asked about.
        changes: lines that change against the reference: ingredient, grams and points (negative is less).
        temperatures: at which three jars each are read, all by the gauge used most.
        narrows: variance of the question that it takes away, as a share of what is there.
        band_after: the band expected after it, about today's middle.
        flips: how often it would change the answer.
        wrong_after: how often the answer would still be wrong after it, on average.
    """

    formula: Formula
    changes: tuple[tuple[str, float, float], ...]
    temperatures: tuple[float, ...]
    gauge: str
    narrows: float
    band_after: Band
    flips: float
    wrong_after: float
    again: bool = False


@frozen
class Equal:
    """What to hold equal in a trial: how the `last` one was made, and how it is read, `age` hours old.

    `last` is None where none was made yet.
    """

    last: Trial | None
    temperatures: tuple[float, ...]
    age: float
    gauge: str


@frozen
class Next:
    """Whether to make one more trial, why, and which.

    Attributes:
        mass, step: g of a trial, and of what the scale shows, in which changes are whole.
        equal: what to hold equal, so that the trial tells of its change.
        beyond: in what the question leaves the readings that count behind; empty where it does not. An answer is then
            the model's word.
        unread: of a question beyond them, at whose temperature nothing counts: the readings there that do not, by why;
            None where something counts.
    """

    question: Question
    now: Standing
    worth_it: bool
    proposals: tuple[Proposal, ...]
    looked_at: int
    mass: float
    step: float
    equal: Equal
    beyond: tuple[Beyond, ...]
    unread: tuple[tuple[Uncounted, int], ...] | None
