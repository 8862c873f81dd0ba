"""What does not bear the heat of the phase it stands in."""

from collections.abc import Iterator, Sequence

from optiform.ingredients.formula import Line
from optiform.review.answer import SURE, FormulaWarning
from optiform.rules.heat import HOT, heat_limit, too_hot

HEAT = "heat-limit"  #: the rule's id
ADVICE = {"mind": "move it to the cool-down", "note": "keep the heating short, or add it to the cooling mass"}


def too_hot_warnings(lines: Sequence[Line], hot: float = HOT) -> Iterator[FormulaWarning]:
    """A warning of each line that the heat of its phase harms.

    Args:
        lines: all that are made in one pot.
        hot: degC that the phases are heated to.
    """
    for line, limit, level in too_hot(lines, hot):
        name, advice = line.ingredient.name, ADVICE[level]
        bears = f"{heat_limit(limit)} ({SURE[limit.evidence]})"
        words = f"{name} is heated to {hot:g} degC in the {line.phase}; {bears}: {advice}."
        yield FormulaWarning("heat", level, words, HEAT, (name,), limit.evidence, limit.source)
