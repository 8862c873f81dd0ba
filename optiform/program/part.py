"""What is known of one node of a map of bases: its proofs, its bounds and its regions, ready to be put together."""

from collections.abc import Mapping, Sequence
from functools import cached_property

import numpy as np

from optiform.program.linear import Vector
from optiform.program.proofs import Proofs
from optiform.program.region import Known, Region
from optiform.reading.frozen import frozen

DIGITS = 10  # of bounds per unit: the same to these are one


@frozen
class Bound:
    """What one basis or proof of a node gives.

    Attributes:
        line: times a position, the bound with the ratio where it starts. Shape (limits + 1,).
        group: times a position, the amount that the ratio is over; None where the ratio does not matter to it.
        own, inner: the dual of the ratio's row, and what a unit of it adds to that amount.
        low, high: from where to where the ratio can move.
        regions: of the basis; none of a proof.
    """

    line: Vector
    group: Vector | None = None
    own: float = 0.0
    inner: float = 0.0
    low: float = -np.inf
    high: float = np.inf
    regions: Sequence[Region] = ()

    @staticmethod
    def of(regions: Sequence[Region], limit: int) -> "Bound | None":
        """That of a basis; None where it has none."""
        region, turning = regions[0], regions[0].turning
        line, told = turning.line[-1], len(region.line)
        bind = np.flatnonzero(turning.rows[turning.tight] == limit).tolist()
        if not bind:
            return Bound(line, regions=regions) if turning.stands else None
        if len(bind) > 1:  # two rows of one limit
            return None
        k = bind[0]
        low, high = turning.lasts[k]
        group = turning.line[told + turning.tight[k]]
        own, inner = float(turning.duals[k]), float(turning.inner[k])
        return Bound(line, group, own, inner, low, high, regions) if low <= high else None


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

    def alone(self, limit: int) -> Sequence[Bound]:
        """What proves something of the node where the ratio of one limit has moved, and amounts as they like."""
        if limit not in self._alone:
            proofs = self.proofs
            flat = proofs.rays.copy()  # what proves that nothing fits, wherever the ratio stands
            if limit in proofs.turns:
                flat &= ~proofs.turns[limit].any(axis=1)
            flat[0] = True  # that by no weights
            of_bases = (Bound.of(regions, limit) for regions in self.bases if regions)
            bounds = [Bound(line) for line in proofs.straight[flat]]
            self._alone[limit] = [*bounds, *(bound for bound in of_bases if bound is not None)]
        return self._alone[limit]

    @cached_property
    def _alone(self) -> dict[int, Sequence[Bound]]:
        return {}
