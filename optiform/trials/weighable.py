"""A proposed trial as lines to weigh: whole steps of the scale that sum to the trial's mass."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from optiform.batch.apportion import NoRoom, apportion
from optiform.batch.doses import SmallDose, highest, lowest, small_doses
from optiform.brief.brief import Brief
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.reading.order import largest_first
from optiform.trials.question import Proposal


@frozen
class ToWeigh:
    """One line of a trial.

    Attributes:
        grams: in whole steps of the scale.
        due: g that the formula asks for.
        change: g against the reference, 0 where the line is to stay.
        small: how far off the scale is where the line is few steps of it, else None.
    """

    ingredient: str
    phase: str
    grams: float
    due: float
    change: float
    small: SmallDose | None


@frozen
class Weighings:
    """A trial to weigh on a scale of `step` g."""

    step: float
    lines: tuple[ToWeigh, ...]

    @property
    def off(self) -> tuple[SmallDose, ...]:
        """What the scale changes beside the one thing asked, the furthest off first."""
        doses = (line.small for line in self.lines if line.small and line.small.told)
        return tuple(sorted(doses, key=lambda dose: largest_first(abs(dose.off), dose.ingredient)))


def weighable(proposal: Proposal, mass: float, step: float, brief: Brief) -> Weighings:
    """The lines of a proposal for so many grams in all, dealt out by largest remainder.

    Args:
        proposal: the trial.
        mass: of the trial, g; what is left over of whole steps is not weighed.
        step: what the scale shows, g.
        brief: what no line is rounded above: its ranges, the law, certificates.

    Raises:
        BadInput: where every line is at its limit and none can take what rounding leaves.
    """
    lines = [line for line in proposal.formula.lines if line.fraction > 0]
    total = round(mass / step)
    try:
        weighed = replace(proposal.formula, lines=tuple(lines))
        most, least = highest(weighed, brief) * total, lowest(weighed, brief) * total
        steps = apportion([line.fraction for line in lines], total, list(most), list(least))
    except NoRoom:
        words = "a trial in which some line can take what rounding leaves: every line is at its limit"
        raise BadInput([Fault("trial", "mass", f"{mass:g} g", words)]) from None
    counted = list(zip(lines, steps, strict=True))
    small = dict(small_doses(counted, total, Decimal(f"{step:g}")))
    moved: Mapping[str, float] = {name: grams for name, grams, _ in proposal.changes}
    return Weighings(step, tuple(
        ToWeigh(
            ingredient=line.ingredient.name,
            phase=line.phase,
            grams=round(count * step, 9),
            due=round(line.fraction * mass, 9),
            change=moved.get(line.ingredient.name, 0.0),
            small=small.get(line),
        )
        for line, count in counted
    ))  # fmt: skip
