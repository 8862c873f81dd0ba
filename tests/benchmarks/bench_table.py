"""Every row of the table of what is close to the limit, what is seen of it here, and the goal: one command.

Run from the top of the project: python -m tests.benchmarks.bench_table
Ratios are processor time in one run against a plain script that does the same, medians of interleaved pairs; figures in
seconds and megabytes are of this machine. `.ci/run` holds those that are not noisy (bench_program). Two rows are not
here: the pages against a bare page (bench_app needs a browser), and the living sheet, which tests hold.
"""

import statistics
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optiform.brief.brief import Brief, Range
from optiform.brief.doses import least_doses
from optiform.brief.file import read_brief
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import Best, best, design
from optiform.design.price_moves import PriceModel
from optiform.design.sheet import Sheet, positions, sheet
from optiform.design.substitute import substitute
from optiform.program.build import firm_requirements
from optiform.program.curve import trade_off
from optiform.program.pieces import joined
from optiform.program.prices import Pricer
from optiform.program.scenarios import best_under
from optiform.program.usual import requirements, usual_of
from optiform.properties.base import Mix
from optiform.rules.chemistry import rule_ids
from tests.benchmarks.bench_explore import LIMITS, program_of_the_demo, sampled
from tests.benchmarks.bench_program import DEMO, against_arrays, commands, random_program, solve_by_hand, start_up
from tests.benchmarks.bench_scenarios import SCENARIOS, WORST, warm_loop
from tests.benchmarks.bench_size import GOAL, installed
from tests.benchmarks.bench_stock import MOVEMENTS, stock_page
from tests.builders import Vector, figure
from tests.shelves import random_brief

OWNED, SHELF = 239, 120
FURTHER = 200  # positions of a map of bases
GONE = ("mango butter", "sweet almond oil", "glycerin")
SPREADS = {0.1: 40.0, 0.2: 25.0, 0.3: 12.0, 0.5: 6.0}


@dataclass(frozen=True)
class Line:
    """One row: what is seen, and the goal, which is the most it may be, or (`least`) the least."""

    name: str
    seen: float
    goal: float
    unit: str = ""
    least: bool = False

    @property
    def met(self) -> bool:
        """Whether the goal is met."""
        return self.seen >= self.goal if self.least else self.seen <= self.goal


def seconds(job: Callable[[], object], times: int = 3) -> float:
    """The least processor time of some runs, s."""

    def once() -> float:
        start = time.process_time()
        job()
        return time.process_time() - start

    return min(once() for _ in range(times))


def processes() -> Iterator[Line]:
    """Whole commands, and the layers around the solver (bench_program)."""
    sizes = ((20, 12, 40), (60, 25, 20), (200, 40, 8), (1000, 60, 2))
    for result in (start_up(), *commands(), *(result for size in sizes for result in against_arrays(*size))):
        yield Line(result.name, result.ratio, result.goal)


def of_the_demo() -> Iterator[Line]:
    """The prices of its limits, and the whole answer in process."""
    brief = read_brief(DEMO)
    answer = best(brief)
    assert isinstance(answer, Best)
    solution = answer.solution
    program = joined(solution.program, answer.asked)
    at = np.append(solution.x, np.zeros(len(program.columns) - len(solution.x)))
    binds = np.abs(program.matrix @ at - program.rhs) <= 1e-6 * (1 + np.abs(program.rhs))
    tight = [i for i, row in enumerate(program.rows) if binds[i] and row.key is not None]

    def prices() -> None:
        pricer = Pricer(program)
        for row in tight:
            pricer.looser(row)
            pricer.tighter(row)

    yield Line(f"prices of {len(tight)} limits that bind, both sides", 1000 * seconds(prices, 25), 1.5, "ms")
    whole, plain = seconds(lambda: design(brief), 7), seconds(lambda: solve_by_hand(solution.program), 25)
    yield Line("design() in process / one PuLP + HiGHS solve", whole / plain, 5)
    looked = seconds(lambda: settled(brief), 7)
    yield Line("the same with why it is the best looked at", looked / plain, np.inf)


