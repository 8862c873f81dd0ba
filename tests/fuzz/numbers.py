"""Briefs scaled badly on purpose, each answer judged without rounding: `python -m tests.fuzz.numbers FIRST LAST`.

The judge is `tests.exact` on rows that `tests.builders` assembles from the ingredients' figures, so nothing of the
program under test takes part. Everything below 1e-6 of a limit's size, its largest figure and its target, counts as
rounding (the tolerance that a certificate states); what lies between 0 and that may be told either way.
"""

import sys
from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from optiform.brief.brief import Brief, Range
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.program.build import Demand
from optiform.program.solver import SolverName
from optiform.reading.faults import Unproven
from tests import exact
from tests.builders import GROUPS, PHASE_OF, Key, asked, brief_of, ingredient, shares

ROUNDING = 1e-6
#: Own columns with the powers of ten that their figures span: traces in ppm beside g/kg beside counts.
COLUMNS = {"trace (ppm)": (-4, 2), "bulk (g/kg)": (0, 3), "count": (2, 6), "first": (-1, 1), "twin": (-1, 1)}
WORDS = (*COLUMNS, "oil phase", "share of butter", "iodine value", "emulsifier per 100 of oil phase")
RATIOS = tuple(GROUPS)


# -- briefs ------------------------------------------------------------------------------------------------------------


def badly_scaled(seed: int) -> Brief:
    """3 to 8 candidates at 1e-4 to 1e6 a kg; limits that nearly coincide or clash, equalities, pinned lines."""
    rng = np.random.default_rng(seed)
    functions = [str(rng.choice(list(PHASE_OF))) for _ in range(int(rng.integers(3, 9)))]
    coarse = rng.random() < 0.3
    candidates = []
    for j, function in enumerate(functions):
        figures = {word: _figure(rng, *span, coarse) for word, span in COLUMNS.items()}
        figures["twin"] = figures["first"] * (1 + _tiny(rng) * float(rng.normal()))
        if function in ("butter", "oil"):
            figures["iodine value"] = float(rng.uniform(0.01, 200))
        candidates.append(ingredient(f"candidate {j}", _figure(rng, -4, 6, coarse), function, figures))
    x = rng.dirichlet(np.full(len(candidates), 0.5))
    chosen = [str(word) for word in rng.permutation(WORDS)[: int(rng.integers(1, 8))]]
    chosen += ["first", "twin"] if rng.random() < 0.3 else []
    limits = {}
    for word in dict.fromkeys(chosen):
        p, g = shares(word, candidates)
        if g @ x > 1e-3 and p.any():
            limits[word] = _ends(rng, float(p @ x / (g @ x)))
    ranges = {item.name: _range(rng, float(share)) for item, share in zip(candidates, x, strict=True)}
    return brief_of(candidates, limits, ranges)


def _figure(rng: np.random.Generator, low: float, high: float, coarse: bool) -> float:
    if rng.random() < 0.2:
        return 0.0
    power = rng.uniform(low, high)
    return float(10.0 ** (round(power) if coarse else power))


def _tiny(rng: np.random.Generator) -> float:
    return float(10.0 ** rng.uniform(-13, -2))


def _ends(rng: np.random.Generator, value: float) -> tuple[float | None, float | None]:
    """Around the value of a formula: wide, an equality, at it to the last digit, beyond it by a hair, or by much."""
    kind = rng.random()
    if kind < 0.12:
        return value, value
    if kind < 0.3:
        low, high = value * (1 - _tiny(rng)), value * (1 + _tiny(rng))
    elif kind < 0.45:
        return (value, None) if rng.random() < 0.5 else (None, value)
    elif kind < 0.6:
        push = 1 + _tiny(rng) * (1 if rng.random() < 0.5 else -1)
        low, high = value * push, value * push
        return (low, None) if rng.random() < 0.5 else (None, high)
    else:
        wide, push = float(rng.uniform(0.05, 0.5)), float(np.exp(rng.normal(0, 0.4)))
        low, high = value * (1 - wide) * push, value * (1 + wide) * push
    side = rng.random()
    return (low, None) if side < 0.3 else (None, high) if side < 0.6 else (low, high)


def _range(rng: np.random.Generator, share: float) -> Range:
    kind = rng.random()
    if kind < 0.75:
        return Range()
    if kind < 0.85:
        return Range(share, share, "brief")
    return Range(share * (1 - _tiny(rng)), min(1.0, share + 0.3), "brief")


