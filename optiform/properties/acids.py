"""How much of a weak acid is undissociated at a pH: the part that a preservative acid works by.

The law counts these substances as acid too, whatever the pH: that is another figure, and stands in rules/law.py.
"""

import math
from functools import cache

from optiform.ingredients.ingredient import Evidence
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped


@frozen
class Acid:
    """A row of acids.csv: the acid and its salts by INCI, and its pKa in water at 25 degC."""

    name: str
    inci: tuple[str, ...]
    pka: float
    source: str
    evidence: Evidence


def undissociated(ph: float, pka: float) -> float:
    """Undissociated share of a weak acid at a pH, as a fraction: 1 / (1 + 10^(pH - pKa)).

    Henderson and Hasselbalch; ideal, in water, activity coefficients taken as 1. Nothing of it says that a product is
    protected: it is one of the things a preservative needs.

    Example:
        >>> [round(100 * undissociated(5.0, pka), 1) for pka in (4.20, 4.76, 5.27)]  # benzoic, sorbic, dehydroacetic
        [13.7, 36.5, 65.1]
        >>> [round(100 * undissociated(5.5, pka), 1) for pka in (4.20, 4.76, 5.27)]
        [4.8, 15.4, 37.1]
        >>> 100 * undissociated(4.20, 4.20)
        50.0

    Source: pKa 4.20 of NIST 46.2 (CH-S13), 4.76 (CH-S17), 5.27 from memory; at its pKa an acid is half undissociated:
        50 %.
    """
    return 1.0 / (1.0 + math.pow(10.0, ph - pka))


@cache
def acids() -> tuple[Acid, ...]:
    """Every acid of acids.csv.

    Example:
        >>> {acid.name: acid.pka for acid in acids()}["benzoic acid"]
        4.2

    Source: NIST 46.2, at 25 degC and without other ions (CH-S13): pKa of benzoic acid 4.20.
    """
    return tuple(
        Acid(row["acid"], tuple(row["inci"].split("; ")), float(row["pka"]), row["source"], Evidence(row["evidence"]))
        for row in shipped("acids")
    )


def acid_of(inci: str) -> Acid | None:
    """The acid that a substance is or gives in water; None where it is none of the table.

    Example:
        >>> acid = acid_of("Potassium Sorbate")
        >>> acid.name, acid.pka
        ('sorbic acid', 4.76)

    Source: an encyclopedia article on sorbic acid (CH-S17): pKa 4.76.
    """
    return next((acid for acid in acids() if inci in acid.inci), None)
