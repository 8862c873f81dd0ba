"""What the layers around the solver cost: times as ratios to a plain script that does the same, all in one run.

Run from the top of the project: python -m tests.benchmarks.bench_program
Ratios are medians over interleaved pairs, so that a busy machine slows both sides alike. Exit code 1 if one misses its
target.
"""

import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pulp

from optiform.brief.file import read_brief
from optiform.design.answer import Designed
from optiform.design.design import design
from optiform.program.linear import Program, Row, Sense
from optiform.program.solver import solve

TOP = Path(__file__).resolve().parents[2]
DEMO = TOP / "optiform" / "demo" / "brief.toml"

#: A script without any of optiform: the same libraries, and an LP of the same size.
BARE = """
import pandas, pulp, highspy, random
columns, rows = {columns}, {rows}
draw = random.Random(1)
problem = pulp.LpProblem("bare", pulp.LpMinimize)
x = pulp.LpVariable.dicts("x", range(columns), 0, 1)
problem += pulp.lpSum([draw.random() * x[j] for j in range(columns)])
problem += pulp.lpSum([x[j] for j in range(columns)]) == 1
for i in range(rows - 1):
    problem += pulp.lpSum([draw.random() * x[j] for j in range(columns)]) <= 0.9
problem.solve(pulp.HiGHS(msg=False, threads=1))
assert pulp.LpStatus[problem.status] == "Optimal"
print(pandas.DataFrame({{"x": [x[j].value() for j in range(columns)]}}))
"""


@dataclass(frozen=True)
class Result:
    """One comparison: median seconds of both sides and the median of their ratio."""

    name: str
    ours: float
    plain: float
    ratio: float
    target: float


def compare(name: str, target: float, ours: Callable[[], object], plain: Callable[[], object], pairs: int) -> Result:
    """Time both in turn, `pairs` times, after one run of each that does not count."""
    ours(), plain()
    times = [_pair(ours, plain, swapped=bool(k % 2)) for k in range(pairs)]
    mine, other = (statistics.median(side) for side in zip(*times, strict=True))
    return Result(name, mine, other, statistics.median(a / b for a, b in times), target)


def _pair(ours: Callable[[], object], plain: Callable[[], object], swapped: bool) -> tuple[float, float]:
    if swapped:
        second = _seconds(plain)
        return _seconds(ours), second
    return _seconds(ours), _seconds(plain)


def _seconds(call: Callable[[], object]) -> float:
    start = time.perf_counter()
    call()
    return time.perf_counter() - start


# -- build and solve ---------------------------------------------------------------------------------------------------


def random_program(columns: int, rows: int) -> Program:
    """A feasible program of a formula's make-up: a balance and rows, half of whose coefficients are not zero."""
    rng = np.random.default_rng(columns)
    inside = rng.dirichlet(np.ones(columns))
    made = [Row("everything sums to 100 %", np.ones(columns), Sense.EQUAL, 1.0)]
    for number in range(rows):
        coefficients = 100 * rng.random(columns) * (rng.random(columns) < 0.5)
        sense, slack = (Sense.AT_LEAST, -1.0) if number % 2 else (Sense.AT_MOST, 1.0)
        made.append(Row(f"limit {number}", coefficients, sense, float(coefficients @ inside) + slack, number))
    names = tuple(f"candidate {j}" for j in range(columns))
    return Program(names, rng.uniform(1, 20, columns), np.zeros(columns), np.ones(columns), tuple(made))


def solve_by_hand(program: Program) -> float:
    """The same model as one would write it after PuLP's documentation."""
    names = range(len(program.columns))
    cost, matrix, rhs = program.cost.tolist(), program.matrix.tolist(), program.rhs.tolist()
    problem = pulp.LpProblem("by_hand", pulp.LpMinimize)
    x = pulp.LpVariable.dicts("x", names, 0, 1)
    problem += pulp.lpSum([cost[j] * x[j] for j in names])
    for i, row in enumerate(program.rows):
        total = pulp.lpSum([matrix[i][j] * x[j] for j in names if matrix[i][j]])
        if row.sense is Sense.AT_LEAST:
            problem += total >= rhs[i]
        elif row.sense is Sense.AT_MOST:
            problem += total <= rhs[i]
        else:
            problem += total == rhs[i]
    problem.solve(pulp.HiGHS(msg=False, threads=1))
    assert problem.status == pulp.LpStatusOptimal
    return float(sum(cost[j] * x[j].value() for j in names))


def build_and_solve(columns: int, rows: int, pairs: int) -> Result:
    """optiform.program.solver.solve against the script by hand, on one program; both must agree on its cost."""
    program = random_program(columns, rows)
    mine, other = solve(program).value, solve_by_hand(program)
    assert abs(mine - other) <= 1e-7 * (1 + abs(other)), (mine, other)
    name = f"build and solve, {columns} candidates x {rows} limits"
    return compare(name, 1.3, lambda: solve(program), lambda: solve_by_hand(program), pairs)


# -- whole processes ---------------------------------------------------------------------------------------------------


def run(*arguments: str) -> None:
    """Run this Python with these arguments from the top of the project; a failure is an error."""
    subprocess.run([sys.executable, *arguments], cwd=TOP, check=True, stdout=subprocess.DEVNULL)


def start_up() -> Result:
    """The help text against a Python that only loads argparse."""
    return compare(
        "optiform --help / import argparse",
        3.0,
        lambda: run("-m", "optiform", "--help"),
        lambda: run("-c", "import argparse"),
        pairs=15,
    )


def demo() -> Result:
    """Designing the demo brief against the bare script."""
    answer = design(read_brief(DEMO))
    assert isinstance(answer, Designed)
    script = BARE.format(columns=len(answer.program.columns), rows=len(answer.program.rows))
    return compare(
        "optiform design demo / bare pandas + pulp + highspy",
        2.0,
        lambda: run("-m", "optiform", "design", str(DEMO)),
        lambda: run("-c", script),
        pairs=11,
    )


def main() -> int:
    """Print the table; 1 if a target is missed."""
    results = [build_and_solve(40, 25, pairs=41), build_and_solve(1000, 60, pairs=11), start_up(), demo()]
    print(f"{'':<56}{'ours':>10}{'plain':>10}{'ratio':>8}{'target':>8}")
    for each in results:
        verdict = "" if each.ratio <= each.target else "  missed"
        print(
            f"{each.name:<56}{1000 * each.ours:>7.1f} ms{1000 * each.plain:>7.1f} ms"
            f"{each.ratio:>8.2f}{each.target:>8.1f}{verdict}"
        )
    return int(any(each.ratio > each.target for each in results))


if __name__ == "__main__":
    sys.exit(main())
