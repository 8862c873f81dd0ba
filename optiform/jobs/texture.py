"""Firmer or softer: a stated step of firmness at a stated temperature, with as few lines changed as possible."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import permutations

import numpy as np

from optiform.brief import Brief, Goal, Limit, Range
from optiform.faults import BadInput, Fault
from optiform.formula import Formula
from optiform.jobs.answer import Report
from optiform.jobs.around import today_of, with_lines_of
from optiform.jobs.cheaper import Move
from optiform.jobs.design import formula_of, setting_of
from optiform.jobs.report import report
from optiform.program.build import Demand, cases
from optiform.program.certificate import NotCertified
from optiform.program.conflict import explain
from optiform.program.search import Found, NothingFits, Unsettled, points_moved, search
from optiform.properties.base import Mix, Vector
from optiform.properties.firmness import ASSUMED, Band, Exponents, Model, firmness, firmness_band

COLD, HOT = 10.0, 35.0  # degC: a bathroom in winter, a warm room in summer
#: What may move texture when the emulsifier is left alone.
MOVABLE = ("oil", "butter", "ester", "wax", "fatty alcohol", "fatty acid", "grain", "water", "powder", "clay")
STEPS = 60  # halvings of an interval: to the last bit that a scale could ever show
SHOWN = (COLD, 20.0, 30.0, HOT)


@dataclass(frozen=True)
class Course:
    """One way to get there.

    Attributes:
        lines: how many lines change, all counted: what goes up has to come down elsewhere.
        points: percentage points that change hands.
        firmness: by temperature, on the scale on which today's formula is 100 at 20 degC.
        new: whether an ingredient enters that today's formula does not have.
    """

    formula: Formula
    lines: int
    points: float
    moves: tuple[Move, ...]
    firmness: dict[float, Band]
    new: bool


@dataclass(frozen=True)
class Season:
    """Two versions where one formula cannot serve cold and hot, and what they share."""

    winter: Course
    summer: Course
    common: tuple[tuple[str, float], ...]
    apart: float


@dataclass(frozen=True)
class Texture:
    """Courses to the wanted firmness, fewest lines first; `season` when only two versions can do it.

    `wanted` is the firmness to reach at `temperature`; `cold_most` and `hot_least` what must not be passed at 10 and
    35 degC. `note` says what was not possible, `rests_on` what the figures of firmness rest on.
    """

    brief: Brief
    today: Report
    before: dict[float, Band]
    temperature: float
    wanted: float
    cold_most: float
    hot_least: float
    courses: tuple[Course, ...]
    season: Season | None
    note: str
    rests_on: str


def texture(
    brief: Brief,
    step: float,
    temperature: float = 20.0,
    free_emulsifier: bool = False,
    cold_most: float | None = None,
    hot_least: float | None = None,
    most: int = 6,
    known: Exponents = ASSUMED,
) -> Texture:
    """Move firmness at a temperature by `step` per cent of today's there (20 is a fifth firmer, -20 a fifth softer).

    First every pair of lines, one up and one down by the same amount; among those that reach it within the brief's
    limits and the cold and hot limits, the smallest changes. If no pair does, the formula nearest to today's that does,
    whatever it changes. If nothing serves both cold and hot, a winter and a summer version.

    Args:
        brief: with a reference formula.
        step: per cent.
        temperature: degC.
        free_emulsifier: whether emulsifiers may change too; they move rinse and skin feel.
        cold_most: most firmness at 10 degC; without it, a half more than today's there, or as much as was asked for.
        hot_least: least firmness at 35 degC; without it, a quarter less than today's there, or as little as was asked.
        most: how many courses to give.
        known: the exponents of the firmness scale, assumed or fitted to the maker's own trials.

    Raises:
        BadInput: without a reference formula, when its firmness is nothing or not known, or for a step below -100 %.
    """
    today = today_of(brief)
    if not -100 < step < np.inf:
        raise BadInput([Fault(brief.title, "step", f"{step:g} %", "more than -100 %, which is no firmness at all")])
    before = _before(brief, today, temperature, known)
    factor = 1 + step / 100
    goal = _Aim(
        brief=with_lines_of(brief, today),
        today=today,
        step=step,
        temperature=temperature,
        wanted=before[temperature].typical * factor,
        cold_most=before[COLD].typical * max(1.5, factor) if cold_most is None else cold_most,
        hot_least=before[HOT].typical * min(0.75, factor) if hot_least is None else hot_least,
        free_emulsifier=free_emulsifier,
        known=known,
    )
    courses, note = _courses(goal, most)
    season = None if courses else _season(goal)
    note = note or _without(goal, season)
    return Texture(
        brief=brief,
        today=report(today, setting_of(brief)),
        before=before,
        temperature=temperature,
        wanted=goal.wanted,
        cold_most=goal.cold_most,
        hot_least=goal.hot_least,
        courses=tuple(courses),
        season=season,
        note=note,
        rests_on=known.words,
    )


def _before(brief: Brief, today: Formula, temperature: float, known: Exponents) -> dict[float, Band]:
    """Firmness of today's formula, from which every step is counted."""
    try:
        bands = {at: firmness_band(today, today, at, known) for at in sorted({*SHOWN, temperature})}
    except ValueError as error:
        raise BadInput([Fault(brief.title, "firmness of the reference", today.name, str(error))]) from None
    told = {at: band for at, band in bands.items() if band is not None}
    if len(told) < len(bands):
        words = "a formula with structuring solids whose figures are known"
        raise BadInput([Fault(brief.title, "reference", today.name, words)])
    if told[temperature].typical <= 0:
        words = "a temperature at which something of today's formula is solid"
        raise BadInput([Fault(brief.title, "temperature", f"{temperature:g} degC", words)])
    return told


