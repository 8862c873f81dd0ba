"""Law cannot be switched off by a spelling, and what no table knows is not known."""

import datetime
from pathlib import Path

import pytest

from optiform.brief.file import read_brief
from optiform.design.answer import Designed
from optiform.design.design import design
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.names import resolve
from optiform.label.declare import declare
from optiform.review.answer import Checked, Report
from optiform.review.check import check
from optiform.review.measures import Setting
from optiform.rules.law import Scope
from optiform.telling import json as jsonform
from optiform.telling.drafted import statement
from optiform.telling.facts import in_words
from optiform.telling.parts import Table, Telling
from optiform.telling.report import law as law_section

TODAY = datetime.date(2026, 11, 25)
FIVE = ("PHENOXYETHANOL", "phenoxyethanol", "Phenoxyethanol 100", "2-Phenoxyethanol", "122-99-6")


def own(folder: Path, inci: str, more: str = "") -> Path:
    path = folder / "own.csv"
    path.write_text(
        f"ingredient,phase,functions,inci,price (EUR/kg)\nour stuff,water phase,humectant,{inci},0.1\n{more}",
        encoding="utf-8",
    )
    return path


def checked(folder: Path, inci: str, percent: float, *markets: str, more: str = "", line: str = "our stuff") -> Checked:
    """A formula of an own ingredient that declares this, the rest water."""
    path = folder / "formula.csv"
    path.write_text(f"ingredient,percent\n{line},{percent}\nwater,{100 - percent}\n", encoding="utf-8")
    scope = Scope("rinse-off", "body", markets or ("EU",), TODAY)
    return check(path, read_catalogue([own(folder, inci, more)]), Setting(scope=scope))


def law_words(found: Report) -> str:
    return " ".join(Telling("", (law_section(found),), Table((), ())).sentences)


@pytest.mark.parametrize("inci", FIVE)
def test_a_limit_holds_however_the_name_is_spelled(tmp_path: Path, inci: str) -> None:
    assert checked(tmp_path, inci, 3.0).report.keeps_law is False
    assert checked(tmp_path, inci, 0.9).report.keeps_law is True


def designed(folder: Path, inci: str) -> Designed:
    """The cheapest of water and an own ingredient that declares this and costs less."""
    own(folder, inci, "water,,,,0.5\n")
    brief = folder / "brief.toml"
    brief.write_text(
        'title = "t"\nkind = "lotion"\nuse = "rinse-off"\nmarkets = ["EU"]\ndate = 2026-11-25\n'
        'own_files = ["own.csv"]\ncandidates = ["water", "our stuff"]\n'
        'usual = "warn"\noverrule = ["water-needs-preservative", "phenoxyethanol-alone"]\n[goal]\nlowest = "cost"\n',
        encoding="utf-8",
    )
    answer = design(read_brief(brief))
    assert isinstance(answer, Designed)
    return answer


@pytest.mark.parametrize("inci", FIVE)
def test_a_design_keeps_the_law_however_the_name_is_spelled(tmp_path: Path, inci: str) -> None:
    found = designed(tmp_path, inci).report
    assert 100 * found.formula.fraction("our stuff") == pytest.approx(1.0)  # the limit of Annex V/29
    assert found.keeps_law is True


def test_a_design_counts_what_a_name_from_memory_may_be(tmp_path: Path) -> None:
    """It is not taken for potassium sorbate, but nothing is proposed that would break the law if it were."""
    assert not resolve("Kalii sorbas").certain
    answer = designed(tmp_path, "Kalii sorbas")
    assert [one for one in answer.binding if "Kalii sorbas may be Potassium Sorbate" in one.demand.reason]
    found = answer.report
    assert 100 * found.formula.fraction("our stuff") == pytest.approx(0.6 / 0.7464, rel=1e-3)  # 0.6 % as the acid
    assert found.keeps_law is None


@pytest.mark.parametrize(
    ("inci", "near"),
    [("Phenoxyethanl", "Phenoxyethanol"), ("E415", "Xanthan Gum"), ("Moon Dust", ""), ("Cocamide MEA", "Cocamide DEA")],
)
def test_a_name_that_no_table_knows_is_named_and_law_is_null(tmp_path: Path, inci: str, near: str) -> None:
    found = checked(tmp_path, inci, 3.0)
    (words,) = [text for text in map(str, found.report.warnings) if text.startswith(f"{inci}, in our stuff")]
    assert "EU: nothing was looked up for it" in words
    assert near in words
    assert jsonform.checked(found, "EUR", 1.0)["keeps"]["law"] is None
    assert f"because of: {inci}." in law_words(found.report)


