"""What a supplier states of the goods settles what the law asks of them, never what a limit says of the jar."""

import datetime
from dataclasses import replace
from pathlib import Path

import pytest

from optiform.brief.file import read_brief
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.own_table import read_own_file
from optiform.ingredients.statements import conditions, confirmed
from optiform.label.declare import declare
from optiform.review.answer import Report
from optiform.review.measures import Setting
from optiform.review.report import report
from optiform.review.watch import coming
from optiform.rules.law import Scope, rules
from optiform.telling.facts import in_words
from optiform.telling.report import law_line
from tests.builders import ingredient

DAY = datetime.date(2026, 11, 27)
WATER = ingredient("water", 0.0, "water", contains={"Aqua": 100.0})
#: How makers write that they have a paper, in five languages: nothing of it is read but that there is one.
PAPERS = "letter of 2026-03-01", "Schreiben vom 01.03.2026", "lettre du 01/03/2026", "carta.pdf", "dichiarazione_3.docx"


def formula(inci: str, percent: float, *stated: str) -> Formula:
    stuff = replace(
        ingredient("stuff", 1.0, "active", contains={inci: 100.0}), statements=dict.fromkeys(stated, PAPERS[0])
    )
    return Formula("case", (Line(stuff, percent / 100, "cool-down"), Line(WATER, 1 - percent / 100, "water phase")))


def looked_at(market: str, use: str, *case: str | float) -> Report:
    return report(formula(*case), Setting(scope=Scope(use, "body", (market,), DAY)))  # type: ignore[arg-type]


CASES = [
    ("Petrolatum", 30, "refining history"), ("Paraffinum Liquidum", 10, "pharmacopoeia grade"),
    ("Paraffin", 5, "pharmacopoeia grade"), ("Cera Microcristallina", 5, "pharmacopoeia grade"),
    ("Cocamide DEA", 2, "dialkanolamide purity"), ("Ethanolamine", 0.5, "monoalkanolamine purity"),
    ("Triethanolamine", 0.8, "trialkanolamine purity"), ("Polyquaternium-7", 0.5, "acrylamide 0.5 mg/kg"),
    ("Arachis Hypogaea Oil", 10, "peanut protein"), ("Hydrolyzed Wheat Protein", 1, "peptide weight"),
    ("Adeps Bovis", 60, "category 3"),
]  # fmt: skip


@pytest.mark.parametrize("market", ["EU", "GB"])
@pytest.mark.parametrize(("inci", "percent", "condition"), CASES)
def test_a_condition_is_met_with_the_statement_and_says_that_it_rests_on_it(
    inci: str, percent: float, condition: str, market: str
) -> None:
    without, stated = (
        looked_at(market, "rinse-off", inci, percent),
        looked_at(market, "rinse-off", inci, percent, condition),
    )
    assert (without.keeps_law, stated.keeps_law) == (None, True)
    words = law_line(stated, None).text
    assert f"rests on your supplier's statement of stuff ({condition}: {PAPERS[0]})" in words
    assert "statement" not in law_line(without, None).text
    assert any(f"'{condition}: '" in warning.text for warning in without.warnings)


def test_another_condition_settles_nothing_and_is_told_as_not_needed() -> None:
    looked = looked_at("EU", "rinse-off", "Petrolatum", 30, "category 3")
    assert looked.keeps_law is None
    assert [in_words(stated).startswith("Not needed here") for stated in looked.statements] == [True]


@pytest.mark.parametrize(
    ("inci", "percent"), [("Triethanolamine", 3), ("Hydroquinone", 0.5), ("Phenoxyethanol", 1.2), ("Homosalate", 5)]
)
def test_nothing_that_is_over_a_limit_or_prohibited_is_lifted_by_any_statement(inci: str, percent: float) -> None:
    assert looked_at("EU", "leave-on", inci, percent, *conditions()).keeps_law is False


def test_no_statement_settles_what_is_open_for_another_reason() -> None:
    """Sodium nitrite, hemp flowers, a name that no table has, a grade that nobody declares."""
    for inci in ("Sodium Nitrite", "Cannabis Sativa Flower Extract", "Unheardium Extract", "Cyclomethicone"):
        assert looked_at("EU", "rinse-off", inci, 0.1, *conditions()).keeps_law is None, inci


