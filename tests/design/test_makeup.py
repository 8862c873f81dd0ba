"""A ready-made blend whose parts are on the shelf: they are named with their amounts."""

from dataclasses import replace

import pytest

from optiform.brief.file import read_brief
from optiform.design.makeup import own_parts
from optiform.design.substitute import substitute
from optiform.reading.paths import DEMO
from optiform.telling.substitute import substitute as told
from optiform.telling.terminal import terminal


def test_emulsifying_wax_is_a_fatty_alcohol_and_a_polysorbate() -> None:
    """4 to 1, as the handbook has it; the alcohol comes on top of the line that is there."""
    brief = read_brief(DEMO / "brief.toml")
    answer = substitute(brief, ["emulsifying wax NF"])
    assert dict(answer.own_parts) == pytest.approx({"cetearyl alcohol": 3.84, "polysorbate 60": 0.96})
    text = " ".join(terminal(told(answer)).split())
    assert "its parts are on the shelf: cetearyl alcohol 3.84 and polysorbate 60 0.96 % of the jar" in text


def test_a_shelf_that_lacks_a_part_has_no_blend_to_make() -> None:
    brief = read_brief(DEMO / "brief.toml")
    today = brief.reference
    assert today is not None
    wax = next(line.ingredient for line in today.lines if line.ingredient.name == "emulsifying wax NF")
    assert own_parts(brief, today, wax)
    assert own_parts(brief.without("polysorbate 60"), today, wax) == ()
    butter = next(line.ingredient for line in today.lines if line.ingredient.name == "shea butter, refined")
    assert own_parts(replace(brief, limits=()), today, butter) == (), "one substance is no blend"
