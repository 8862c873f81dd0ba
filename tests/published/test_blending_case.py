"""The blending case study of the PuLP documentation ("A Blending Problem"), through the maker's own columns.

Its printed answer: 60 % beef and 40 % gel, USD 0.52 a can of 100 g.
"""

from pathlib import Path

import pytest

from optiform.brief.file import read_brief
from optiform.design.answer import Designed
from optiform.design.design import design
from optiform.program.solver import SolverName

BRIEF = Path(__file__).parent / "blending" / "brief.toml"


@pytest.mark.parametrize("solver", ["highs", "cbc"])
def test_the_printed_answer(solver: SolverName) -> None:
    answer = design(read_brief(BRIEF), solver)
    assert isinstance(answer, Designed)
    assert answer.report.formula.fraction("beef") == pytest.approx(0.60, abs=1e-6)
    assert answer.report.formula.fraction("gel") == pytest.approx(0.40, abs=1e-6)
    assert answer.objective / 10 == pytest.approx(0.52, abs=1e-7)
    assert answer.certificate.holds


def test_what_binds_is_fat() -> None:
    """60 % beef holds exactly 6 % fat and 12 % protein: fat binds, protein does not."""
    answer = design(read_brief(BRIEF))
    assert isinstance(answer, Designed)
    assert [bound.demand.words for bound in answer.binding] == ["fat at least 6 % of the jar"]