def test_two_ingredients_that_hang_on_one_condition_need_two_statements() -> None:
    bare, (stated, water) = formula("Paraffin", 10).lines[0], formula("Paraffin", 20, "pharmacopoeia grade").lines
    both = Formula("case", (stated, replace(bare, ingredient=replace(bare.ingredient, name="other")), water))
    assert report(both, Setting(scope=Scope("leave-on", "body", ("EU",), DAY))).keeps_law is None


def test_only_open_rules_without_a_limit_can_be_stated() -> None:
    assert {(rule.kind, rule.limit, rule.only) for rule in rules() if rule.statement} == {("open", None, "")}


@pytest.mark.parametrize("paper", PAPERS)
def test_a_paper_is_taken_in_any_language(paper: str) -> None:
    assert confirmed(f"Refining  History: {paper}; category 3: {paper}") == {
        "refining history": paper, "category 3": paper,
    }  # fmt: skip


@pytest.mark.parametrize(
    "cell",
    [
        "yes",
        "refining history",
        "refining history: yes",
        "refining: 2026-03-01",
        "category 3: a.pdf; category 3: b.pdf",
    ],
)
def test_a_statement_without_its_condition_or_its_paper_is_refused(cell: str) -> None:
    with pytest.raises(ValueError, match=r"condition|file|once"):
        confirmed(cell)


def test_the_own_table_keeps_it_and_names_the_cell_that_is_wrong(tmp_path: Path) -> None:
    table = tmp_path / "own.csv"
    table.write_text(
        "ingredient;supplier statement\npetrolatum;refining history: 1,5 g seen, a.pdf\nparaffin wax;soon\n",
        encoding="utf-8",
    )
    rows, faults = read_own_file(table)
    assert rows[0].statements == {"refining history": "1,5 g seen, a.pdf"}
    assert [fault.place for fault in faults] == ["row 3, column supplier statement"]


def test_a_brief_takes_it_from_its_own_table(tmp_path: Path) -> None:
    (tmp_path / "own.csv").write_text(
        "ingredient,supplier statement\npetrolatum,refining history: a.pdf\n", encoding="utf-8"
    )
    (tmp_path / "brief.toml").write_text(
        'kind = "balm"\nown_files = ["own.csv"]\ncandidates = ["petrolatum", "beeswax"]\n', encoding="utf-8"
    )
    item = read_brief(tmp_path / "brief.toml").catalogue.ingredients["petrolatum"]
    assert item.statements == {"refining history": "a.pdf"}


def test_a_declaration_lists_it_among_what_to_keep_at_hand() -> None:
    draft = declare(formula("Petrolatum", 30, "refining history"), Scope("leave-on", "body", ("EU",), DAY))
    assert [(paper.condition, bool(paper.rules)) for paper in draft.papers] == [("refining history", True)]
    assert not draft.warnings


def test_a_rule_that_begins_finds_the_statement_there() -> None:
    """Dihexyl phthalate in a filter, from 2027."""
    scope, until = Scope("leave-on", "body", ("EU",), DAY), datetime.date(2027, 1, 2)
    name = "Diethylamino Hydroxybenzoyl Hexyl Benzoate"
    begun = [coming(formula(name, 2, *stated), scope, until) for stated in ((), ("dihexyl phthalate",))]
    assert [[rule.id for rule in rules if rule.id == "EU-VI-DHHB-2027"] for rules in begun] == [["EU-VI-DHHB-2027"], []]


@pytest.mark.parametrize(("inci", "percent", "told"), [("Octocrylene", 0.1, True), ("Homosalate", 0.1, False)])
def test_a_limit_that_was_not_read_at_the_act_is_said_in_the_answer(inci: str, percent: float, told: bool) -> None:
    """In Great Britain: that of octocrylene is inferred, that of homosalate was read in the annex."""
    filtered = replace(ingredient("filter", 1.0, "uv filter", contains={inci: 100.0}))
    case = Formula("case", (Line(filtered, percent, "oil phase"), Line(WATER, 1 - percent, "water phase")))
    looked = report(case, Setting(scope=Scope("leave-on", "body", ("GB",), DAY)))
    assert looked.keeps_law is True
    assert (f"Not read at the act itself: {inci.casefold()}" in law_line(looked, None).text) is told
