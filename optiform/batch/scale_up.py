"""From the batch that was made so far to a larger one: batches in between, and how much longer the mass cools.

A mass that is stirred loses heat by its surface, which grows as its mass to the power 2/3, so the minutes grow as the
power 1/3. One that is not stirred cools from the outside by its thickness, and the minutes grow as the power 2/3
(similar pots; Newton's law and the Fourier number, any textbook of heat transfer, recalled). A batch in between is
asked for where one is more than `STEP` times the one before; practice, no source of its own.
"""

from collections.abc import Sequence
from math import ceil, log

from optiform.batch.acts import Cool
from optiform.batch.pots import Step
from optiform.reading.frozen import frozen

STEP = 4.0
STIRRED, STILL = 1 / 3, 2 / 3


@frozen
class Slower:
    """A cooling: what the mass cools to, degC, the minutes that were seen, and between what they lie now."""

    to: float
    seen: float
    low: float
    high: float


@frozen
class ScaleUp:
    """From `seen` g to `made` g at once: batches in between, g, and how much longer each cooling takes."""

    seen: float
    made: float
    between: tuple[float, ...]
    cooling: tuple[Slower, ...]


def scale_up(seen: float, made: float, steps: Sequence[Step]) -> ScaleUp | None:
    """What growing from one batch to a larger asks; None where it is not larger.

    Args:
        seen: g of the batch that was made, where the cooling was seen.
        made: g made at once now.
        steps: of the work, with the minutes of the batch that was made.

    Example:
        >>> scale_up(200, 8000, ()).between  # 40 times as much: two batches in between, each 3.4 times the one before
        (684.0, 2339.0)
        >>> scale_up(500, 400, ()) is None
        True
    """
    if made <= seen:
        return None
    ratio = made / seen
    count = ceil(log(ratio) / log(STEP)) - 1
    between = tuple(float(round(seen * ratio ** (k / (count + 1)))) for k in range(1, count + 1))
    cooled = [step for step in steps if isinstance(step.what, Cool) and step.minutes and step.temperature]
    slower = tuple(
        Slower(step.temperature or 0.0, step.minutes, step.minutes * ratio**STIRRED, step.minutes * ratio**STILL)
        for step in cooled
        if step.minutes is not None
    )
    return ScaleUp(seen, made, between, slower)
