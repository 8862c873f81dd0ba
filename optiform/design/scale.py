"""What the scales show: the steps of each candidate, and the whole numbers of them that make the batch."""

from decimal import Decimal
from fractions import Fraction

import numpy as np

from optiform.batch.doses import FEWEST_STEPS
from optiform.brief.brief import Brief
from optiform.design.facts import Note, NotWhole
from optiform.ingredients.formula import Formula
from optiform.program.linear import Program, Vector
from optiform.program.tolerances import UNUSED
from optiform.reading.frozen import frozen

SMALL = 100  # coarse steps: a line below this goes on the fine scale, where there is one


@frozen
class Scale:
    """The batch in smallest steps, and the size of each candidate's step in smallest steps."""

    unit: Decimal
    coarse: int
    total: int
    sizes: dict[int, int]
    notes: tuple[Note, ...]

    def fractions(self, steps: Vector) -> Vector:
        """Mass fractions of so many steps of each candidate."""
        fractions: Vector = steps * np.array(list(self.sizes.values())) / self.total
        return fractions

    def applied(self, program: Program) -> Program:
        """Lines of the fine scale hold no more than it is used for."""
        high = program.high.copy()
        for j, size in self.sizes.items():
            if size < self.coarse:
                high[j] = min(high[j], SMALL * self.coarse / self.total)
        return program.with_bounds(program.low, high)


def batch_grams(brief: Brief) -> Fraction:
    """The batch in g, exactly as it is written."""
    return 1000 * Fraction(str(round(brief.batch, 9)))


def least_shown(brief: Brief, step: float | None = None, fine: float | None = None) -> float:
    """The least dose that the finest of the scales shows well, as a mass fraction of the batch.

    Args:
        brief: its scale and batch.
        step: what the scale shows, g; the brief's if not given.
        fine: what a second, fine scale shows, g.
    """
    return min(1.0, FEWEST_STEPS * (fine or step or brief.step) / (1000 * brief.batch))


def scale_of(brief: Brief, step: float, fine: float | None, rounded: Formula) -> Scale:
    """The steps of each candidate (g, the fine scale's for what is little in the `rounded` formula) in the batch."""
    unit = Decimal(str(step if fine is None else fine))
    coarse = int(Decimal(str(step)) / unit)
    exact = batch_grams(brief) / Fraction(unit)
    total, sizes = round(exact), {}
    notes: tuple[NotWhole, ...] = ()
    for j, (item, own) in enumerate(zip(brief.mix.ingredients, brief.ranges, strict=True)):
        share = rounded.fraction(item.name)
        likely = share if share > UNUSED else own.high
        sizes[j] = 1 if likely * total < SMALL * coarse else coarse
    if exact != total:
        grams = float(batch_grams(brief))
        notes = (NotWhole(grams, str(unit), str(total * unit)),)
    return Scale(unit, coarse, total, sizes, notes)
