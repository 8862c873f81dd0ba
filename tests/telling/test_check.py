"""The report on a formula that exists, told: whether it keeps the claims of its brief."""

from pathlib import Path

from optiform.brief.file import read_brief
from optiform.review.check import check_against
from optiform.review.measures import setting_of
from optiform.telling.check import checked
from optiform.telling.parts import Table, Telling
from optiform.telling.terminal import terminal

OWN = """ingredient,price (EUR/kg),functions,phase,origin
lamp oil,4,oil,oil phase,{}
plain oil,3,oil,oil phase,plant
beeswax,20,wax,oil phase,animal
"""


def told(folder: Path, origin: str, claim: str) -> str:
    (folder / "own.csv").write_text(OWN.format(origin), encoding="utf-8")
    (folder / "brief.toml").write_text(f'own_files = ["own.csv"]\nclaims = ["{claim}"]\n', encoding="utf-8")
    (folder / "mine.csv").write_text("ingredient,percent\nlamp oil,80\nbeeswax,20\n", encoding="utf-8")
    brief = read_brief(folder / "brief.toml")
    answer = check_against(folder / "mine.csv", brief)
    return " ".join(terminal(checked(answer, setting_of(brief))).split())


def test_a_sum_that_is_a_slip_comes_before_all_that_it_moves(tmp_path: Path) -> None:
    """One of rounding does not: 99.9 moves nothing that anybody weighs."""
    wish = 'kind = "balm"\ncandidates = ["olive oil", "beeswax"]\n[goal]\nnearest = "usual"\n'
    (tmp_path / "brief.toml").write_text(f'{wish}[limits]\n"oil phase" = {{ low = "20 %" }}\n', encoding="utf-8")
    brief = read_brief(tmp_path / "brief.toml")
    for oil, first in ((98.0, "! The amounts were read as % of the jar; they add up to 118."), (79.9, "Limits: ")):
        (tmp_path / "mine.csv").write_text(f"ingredient,percent\nolive oil,{oil}\nbeeswax,20\n", encoding="utf-8")
        (verdict,) = checked(check_against(tmp_path / "mine.csv", brief), setting_of(brief)).only("verdict").sections
        words = " ".join(terminal(Telling("", (verdict,), Table((), ()))).split())
        assert words.startswith(first)
        assert words.count("they add up to") == 1


def test_what_breaks_a_claim_and_what_has_no_origin_are_two_things(tmp_path: Path) -> None:
    assert "! Claim vegan: not kept by beeswax, and not known of lamp oil." in told(tmp_path, "", "vegan")
    assert "! Claim vegan: not kept by beeswax." in told(tmp_path, "plant", "vegan")
    assert "Claim palm-free: kept, by what its ingredients are usually made from" in told(
        tmp_path, "plant", "palm-free"
    )
