"""How much has to change hands between two lines for a firmness that is wanted."""

from optiform.properties.base import Vector
from optiform.properties.firmness import Model

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
