"""What one more trial is to decide, how its answer stands, and what a trial would do to it."""

from dataclasses import dataclass
from math import inf, isfinite

from optiform.ingredients.formula import Formula
from optiform.properties.firmness import Band


@dataclass(frozen=True)
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

    @property
    def words(self) -> str:
        """As a person would ask it."""
        what = f"is the firmness of {self.formula.name} at {self.temperature:g} degC"
        if self.rival is not None:
            return f"{what} above that of {self.rival.name}?"
        if self.low > 0 and isfinite(self.high):
            return f"{what} between {self.low:g} and {self.high:g}?"
        return f"{what} at most {self.high:g}?" if isfinite(self.high) else f"{what} at least {self.low:g}?"


@dataclass(frozen=True)
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


@dataclass(frozen=True)
class Proposal:
    """A trial to make.

    Attributes:
        changes: lines that change against the reference: ingredient, grams and points (negative is less).
        temperatures: at which three jars each are read, all by the gauge used most.
        narrows: variance of the question that it takes away, as a share of what is there.
        band_after: the band expected after it, about today's middle.
        flips: how often it would change the answer.
        wrong_after: how often the answer would still be wrong after it, on average.
    """

    formula: Formula
    words: str
    changes: tuple[tuple[str, float, float], ...]
    temperatures: tuple[float, ...]
    gauge: str
    narrows: float
    band_after: Band
    flips: float
    wrong_after: float


@dataclass(frozen=True)
class Next:
    """Whether to make one more trial, why, and which.

    Attributes:
        mass, step: g of a trial, and of what the scale shows, in which changes are whole.
        equal: what to hold equal, so that the trial tells of its change.
        beyond: where the question leaves the readings that count behind, and what to read first; empty where it does
            not. An answer is then the model's word.
    """

    question: Question
    now: Standing
    worth_it: bool
    reason: str
    proposals: tuple[Proposal, ...]
    looked_at: int
    mass: float
    step: float
    equal: tuple[str, ...]
    beyond: tuple[str, ...]
