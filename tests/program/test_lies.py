"""A solver that lies on purpose: a wrong optimum, a wrong verdict that nothing fits, a wrong basis.

It lies wherever a solve is trusted, cold (`claimed`) and warm (`Live`), at its first answer or at every one. A lie told
once is made good by a solve from nothing or by the other solver; one told always is refused in words. Whatever is
answered is what was answered without lies.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import count
from pathlib import Path

import highspy
import numpy as np
import pytest

from optiform.brief.brief import Brief
from optiform.cli import main
from optiform.design.answer import Designed
from optiform.design.design import Best, best, design
from optiform.program import integer, live, solver
from optiform.program.arrays import Claim, Solution, SolverName, _Arrays
from optiform.program.build import Branch, firm_requirements
from optiform.program.certificate import NotCertified
from optiform.program.conflict import explain
from optiform.program.curve import residual, trade_off
from optiform.program.elastic import least_breach
from optiform.program.integer import solve_whole
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.live import Basis, Live, Now
from optiform.program.parametric import lowest
from optiform.program.prices import Pricer
from optiform.program.purchase import Pack, Postage, Shopping, choose
from optiform.program.robust import protected
from optiform.program.scenarios import Scenarios, best_under
from optiform.program.search import BestFormula, Infeasible, Search, search
from optiform.program.solver import solve
from optiform.program.spread import ranges
from optiform.program.ties import optimal_pair
from optiform.program.usage import fewest, in_steps, least_miss, solve_opening, used_or_not
from optiform.program.usual import requirements, usual_of
from optiform.reading.faults import Unproven
from tests.builders import brief_of, ingredient
from tests.shelves import random_brief
from tests.sweeps import cases

Numbers = list[float]
Patch = pytest.MonkeyPatch

# -- what is asked -----------------------------------------------------------------------------------------------------


def _brief(least: float = 20.0) -> Brief:
    """Salt that must stay undissolved, which can be kept in two ways, in a base of oil and water."""
    items = [
        ingredient("water", 0.5, "water", {"water": 100.0}),
        ingredient("salt", 0.9, "grain", solute="sodium chloride"),
        ingredient("sugar", 1.1, "grain", solute="sucrose"),
        ingredient("oil", 5.0, "oil", {"iodine value": 90.0}),
        ingredient("butter", 8.0, "butter", {"iodine value": 35.0}),
    ]
    limits = {
        "undissolved grains at 20 degC": (least, None),
        "dissolved salt at 20 degC": (3.0, None),
        "oil phase": (20.0, 45.0),
        "iodine value": (None, 70.0),
        "share of water": (15.0, None),
    }
    return brief_of(items, limits)


def _program(least: float = 30.0) -> Program:
    """Five columns that share out the whole, at least some of two of them, and at most half of the cheapest."""
    one = np.ones(5)
    rows = (
        Row("the whole", one, Sense.EQUAL, 1.0),
        Row("fat", 100 * np.array([0, 0, 1.0, 1, 0]), Sense.AT_LEAST, least, 0, least, 1.0),
        Row("cheap", 100 * np.array([1.0, 0, 0, 0, 0]), Sense.AT_MOST, 50.0, 1, 50.0, 1.0),
        Row("soft", np.array([0, 0, 0.2, -0.1, 0]), Sense.AT_MOST, 0.0, 2, 0.5, 0.0, np.array([0, 0, 1.0, 1, 0])),
    )
    return Program(tuple("abcde"), np.array([1.0, 2, 4, 7, 9]), np.zeros(5), one, rows)


def _empty() -> Program:
    rows = _program().rows
    return _program().with_rows([*rows, Row("no fat", rows[1].coefficients, Sense.AT_MOST, 20.0, 3, 20.0, 1.0)])


def _solved() -> Numbers:
    return [solve(_program()).value, float(solve(_empty()).feasible)]


def _breach() -> Numbers:
    return [least_breach(_empty(), {1: 1.0, 4: 2.0}).total]


def _tie() -> Numbers:
    even = _program().with_cost(np.array([1.0, 2, 4, 7, 2]))
    found = solve(even)
    first, other = optimal_pair(even, found.x, found.y)
    return [*first, *(np.full(5, np.nan) if other is None else other)]


def _curve() -> Numbers:
    curve = trade_off(_program(), 1, 5.0, 80.0)
    residual(_program(), curve)
    return [point.objective for point in curve.points] + list(curve.fits or ())


def _ratio_curve() -> Numbers:
    curve = trade_off(_program(), 3, 0.42, 0.7)
    residual(_program(), curve)
    return [curve.objective_at(target) for target in (0.45, 0.5, 0.6)]


def _prices() -> Numbers:
    pricer = Pricer(_program())
    sides = [pricer.looser(1), pricer.tighter(1), pricer.looser(2), pricer.looser(3)]
    told = [number for side in sides if side for number in (side.price_at(0.0), side.start, side.end)]
    return [*told, *(pricer.entry_price(j, cost) for j, cost in enumerate(_program().cost.tolist()))]


def _scenarios() -> Numbers:
    costs = np.abs(_program().cost + np.random.default_rng(1).normal(size=(40, 5)))
    return list(best_under(_program(), costs).objectives)


def _spread() -> Numbers:
    spread = ranges(_program(), solve(_program()).value, 0.3)
    return [*spread.low, *spread.high]


def _conflict() -> Numbers:
    asked = requirements(_brief(75.0)).branch({0: 0})
    base = search(_brief(75.0), asked)
    assert isinstance(base, Infeasible)
    found = explain(base, asked)
    if not found.minimal:
        raise Unproven("told as not known")
    if len(found.repairs) < 1:  # a repair that is not proven is not offered
        raise Unproven("not told")
    return [len(found.demands), *(target for repair in found.repairs for _, target in repair.changes)]


def _protected() -> Numbers:
    asked = requirements(_brief()).branch({0: 0})
    found = search(_brief(), asked, shape=lambda program, x: protected(program, asked, x, 1))
    assert isinstance(found, BestFormula)
    return [found.value]


def _branches() -> Numbers:
    brief = _brief()

    def solve_branch(branch: Branch) -> Scenarios | None:
        found = search(brief, branch)
        return (
            best_under(found.program, np.outer([1.0, 1.3], found.program.cost))
            if isinstance(found, BestFormula)
            else None
        )

    lists = lowest(requirements(brief), solve_branch)
    assert lists is not None
    return [float(cost) for cost in lists.objectives]


def _design() -> Numbers:
    answer = design(_brief())
    assert isinstance(answer, Designed)
    if not (all(binding.whole for binding in answer.binding) and all(entry.whole for entry in answer.entries)):
        raise Unproven("told as not known")
    if len(answer.binding) < 3:  # of three; a limit without a proven price is left out
        raise Unproven("not told")
    told = sorted((b.demand.words, b.price, b.valid_from or 0.0, b.valid_to or 0.0) for b in answer.binding)
    return [answer.objective, *(n for _, *rest in told for n in rest), *(e.below or 0.0 for e in answer.entries)]


def _impossible() -> Numbers:
    answer = design(_brief(75.0))
    assert not isinstance(answer, Designed)
    return [float(answer.decided), len(answer.conflict), *sorted(c.target for r in answer.repairs for c in r)]


def _whole() -> Numbers:
    counted = used_or_not(_program(), dict.fromkeys(range(5), 0.1), most=3)
    best, steps = solve_whole(counted), solve_whole(in_steps(_program(), dict.fromkeys(range(5), 1), 20))
    none = solve_whole(used_or_not(_program(), dict.fromkeys(range(5), 0.1), most=1))
    return [best.value if best else np.inf, steps.value if steps else np.inf, float(none is None)]


def _opened() -> Numbers:
    least = dict.fromkeys(range(5), 0.1)
    opened = solve_opening(_program(), used_or_not(_program(), least, most=3), np.full(5, 0.1))
    return [opened.solution.value if opened else np.inf, float((fewest(_program(), least) or (0,))[0])]


def _missed() -> Numbers:
    stepped = in_steps(_empty(), dict.fromkeys(range(5), 1), 20)
    x = least_miss(stepped, {1: 1.0, 4: 1.0})
    return [] if x is None else [float(100 * (x[2] + x[3]))]


def _bought() -> Numbers:
    packs = (Pack(0, 0, 1.0, 9.0), Pack(0, 1, 0.5, 4.0), Pack(1, 1, 1.0, 6.0), Pack(1, 0, 2.0, 10.0))
    chosen = choose(Shopping((1.3, 0.7), packs, (Postage(5.0, 20.0), Postage(3.0)), (0.0, 0.0)))
    return [] if chosen is None else [chosen.money, *chosen.counts]


LINEAR: dict[str, Callable[[], Numbers]] = {
    "solve": _solved,
    "elastic": _breach,
    "ties": _tie,
    "curve": _curve,
    "curve of a ratio": _ratio_curve,
    "prices": _prices,
    "scenarios": _scenarios,
    "spread": _spread,
    "conflict": _conflict,
    "robust": _protected,
    "branches": _branches,
    "design": _design,
    "an impossible brief": _impossible,
}
WHOLE: dict[str, Callable[[], Numbers]] = {
    "integer": _whole,
    "usage": _opened,
    "least miss": _missed,
    "purchase": _bought,
}

# -- the lies ----------------------------------------------------------------------------------------------------------


@dataclass
class Liar:
    """Lies at the answers for which `when` says so, and counts its lies."""

    when: Callable[[int], bool]
    answers: int = 0
    lies: int = 0

    def lying(self) -> bool:
        self.answers += 1
        if not self.when(self.answers):
            return False
        self.lies += 1
        return True


TIMES = {"first": lambda n: n == 1, "third": lambda n: n == 3, "even": lambda n: n % 2 == 0, "always": lambda n: True}
Lie = Callable[[Patch, Liar], None]
Point = tuple[Vector, Vector]


def _cold(wrong: Callable[[Program, Solution], Solution]) -> Lie:
    def patch(monkeypatch: Patch, liar: Liar) -> None:
        def claimed(program: Program, name: SolverName = "highs") -> Solution:
            claim = _HONEST(program, name)
            return wrong(program, claim) if liar.lying() else claim

        monkeypatch.setattr(solver, "claimed", claimed)
        monkeypatch.setattr(_Arrays, "claim", _lying_arrays(wrong, liar))
        monkeypatch.setattr(live, "first_claim", _lying_first(wrong, liar))

    return patch


def _lying_arrays(wrong: Callable[[Program, Solution], Solution], liar: Liar) -> Callable[[_Arrays], Claim | None]:
    """The same lie where a search hands its program to the solver as arrays."""
    honest = _Arrays.claim

    def claim(self: _Arrays) -> Claim | None:
        found = honest(self)
        if found is None or not liar.lying():
            return found
        lie = wrong(self.program, Solution(found.feasible, found.x, found.y, self.program))
        return Claim.of(self.program, lie.feasible, lie.x, lie.y)

    return claim


def _lying_first(wrong: Callable[[Program, Solution], Solution], liar: Liar) -> Callable[..., Point | None]:
    """The same lie where a program begins its life in the solver."""
    honest = live.first_claim

    def first(highs: highspy.Highs, program: Program) -> Point | None:
        claim = honest(highs, program)
        if claim is None or not liar.lying():
            return claim
        lie = wrong(program, Solution(True, *claim, program))
        return (lie.x, lie.y) if lie.feasible else None

    return first


_HONEST = solver.claimed


def _dearest(program: Program, claim: Solution) -> Solution:
    """A point that fits but is the worst, called the best; where nothing fits, a point that does not."""
    if not claim.feasible:
        return replace(claim, feasible=True, x=np.where(np.arange(len(program.columns)), program.low, program.high))
    worst = _HONEST(program.with_cost(-program.cost))
    return replace(claim, x=worst.x, y=-worst.y)


def _outside(program: Program, claim: Solution) -> Solution:
    """A point better than any that fits."""
    return replace(claim, feasible=True, x=np.where(program.cost > 0, program.low, program.high))


def _nothing(program: Program, claim: Solution) -> Solution:
    return replace(claim, feasible=False, x=np.full(len(program.columns), np.nan), y=np.zeros(len(program.rows)))


def _warm_optimum(monkeypatch: Patch, liar: Liar) -> None:
    """The optimum of another objective, with duals that are none of its own."""
    honest = Live._claimed

    def claimed(self: Live, now: Now) -> tuple[Vector, Vector]:
        x, y = honest(self, now)
        return (np.where(now.cost > 0, now.low, now.high), y) if liar.lying() else (x, y)

    monkeypatch.setattr(Live, "_claimed", claimed)


def _warm_nothing(monkeypatch: Patch, liar: Liar) -> None:
    honest = Live._run

    def run(self: Live) -> bool | None:
        optimum = honest(self)
        return False if liar.lying() else optimum

    monkeypatch.setattr(Live, "_run", run)


def _warm_basis(monkeypatch: Patch, liar: Liar) -> None:
    """One basic variable changed for one that is not."""
    honest = Live.claimed_basis

    def basis(self: Live) -> Basis:
        found = honest(self)
        if not liar.lying():
            return found
        others = np.setdiff1d(np.arange(len(found.low)), found.basic)
        return replace(found, basic=np.sort(np.append(found.basic[1:], others[-1])))

    monkeypatch.setattr(Live, "claimed_basis", basis)


@pytest.fixture(autouse=True)
def nothing_is_known() -> Iterator[None]:
    """A liar lies from the start, and what was worked out by lies stays with it."""
    known = (firm_requirements, usual_of, requirements)
    for answers in known:
        answers.cache_clear()
    yield
    for answers in known:
        answers.cache_clear()


LIES: dict[str, Lie] = {
    "cold, a wrong optimum": _cold(_dearest),
    "cold, a point outside": _cold(_outside),
    "cold, nothing fits": _cold(_nothing),
    "warm, a wrong optimum": _warm_optimum,
    "warm, nothing fits": _warm_nothing,
    "warm, a wrong basis": _warm_basis,
}


@pytest.mark.parametrize("times", cases(["first", "always", "third", "even"], 2, 2))
@pytest.mark.parametrize("lie", LIES)
@pytest.mark.parametrize("ask", LINEAR)
def test_no_lie_is_answered(ask: str, lie: str, times: str, monkeypatch: Patch) -> None:
    truth = LINEAR[ask]()
    LIES[lie](monkeypatch, Liar(TIMES[times]))
    try:
        told = LINEAR[ask]()
    except Unproven:
        return
    assert told == pytest.approx(truth, rel=1e-6, abs=1e-9, nan_ok=True)


@pytest.mark.parametrize("ask", [ask for ask in LINEAR if ask != "branches"])  # a branch too many leaves no formula out
def test_who_always_lies_is_refused(ask: str, monkeypatch: Patch) -> None:
    """And is refused in words, not passed over."""
    liar = Liar(TIMES["always"])
    LIES["cold, a point outside"](monkeypatch, liar)
    with pytest.raises(Unproven) as refused:
        LINEAR[ask]()
    assert str(refused.value)
    assert liar.lies


@pytest.mark.parametrize("lie", LIES)
def test_the_lies_are_told(lie: str, monkeypatch: Patch) -> None:
    """Guard: prices are asked for with every lie, and every one is told."""
    liar = Liar(TIMES["first"])
    LIES[lie](monkeypatch, liar)
    _prices()
    assert liar.lies == 1


WholeClaim = tuple[Vector, float] | None


def _whole_lies() -> Iterator[tuple[str, Callable[[Program], WholeClaim]]]:
    def dearest(program: Program) -> WholeClaim:
        """The worst point that fits, called the best, with a bound to match."""
        claim = _HONEST_WHOLE(program.with_cost(-program.cost), "highs", None)
        return None if claim is None else (claim[0], -claim[1])

    yield "the dearest", dearest
    yield "nothing fits", lambda program: None


_HONEST_WHOLE = integer._branch_and_bound


@pytest.mark.parametrize("solver", ["highs", "cbc"])
@pytest.mark.parametrize("lie", [lie for _, lie in _whole_lies()], ids=[name for name, _ in _whole_lies()])
@pytest.mark.parametrize("ask", WHOLE)
def test_one_solver_that_lies_about_whole_numbers_is_not_believed(
    ask: str, lie: Callable[[Program], WholeClaim], solver: SolverName, monkeypatch: Patch
) -> None:
    """Either of the two lies, always; the other is honest."""
    truth = WHOLE[ask]()

    def branch_and_bound(program: Program, name: SolverName, seconds: float | None) -> WholeClaim:
        return lie(program) if name == solver else _HONEST_WHOLE(program, name, seconds)

    monkeypatch.setattr(integer, "_branch_and_bound", branch_and_bound)
    try:
        told = WHOLE[ask]()
    except Unproven:
        return
    assert told == pytest.approx(truth, rel=1e-6)


def test_a_command_whose_solver_lies_ends_with_code_3(
    tmp_path: Path, monkeypatch: Patch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["demo", "--copy", str(tmp_path / "mine")]) == 0
    LIES["cold, a wrong optimum"](monkeypatch, Liar(TIMES["always"]))
    capsys.readouterr()
    assert main(["design", str(tmp_path / "mine" / "brief.toml")]) == 3
    out, err = capsys.readouterr()
    assert not out
    assert "does not check" in err


def _lying_at(monkeypatch: Patch, at: int) -> list[int]:
    """Of one node, the `at`-th, no claim checks; its number once it was met."""
    honest, met, asked = Search.best, list[int](), count(1)

    def best(self: Search, branch: Branch) -> BestFormula | Infeasible:
        if next(asked) == at:
            met.append(at)
            raise NotCertified("the solver's verdict that nothing fits does not check")
        return honest(self, branch)

    monkeypatch.setattr(Search, "best", best)
    return met


@pytest.mark.parametrize("at", range(2, 6))
@pytest.mark.parametrize("bends", [0, 3])
def test_a_node_that_lies_does_not_end_the_design(bends: int, at: int, monkeypatch: Patch) -> None:
    """It stays with its bound: the answer is as good as that of an honest solver, or says how far it may be off."""
    brief = _brief() if bends == 0 else random_brief(584, 30, bends)[0]
    truth = best(brief)
    assert isinstance(truth, Best)
    met = _lying_at(monkeypatch, at)
    answer = best(brief)
    assert isinstance(answer, Best)
    assert met or at > 2
    assert truth.value == pytest.approx(answer.value, rel=1e-6) or answer.solution.local
    assert answer.value - (answer.solution.gap or 0.0) <= truth.value + 1e-6 * (1 + abs(truth.value))


def test_a_node_that_fits_within_rounding_only_is_bounded_and_passed_over() -> None:
    """Neither solver settles one node of this brief; a little looser, its bound lies above the answer."""
    answer = best(random_brief(584, 30, 3)[0])
    assert isinstance(answer, Best)
    assert not answer.solution.local
    assert answer.value == pytest.approx(0.942957, rel=1e-5)
