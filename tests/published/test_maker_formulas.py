"""Published formulas of makers, read as they stand, against what their pages say of them.

The amounts are those of makers' pages read for these tests (the ids E, L, M, U and W are ours); each file keeps the
published wording beside our ingredient. Where the page names a class ("liquid plant oils") one member stands for it.
An outcome is what the page says; nothing was made here. "No problem reported" is weak evidence.
"""

from dataclasses import dataclass
from pathlib import Path

import pytest

from optiform.brief.brief import Brief, Range
from optiform.brief.goal import Nearest
from optiform.design.answer import Designed
from optiform.design.design import design
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Basis
from optiform.properties.base import Mix
from optiform.review.answer import Checked
from optiform.review.check import check
from optiform.review.measures import Setting
from optiform.rules.kinds import ruled_out
from optiform.rules.law import Scope
from optiform.telling.check import checked
from tests.builders import NO_RULES
from tests.dates import ANY_DAY

FOLDER = Path(__file__).parent / "formulas"
CATALOGUE = read_catalogue([FOLDER / "own.csv"])


@dataclass(frozen=True)
class Published:
    """One formula with its page's outcome, and the warnings that outcome deserves."""

    id: str
    kind: str
    basis: Basis
    total: float
    lines: int
    use: str
    outcome: str
    warned: tuple[str, ...] = ()
    quiet: tuple[str, ...] = ()


SCRUB = "anhydrous emulsified scrub"
HEAT = "melted oil per 100 of solids at 35 degC"
FORMULAS = [
    Published("E01", SCRUB, Basis.BASE, 100, 9, "rinse-off", "liked by its author", quiet=("Unusual", "Over")),
    Published("E03", SCRUB, Basis.WHOLE, 100, 9, "rinse-off", "no problem reported", quiet=(HEAT,)),
    Published("E12", SCRUB, Basis.GRAMS, 2290, 11, "rinse-off", "oil separates in hot summer", warned=(HEAT,)),
    Published("W01", "foaming scrub", Basis.WHOLE, 100, 8, "rinse-off", "works; harder in a larger batch"),
    Published("L01", "lotion", Basis.WHOLE, 100, 7, "leave-on", "no problem reported", quiet=("Over", "): parts")),
    Published(
        "U01", "lotion", Basis.WHOLE, 100, 15, "leave-on", "supplier's formula", warned=("share of butter 12 %",)
    ),
    Published("M01", "balm", Basis.WHOLE, 100, 5, "leave-on", "tuned over three trials", warned=("wax as beeswax",)),
]
IDS = [formula.id for formula in FORMULAS]


def look(published: Published) -> Checked:
    scope = Scope(published.use, "body", ("EU",), ANY_DAY)
    return check(FOLDER / f"{published.id}.csv", CATALOGUE, Setting(published.kind, scope), published.basis)


@pytest.mark.parametrize("published", FORMULAS, ids=IDS)
def test_reads_and_totals(published: Published) -> None:
    reading = look(published).reading
    assert reading.total == pytest.approx(published.total, abs=0.05)
    assert not reading.rescaled
    assert len(reading.formula.lines) == published.lines
    assert sum(line.fraction for line in reading.formula.lines) == pytest.approx(1)


@pytest.mark.parametrize("published", FORMULAS, ids=IDS)
def test_gets_the_warnings_its_outcome_deserves(published: Published) -> None:
    warnings = [*map(str, look(published).report.warnings)]
    assert not any("holds oil and water" in warning for warning in warnings)  # all of them hold or have no water
    for words in published.warned:
        assert any(words in warning for warning in warnings), (words, warnings)
    for words in published.quiet:
        assert not any(words in warning for warning in warnings), (words, warnings)


def test_the_scrub_that_wept_and_the_one_that_did_not_differ_in_what_holds_the_oil() -> None:
    """E12 and E01 have nearly the same base; the page's difference, grains and heat, must show in the figure."""
    wept, kept = (_melted(published) for published in (FORMULAS[2], FORMULAS[0]))
    assert wept > 100 > kept


def _melted(published: Published) -> float:
    from optiform.properties.texture import melted_oil

    value = melted_oil(35).of(look(published).reading.formula)
    assert value is not None
    return value


def test_scale_up_is_said_where_a_larger_batch_came_out_harder() -> None:
    """W01 came out much harder at 600 g than at 100 g: every report says that batch size moves texture."""
    assert "batch size" in " ".join(checked(look(FORMULAS[3]), Setting(batch=1.0)).sentences)


@pytest.mark.parametrize("published", FORMULAS, ids=IDS)
def test_no_hidden_limit_refuses_it(published: Published) -> None:
    """Asked for the formula nearest to it, with its ingredients and no limit of its own, a brief gives it back.

    Without a market no law is switched on; usual ranges must not act as limits. Rules of chemistry are told, and
    overruled here: U01 has parabens with much vegetable oil.
    """
    formula = look(published).reading.formula
    brief = Brief(
        title=published.id,
        kind=published.kind,
        scope=Scope(published.use, "body", (), ANY_DAY),
        currency="EUR",
        batch=1.0,
        step=0.1,
        mix=Mix.of(formula),
        ranges=tuple(_default(line.ingredient.name) for line in formula.lines),
        limits=(),
        goal=Nearest(formula),
        catalogue=CATALOGUE,
        overrule=NO_RULES,
    )
    answer = design(brief)
    assert isinstance(answer, Designed)
    assert answer.objective == pytest.approx(0, abs=1e-6)
    for line in formula.lines:
        assert answer.report.formula.fraction(line.ingredient.name) == pytest.approx(line.fraction, abs=1e-6)


@pytest.mark.parametrize("published", FORMULAS, ids=IDS)
def test_its_kind_is_not_made_without_anything_it_holds(published: Published) -> None:
    for line in look(published).reading.formula.lines:
        assert ruled_out(published.kind, line.ingredient) is None, line.ingredient.name


def _default(name: str) -> Range:
    """The range a brief gives a candidate by itself: the catalogue's maximum use, if any."""
    item = CATALOGUE.find(name)
    assert item is not None
    most = item.value("maximum use")
    return Range(0.0, most.figure / 100, "advice") if most else Range()