def settled(brief: Brief) -> Designed:
    """The best formula with its prices, what would come in and what it could miss."""
    answer = design(brief)
    assert isinstance(answer, Designed)
    return answer.settled()


def curves() -> Line:
    """The exact curve against 1,000 warm steps, the median over limits of the demo."""
    program = program_of_the_demo()
    ratios = []
    for words, (start, end) in LIMITS.items():
        row = next((i for i, row in enumerate(program.rows) if row.words.startswith(words)), None)
        if row is not None:
            exact = seconds(lambda row=row, a=start, b=end: trade_off(program, row, a, b))  # type: ignore[misc]
            ratios.append(seconds(lambda row=row, a=start, b=end: sampled(program, row, a, b), 1) / exact)  # type: ignore[misc]
    return Line("exact curve against 1,000 warm steps, times as fast", statistics.median(ratios), 40, least=True)


def price_lists() -> Iterator[Line]:
    """Many price lists against a warm loop, by how far prices spread; and where every list has a basis of its own."""
    answer = design(read_brief(DEMO))
    assert isinstance(answer, Designed)
    prices = answer.program.cost
    for spread, goal in SPREADS.items():
        costs = PriceModel(np.full(len(prices), spread), 0.0, 1).draw(prices, SCENARIOS)
        loop = seconds(lambda c=costs: warm_loop(answer.program, c), 1)  # type: ignore[misc]
        ours = seconds(lambda c=costs: best_under(answer.program, c))  # type: ignore[misc]
        yield Line(f"{SCENARIOS} price lists, spread {spread:.0%}, times as fast", loop / ours, goal, least=True)
    program = random_program(100, 25)
    costs = np.random.default_rng(2).uniform(1, 20, (WORST, 100))
    loop, ours = seconds(lambda: warm_loop(program, costs), 1), seconds(lambda: best_under(program, costs), 1)
    yield Line(f"{WORST} price lists, each with its own basis, times as fast", loop / ours, 0.9, least=True)


def map_of_bases() -> Iterator[Line]:
    """A further answer of a map that has answered there before: of the demo, and of what has no branches of it."""
    brief = read_brief(DEMO)
    several = ("undissolved salt", "structuring solids")
    straight = tuple(limit for limit in brief.limits if limit.property.name.split(" at ")[0] not in several)
    without = replace(_warned(brief), overrule=tuple(rule_ids()), limits=straight)
    for each, name in ((without, "no branches"), (brief, "16 ways")):
        made = sheet(each)
        assert isinstance(made, Sheet)
        moved = list(positions(made.sliders, FURTHER, seed=2))
        few = [np.where(np.arange(len(place)) == np.abs(place).argmax(), place, 0.0) for place in moved]
        for words, places in (("one limit", few), ("one to three limits", moved)):
            yield from _further(made, f"a further answer, {name}, {words} moved", places)
        yield from _together(made, name)


def _further(made: Sheet, name: str, places: Sequence[Vector]) -> Iterator[Line]:
    """Positions asked one by one, less what the clock takes to be read."""
    clock = statistics.median(seconds(lambda: None, 1) for _ in range(1000))
    for place in places:
        made.map.visit(place)
    rounds = [[seconds(lambda p=place: made.map.visit(p), 1) for place in places] for _ in range(3)]  # type: ignore[misc]
    times = [min(time) - clock for time in zip(*rounds, strict=True)]
    yield Line(f"{name}, median", 1e6 * statistics.median(times), 10, "us")
    yield Line(f"{name}, mean", 1e6 * statistics.fmean(times), 10, "us")


def _together(made: Sheet, name: str) -> Iterator[Line]:
    """10,000 positions at once, of an amount over its travel and of two."""
    amounts = [k for k, slider in enumerate(made.sliders) if slider.demand.basis == "whole"][:2]
    for some in (amounts[:1], amounts):
        places = np.zeros((10_000, len(made.sliders)))
        for k, draw in zip(some, np.random.default_rng(3).random((len(some), 10_000)), strict=True):
            slider = made.sliders[k]
            places[:, k] = slider.low + draw * (slider.high - slider.low) - slider.demand.target
        spent = seconds(lambda p=places: made.map.atlas.many(p), 9)  # type: ignore[misc]
        yield Line(f"10,000 together, {name}, {len(some)} moved", 1e3 * spent, 1, "ms")


