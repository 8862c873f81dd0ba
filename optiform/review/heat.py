"""What does not bear the heat of the phase it stands in."""

from collections.abc import Iterator, Sequence

from optiform.ingredients.formula import Line
from optiform.review.answer import FormulaWarning
from optiform.review.facts import TooHot
from optiform.rules.heat import HOT, too_hot

HEAT = "heat-limit"  #: the rule's id


def too_hot_warnings(lines: Sequence[Line], hot: float = HOT) -> Iterator[FormulaWarning]:
    """A warning of each line that the heat of its phase harms.

    Args:
        lines: all that are made in one pot.
        hot: degC that the phases are heated to.
    """
    for line, limit, level in too_hot(lines, hot):
        name = line.ingredient.name
        fact = TooHot(name, line.phase, limit, hot, level)
        yield FormulaWarning("heat", level, fact, HEAT, (name,), limit.evidence, limit.source)
