"""Many price lists at once against a warm loop that solves each: times as ratios in one run.

Run from the top of the project: python -m tests.benchmarks.bench_scenarios
The loop keeps one HiGHS object, changes its costs and runs it from its last basis, once per scenario, and reads nothing
but the objective. Ratios are medians over interleaved pairs. Exit code 1 if one misses its target.
"""

import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from optiform.brief.file import read_brief
from optiform.design.answer import Designed
from optiform.design.design import design
from optiform.design.price_moves import PriceModel
from optiform.program.linear import Program, Vector
from optiform.program.live import Live
from optiform.program.scenarios import Scenarios, best_under
from tests.benchmarks.bench_program import random_program

DEMO = Path(__file__).resolve().parents[2] / "optiform" / "demo" / "brief.toml"
SCENARIOS, WORST = 10_000, 3_000


@dataclass(frozen=True)
class Result:
    """One comparison: median seconds of both sides, the median of loop / ours, and the least it may be (0: none)."""

    name: str
    ours: float
    loop: float
    ratio: float
    least: float
    found: Scenarios


def warm_loop(program: Program, costs: Vector) -> Vector:
    """The objective of each scenario by changeColsCost and run."""
    highs = Live(program).highs
    columns, objectives = np.arange(costs.shape[1], dtype=np.int32), np.empty(len(costs))
    for k, cost in enumerate(costs):
        highs.changeColsCost(len(columns), columns, cost)
        highs.run()
        objectives[k] = highs.getObjectiveValue()
    return objectives


def compare(name: str, least: float, program: Program, costs: Vector, pairs: int) -> Result:
    """Time both in turn; they must agree on every objective."""
    found, plain = best_under(program, costs), warm_loop(program, costs)
    error = float((np.abs(found.objectives - plain) / (1 + np.abs(plain))).max())
    assert error <= 1e-7, f"{name}: {error}"
    times = [_pair(program, costs, swapped=bool(k % 2)) for k in range(pairs)]
    ours, loop = (statistics.median(side) for side in zip(*times, strict=True))
    return Result(name, ours, loop, statistics.median(b / a for a, b in times), least, found)


def _pair(program: Program, costs: Vector, swapped: bool) -> tuple[float, float]:
    if swapped:
        second = _seconds(lambda: warm_loop(program, costs))
        return _seconds(lambda: best_under(program, costs)), second
    return _seconds(lambda: best_under(program, costs)), _seconds(lambda: warm_loop(program, costs))


def _seconds(call: Callable[[], object]) -> float:
    start = time.perf_counter()
    call()
    return time.perf_counter() - start


def demo(spread: float, least: float, pairs: int) -> Result:
    """The demo brief under prices of this spread."""
    answer = design(read_brief(DEMO))
    assert isinstance(answer, Designed)
    prices = answer.program.cost
    costs = PriceModel(np.full(len(prices), spread), 0.0, 1).draw(prices, SCENARIOS)
    return compare(f"demo, {SCENARIOS} price lists, spread {spread:.0%}", least, answer.program, costs, pairs)


def worst(columns: int, rows: int, pairs: int) -> Result:
    """Wide independent prices: nearly every scenario has a basis of its own."""
    program = random_program(columns, rows)
    costs = np.random.default_rng(2).uniform(1, 20, (WORST, columns))
    name = f"a basis for every scenario, {columns} candidates x {rows} limits, {WORST} price lists"
    return compare(name, 0.9, program, costs, pairs)


def main() -> int:
    """Print every ratio; 1 if one misses its target."""
    results = [
        demo(0.05, 40.0, 5), demo(0.1, 40.0, 5), demo(0.2, 25.0, 3), demo(0.3, 12.0, 3), demo(0.5, 6.0, 3),
        worst(100, 25, 5), worst(200, 30, 5),
    ]  # fmt: skip
    for each in results:
        target = f"at least {each.least:.2f}" if each.least else "no target"
        verdict = "" if each.ratio >= each.least else "   MISSED"
        print(f"{each.name}: {each.ratio:.2f} times as fast ({target}){verdict}")
        print(f"    {each.ours:.3f} s against {each.loop:.3f} s; {len(each.found.points)} formulas, "
              f"{each.found.solved} solved, worst proven gap {each.found.gap:.1e}")  # fmt: skip
    return int(any(each.ratio < each.least for each in results))


if __name__ == "__main__":
    sys.exit(main())
