"""How much has to change hands between two lines for a firmness that is wanted, and between which."""

from collections.abc import Iterable

from optiform.properties.base import Mix, Vector
from optiform.properties.tangent_planes import Model

LIQUID = ("oil", "ester")  #: which of them thins a network makes it hardly softer. Common practice, no source.
STEPS = 60  # halvings of an interval: to the last bit that a scale could ever show


def amount_for(model: Model, wanted: float, start: Vector, move: Vector, most: float) -> float | None:
    """How much has to change hands for the wanted firmness, by halving; None if even all of it is not enough.

    Args:
        model: the firmness at one temperature.
        wanted: on its scale.
        start: today's mass fractions.
        move: what one unit that changes hands does to each.
        most: the most that can.
    """

    def over(amount: float) -> bool:
        return model.value(start + amount * move) > wanted

    rising = over(most)
    if most <= 0 or rising == over(0.0):
        return None
    low, high = 0.0, most
    for _ in range(STEPS):
        middle = (low + high) / 2
        low, high = (low, middle) if over(middle) == rising else (middle, high)
    return high


def between(mix: Mix, hands: Iterable[tuple[str, float]]) -> frozenset[tuple[str, bool]]:
    """What changes hands, an oil or ester as such: two options that are alike here differ by which oil only.

    Args:
        mix: with the ingredients that move.
        hands: the name of each, with how much it moves.
    """
    functions = {item.name: item.functions[0] for item in mix.ingredients}
    return frozenset(("oil" if functions[name] in LIQUID else name, moved > 0) for name, moved in hands)
