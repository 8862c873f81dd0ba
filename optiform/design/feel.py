"""How far a formula is from today's in the hand: what customers notice, in steps of what a hand can just tell."""

from collections.abc import Sequence

from optiform.design.around import Held
from optiform.ingredients.formula import Formula
from optiform.properties.base import Mix, fractions
from optiform.properties.registry import find_property
from optiform.reading.frozen import frozen
from optiform.review.measures import measure


@frozen
class Felt:
    """A property that customers notice, before and after, and by how many of its steps it moves."""

    name: str
    before: float
    after: float
    steps: float


def felt(held: Sequence[Held], formula: Formula, currency: str) -> tuple[Felt, ...]:
    """What a formula moves of what is held near today's, the largest move first.

    One step is the tolerance of a property: about what a hand and a spoon can just tell, common practice, no source.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> butter = Held("share of butter", 20.0, 1.5)
        >>> felt([butter], mixed({"shea butter, refined": 17, "sunflower oil": 83}), "EUR")
        (Felt(name='share of butter', before=20.0, after=17.0, steps=2.0),)
    """
    mix, x = Mix.of(formula), fractions(formula)
    values = [(of, measure(find_property(of.name, currency), mix, x).value) for of in held]
    moves = [
        Felt(of.name, of.value, value, abs(value - of.value) / of.tolerance)
        for of, value in values
        if value is not None
    ]
    return tuple(sorted(moves, key=lambda move: -move.steps))


def steps_of(moves: Sequence[Felt]) -> float:
    """All of them together."""
    return sum(move.steps for move in moves)
