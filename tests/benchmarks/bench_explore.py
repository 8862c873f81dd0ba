"""The exact trade-off curve against a sampled one: 1,000 targets on a warm solver, over the same range of the demo.

Run from the top of the project: python -m tests.benchmarks.bench_explore
Both sides start from the program in arrays and pay for their own first solve. Ratios are medians over interleaved
pairs. Exit code 1 if the median over the limits misses its target.
"""

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from optiform.brief.file import read_brief
from optiform.program.curve import Curve, residual, trade_off
from optiform.program.linear import Program
from optiform.program.live import Live
from optiform.program.search import BestFormula, search
from optiform.program.usual import requirements

DEMO = Path(__file__).resolve().parents[2] / "optiform" / "demo" / "brief.toml"
SAMPLES = 1000
PAIRS = 7
TARGET = 20.0
#: Limits of the demo, as their words begin, and how far they are followed.
LIMITS = {
    "solid fat at 30 degC at least": (3.0, 14.0),
    "polyunsaturated share at most": (7.0, 30.0),
    "emulsifier per 100 of oil phase at least": (10.0, 30.0),
    "active surfactant at least": (0.0, 4.0),
    "undissolved salt at 20 degC at least": (5.0, 26.0),
    "share of butter at least": (0.0, 12.0),
}


def program_of_the_demo() -> Program:
    """The demo's program, where nothing that can be kept in several ways is settled."""
    brief = read_brief(DEMO)
    answer = search(brief, requirements(brief).branch({}))
    assert isinstance(answer, BestFormula)
    return answer.program


def sampled(program: Program, row: int, start: float, end: float) -> list[float]:
    """The optimum at evenly spread targets, each from the last basis; infinite where nothing fits."""
    live = Live(program)
    found = []
    for target in np.linspace(start, end, SAMPLES):
        live.move(row, float(target) - program.rows[row].target)
        found.append(float(live.highs.getInfo().objective_function_value) if live.solve() else np.inf)
    return found


def agree(program: Program, curve: Curve, samples: list[float], start: float, end: float) -> float:
    """The largest difference between both, where something fits."""
    assert curve.fits is not None
    assert residual(program, curve) <= 1e-9
    targets = np.linspace(start, end, SAMPLES)
    inside = [(t, v) for t, v in zip(targets, samples, strict=True) if curve.fits[0] <= t <= curve.fits[1]]
    assert len(inside) > SAMPLES // 4
    return max(abs(curve.objective_at(float(t)) - v) for t, v in inside)


def seconds(call: Callable[[], object]) -> float:
    """Wall time of one call."""
    start = time.perf_counter()
    call()
    return time.perf_counter() - start


def main() -> int:
    """Print the table; 1 if the target is missed."""
    program, ratios = program_of_the_demo(), []
    print(f"{'':<44}{'pieces':>7}{'exact':>11}{'sampled':>11}{'ratio':>8}{'apart':>10}")
    for words, (start, end) in LIMITS.items():
        row = next(i for i, row in enumerate(program.rows) if row.words.startswith(words))
        curve = trade_off(program, row, start, end)
        apart = agree(program, curve, sampled(program, row, start, end), start, end)
        pairs = [
            (seconds(lambda: trade_off(program, row, start, end)), seconds(lambda: sampled(program, row, start, end)))  # noqa: B023
            for _ in range(PAIRS)
        ]
        exact, swept = (1000 * statistics.median(side) for side in zip(*pairs, strict=True))
        ratios.append(statistics.median(b / a for a, b in pairs))
        print(f"{words:<44}{len(curve.pieces):>7}{exact:>8.2f} ms{swept:>8.1f} ms{ratios[-1]:>8.1f}{apart:>10.1e}")
    median = statistics.median(ratios)
    print(f"median {median:.1f}, target {TARGET:.0f}{'' if median >= TARGET else '  missed'}")
    return int(median < TARGET)


if __name__ == "__main__":
    sys.exit(main())
