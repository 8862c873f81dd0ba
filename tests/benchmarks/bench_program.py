"""What the layers around the solver cost: processor time as ratios to a plain script that does the same, in one run.

Run from the top of the project: python -m tests.benchmarks.bench_program
Ratios are medians over interleaved pairs of processor time, children's included, so that a busy machine changes them
little. `held` is what may not be lost again, with room for noise: exit code 1 where one is above it. `goal` is what
DEVELOPERS.md's floor allows at best; a ratio between the two is told, and no fault.
"""

import os
import resource
import statistics
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import highspy
import numpy as np
import pulp

from optiform.brief.file import read_brief
from optiform.design.answer import Designed
from optiform.design.design import design
from optiform.program.claim import claim
from optiform.program.linear import Program, Row, Sense
from optiform.program.solver import solve

TOP = Path(__file__).resolve().parents[2]
DEMO = TOP / "optiform" / "demo" / "brief.toml"

#: The floor: NumPy and HiGHS alone, and an LP of the same size.
BARE = """
import highspy, numpy as np
columns, rows = {columns}, {rows}
draw = np.random.default_rng(1)
highs, lp = highspy.Highs(), highspy.HighsLp()
highs.setOptionValue("output_flag", False)
matrix = np.vstack([np.ones(columns), draw.random((rows - 1, columns))])
lp.num_col_, lp.num_row_, lp.col_cost_ = columns, rows, draw.random(columns)
lp.col_lower_, lp.col_upper_ = np.zeros(columns), np.ones(columns)
lp.row_lower_ = np.concatenate([[1.0], np.full(rows - 1, -np.inf)])
lp.row_upper_ = np.concatenate([[1.0], np.full(rows - 1, 0.9)])
lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
lp.a_matrix_.start_ = columns * np.arange(rows + 1, dtype=np.int32)
lp.a_matrix_.index_ = np.tile(np.arange(columns, dtype=np.int32), rows)
lp.a_matrix_.value_ = matrix.ravel()
highs.passModel(lp)
highs.run()
assert highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
print(highs.getSolution().col_value)
"""
#: Commands against that floor: their words, what is held, and the goal.
COMMANDS = (
    ("design brief.toml", 4.5, 1.6),
    ("check today.csv --brief brief.toml", 5.0, 3.5),
    ("weigh brief.toml", 15.0, 3.5),
    ("cheaper brief.toml", 40.0, 5.0),
)


@dataclass(frozen=True)
class Result:
    """One comparison: median seconds of both sides and the median of their ratio, what is held, and the goal."""

    name: str
    ours: float
    plain: float
    ratio: float
    held: float
    goal: float


def compare(
    name: str, ends: tuple[float, float], ours: Callable[[], object], plain: Callable[[], object], pairs: int
) -> Result:
    """Time both in turn, `pairs` times, after one run of each that does not count; `ends`: held and goal."""
    ours(), plain()
    times = [_pair(ours, plain, swapped=bool(k % 2)) for k in range(pairs)]
    mine, other = (statistics.median(side) for side in zip(*times, strict=True))
    return Result(name, mine, other, statistics.median(a / b for a, b in times), *ends)


def _pair(ours: Callable[[], object], plain: Callable[[], object], swapped: bool) -> tuple[float, float]:
    if swapped:
        second = _seconds(plain)
        return _seconds(ours), second
    return _seconds(ours), _seconds(plain)


def _seconds(call: Callable[[], object]) -> float:
    start = _processor()
    call()
    return _processor() - start


def _processor() -> float:
    """Processor time of this process and of those it has waited for, in s."""
    both = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(used.ru_utime + used.ru_stime for used in both)


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
    return compare(name, (1.3, 0.7), lambda: solve(program), lambda: solve_by_hand(program), pairs)


