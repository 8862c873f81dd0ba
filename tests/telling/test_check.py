"""The report on a formula that exists, told: whether it keeps the claims of its brief."""

from pathlib import Path

from optiform.brief.file import read_brief
from optiform.review.check import check_against
from optiform.review.measures import setting_of
from optiform.telling.check import checked
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


def test_what_breaks_a_claim_and_what_has_no_origin_are_two_things(tmp_path: Path) -> None:
    assert "! Claim vegan: not kept by beeswax, and not known of lamp oil." in told(tmp_path, "", "vegan")
    assert "! Claim vegan: not kept by beeswax." in told(tmp_path, "plant", "vegan")
    assert "Claim palm-free: kept, by what its ingredients are usually made from" in told(
        tmp_path, "plant", "palm-free"
    )
