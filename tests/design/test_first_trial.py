"""A first trial is of few lines in round figures, inside every limit; it is told how much nearer one could be."""

from dataclasses import replace
from functools import cache
from itertools import combinations

import pytest

from optiform.brief.brief import KINDS
from optiform.brief.file import brief_of
from optiform.design.around import only
from optiform.design.design import Best, best, unrounded
from optiform.design.first_trial import A_LINE
from optiform.program.usual import requirements
from optiform.reading.documents import read_document
from optiform.reading.paths import DEMO
from optiform.review.measures import setting_of
from optiform.review.report import report
from tests.kind_shelves import bare_brief, random_shelf, trial_of
from tests.sweeps import cases, sweep

SEEDS = sweep(range(4))
DIGITS = 1e-6
LOTION = (
    "water", "glycerin", "emulsifying wax NF", "sunflower oil, high oleic", "shea butter, refined", "cetyl alcohol",
    "xanthan gum", "mixed tocopherols", "phenoxyethanol + ethylhexylglycerin", "disodium EDTA",
)  # fmt: skip


@cache
def trial(kind: str, seed: int) -> tuple[Best, Best]:
    """The first trial of a random shelf, and the formula that is nearest to the last digit."""
    answer, exact = trial_of(kind, seed), unrounded(bare_brief(kind, random_shelf(kind, seed)))
    assert isinstance(answer, Best)
    assert isinstance(exact, Best)
    return answer, exact


def is_round(figure: float, step: float) -> bool:
    return abs(figure / step - round(figure / step)) < DIGITS / step


@pytest.mark.sweep
@pytest.mark.parametrize("kind", cases(KINDS, 4, 9))
def test_figures_are_round_and_every_limit_is_kept(kind: str) -> None:
    """Half percents from 10 %, tenths from 1 %, hundredths below; the largest line makes up 100 %."""
    for seed in SEEDS:
        answer, exact = trial(kind, seed)
        figures = sorted((100 * line.fraction for line in answer.formula.lines), reverse=True)
        assert sum(figures) == pytest.approx(100)
        for figure in figures[1:]:
            assert is_round(figure, 0.1 if figure > 1 else 0.01), figures
        large = [figure for figure in figures[1:] if figure >= 10]
        assert sum(is_round(figure, 0.5) for figure in large) >= len(large) - 1, (
            "a tenth only where a limit asks for it"
        )
        x = answer.brief.mix.vector(answer.formula)
        gave = {(end.demand.name, end.demand.side) for end in answer.gave}
        missed = {(demand.name, demand.side) for demand in requirements(answer.brief).near(x) if not demand.met(x)}
        assert missed <= gave, "what is usual and had to give may give half a unit more"
        assert [end.demand.value(x) for end in answer.gave] == pytest.approx([end.reached for end in answer.gave])
        assert len(answer.formula.lines) <= len(exact.formula.lines)


@pytest.mark.sweep
@pytest.mark.parametrize("kind", cases(KINDS, 4, 9))
def test_it_says_how_much_nearer_one_could_be(kind: str) -> None:
    """No formula is nearer by more than its gap, which few lines and rounding alone make."""
    for seed in SEEDS:
        answer, exact = trial(kind, seed)
        assert (answer.solution.gap or 0.0) == pytest.approx(max(0.0, answer.value - exact.value), abs=1e-9)
        again = answer.brief.goal.value_at(answer.brief.mix, answer.brief.mix.vector(answer.formula))
        assert answer.value == pytest.approx(again)
        dropped = len(exact.formula.lines) - len(answer.formula.lines)
        assert answer.value - exact.value <= A_LINE * dropped + 0.75, "less than one part, in all figures together"


def test_of_formulas_as_near_the_one_of_fewer_lines() -> None:
    """Oils of which any will do by itself: one line of them, and no line that is not worth its place."""
    answer, nearest = trial("stick and lip balm", 5)
    names = [line.ingredient.name for line in answer.formula.lines]
    assert len(names) == 6 < len(nearest.formula.lines)
    for fewer in combinations(names, len(names) - 1):
        alone = best(only(replace(answer.brief, doses=()), frozenset(fewer)))
        assert not isinstance(alone, Best) or alone.value > nearest.value + A_LINE, "each line is worth its place"


def test_what_the_brief_fixes_stays_as_it_is_written() -> None:
    fixed = bare_brief("lotion", dict.fromkeys(LOTION, 5.0)).with_limit("glycerin", low="3.123 %", high="3.123 %")
    answer = best(fixed)
    assert isinstance(answer, Best)
    shares = {line.ingredient.name: 100 * line.fraction for line in answer.formula.lines}
    assert shares["glycerin"] == pytest.approx(3.123)
    assert sum(shares.values()) == pytest.approx(100)
    others = [share for name, share in shares.items() if name not in ("glycerin", "water")]
    assert all(is_round(share, 0.01) for share in others)


def test_no_figure_is_rounded_to_what_a_rule_notes_as_too_much() -> None:
    """The demo's shelf: 0.2 % of tocopherol in 18 % of oil is more than 1 % of the oil, which the tool notes."""
    document = dict(read_document(DEMO / "brief.toml"))
    for key in ("limits", "lines", "goal", "reference"):
        document.pop(key, None)
    brief = brief_of(DEMO / "brief.toml", document)
    answer = best(brief)
    assert isinstance(answer, Best)
    share = answer.formula.fraction("mixed tocopherols")
    assert 0.0005 <= share < 0.002
    assert "tocopherol-much" not in {warning.rule for warning in report(answer.formula, setting_of(brief)).warnings}
    figures = sorted((100 * line.fraction for line in answer.formula.lines), reverse=True)
    assert all(is_round(figure, 0.1 if figure > 1 else 0.01) for figure in figures[1:])


def test_a_line_that_the_brief_asks_for_stays_whatever_it_is_worth() -> None:
    """Beads bring a scrub as near as the pumice does that is asked for: beads go, figures are round."""
    shelf = dict.fromkeys(
        (*LOTION, "cocamidopropyl betaine, 30 %", "stearic acid", "pumice, fine", "jojoba ester beads"), 5.0
    )
    answer = best(bare_brief("cream scrub", shelf).with_limit("pumice, fine", low="5 %"))
    assert isinstance(answer, Best)
    shares = {line.ingredient.name: 100 * line.fraction for line in answer.formula.lines}
    assert "pumice, fine" in shares
    assert "jojoba ester beads" not in shares
    assert all(is_round(share, 0.01) for share in shares.values())
