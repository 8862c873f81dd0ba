"""What a rule asks of a formula: to keep it in at least one of several ways, each a few bounds on sums of its lines.

A need (water asks for a preservative), a clash (A or B, not both) and an acidity (one pH that all can bear) are all of
this one form. `check` evaluates it on a formula; `design` branches on the very same ways.
"""

from collections.abc import Iterable
from typing import Literal

from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Evidence
from optiform.reading.frozen import frozen

Level = Literal["stop", "mind", "note"]
LEVELS: tuple[Level, ...] = ("stop", "mind", "note")
TRACE = 1e-9  # mass fraction that is rounding


@frozen
class Rule:
    """What is known, and from where.

    Attributes:
        id: what a brief overrules it by.
        about: what it is about, of the words of a warning.
        level: how grave a breach is.
        title: the rule in a few words, as a limit is named.
        text: what happens where it is broken.
        evidence: how well it is known.
        source: id in sources.csv, several joined by `;`; empty for common practice.
        ph: that the maker wants, where it is what the rule asks all to bear; None of every other rule.
    """

    id: str
    about: str
    level: Level
    title: str
    text: str
    evidence: Evidence
    source: str = ""
    ph: float | None = None


@frozen
class Bound:
    """At least or at most so much of something.

    Attributes:
        words: what is bounded.
        weights: how much one unit of mass of each ingredient brings of it, by name; what is not named brings none.
        side: `low` for at least, `high` for at most.
        target: in parts of the whole, 1 for 100 %.
    """

    words: str
    weights: tuple[tuple[str, float], ...]
    side: Literal["low", "high"]
    target: float

    def value(self, formula: Formula) -> float:
        """How much a formula has of it, in parts of the whole.

        Example:
            >>> from optiform.ingredients.formula import mixed
            >>> wet = Bound("water", (("water", 1.0), ("glycerin", 0.005)), "high", 0.01)
            >>> wet.value(mixed({"water": 1, "glycerin": 1})), wet.met(mixed({"glycerin": 1}))
            (0.5025, True)
        """
        return sum(weight * formula.fraction(name) for name, weight in self.weights)

    def met(self, formula: Formula) -> bool:
        """Whether a formula keeps it."""
        value = self.value(formula)
        return value <= self.target + TRACE if self.side == "high" else value >= self.target - TRACE


Keeping = tuple[Bound, ...]  #: one way to keep a rule: all of these bounds


@frozen
class Either:
    """A rule for certain ingredients: it is kept where all bounds of any one of its ways hold."""

    rule: Rule
    ways: tuple[Keeping, ...]

    def broken(self, formula: Formula) -> bool:
        """Whether a formula keeps it in no way.

        Example:
            >>> from optiform.ingredients.formula import mixed
            >>> rule = Rule("a", "gas", "stop", "acid with carbonate", "It foams over.", Evidence.PRACTICE)
            >>> none = [Bound(name, ((name, 1.0),), "high", 0.0) for name in ("citric acid", "sodium bicarbonate")]
            >>> foams = Either(rule, tuple((bound,) for bound in none))
            >>> foams.broken(mixed({"citric acid": 1, "sodium bicarbonate": 2}))
            True
            >>> foams.broken(mixed({"citric acid": 1}))
            False
        """
        return not any(all(bound.met(formula) for bound in way) for way in self.ways)

    def lines(self, formula: Formula) -> tuple[str, ...]:
        """The lines of a formula that are too much for it in some way, in the formula's order."""
        over = (bound for way in self.ways for bound in way if bound.side == "high" and not bound.met(formula))
        names = {name for bound in over for name, weight in bound.weights if weight > 0}
        return tuple(dict.fromkeys(x.ingredient.name for x in formula.lines if x.ingredient.name in names))


def absent(words: str, names: Iterable[str]) -> Bound:
    """None of these ingredients.

    Example:
        >>> absent("acids", ["citric acid"]).target
        0.0

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return Bound(words, tuple((name, 1.0) for name in names), "high", 0.0)