def test_what_is_spelled_but_not_judged_is_not_known_either(tmp_path: Path) -> None:
    """Zirconium Chlorohydrate stands in the rows of the US alone; in the EU nothing was looked up for it."""
    assert checked(tmp_path, "Zirconium Chlorohydrate", 0.1, "EU").report.keeps_law is None
    both = checked(tmp_path, "Zirconium Chlorohydrate 90; Chloroform 10", 0.1, "EU", "US").report
    assert both.keeps_law is False, "what is broken is broken, whatever else is not known"


def test_a_broken_rule_is_told_beside_what_is_not_known(tmp_path: Path) -> None:
    assert checked(tmp_path, "Phenoxyethanol 60; Moon Dust 40", 3.0).report.keeps_law is False
    assert checked(tmp_path, "Phenoxyethanol 60; Moon Dust 40", 1.0).report.keeps_law is None


def test_an_ingredient_that_declares_nothing_is_not_known(tmp_path: Path) -> None:
    found = checked(tmp_path, "", 3.0).report
    assert found.keeps_law is None
    assert [text for text in map(str, found.warnings) if "our stuff declares nothing" in text]


def test_a_line_that_is_not_used_keeps_nothing_open(tmp_path: Path) -> None:
    assert checked(tmp_path, "Moon Dust", 0.0).report.keeps_law is True


@pytest.mark.parametrize(("certificate", "law"), [("8.9", True), ("", None), ("0.1", False)])
def test_a_fragrance_without_a_certificate_is_not_known(tmp_path: Path, certificate: str, law: bool | None) -> None:
    path = tmp_path / "formula.csv"
    path.write_text("ingredient,percent\nfragrance oil,0.6\nwater,99.4\n", encoding="utf-8")
    (tmp_path / "own.csv").write_text(f"ingredient,certificate maximum 9 (%)\nfragrance oil,{certificate}\n")
    setting = Setting(scope=Scope("rinse-off", "body", ("EU",), TODAY))
    found = check(path, read_catalogue([tmp_path / "own.csv"]), setting).report
    assert found.keeps_law is law
    assert ("fragrance oil, without a certificate" in law_words(found)) is (law is None)


def test_what_law_is_not_looked_at_is_said(tmp_path: Path) -> None:
    told = law_words(checked(tmp_path, "Glycerin", 3.0).report)
    assert "Not looked at: impurities, the size of particles (nano)" in told


def test_without_a_market_nothing_is_looked_up_and_nothing_is_open(tmp_path: Path) -> None:
    path = tmp_path / "formula.csv"
    path.write_text("ingredient,percent\nour stuff,3\nwater,97\n", encoding="utf-8")
    setting = Setting(scope=Scope("rinse-off", "body", (), TODAY))
    found = check(path, read_catalogue([own(tmp_path, "Moon Dust")]), setting).report
    assert found.keeps_law is None
    assert not [text for text in map(str, found.warnings) if "Moon Dust" in text]


@pytest.mark.parametrize(
    ("day", "words", "missing"),
    [
        (datetime.date(2026, 7, 14), "", "releases formaldehyde"),
        (datetime.date(2026, 7, 15), "releases formaldehyde", "contains formaldehyde"),
    ],
)
def test_what_releases_formaldehyde_in_britain(tmp_path: Path, day: datetime.date, words: str, missing: str) -> None:
    """0.03 % of a releaser, counted whole: under 0.05 % before 2026-07-15, over 0.001 % from then on."""
    path = tmp_path / "formula.csv"
    path.write_text("ingredient,percent\nour stuff,0.03\nwater,99.97\n", encoding="utf-8")
    catalogue = read_catalogue([own(tmp_path, "DMDM-HYDANTOIN")])
    scope = Scope("leave-on", "body", ("GB",), day)
    found = check(path, catalogue, Setting(scope=scope))
    told = [rule for rule in found.report.rules if rule.group.startswith("formaldehyde released")]
    assert [(rule.limit, rule.kept, str(rule.evidence)) for rule in told] == [
        (0.001, False, "secondary") if words else (0.05, True, "secondary")
    ]
    statements = " ".join(map(statement, declare(found.reading.formula, scope).statements))
    assert words in statements
    assert missing not in statements


def test_a_draft_of_a_label_names_what_no_table_knows(tmp_path: Path) -> None:
    found = checked(tmp_path, "Moon Dust", 3.0)
    told = map(in_words, declare(found.reading.formula, Scope("rinse-off", "body", ("EU",), TODAY)).warnings)
    assert [text for text in told if text.startswith("Moon Dust, in our stuff, stands in no table of law for EU")]