def solve_arrays(program: Program) -> float:
    """The same model handed to HiGHS as arrays, as one would write it without any layer."""
    highs, lp = highspy.Highs(), highspy.HighsLp()
    highs.setOptionValue("output_flag", False)
    matrix, used = program.matrix, program.matrix != 0
    lp.num_col_, lp.num_row_, lp.col_cost_ = len(program.columns), len(program.rows), program.cost
    lp.col_lower_, lp.col_upper_ = program.low, program.high
    lp.row_lower_ = np.where(program.at_least, program.rhs, -np.inf)
    lp.row_upper_ = np.where(program.at_most, program.rhs, np.inf)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.concatenate([[0], np.cumsum(used.sum(axis=1))]).astype(np.int32)
    lp.a_matrix_.index_ = np.nonzero(used)[1].astype(np.int32)
    lp.a_matrix_.value_ = matrix[used]
    highs.passModel(lp)
    highs.run()
    assert highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return float(program.cost @ np.array(highs.getSolution().col_value))


def against_arrays(columns: int, rows: int, turns: int) -> Iterator[Result]:
    """Build, solve and certify against the arrays alone, many times over so that the clock can tell.

    As a search does it, without presolve and in a solver that is at hand; and from scratch, as what is solved once.
    """
    program = random_program(columns, rows)
    value = solve_arrays(program)
    assert abs(solve(program).value - value) <= 1e-7
    assert abs(float(program.cost @ claim(program).x) - value) <= 1e-7

    def turned(call: Callable[[Program], object]) -> Callable[[], None]:
        def turn() -> None:
            for _ in range(turns):
                call(replace(program))  # a new one: what it works out once is worked out again

        return turn

    size, plain = f"{columns} x {rows}", turned(solve_arrays)
    yield compare(f"build, solve, certify in a search / arrays, {size}", (1.3, 0.7), turned(claim), plain, pairs=9)
    yield compare(f"build, solve, certify from scratch / arrays, {size}", (3.5, 0.7), turned(solve), plain, pairs=9)


# -- whole processes ---------------------------------------------------------------------------------------------------


def run(*arguments: str) -> None:
    """Run this Python with these arguments from the top of the project; a failure is an error."""
    compiled = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    subprocess.run([sys.executable, *arguments], cwd=TOP, env=compiled, check=True, stdout=subprocess.DEVNULL)


def start_up() -> Result:
    """The help text against a Python that only loads argparse."""
    return compare(
        "optiform --help / import argparse",
        (3.0, 2.0),
        lambda: run("-m", "optiform", "--help"),
        lambda: run("-c", "import argparse"),
        pairs=15,
    )


def commands() -> Iterator[Result]:
    """Whole commands on the demo against the floor."""
    answer = design(read_brief(DEMO))
    assert isinstance(answer, Designed)
    script = BARE.format(columns=len(answer.program.columns), rows=len(answer.program.rows))
    for words, held, goal in COMMANDS:
        typed = [str(DEMO.parent / word) if "." in word else word for word in words.split()]
        pairs = 3 if goal > 3.5 else 5
        yield compare(
            f"optiform {words.split()[0]} demo / numpy + highspy",
            (held, goal),
            lambda typed=typed: run("-m", "optiform", *typed),  # type: ignore[misc]
            lambda: run("-c", script),
            pairs,
        )


def main() -> int:
    """Print the table; 1 if what is held was lost."""
    sizes = ((20, 12, 40), (60, 25, 20), (200, 40, 8), (1000, 60, 2))
    solved = [build_and_solve(40, 25, pairs=41), build_and_solve(1000, 60, pairs=11)]
    results = [*solved, *(result for size in sizes for result in against_arrays(*size)), start_up(), *commands()]
    print(f"{'':<56}{'ours':>10}{'plain':>10}{'ratio':>8}{'held':>8}{'goal':>8}")
    for result in results:
        verdict = "  lost" if result.ratio > result.held else "" if result.ratio > result.goal else "  reached"
        print(
            f"{result.name:<56}{1000 * result.ours:>7.1f} ms{1000 * result.plain:>7.1f} ms"
            f"{result.ratio:>8.2f}{result.held:>8.1f}{result.goal:>8.1f}{verdict}"
        )
    return int(any(result.ratio > result.held for result in results))


if __name__ == "__main__":
    sys.exit(main())
