"""A first trial as a maker writes it: few lines, in round figures, inside every limit.

The formula nearest to what is usual has whatever fractions its program ends in. Of it a line goes that brings it no
nearer by `A_LINE`, the others solved again; then the figures are rounded one after the other, the largest line making
up 100 %. Each is set to the round figure on either side that leaves the rest nearer to usual, and the rest solved
again; where none holds, to a finer one. A rule that would note too much of something in it, such as
tocopherol, is asked to be kept, and the trial is rounded again. What comes out keeps every demand, which is recomputed.
"""

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from optiform.brief.brief import Brief
from optiform.design.around import only
from optiform.ingredients.formula import Formula
from optiform.program.build import Demand, Requirements
from optiform.program.certificate import NotCertified
from optiform.program.linear import NoPoint, Program, Vector
from optiform.program.live import Live
from optiform.program.optimum import best_formula
from optiform.program.reachable import most_notes
from optiform.program.search import BestFormula
from optiform.program.solver import SolverName
from optiform.program.tolerances import UNUSED
from optiform.program.usual import Eased, requirements, usual_of
from optiform.reading.faults import Unsettled

A_LINE = 0.1  #: half ranges that a line must bring a formula nearer to usual to be worth its place. No source.
A_NOTE = 0.5  #: half ranges that keeping a note of too much may take a trial from usual; beyond, it is told. No source.
#: From a share of the whole, %, the steps that a maker weighs in, %, a finer one where a limit asks for it. No source.
STEPS = ((10.0, (0.5, 0.1)), (1.0, (0.1,)), (0.0, (0.1, 0.05, 0.01)))
LOOSE = 0.5  #: in the unit of a usual end that had to give. No source.
ROUNDED = 1e-9  # % of the whole: a figure that is round already


def noted(brief: Brief, formula: Formula) -> tuple[str, ...]:
    """Rules that would note too much of something in a first trial, and that are not asked of it yet, by id."""
    return tuple(x.rule.id for x in most_notes(brief) if x.rule.id not in brief.doses and x.broken(formula))


def first_trial(brief: Brief, x: Vector, gave: tuple[Eased, ...], solver: SolverName = "highs") -> Vector | None:
    """The mass fractions of few lines in round figures near those that are nearest to usual; None where there are none.

    Args:
        brief: whose goal is nearest to usual.
        x: the mass fractions that are nearest. Shape (lines,).
        gave: what is usual and gave for them; nothing else gives.
        solver: see `program.solver`.
    """
    names, asked = [item.name for item in brief.mix.ingredients], _asked(brief, gave)
    used = frozenset(name for name, share in zip(names, x, strict=True) if share > UNUSED)

    def nearest(lines: frozenset[str]) -> BestFormula | None:
        """The nearest of these lines; None where the brief asks for some of another, of which `only` knows nothing."""
        solution = _nearest(only(brief, lines), gave, solver)
        return solution if solution and asked.kept_by(_whole(names, lines, solution.x)) else None

    few = _few_lines(nearest, used)
    if few is None:
        return None
    lines, solution = few
    rounded = _rounded(solution.program, solution.x)
    if rounded is None:
        return None
    whole = _whole(names, lines, rounded)
    return whole if asked.kept_by(whole) else None


def _whole(names: Sequence[str], lines: frozenset[str], shares: Vector) -> Vector:
    """The shares of some lines as those of all candidates; the others have none."""
    whole = np.zeros(len(names))
    places = [place for place, name in enumerate(names) if name in lines]
    whole[places] = shares[: len(places)]
    return whole


def _asked(brief: Brief, gave: tuple[Eased, ...]) -> Requirements:
    """What is asked; what had to give may give `LOOSE` more, so that its figures can be round."""
    reached = {(end.demand.name, end.demand.side): end.reached for end in gave}

    def loosened(demand: Demand) -> Demand:
        end = reached.get((demand.name, demand.side)) if demand.kind == "usual" else None
        return demand if end is None else demand.moved(end + (LOOSE if demand.side == "high" else -LOOSE))

    return requirements(brief).each(loosened)


def _nearest(brief: Brief, gave: tuple[Eased, ...], solver: SolverName) -> BestFormula | None:
    """The nearest formula to usual of these candidates, where no more gives than these usual ends."""
    if not {end.demand.words for end in usual_of(brief).gave} <= {end.demand.words for end in gave}:
        return None
    try:
        outcome = best_formula(brief, _asked(brief, gave), solver)
    except (Unsettled, NotCertified):
        return None
    return None if outcome.best is None else outcome.best[1]


def _few_lines(
    nearest: Callable[[frozenset[str]], BestFormula | None], used: frozenset[str]
) -> tuple[frozenset[str], BestFormula] | None:
    """The lines without those that are not worth their place, and the formula of them; the least worth goes first."""
    best = nearest(used)
    if best is None:
        return None
    while True:
        without = ((used - {name}, nearest(used - {name})) for name in sorted(used) if len(used) > 1)
        worse = [(answer.value - best.value, lines, answer) for lines, answer in without if answer is not None]
        least = min(worse, key=lambda trial: trial[0], default=None)
        if least is None or least[0] > A_LINE:
            return used, best
        used, best = least[1], least[2]


# -- round figures -----------------------------------------------------------------------------------------------------


def _rounded(program: Program, x: Vector) -> Vector | None:
    """Fractions in round figures within a program, but for lines that have none; None where rounding decides."""
    try:
        live = Live(program)
    except NoPoint:
        return None
    low, high = program.low.copy(), program.high.copy()
    for place in np.argsort(-x, kind="stable")[1:]:
        _round(live, low, high, int(place))
    live.enclose(low, high)
    if not live.solve() or live.optimum is None:
        return None
    return np.array(np.round(live.optimum.x[: len(x)], 9))


def _round(live: Live, low: Vector, high: Vector, place: int) -> None:
    """Hold one line at a round figure, the others nearest to usual; it stays as it is where none fits."""
    live.enclose(low, high)
    if not live.solve() or live.optimum is None:
        return
    before, share = (low[place], high[place]), 100 * float(live.optimum.x[place])
    for figures in _figures(share):
        trials = []
        for figure in figures:
            low[place] = high[place] = figure / 100
            live.enclose(low, high)
            if live.solve() and live.optimum is not None:
                trials.append((live.optimum.value, figure))
        if trials:
            low[place] = high[place] = min(trials)[1] / 100
            return
    low[place], high[place] = before


def _figures(share: float) -> Iterator[tuple[float, ...]]:
    """The round figures on either side of a share, %, from the coarsest step to the finest.

    Example:
        >>> list(_figures(23.58)), list(_figures(0.05))
        ([(23.5, 24.0), (23.5, 23.6)], [(0.1,), (0.05,), (0.05,)])
    """
    for step in next(steps for least, steps in STEPS if share >= least - ROUNDED):
        whole = share / step
        near = {np.floor(whole + ROUNDED), np.ceil(whole - ROUNDED)}
        yield tuple(round(float(count * step), 6) for count in sorted(near) if count > 0)