def _without(aim: "_Aim", season: Season | None) -> str:
    if season is not None:
        return "no one formula serves cold and hot: a winter and a summer version"
    clash = _clash(aim, [*_aimed(aim), *_guards(aim)])
    return f"no formula from these candidates reaches it; in the way: {'; '.join(clash)}"


@dataclass(frozen=True)
class _Aim:
    brief: Brief
    today: Formula
    step: float
    temperature: float
    wanted: float
    cold_most: float
    hot_least: float
    free_emulsifier: bool
    known: Exponents

    @property
    def start(self) -> Vector:
        return np.array([self.today.fraction(item.name) for item in self.brief.mix.ingredients])

    @property
    def movable(self) -> list[int]:
        """Lines that may change, candidates out of stock only downwards (their range says so)."""
        words = (*MOVABLE, "emulsifier") if self.free_emulsifier else MOVABLE
        return [j for j, item in enumerate(self.brief.mix.ingredients) if item.functions[0] in words]

    def fixed(self) -> tuple[Demand, ...]:
        """The brief's demands without those that today's formula breaks already: they cannot judge a small change."""
        straight_first = sorted(cases(self.brief)[0], key=lambda demand: demand.bends)  # they bound those that bend
        return tuple(demand for demand in straight_first if demand.met(self.start))

    def course(self, x: Vector) -> Course | None:
        formula = formula_of(self.brief, x, "changed")
        bands = _bands(formula, self.today, (*SHOWN, self.temperature), self.known)
        if bands is None:
            return None
        pairs = zip(self.brief.mix.ingredients, self.start, x, strict=True)
        moves = [Move(item.name, 100 * float(a), 100 * float(b)) for item, a, b in pairs if abs(b - a) > 1e-6]
        return Course(
            formula=formula,
            lines=len(moves),
            points=points_moved(self.brief.mix, x, self.today),
            moves=tuple(sorted(moves, key=lambda move: -abs(move.points))),
            firmness=bands,
            new=any(move.before == 0 for move in moves),
        )


def _bands(
    formula: Formula, today: Formula, temperatures: Sequence[float], known: Exponents
) -> dict[float, Band] | None:
    found: dict[float, Band] = {}
    for at in temperatures:
        try:
            band = firmness_band(formula, today, at, known)
        except ValueError:
            return None
        if band is None:
            return None
        found[at] = band
    return dict(sorted(found.items()))


# -- one line up, one line down ----------------------------------------------------------------------------------------


def _courses(aim: _Aim, most: int) -> tuple[list[Course], str]:
    pairs = [] if aim.step == 0 else sorted(_pairs(aim), key=lambda course: (course.new, course.points))
    if pairs:
        return pairs[:most], "one line up, another down by the same amount"
    free = _nearest(aim, [*_aimed(aim), *_guards(aim)])
    words = (
        "the nearest formula that keeps cold and hot"
        if aim.step == 0
        else "no two lines alone reach it; the nearest formula that does"
    )
    return ([free], words) if free else ([], "")


