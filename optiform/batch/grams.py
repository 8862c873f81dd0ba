"""A formula in grams that the scale can show, looked at as they are weighed."""

from decimal import Decimal
from functools import cached_property, lru_cache

from optiform.batch.dealing import deal, plan_batch, weighed
from optiform.batch.doses import SmallDose, small_doses
from optiform.batch.making import Making
from optiform.brief.brief import Brief
from optiform.ingredients.formula import Formula, Line
from optiform.reading.faults import BadInput
from optiform.reading.frozen import frozen
from optiform.review.measures import Setting, setting_of
from optiform.review.report import Compliance, compliance


@frozen
class Grams:
    """What is weighed of each line for the brief's batch, as the batch sheet deals it out.

    Attributes:
        lines: each with its g, exactly; in the order of the formula.
        step: of the scale, g.
        formula: that these grams make.
        setting: in which it is looked at.
        small: doses that the scale puts off by more than 2.5 %.
    """

    lines: tuple[tuple[Line, Decimal], ...]
    step: Decimal
    formula: Formula
    setting: Setting
    small: tuple[SmallDose, ...]

    @cached_property
    def compliance(self) -> Compliance:
        """What the formula that these grams make keeps; most who ask for grams do not need it."""
        return compliance(self.formula, self.setting)

    @property
    def total(self) -> Decimal:
        """What all lines weigh together, g."""
        return sum((grams for _, grams in self.lines), Decimal(0))


@lru_cache(maxsize=16)
def in_grams(formula: Formula, brief: Brief) -> Grams | None:
    """A formula in whole steps of the brief's scale; None where the batch is too small to be dealt out in them.

    Several parts of one page ask for the same.
    """
    try:
        plan = plan_batch(brief, Making())
        dealt = deal(formula, brief, Making(), plan)
    except BadInput:
        return None
    step = Decimal(str(brief.step))
    small = (dose for _, dose in small_doses(dealt.shared, plan.steps, step) if dose.told)
    return Grams(
        lines=tuple((line, plan.grams(steps)) for line, steps in dealt.shared),
        step=step,
        formula=weighed(formula.name, dealt),
        setting=setting_of(brief),
        small=tuple(small),
    )
