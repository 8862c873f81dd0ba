"""What is known of one node of a map of bases: its proofs, its bounds and its regions, ready to be put together."""

from collections.abc import Mapping, Sequence

import numpy as np

from optiform.program.linear import Vector
from optiform.program.proofs import Proofs
from optiform.program.region import Known, Region
from optiform.reading.frozen import frozen

DIGITS = 10  # of bounds per unit: the same to these are one


@frozen
class Part:
    """What is known of one node.

    Attributes:
        proofs: all of them; `by`: the regions of the basis that gave each.
        bounds: what they prove where only amounts have moved, each once. Shape (bounds, limits + 1).
        of: the regions of all bases that give each of these.
        bases: the regions of each basis.
    """

    proofs: Proofs
    by: Sequence[Sequence[Region]]
    bounds: Vector
    of: Sequence[Sequence[Region]]
    bases: Sequence[Sequence[Region]]

    @staticmethod
    def made(proofs: Proofs, owners: Sequence[Known | None], regions: Mapping[Known, Sequence[Region]]) -> "Part":
        """Put it together; `owners`: for each proof the basis that gave it, None where none did."""
        none: Sequence[Region] = ()
        by = [regions.get(owner, none) if owner else none for owner in owners]
        bounds = proofs.straight
        _, which, same = np.unique(bounds.round(DIGITS), axis=0, return_index=True, return_inverse=True)
        of = [dict[int, Region]() for _ in which]
        for owned, place in zip(by, same.reshape(-1).tolist(), strict=True):
            of[place] |= {id(region): region for region in owned}
        return Part(proofs, by, bounds[which], [[*some.values()] for some in of], [*regions.values()])
