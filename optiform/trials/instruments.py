"""How the instruments of a small workshop answer to firmness, and what is assumed of each before the first reading.

A reading y (the logarithm of it, or the score itself) is a + s ln F. F is the firmness, a yield stress on a relative
scale, so a push is proportional to it: s is 1. A cone of fixed mass sinks to a depth p with F = K W / p^1.6 (Haighton,
J Am Oil Chem Soc 36 (1959) 345, read as an abstract), so ln p has s = -1 / 1.6, hardly in doubt. A flat probe of fixed
mass sinks until the product holds it. A cone-like cavity holds it by an area that grows as depth squared, so that
depth goes as F^-1/2; a rod held by its side alone gives F^-1. So s lies near -0.8 and mostly between -0.4 and -1.6.
What a weight presses between two panes comes to rest where F = 3 W V / (2 pi^2 R^5), W the weight's force, V the
volume of what is pressed and R its radius (a soft solid between plates, recalled), so that ln of its width has s = -1
/ 5; a gram under half a kilogram lies near 40 mm. A spoon score is a line in ln F: from pours to chips are about three
powers of ten of yield stress, 4 scores, so 0.6 of a score for each e-fold, mostly 0.27 to 1.3. All but the cone is
assumed or recalled, not measured on scrubs: the fit replaces it.
"""

from difflib import get_close_matches

import numpy as np

from optiform.reading.frozen import frozen


@frozen
class Instrument:
    """One way to read firmness.

    Attributes:
        unit: in which its readings are taken.
        logged: whether the reading enters by its logarithm.
        sign: of its slope against ln F.
        slope: ln of the slope's size, middle and standard deviation; None where the slope is 1 by mechanics.
        offset: of the reading (or its logarithm) of a product of firmness 100: middle and standard deviation.
        least, most: what a reading can be.
    """

    name: str
    unit: str
    logged: bool
    sign: float
    slope: tuple[float, float] | None
    offset: tuple[float, float]
    least: float
    most: float


SPREAD = "spread under a weight"
#: Offsets: a push of some 200 g on a rod of 10 to 16 mm, a depth of some 8 mm, score 3; wide enough for any workshop.
INSTRUMENTS = {
    each.name: each
    for each in (
        Instrument("push on a scale", "g", True, 1.0, None, (float(np.log(200.0)), 2.0), 0.1, 1e5),
        Instrument("flat probe", "mm", True, -1.0, (float(np.log(0.8)), 0.35), (float(np.log(8.0)), 1.2), 0.05, 500.0),
        Instrument("cone", "mm", True, -1.0, (float(np.log(1 / 1.6)), 0.05), (float(np.log(15.0)), 1.2), 0.5, 60.0),
        Instrument(SPREAD, "mm", True, -1.0, (float(np.log(0.2)), 0.15), (float(np.log(40.0)), 0.7), 5.0, 500.0),
        Instrument("spoon score", "", False, 1.0, (float(np.log(0.6)), 0.4), (3.0, 1.0), 1.0, 5.0),
    )
}

#: Standard deviation of one spoon score, in scores: whole steps and one person's hand. Assumed.
SPOON = 0.5
#: Repeatability of one push or depth, relative: 10 to 15 % on jars of one batch (trade memory, recalled). Inverse gamma
#: prior of the variance with this shape, its mode (in the logarithm) at 12.5 %.
REPEATS, REPEAT_SHAPE = 0.125, 6.0
#: From batch to batch of one formula, relative: 20 %, mostly 7 to 55 %. Assumed: process moves texture as much as
#: composition does.
BATCHES, BATCHES_SPREAD = 0.20, 0.5


def misspelt(word: str) -> bool:
    """Whether a word is none of the instruments and looks like one: taken as a maker's own it would not count.

    Example:
        >>> misspelt("spread under weight"), misspelt("spread under a weight"), misspelt("melting time")
        (True, False, False)
    """
    return word not in INSTRUMENTS and bool(get_close_matches(word.casefold(), INSTRUMENTS, n=1, cutoff=0.75))