def _pairs(aim: _Aim) -> Iterator[Course]:
    demands, start = aim.fixed(), aim.start
    scale = {at: Model(aim.brief.mix, aim.today, at, aim.known.typical) for at in {aim.temperature, COLD, HOT}}
    for up, down in permutations(aim.movable, 2):
        move = np.zeros(len(start))
        move[up], move[down] = 1.0, -1.0
        amount = _amount(scale[aim.temperature], aim.wanted, start, move, float(start[down]))
        if amount is None:
            continue
        x = np.maximum(0.0, start + amount * move)
        cold, hot = (scale[at].value(x) for at in (COLD, HOT))
        within = cold <= aim.cold_most * (1 + 1e-9) and hot >= aim.hot_least * (1 - 1e-9)
        if within and all(demand.met(x) for demand in demands) and (course := aim.course(x)):
            yield course


def _amount(model: Model, wanted: float, start: Vector, move: Vector, most: float) -> float | None:
    """How much has to change hands for the wanted firmness, by halving; None if even all of it is not enough."""

    def over(amount: float) -> bool:
        return model.value(start + amount * move) > wanted

    rising = over(most)
    if most <= 0 or rising == over(0.0):
        return None
    low, high = 0.0, most
    for _ in range(STEPS):
        middle = (low + high) / 2
        low, high = (low, middle) if over(middle) == rising else (middle, high)
    return high


# -- whatever it takes -------------------------------------------------------------------------------------------------


def _aimed(aim: _Aim) -> list[Limit]:
    """The wanted firmness; with a step of nothing only cold and hot are asked for."""
    if aim.step == 0:
        return []
    wanted = firmness(aim.today, aim.temperature, aim.known)
    return [Limit(wanted, aim.wanted * (1 - 1e-6), aim.wanted * (1 + 1e-6))]


def _guards(aim: _Aim) -> list[Limit]:
    cold, hot = (firmness(aim.today, at, aim.known) for at in (COLD, HOT))
    return [Limit(cold, None, aim.cold_most), Limit(hot, aim.hot_least, None)]


def _search(aim: _Aim, limits: Sequence[Limit], to: Formula) -> tuple[tuple[Demand, ...], Found | NothingFits]:
    """The formula nearest to another that keeps the brief and these limits; lines that are not movable stay."""
    frozen = set(range(len(aim.start))) - set(aim.movable)
    ranges = tuple(
        Range(float(share), float(share), "brief") if j in frozen else each
        for j, (each, share) in enumerate(zip(aim.brief.ranges, aim.start, strict=True))
    )
    brief = replace(aim.brief, limits=tuple(limits), ranges=ranges, goal=Goal("nearest", formula=to))
    asked = (*cases(brief)[0], *(demand for demand in aim.fixed() if demand.kind == "limit"))
    return asked, search(brief, asked)


def _nearest(aim: _Aim, limits: Sequence[Limit], to: Formula | None = None) -> Course | None:
    try:
        _, found = _search(aim, limits, to or aim.today)
    except (Unsettled, NotCertified):
        return None
    return aim.course(found.x) if isinstance(found, Found) else None


def _clash(aim: _Aim, limits: Sequence[Limit]) -> list[str]:
    """The words of what cannot hold together, when nothing was found."""
    try:
        asked, nothing = _search(aim, limits, aim.today)
    except (Unsettled, NotCertified) as error:
        return [str(error)]
    if isinstance(nothing, Found):
        return []
    return [demand.words for demand in explain(nothing, asked).demands]


def _season(aim: _Aim) -> Season | None:
    """Winter keeps the cold limit, summer the hot one; each is moved as near to the other as its own limit lets it."""
    cold, hot = ([*_aimed(aim), guard] for guard in _guards(aim))
    winter = _nearest(aim, cold)
    summer = _nearest(aim, hot, winter.formula) if winter else None
    for _ in range(3):
        if winter is None or summer is None:
            return None
        winter = _nearest(aim, cold, summer.formula) or winter
        summer = _nearest(aim, hot, winter.formula) or summer
    if winter is None or summer is None:
        return None
    return Season(
        winter, summer, tuple(_common(winter.formula, summer.formula)), _apart(winter.formula, summer.formula)
    )


def _common(first: Formula, second: Formula) -> Iterator[tuple[str, float]]:
    """What both versions have of each line, in % of the whole: the base to make once."""
    for line in first.lines:
        shared = min(line.fraction, second.fraction(line.ingredient.name))
        if shared > 0:
            yield line.ingredient.name, 100 * shared


def _apart(first: Formula, second: Formula) -> float:
    mix = Mix.of(first)
    return points_moved(mix, np.array([line.fraction for line in first.lines]), second)
