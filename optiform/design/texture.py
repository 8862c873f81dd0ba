"""Firmer or softer: a stated step of firmness at a stated temperature, with as few lines changed as possible."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import permutations

import numpy as np

from optiform.brief.brief import Brief, Limit, Range
from optiform.brief.doses import least_doses
from optiform.brief.goal import Goal, Highest, Lowest, Nearest, points_moved
from optiform.brief.scaled import on_scale
from optiform.design.around import as_kept_by, in_common, today_of, with_lines_of
from optiform.design.change_over import bands_at, change_over
from optiform.design.cheaper import Move
from optiform.design.design import formula_of
from optiform.design.doses import dosed
from optiform.design.facts import Fact, NotDecided, OutOfReach
from optiform.design.hands import amount_for, between
from optiform.design.todays_firmness import COLD, HOT, MOVABLE, SHOWN, firmness_today, with_firmness
from optiform.ingredients.formula import Formula
from optiform.program.build import Demand, Requirements
from optiform.program.certificate import NotCertified
from optiform.program.conflict import explain
from optiform.program.optimum import Outcome, best_formula
from optiform.program.search import BestFormula, Infeasible
from optiform.program.usual import requirements
from optiform.properties.base import Mix, Vector, fractions
from optiform.properties.firmness import ASSUMED, Band, Exponents, packed
from optiform.properties.grounds import Assumption, FittedTo
from optiform.properties.tangent_planes import Model, firmness
from optiform.reading.answer import Ranked
from optiform.reading.faults import BadInput, Fault, Unsettled
from optiform.reading.frozen import frozen
from optiform.reading.order import largest_first, ranked
from optiform.review.answer import Report
from optiform.review.measures import setting_of
from optiform.review.report import report
from optiform.rules.network import needs_network
from optiform.rules.usual import rank

Note = Fact | NotDecided | OutOfReach


@frozen
class TextureOption:
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


@frozen
class Season:
    """Two versions where one formula cannot serve cold and hot, what they share, and rooms in which either serves."""

    winter: TextureOption
    summer: TextureOption
    common: tuple[tuple[str, float], ...]
    apart: float
    either: tuple[int, int]  # from and to, degC; see `change_over`


@frozen
class Texture(Ranked[TextureOption]):
    """Options for the wanted firmness, fewest lines first; `season` when only two versions can do it.

    `wanted` is the firmness to reach at `temperature`; `cold_most` and `hot_least` what must not be passed at 10 and
    35 degC. `furthest` is the softest (or firmest) formula found within all limits where the wanted firmness is out of
    reach, and `in_the_way` what keeps it from that. `note` says what was not possible, `rests_on` what the
    figures of firmness rest on. Not `decided`: it is not known whether any formula reaches it.
    """

    brief: Brief
    today: Report
    before: dict[float, Band]
    temperature: float
    wanted: float
    cold_most: float
    hot_least: float
    courses: tuple[TextureOption, ...]
    furthest: TextureOption | None
    season: Season | None
    note: Note
    rests_on: Assumption | FittedTo
    decided: bool = True
    in_the_way: tuple[Demand | Fact, ...] = ()

    def ranked(self) -> tuple[TextureOption, ...]:
        """The one that changes fewest lines first."""
        return self.courses

    @property
    def reached(self) -> bool:
        """Whether the wanted firmness is answered, by one formula or by a winter and a summer version."""
        return bool(self.courses) or self.season is not None


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
        most: how many options to give.
        known: the exponents of the firmness scale, assumed or fitted to the maker's own trials.

    Raises:
        BadInput: without a reference formula, when its firmness is nothing or not known, or for a step below -100 %.
    """
    today = today_of(brief)
    needs_network(brief.title, brief.kind)
    if not -100 < step < np.inf:
        raise BadInput([Fault(brief.title, "step", f"{step:g} %", "more than -100 %, which is no firmness at all")])
    known = packed(today, known)
    brief = on_scale(brief, known)
    before = firmness_today(brief, today, temperature, known)
    brief = with_firmness(brief, today, (COLD, HOT, temperature))
    factor = 1 + step / 100
    goal = _Aim(
        asked=brief,
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
    furthest = None if courses or season else _furthest(goal)
    clash, doubt = ([], "") if courses or season else _in_the_way(goal)
    reach = furthest.firmness[temperature].typical if furthest else None
    return Texture(
        brief=brief,
        today=report(today, setting_of(brief)),
        before=before,
        temperature=temperature,
        wanted=goal.wanted,
        cold_most=goal.cold_most,
        hot_least=goal.hot_least,
        courses=tuple(courses),
        furthest=furthest,
        season=season,
        note=note or _note(season, reach, step, clash, doubt),
        rests_on=known.rests_on,
        decided=not doubt,
        in_the_way=tuple(clash),
    )


def _note(season: Season | None, reach: float | None, step: float, clash: Sequence[Demand | Fact], doubt: str) -> Note:
    """What is told where no one formula was found; `reach` is how far it goes."""
    if season is not None:
        return Fact.TWO_SEASONS
    return NotDecided(doubt) if doubt else OutOfReach(tuple(clash), step < 0, reach)


@frozen
class _Aim:
    asked: Brief  # as the maker wrote it
    brief: Brief  # with every line of today's formula among its candidates
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
        return self.brief.mix.vector(self.today)

    @property
    def movable(self) -> list[int]:
        """Lines that may change, candidates out of stock only downwards (their range says so)."""
        words = (*MOVABLE, "emulsifier") if self.free_emulsifier else MOVABLE
        return [j for j, item in enumerate(self.brief.mix.ingredients) if item.functions[0] in words]

    def fixed(self) -> Requirements:
        """What the brief asks, without what today's formula breaks already."""
        return as_kept_by(requirements(self.brief).without_broken(self.start), self.start)

    def course(self, x: Vector) -> TextureOption | None:
        formula = formula_of(self.brief, x, "changed")
        bands = bands_at(formula, self.today, (*SHOWN, self.temperature), self.known)
        if bands is None:
            return None
        pairs = zip(self.brief.mix.ingredients, self.start, x, strict=True)
        moves = [Move(item.name, 100 * float(a), 100 * float(b)) for item, a, b in pairs if abs(b - a) > 1e-6]
        return TextureOption(
            formula=formula,
            lines=len(moves),
            points=points_moved(self.brief.mix, x, self.today),
            moves=tuple(sorted(moves, key=lambda move: largest_first(abs(move.points), move.ingredient))),
            firmness=bands,
            new=any(move.before == 0 for move in moves),
        )


# -- one line up, one line down ----------------------------------------------------------------------------------------


def _courses(aim: _Aim, most: int) -> tuple[list[TextureOption], Fact | None]:
    courses = () if aim.step == 0 else _pairs(aim)
    pairs = sorted(courses, key=lambda x: (x.new, ranked(x.points), _usual(aim, x), [y.ingredient for y in x.moves]))
    hands = [between(aim.brief.mix, ((move.ingredient, move.points) for move in pair.moves)) for pair in pairs]
    if pairs:
        first = [pair for place, pair in enumerate(pairs) if hands[place] not in hands[:place]]
        return first[:most], Fact.ONE_UP_ONE_DOWN
    free = _nearest(aim, [*_aimed(aim), *_guards(aim)])
    return ([free], Fact.NEAREST if aim.step else Fact.NEAREST_EVEN) if free else ([], None)


def _usual(aim: _Aim, course: TextureOption) -> float:
    """How far from what makers of the kind take what comes in is: it decides between options that move as much."""
    came = {move.ingredient for move in course.moves if move.before == 0}
    return sum(rank(aim.brief.kind, item) for item in aim.brief.mix.ingredients if item.name in came)


def _pairs(aim: _Aim) -> Iterator[TextureOption]:
    fixed, start, doses = aim.fixed(), aim.start, least_doses(aim.brief)
    scale = {at: Model(aim.brief.mix, aim.today, at, aim.known.typical) for at in {aim.temperature, COLD, HOT}}
    for up, down in permutations(aim.movable, 2):
        move = np.zeros(len(start))
        move[up], move[down] = 1.0, -1.0
        amount = amount_for(scale[aim.temperature], aim.wanted, start, move, float(start[down]))
        if amount is None:
            continue
        x = np.maximum(0.0, start + amount * move)
        cold, hot = (scale[at].value(x) for at in (COLD, HOT))
        within = cold <= aim.cold_most * (1 + 1e-9) and hot >= aim.hot_least * (1 - 1e-9)
        enough = start[up] > 0 or x[up] >= doses[up] * (1 - 1e-9)
        if within and enough and fixed.kept_by(x) and (course := aim.course(x)):
            yield course


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


def _search(aim: _Aim, limits: Sequence[Limit], goal: Goal) -> Outcome[BestFormula, Infeasible]:
    """The best formula that keeps the brief and these limits, rules as today's does; lines not movable stay."""
    ranges = tuple(
        each if j in aim.movable else Range(float(share), float(share), "brief")
        for j, (each, share) in enumerate(zip(aim.brief.ranges, aim.start, strict=True))
    )
    brief = replace(aim.brief, limits=tuple(limits), ranges=ranges, goal=goal)
    own = as_kept_by(requirements(brief), aim.start).settled("rule", aim.start)
    needed = replace(own, limits=(*own.limits, *aim.fixed().settled("rule", aim.start).limits))
    return best_formula(brief, needed)


def _nearest(aim: _Aim, limits: Sequence[Limit], to: Formula | None = None) -> TextureOption | None:
    return _course(aim, limits, Nearest(to or aim.today))


def _furthest(aim: _Aim) -> TextureOption | None:
    """The softest formula found within all limits, or the firmest: how far the wish can be met."""
    towards = Lowest if aim.step < 0 else Highest
    return _course(aim, _guards(aim), towards(firmness(aim.today, aim.temperature, aim.known)))


def _course(aim: _Aim, limits: Sequence[Limit], goal: Goal) -> TextureOption | None:
    def job(brief: Brief, _: TextureOption | None) -> TextureOption | None:
        return _at(replace(aim, brief=brief), limits, goal)

    return dosed(aim.brief, job, lambda option: [option.formula] if option else [])


def _at(aim: _Aim, limits: Sequence[Limit], goal: Goal) -> TextureOption | None:
    try:
        outcome = _search(aim, limits, goal)
    except (Unsettled, NotCertified):
        return None
    return aim.course(outcome.best[1].x) if outcome.best else None


def _in_the_way(aim: _Aim) -> tuple[list[Demand | Fact], str]:
    """What keeps it from being reached, or why that is not known."""
    try:
        return _clash(aim, [*_aimed(aim), *_guards(aim)]), ""
    except (Unsettled, NotCertified) as error:
        return [], str(error)


def _clash(aim: _Aim, limits: Sequence[Limit]) -> list[Demand | Fact]:
    """What is in the way when nothing was found: the brief's own demands and cold and hot.

    Raises:
        Unsettled, NotCertified: it is not known whether something is.
    """
    if (outcome := _search(aim, limits, Nearest(aim.today))).undecided:
        raise Unsettled(outcome.undecided)
    clash = [demand for branch, nothing in outcome.infeasible for demand in explain(nothing, branch).demands]
    wanted = {limit.property.name for limit in _aimed(aim)}
    named = [demand for demand in clash if demand.name not in wanted and _own(aim, demand)]
    alone = any(demand.kind == "line" and demand not in named for demand in clash)
    return [*{demand.words: demand for demand in named}.values(), *([Fact.LINES_STAY] if alone else [])]


def _own(aim: _Aim, demand: Demand) -> bool:
    """Whether a demand is no line that only this job holds where it is."""
    if demand.kind != "line":
        return True
    lines = zip(aim.asked.mix.ingredients, aim.asked.ranges, strict=True)
    ends = {item.name: (each.low, each.high) for item, each in lines if each.source == "brief"}
    return demand.target / 100 in ends.get(demand.name, ())


def _season(aim: _Aim) -> Season | None:
    """Winter keeps the cold limit, summer the hot one; each is moved as near to the other as its own limit lets it."""
    cold, hot = ([*_aimed(aim), guard] for guard in _guards(aim))
    winter = _nearest(aim, cold)
    summer = _nearest(aim, hot, winter.formula) if winter else None
    if winter is None or summer is None:
        return None
    for _ in range(3):
        winter = _nearest(aim, cold, summer.formula) or winter
        summer = _nearest(aim, hot, winter.formula) or summer
    apart = points_moved(Mix.of(winter.formula), fractions(winter.formula), summer.formula)
    versions = winter.formula, summer.formula
    either = change_over(*versions, aim.today, aim.cold_most, aim.hot_least, aim.known)
    return Season(winter, summer, tuple(in_common(*versions)), apart, either)