# -- the judge ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Judge:
    """The brief's demands as exact rows, by name and side."""

    brief: Brief
    targets: dict[Key, float]

    @staticmethod
    def of(brief: Brief) -> "Judge":
        return Judge(brief, asked(brief))

    def row(self, key: Key, target: float) -> list[Fraction]:
        """Coefficients that must be at least 0, not one of them rounded."""
        name, side = key
        p, g = self.terms(name)
        sign = 1 if side == "low" else -1
        return [sign * (a - Fraction(target) * b) for a, b in zip(p, g, strict=True)]

    def size(self, key: Key, target: float) -> Fraction:
        """What a breach is measured by: the property's largest figure and the target, in the same unit."""
        p, g = self.terms(key[0])
        return max(map(abs, p)) + abs(Fraction(target)) * max(map(abs, g))

    def terms(self, name: str) -> tuple[list[Fraction], list[Fraction]]:
        names = [item.name for item in self.brief.mix.ingredients]
        if name in names:
            return [Fraction(100 * (name == other)) for other in names], [Fraction(1)] * len(names)
        p, g = shares(name, self.brief.mix.ingredients)
        return [Fraction(float(a)) for a in p], [Fraction(float(a)) for a in g]

    def solved(self, keys: Iterable[Key], moved: Mapping[Key, float] | None = None) -> exact.Exact:
        targets = {key: (moved or {}).get(key, self.targets[key]) for key in keys}
        rows = [self.row(key, target) for key, target in targets.items()]
        sizes = [self.size(key, target) or Fraction(1) for key, target in targets.items()]
        return exact.solve(rows, sizes, self.terms("cost")[0])

    def breach(self, keys: Collection[Key], moved: Mapping[Key, float] | None = None) -> float:
        return float(self.solved(keys, moved).breach)

    def miss(self, x: list[Fraction]) -> float:
        """The worst breach of a demand at x, by the demand's size."""
        worst = 0.0
        for key, target in self.targets.items():
            p, g = self.terms(key[0])
            group = sum(b * share for b, share in zip(g, x, strict=True))
            if group > 0:
                value = sum(a * share for a, share in zip(p, x, strict=True)) / group
                short = (Fraction(target) - value) * (1 if key[1] == "low" else -1)
                worst = max(worst, float(short / (self.size(key, target) or Fraction(1))))
        return worst


def judged(seed: int, solver: SolverName = "highs") -> list[str]:
    """What happened, in words to count; what must never happen starts with `WRONG`."""
    brief = badly_scaled(seed)
    judge = Judge.of(brief)
    best = judge.solved(judge.targets)
    try:
        answer = design(brief, solver)
    except Unproven as error:
        return ["refused: " + type(error).__name__]
    if isinstance(answer, Designed):
        return _of_design(judge, best, answer)
    if not answer.decided:
        return ["refused: undecided"]
    return _of_conflict(judge, best, answer)


def _of_design(judge: Judge, best: exact.Exact, answer: Designed) -> list[str]:
    formula = answer.report.formula
    x = [Fraction(formula.fraction(item.name)) for item in judge.brief.mix.ingredients]
    told = ["designed" if best.feasible else "designed within rounding"]
    if not answer.certificate.holds:
        told.append("WRONG: shown without a certificate that holds")
    if float(best.breach) > ROUNDING:
        told.append(f"WRONG: designed though short by {float(best.breach):.1e}")
    if (miss := judge.miss(x)) > ROUNDING:
        told.append(f"WRONG: a limit missed by {miss:.1e}")
    if best.value is not None:
        cost = float(sum(p * share for p, share in zip(judge.terms("cost")[0], x, strict=True)))
        dearer = (cost - float(best.value)) / (1 + abs(float(best.value)))
        if dearer > ROUNDING:
            told.append(f"WRONG: dearer than the best by {dearer:.1e}")
        if abs(answer.objective - cost) > ROUNDING * (1 + abs(cost)):
            told.append("WRONG: the goal told is not that of the formula")
        if dearer < -ROUNDING:
            told.append("cheaper by using the rounding of a limit")
    if any(measure.missed for measure in answer.report.measures):
        told.append("WRONG: the report says that a limit is missed")
    return told


def _of_conflict(judge: Judge, best: exact.Exact, answer: NoFormula) -> list[str]:
    told = ["impossible" if float(best.breach) > ROUNDING else "impossible within rounding"]
    if best.feasible:
        told.append("WRONG: impossible though exactly feasible")
    if answer.certificate is None or not answer.certificate.holds:
        told.append("WRONG: impossible without a certificate that holds")
    core = {_key(demand): demand for demand in answer.conflict}
    if not set(core) <= set(judge.targets):
        return [*told, f"WRONG: a demand nobody made: {set(core) - set(judge.targets)}"]
    if judge.solved(core).feasible:
        told.append("WRONG: the conflict can hold")
    for key in core:
        if judge.breach([other for other in core if other != key]) > ROUNDING:
            told.append("WRONG: the conflict is not minimal")
    for repair in answer.repairs:
        moved = {_key(change.demand): change.target for change in repair}
        if (short := judge.breach(judge.targets, moved)) > 0:
            told.append("WRONG: a repair does not do" if short > ROUNDING else "a repair does within rounding")
        else:
            told.append("a repair does")
    return told


def _key(demand: Demand) -> Key:
    return demand.name, demand.side


def main() -> None:
    """Judge a range of seeds and count; every wrong one is told with its seed."""
    first, last = int(sys.argv[1]), int(sys.argv[2])
    solver: SolverName = "cbc" if sys.argv[3:] == ["cbc"] else "highs"
    counts: Counter[str] = Counter()
    for seed in range(first, last):
        try:
            told = judged(seed, solver)
        except Exception as error:  # a crash is a finding like any other, and the run goes on
            told = [f"WRONG: {type(error).__name__} {error}"]
        counts.update(" ".join(words.split(" by ")[0].split()[:9]) for words in told)
        for words in told:
            if words.startswith("WRONG"):
                print(seed, words, flush=True)
        if (seed + 1) % 500 == 0:
            print(seed + 1, dict(counts), flush=True)
    print("\n".join(f"{count:8} {words}" for words, count in sorted(counts.items())))


if __name__ == "__main__":
    main()
