"""A proposed trial as lines to weigh: whole steps of the scale that sum to the trial's mass."""

from collections.abc import Mapping
from dataclasses import dataclass

from optiform.jobs.apportion import apportion
from optiform.jobs.next_trial import Proposal


@dataclass(frozen=True, slots=True)
class ToWeigh:
    """One line of a trial: grams in whole steps of the scale, and grams against the reference (0 where it stays)."""

    ingredient: str
    phase: str
    grams: float
    change: float


def weighable(proposal: Proposal, mass: float, step: float) -> tuple[ToWeigh, ...]:
    """The lines of a proposal for so many grams in all, dealt out by largest remainder.

    Args:
        proposal: the trial.
        mass: of the trial, g; what is left over of whole steps is not weighed.
        step: what the scale shows, g.
    """
    lines = [line for line in proposal.formula.lines if line.fraction > 0]
    steps = apportion([line.fraction for line in lines], round(mass / step))
    moved: Mapping[str, float] = {name: grams for name, grams, _ in proposal.changes}
    return tuple(
        ToWeigh(line.ingredient.name, line.phase, round(count * step, 9), moved.get(line.ingredient.name, 0.0))
        for line, count in zip(lines, steps, strict=True)
    )