def owned(count: int = OWNED) -> Brief:
    """The demo's brief on a shelf of so many priced ingredients."""
    brief, draw = read_brief(DEMO), np.random.default_rng(4)
    known = {item.name for item in brief.mix.ingredients}
    items, ranges = list(brief.mix.ingredients), list(brief.ranges)
    for item in (item for item in brief.catalogue.ingredients.values() if item.name not in known):
        price = figure(float(draw.uniform(3, 30)), "EUR/kg")
        items.append(replace(item, values={**item.values, ("price", None): price}))
        ranges.append(Range())
    mix = Mix(tuple(items[:count]), tuple(item.phase for item in items[:count]))
    return replace(brief, mix=mix, ranges=tuple(ranges[:count]))


def rules() -> Iterator[Line]:
    """What a formulator knows, against the same brief without it: the demo's, and a shelf of 120 owned."""
    demo, shelf = read_brief(DEMO), owned(SHELF)
    yield Line('design() of the demo, settled / with usual = "warn"', _times(demo, _warned(demo), settled), 1.5)
    linear = replace(_warned(shelf), overrule=tuple(rule_ids()))
    yield Line(f"the formula of {SHELF} owned, all rules / of a brief without", _times(shelf, linear, best), 10)


def _warned(brief: Brief) -> Brief:
    """The brief with what is usual as a warning."""
    ranges = tuple(Range() if span.source == "usual" else span for span in brief.ranges)
    return replace(brief, usual=(), ranges=ranges)


def _times(brief: Brief, other: Brief, job: Callable[[Brief], object]) -> float:
    """How many times as long a job takes of a brief as of another; nothing is remembered from one run to the next."""

    def once(asked: Brief) -> None:
        for known in (requirements, usual_of, firm_requirements, least_doses):
            known.cache_clear()
        assert not isinstance(job(asked), NoFormula)

    return seconds(lambda: once(brief), 5) / seconds(lambda: once(other), 5)


def large() -> Iterator[Line]:
    """A large shelf: substitutes in blends of three, and limits that bend."""
    shelf = owned()
    for name in GONE:
        spent = seconds(lambda name=name: substitute(shelf, [name], blend=3), 1)  # type: ignore[misc]
        yield Line(f"substitute {name}, {OWNED} owned, blends of 3", spent, 2, "s")
    names = {"hlb difference", "water activity"}
    pairs = (random_brief(seed, 207, 3)[0] for seed in range(50))
    bent = next(b for b in pairs if {limit.property.name for limit in b.limits} >= names)
    yield Line("water activity and HLB difference, 207 candidates", seconds(lambda: best(bent), 1), 0.3, "s")


def pages() -> Iterator[Line]:
    """A page whose records grow with every day, against the same with the demo's."""
    yield Line(f"a click on Stock, {MOVEMENTS} movements / the demo's", stock_page(), 2)


def size() -> Iterator[Line]:
    """What an install takes as it comes, and with the modules that Python has compiled here so far."""
    count, bare, compiled = installed()
    yield Line(f"installed size, {count} packages", bare, GOAL, "MB")
    yield Line("the same with the modules compiled here so far", compiled, GOAL, "MB")


def main() -> int:
    """Print every row as it comes."""
    print(f"{'':<64}{'seen':>12}{'goal':>12}")
    lines = (
        processes(),
        of_the_demo(),
        iter([curves()]),
        price_lists(),
        map_of_bases(),
        rules(),
        large(),
        pages(),
        size(),
    )
    missed = 0
    for line in (line for part in lines for line in part):
        missed += not line.met
        goal = f"{'at least ' if line.least else ''}{line.goal:g}"
        print(f"{line.name:<64}{line.seen:>9.2f} {line.unit:<3}{goal:>11}{'' if line.met else '  not met'}", flush=True)
    print(f"{missed} not met")
    return 0


if __name__ == "__main__":
    sys.exit(main())
