"""Two trials made one formula: the mixture of both that is predicted to be as firm as is wished, held to the brief."""

from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise

from optiform.brief.brief import Brief
from optiform.brief.scaled import on_scale
from optiform.ingredients.formula import Formula, Line
from optiform.properties.firmness import REFERENCE_TEMPERATURE
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault, Inspection
from optiform.reading.frozen import frozen
from optiform.review.answer import Report
from optiform.review.measures import setting_of
from optiform.review.report import report
from optiform.trials.fit import Fitted
from optiform.trials.prediction import Prediction, bands_of, predict

STEPS = 40  # of the way, between which firmness is taken to pass the wish at most once
HALVINGS = 30


@frozen
class Between:
    """The formula on the line between two trials that has a wished firmness.

    Attributes:
        ends: what both trials were made of, as weighed where that was noted.
        share: of the second in it, 0 to 1.
        firmness: wished; the reference at 20 °C is 100.
        others: further shares of the second at which the line has this firmness.
        prediction: how firm it should be, with its range and what each gauge should read.
        report: on the formula, by the brief.
    """

    ends: tuple[Formula, Formula]
    share: float
    firmness: float
    others: tuple[float, ...]
    prediction: Prediction
    report: Report

    @property
    def formula(self) -> Formula:
        """The formula."""
        return self.prediction.formula


def between(
    fitted: Fitted,
    made: Mapping[str, Formula],
    names: tuple[str, str],
    firmness: float,
    brief: Brief,
    temperature: float = REFERENCE_TEMPERATURE,
) -> Between:
    """The formula between two trials whose firmness, as fitted, is the one wished; the nearest to the first of them.

    Args:
        fitted: the scale as the readings leave it.
        made: what every trial was made of.
        names: of the two trials.
        firmness: wished, on the scale on which the fit's reference at 20 °C is 100.
        brief: what the formula is held to; it moves nothing.
        temperature: at which, °C.

    Raises:
        BadInput: for a trial that is not logged, two trials alike, a firmness that the line does not have.
    """
    first, second = _ends(made, names, firmness)

    def typical(share: float) -> float:
        return bands_of(fitted, mixture(first, second, share), temperature)[1].typical

    line = [(share, _known(typical, share)) for share in (k / STEPS for k in range(STEPS + 1))]
    if all(value is None for _, value in line):
        typical(0.0)  # raises with the reason: the scale has no firmness anywhere on the line
    shares = [_crossing(typical, *ends, firmness) for ends in _passing(line, firmness)]
    if not shares:
        raise _not_on(line, f"from {first.name} to {second.name} at {temperature:g} degC", firmness)
    formula = mixture(first, second, shares[0])
    return Between(
        ends=(first, second),
        share=shares[0],
        firmness=firmness,
        others=tuple(shares[1:]),
        prediction=predict(fitted, formula, temperature),
        report=report(formula, setting_of(on_scale(brief, fitted.exponents))),
    )


def mixture(first: Formula, second: Formula, share: float) -> Formula:
    """Two formulas stirred together: the share of the second, the rest of the first.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> soft, hard = mixed({"shea butter, refined": 100}), mixed({"shea butter, refined": 80, "beeswax": 20})
        >>> [(line.ingredient.name, round(line.fraction, 3)) for line in mixture(soft, hard, 0.25).lines]
        [('shea butter, refined', 0.95), ('beeswax', 0.05)]
    """
    lines: dict[tuple[str, str], Line] = {}
    for formula, part in ((first, 1 - share), (second, share)):
        for line in formula.lines:
            key = line.ingredient.name, line.phase
            before = lines[key].fraction if key in lines else 0.0
            lines[key] = Line(line.ingredient, before + part * line.fraction, line.phase)
    used = tuple(line for line in lines.values() if line.fraction > 0)
    return Formula(f"between {first.name} and {second.name}", used)


def _ends(made: Mapping[str, Formula], names: tuple[str, str], firmness: float) -> tuple[Formula, Formula]:
    inspection = Inspection(COMMAND_LINE)
    for name in names:
        if name not in made:
            inspection.fault("trial", name, f"one of the trials: {', '.join(made)}")
    if names[0] == names[1]:
        inspection.fault("trial", names[1], "another trial than the first")
    if not firmness > 0:
        inspection.fault("--firmness", f"{firmness:g}", "more than 0")
    inspection.finish()
    return made[names[0]], made[names[1]]


def _known(typical: Callable[[float], float], share: float) -> float | None:
    try:
        return typical(share)
    except BadInput:
        return None


def _passing(line: list[tuple[float, float | None]], firmness: float) -> Iterator[tuple[float, float]]:
    """Stretches of the line within which firmness passes the wish, or at whose end it is that."""
    for (near, before), (far, after) in pairwise(line):
        if before is None or after is None:
            continue
        if min(before, after) < firmness < max(before, after):
            yield near, far
        elif before == firmness:
            yield near, near
    if line[-1][1] == firmness:
        yield line[-1][0], line[-1][0]


def _crossing(typical: Callable[[float], float], near: float, far: float, firmness: float) -> float:
    rising = typical(far) > firmness
    for _ in range(HALVINGS):
        middle = (near + far) / 2
        near, far = (near, middle) if (typical(middle) > firmness) == rising else (middle, far)
    return (near + far) / 2


def _not_on(line: list[tuple[float, float | None]], ends: str, firmness: float) -> BadInput:
    known = [value for _, value in line if value is not None]
    words = f"{min(known):.3g} to {max(known):.3g}, which is what the line {ends} has"
    return BadInput([Fault(COMMAND_LINE, "--firmness", f"{firmness:g}", words)])
