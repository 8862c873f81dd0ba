"""One more trial or stop: what it would do to an open question, and which trial teaches most about that question."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import exp, inf, isfinite, log, sqrt
from statistics import NormalDist

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.scaled import on_scale
from optiform.design.around import today_of, with_lines_of
from optiform.design.design import formula_of
from optiform.design.todays_firmness import MOVABLE
from optiform.ingredients.formula import Formula
from optiform.program.build import OWN_KINDS
from optiform.program.usual import requirements
from optiform.properties.base import Vector
from optiform.properties.firmness import REFERENCE_TEMPERATURE, Band
from optiform.reading.faults import BadInput, Inspection
from optiform.trials.cells import Uncounted
from optiform.trials.fit import Beyond, Fitted, beyond, place_of
from optiform.trials.gain import Asked, Candidate, after_trial, gains_of, inside
from optiform.trials.prediction import bands_of
from optiform.trials.question import Equal, Next, Proposal, Question, Standing
from optiform.workshop.records import Trial

WORTH = 0.05  # a trial that changes the answer more seldom than this is not worth making
POINTS = (
    1.0,
    2.0,
    3.0,
    4.0,
)  # of the whole, that change hands in a trial: seen in the readings, still the same product
USUAL_MASS = 200.0  # g, of a trial
SHOWN = 3
SAME = 1e-9  # degC


def next_trial(
    fitted: Fitted,
    question: Question,
    brief: Brief,
    trials: Sequence[Trial] = (),
    mass: float | None = None,
    step: float | None = None,
) -> Next:
    """Whether one more trial would change the answer, and the three that teach most about it.

    Args:
        fitted: the fit so far.
        question: what is to be decided.
        brief: its reference is changed by one pair of lines, inside its ranges and limits and the law.
        trials: those made, for what to hold equal.
        mass: g of a trial; without it that of the last trial, or 200 g.
        step: what the scale shows, g; the brief's without it.

    Raises:
        BadInput: a question that cannot be asked, a step that is none, a reference that a gauge cannot read.
    """
    brief, today = on_scale(brief, fitted.exponents), today_of(brief)
    size = mass or next((trial.mass for trial in reversed(trials) if trial.mass), USUAL_MASS)
    shown = brief.step if step is None else step
    _inspect(question, size, shown)
    temperatures = tuple(dict.fromkeys((question.temperature, REFERENCE_TEMPERATURE)))
    gauge = _most_used(fitted)
    candidates = candidates_of(fitted, question, with_lines_of(brief, today), temperatures, size, shown)
    middle, variance, gains = gains_of(fitted.posterior, _asked(fitted, question), candidates, gauge)
    low, high = _ends(question)
    now = _standing(middle, variance, low, high, fitted.level)
    if question.rival is None:
        now = replace(now, band=bands_of(fitted, question.formula, question.temperature)[1])
    ranked = _ranked(candidates, gains)
    proposals = tuple(
        _proposal(
            fitted, candidates[k], float(gains[k]), (middle, variance, low, high), now.band, temperatures, gauge, size
        )
        for k in ranked
    )
    flips, left_behind = proposals[0].flips if proposals else 0.0, _beyond(fitted, question)
    return Next(
        question=question,
        now=now,
        worth_it=flips >= WORTH,
        proposals=proposals,
        looked_at=len(candidates),
        mass=size,
        step=shown,
        equal=Equal(trials[-1] if trials else None, temperatures, fitted.taken.age, fitted.taken.gauges[gauge].words),
        beyond=left_behind,
        unread=_unread(fitted, question.temperature) if left_behind else None,
    )


def _inspect(question: Question, mass: float, step: float) -> None:
    inspection = Inspection("question")
    if question.rival is None and not (question.low > 0 or isfinite(question.high)):
        inspection.fault("limit", None, "a least or a most firmness, or a formula to compare with")
    if not 0 <= question.low < question.high:
        inspection.fault("limit", f"{question.low:g} to {question.high:g}", "a least firmness below the most")
    if question.rival is not None and (question.low > 0 or isfinite(question.high)):
        words = "The question asks for a firmness, and for firmer than another formula. Take one of the two out."
        inspection.fault("limit", "a value and another formula", "one of the two", words)
    if not mass > 0:
        inspection.fault("mass", f"{mass:g} g", "more than 0 g")
    if not 0 < step <= mass * POINTS[-1] / 100:
        words = f"a step above 0 g that {POINTS[-1]:g} % of {mass:g} g can show"
        inspection.fault("scale", f"{step:g} g", words)
    inspection.finish()


def _most_used(fitted: Fitted) -> int:
    counts = np.zeros(len(fitted.taken.gauges))
    for cell in fitted.taken.cells:
        counts[cell.gauge] += cell.count
    return int(np.argmax(counts))


# -- what could be made ------------------------------------------------------------------------------------------------


def candidates_of(
    fitted: Fitted, question: Question, brief: Brief, temperatures: Sequence[float], mass: float, step: float
) -> list[Candidate]:
    """The reference as it is, the formula asked about, and the reference with one line up and another down.

    Lines that change are in use and may move texture; they change by whole steps of the scale. Every other line stays.
    What breaks the brief's ranges and limits or the law is left away, but for the brief's own limits that the reference
    breaks already.
    """
    today = today_of(brief)
    x = brief.mix.vector(today)
    made: list[tuple[Formula, tuple[tuple[str, float], ...]]] = [(today, ())]
    if question.formula.lines != today.lines:
        made.append((question.formula, ()))
    made += [(formula_of(brief, changed, "trial"), changes) for changed, changes in _moves(brief, x, mass, step)]
    placed = [(each, _placed(fitted, each[0], temperatures)) for each in made]
    return [Candidate(*each, *places, again=each[0] is today) for each, places in placed if places is not None]


def _moves(brief: Brief, x: Vector, mass: float, step: float) -> Iterator[tuple[Vector, tuple[tuple[str, float], ...]]]:
    names = [item.name for item in brief.mix.ingredients]
    movable = [j for j, item in enumerate(brief.mix.ingredients) if x[j] > 0 and item.functions[0] in MOVABLE]
    needed = requirements(brief).without_broken(x, (*OWN_KINDS, "usual"))
    amounts = sorted({round(points / 100 * mass / step) for points in POINTS} - {0})
    for up in movable:
        for down in movable:
            for steps in amounts if up != down else ():
                changed = x.copy()
                changed[up] += steps * step / mass
                changed[down] -= steps * step / mass
                if changed[down] >= 0 and needed.kept_by(changed):
                    yield changed, ((names[up], steps * step), (names[down], -steps * step))


def _placed(
    fitted: Fitted, formula: Formula, temperatures: Sequence[float]
) -> tuple[tuple[float, ...], tuple[float, ...]] | None:
    try:
        places = [place_of(fitted, formula, at) for at in temperatures]
    except BadInput:
        return None
    return tuple(place[0] for place in places), tuple(place[1] for place in places)


# -- what it would teach -----------------------------------------------------------------------------------------------


def _asked(fitted: Fitted, question: Question) -> Asked:
    solids, grains = place_of(fitted, question.formula, question.temperature)
    if question.rival is None:
        return Asked(solids, grains, None)
    other, fill = place_of(fitted, question.rival, question.temperature)
    return Asked(solids - other, grains, fill)


def _ranked(candidates: Sequence[Candidate], gains: Vector) -> list[int]:
    """The best first, each pair of lines once."""
    told: dict[frozenset[object], int] = {}
    for k in np.argsort(-gains, kind="stable"):
        candidate = candidates[k]
        key: frozenset[object] = frozenset(name for name, _ in candidate.changes) or frozenset([candidate.formula])
        told.setdefault(key, int(k))
    return list(told.values())[:SHOWN]


# -- what it would decide ----------------------------------------------------------------------------------------------


def _ends(question: Question) -> tuple[float, float]:
    if question.rival is not None:
        return 0.0, inf
    return (log(question.low / 100) if question.low > 0 else -inf), (
        log(question.high / 100) if isfinite(question.high) else inf
    )


def _standing(middle: float, variance: float, low: float, high: float, level: float) -> Standing:
    yes = float(inside(np.array([middle]), sqrt(variance), low, high)[0])
    return Standing(yes, min(yes, 1 - yes), _band(middle, variance, level))


def _band(middle: float, variance: float, level: float) -> Band:
    reach = NormalDist().inv_cdf((1 + level) / 2) * sqrt(max(variance, 0.0))
    return Band(100 * exp(middle - reach), 100 * exp(middle), 100 * exp(middle + reach))


def _narrower(band: Band, by: float) -> Band:
    """A band whose logarithms lie nearer to its figure by this factor."""
    if band.low <= 0:
        return band
    low, high = (band.typical * (end / band.typical) ** by for end in (band.low, band.high))
    return Band(low, band.typical, high)


def _proposal(
    fitted: Fitted,
    candidate: Candidate,
    gain: float,
    standing: tuple[float, float, float, float],
    now: Band,
    temperatures: tuple[float, ...],
    gauge: int,
    mass: float,
) -> Proposal:
    middle, variance, low, high = standing
    flips, wrong = after_trial(middle, variance, gain, low, high)
    return Proposal(
        formula=candidate.formula,
        changes=tuple((name, grams, 100 * grams / mass) for name, grams in candidate.changes),
        temperatures=temperatures,
        gauge=fitted.taken.gauges[gauge].words,
        narrows=gain / variance if variance > 0 else 0.0,
        band_after=_narrower(now, sqrt(max(0.0, 1 - gain / variance)) if variance > 0 else 1.0),
        flips=flips,
        wrong_after=wrong,
        again=candidate.again,
    )


def _beyond(fitted: Fitted, question: Question) -> tuple[Beyond, ...]:
    """As a prediction says it of the formula, and of the other one."""
    at, formulas = question.temperature, [question.formula, *([question.rival] if question.rival else [])]
    return tuple(dict.fromkeys(x for of in formulas for x in beyond(fitted.taken, *place_of(fitted, of, at), at)))


def _unread(fitted: Fitted, at: float) -> tuple[tuple[Uncounted, int], ...] | None:
    """The readings at a temperature that do not count, by why; None where one does."""
    if any(abs(cell.temperature - at) <= SAME for cell in fitted.taken.cells):
        return None
    return tuple(Counter(each.why for each in fitted.left_out if abs(each.temperature - at) <= SAME).items())
