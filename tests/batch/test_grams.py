"""A formula in grams that the scale can show, looked at as it is weighed."""

from dataclasses import replace
from decimal import Decimal

from optiform.batch.grams import in_grams
from optiform.brief.file import read_brief
from optiform.ingredients.formula import Formula
from optiform.reading.paths import DEMO
from optiform.review.report import report

BRIEF = read_brief(DEMO / "brief.toml")


def today() -> Formula:
    assert BRIEF.reference is not None
    return BRIEF.reference


def test_the_grams_sum_to_the_batch_and_are_whole_steps() -> None:
    grams = in_grams(today(), replace(BRIEF, step=0.5))
    assert grams is not None
    assert grams.total == 4000
    assert all(weight % Decimal("0.5") == 0 for _, weight in grams.lines)


def test_limits_and_law_are_looked_at_with_the_grams_not_the_shares() -> None:
    """Steps of 50 g in 4 kg make 1.25 % of a line that is 0.6 %, or nothing."""
    fine, coarse = in_grams(today(), BRIEF), in_grams(today(), replace(BRIEF, step=50.0))
    assert fine is not None
    assert coarse is not None
    assert fine.compliance.measures
    assert not any(measure.missed for measure in fine.compliance.measures)
    assert not fine.compliance.breaks_law
    for grams in (fine, coarse):
        whole = report(grams.formula, grams.setting)
        assert grams.compliance.measures == tuple(measure for measure in whole.measures if measure.limited)
        assert grams.compliance.lines == whole.lines
        assert grams.compliance.breaks_law == (whole.keeps_law is False)
    shares = {line.ingredient.name: line.fraction for line in coarse.formula.lines}
    assert shares.get("fragrance oil", 0.0) in (0.0, 50 / 4000)
    assert shares != {line.ingredient.name: line.fraction for line in fine.formula.lines}


def test_doses_that_the_scale_puts_off_are_named() -> None:
    grams = in_grams(today(), replace(BRIEF, step=5.0))
    assert grams is not None
    assert "xanthan gum" in {dose.ingredient for dose in grams.small}


def test_a_batch_below_a_step_has_no_grams() -> None:
    assert in_grams(today(), replace(BRIEF, batch=0.001, step=10.0)) is None


def test_what_is_asked_again_is_not_worked_out_again_and_nobody_pays_for_a_report_not_asked_for() -> None:
    grams = in_grams(today(), replace(BRIEF, step=0.25))
    assert grams is not None
    assert in_grams(today(), replace(BRIEF, step=0.25)) is grams
    assert "compliance" not in vars(grams)
