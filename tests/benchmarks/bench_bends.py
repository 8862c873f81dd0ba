"""Briefs with one to three limits that bend, and the same briefs without them: how many are left undecided, and times.

Run from the top of the project: python -m tests.benchmarks.bench_bends [briefs of each size]
Processor time of the whole of `design` and, for what it is worth, of finding the formula alone; the least of three runs
each in turn. Exit code 1 if any brief is undecided or its design takes 20 times as long as without those limits.
"""

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from optiform.brief.brief import Brief
from optiform.design.answer import NoFormula
from optiform.design.design import Best, best, design
from tests.shelves import random_brief

SIZES = (30, 120)
BRIEFS = 300
MOST = 20.0
RUNS = 3


@dataclass(frozen=True)
class Result:
    """One pair of briefs: whether both are decided and proven, and the ratio of times of `best` and of `design`."""

    decided: bool
    possible: bool
    ratio: float
    whole: float


def main() -> int:
    """Print both sizes; 1 if a target is missed."""
    briefs = int(sys.argv[1]) if len(sys.argv) > 1 else BRIEFS
    missed = False
    for size in SIZES:
        results = [compared(seed, size) for seed in range(briefs)]
        undecided = sum(not result.decided for result in results)
        possible = sum(result.possible for result in results)
        print(f"{size} owned, {briefs} briefs: {undecided} undecided, {possible} with a formula")
        _told("the formula alone", [result.ratio for result in results])
        most = _told("design", [result.whole for result in results])
        missed |= undecided > 0 or most > MOST
    return int(missed)


def _told(name: str, ratios: list[float]) -> float:
    middle, high, most = (float(q) for q in np.quantile(ratios, [0.5, 0.95, 1.0]))
    print(f"  {name}: times as long, median {middle:.1f}, 95 in 100 within {high:.1f}, most {most:.1f}")
    return most


def compared(seed: int, size: int) -> Result:
    """One brief with its limits that bend and without."""
    bent, plain = random_brief(seed, size, 1 + seed % 3)
    answer = best(bent)
    decided = not answer.solution.local if isinstance(answer, Best) else answer.decided
    return Result(decided, not isinstance(answer, NoFormula), _ratio(best, bent, plain), _ratio(design, bent, plain))


def _ratio(job: Callable[[Brief], object], bent: Brief, plain: Brief) -> float:
    pairs = [(_seconds(job, bent), _seconds(job, plain)) for _ in range(RUNS)]
    return min(first for first, _ in pairs) / min(second for _, second in pairs)


def _seconds(job: Callable[[Brief], object], brief: Brief) -> float:
    start = time.process_time()
    job(brief)
    return time.process_time() - start


if __name__ == "__main__":
    sys.exit(main())
