"""Candidates that a kind of product is made without: left out and told, unless the maker names them."""

from pathlib import Path

import pytest

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.design.answer import Designed, NoFormula
from optiform.design.cheaper import cheaper
from optiform.design.design import design
from optiform.design.substitute import substitute
from optiform.design.texture import texture
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Basis, Formula, Reading
from optiform.reading.paths import DEMO
from optiform.review.answer import Checked
from optiform.review.measures import Setting, setting_of
from optiform.review.report import report
from optiform.rules.kinds import ruled_out
from optiform.telling import cheaper as of_cheaper
from optiform.telling import json as jsonform
from optiform.telling import substitute as of_substitute
from optiform.telling import texture as of_texture
from optiform.telling.check import checked
from optiform.telling.design import designed
from optiform.telling.facts import in_words
from optiform.telling.impossible import impossible
from optiform.telling.parts import Sentence
from optiform.telling.terminal import terminal
from optiform.telling.unused import left_out
from tests.builders import reasons

WET = "a body butter is made without a water phase (common practice, no source)"
HEAD = """
title = "Whipped butter"
kind = "body butter"
use = "leave-on"
own_files = ["workshop.csv"]
"""
LIMITS = """
[limits]
"share of butter" = { low = "50 %" }
"solid fat at 20 degC" = { low = "25 %", high = "45 %" }
"""
BUTTER = "ingredient,percent\ncoconut oil,60\ncocoa butter,15\nmango butter,5\nrice bran oil,20\n"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "workshop.csv").write_text((DEMO / "workshop.csv").read_text(encoding="utf-8"), encoding="utf-8")
    return tmp_path


def brief(shop: Path, keys: str = "", more: str = "", kind: str = "body butter") -> Brief:
    path = shop / "brief.toml"
    path.write_text(HEAD.replace("body butter", kind) + keys + LIMITS + more, encoding="utf-8")
    return read_brief(path)


def test_a_butter_is_not_answered_with_water_sugar_or_clay(shop: Path) -> None:
    asked = brief(shop)
    answer = design(asked)
    assert isinstance(answer, Designed)
    assert {line.phase for line in answer.report.formula.lines} == {"oil phase"}
    told = reasons(asked)
    assert (told["water"], told["glycerin"]) == (WET, WET)
    assert told["sea salt, fine"].startswith("a body butter is not a scrub")
    assert "kaolin" in told
    assert "coconut oil" not in told


def test_what_is_left_out_is_told_once_for_each_reason(shop: Path) -> None:
    asked = brief(shop, 'exclude = ["cocoa butter"]\n')
    told = [part.text for part in left_out(asked).parts if isinstance(part, Sentence)]
    assert [line for line in told if "water" in line and "glycerin" in line and WET in line]
    assert "Left out, excluded by the brief: cocoa butter." in told
    assert len([line for line in told if WET in line]) == 1
    assert any("[lines]" in line for line in told)


@pytest.mark.parametrize(
    ("keys", "more"),
    [
        ('candidates = ["water", "coconut oil", "cocoa butter", "rice bran oil"]\n', ""),
        ("", '[lines]\n"water" = { high = "20 %" }\n'),
    ],
)
def test_named_by_the_maker_it_stays_and_that_is_told(shop: Path, keys: str, more: str) -> None:
    asked = brief(shop, keys, more)
    assert "water" in [item.name for item in asked.mix.ingredients]
    assert [(name, in_words(why)) for name, why in asked.against_kind] == [("water", WET)]
    answer = design(asked)
    assert isinstance(answer, Designed)
    assert f"water is usually left out, as {WET}; it is in because the brief names it." in designed(answer).sentences
    assert jsonform.designed(answer)["against_kind"] == [{"ingredient": "water", "reason": WET}]


def told_of(kind: str, formula: Formula, asked: Brief | None) -> str:
    setting = Setting(kind=kind) if asked is None else setting_of(asked)
    answer = Checked(Reading(formula, Basis.WHOLE, 100.0, False), report(formula, setting), asked)
    return " ".join(checked(answer, setting).brief().sentences)


def test_an_amount_of_what_the_kind_leaves_out_is_taken_and_told_in_one_sentence(shop: Path) -> None:
    asked = brief(shop, more='[lines]\n"glycerin" = { low = "2 %", high = "3 %" }\n')
    answer = design(asked)
    assert isinstance(answer, Designed)
    formula = answer.report.formula
    assert formula.fraction("glycerin") >= 0.02 - 1e-9
    words = f"glycerin is usually left out, as {WET}; it is in because the brief names it."
    assert words in designed(answer).brief().sentences
    assert " ".join(designed(answer).sentences).count(WET) == 2, "once of glycerin, once of what is left out"
    assert words in told_of("", formula, asked)
    assert f"glycerin is usually left out, as {WET}." in told_of("body butter", formula, None)
    assert "left out" not in told_of("lotion", formula, None)
    data = jsonform.checked(Checked(Reading(formula, Basis.WHOLE, 100.0, False), answer.report, asked), "EUR", 1.0)
    assert data["against_kind"] == [{"ingredient": "glycerin", "reason": WET}]


def test_it_is_told_that_todays_formula_has_what_the_kind_leaves_out(shop: Path) -> None:
    (shop / "today.csv").write_text(BUTTER + "glycerin,2\nkaolin,3\nwater,1\n", encoding="utf-8")
    asked = brief(shop, 'reference = "today.csv"\n')
    assert asked.reference is not None
    told = told_of("", asked.reference, asked)
    assert f"glycerin; water are usually left out, as {WET}; they are in because today's formula has them." in told
    assert "kaolin is usually left out, as a body butter is made without clay" in told


def test_what_todays_formula_has_stays(shop: Path) -> None:
    (shop / "today.csv").write_text(BUTTER + "glycerin,2\n", encoding="utf-8")
    asked = brief(shop, 'reference = "today.csv"\n')
    assert [name for name, _ in asked.against_kind] == ["glycerin"]
    assert "water" in dict(asked.left_out)


@pytest.mark.long
def test_the_jobs_around_todays_formula_bring_in_no_water_and_say_why(shop: Path) -> None:
    (shop / "today.csv").write_text(BUTTER, encoding="utf-8")
    asked = brief(shop, 'reference = "today.csv"\n')
    texts = [
        of_cheaper.cheaper(found := cheaper(asked)).sentences,
        of_substitute.substitute(substitute(asked, ["mango butter"])).sentences,
        of_texture.texture(texture(asked, -10)).sentences,
    ]
    for sentences in texts:
        assert WET in " ".join(sentences)
    wet = {name for name, why in reasons(asked).items() if why == WET}
    assert not {line.ingredient.name for rung in found.rungs for line in rung.report.formula.lines} & wet


def test_a_brief_that_needs_what_its_kind_is_made_without_says_so(shop: Path) -> None:
    answer = design(brief(shop, more='"humectant active" = { low = "3 %" }\n'))
    assert isinstance(answer, NoFormula)
    assert WET in " ".join(impossible(answer).brief().sentences)


def test_warnings_come_under_the_formula_before_its_proof(shop: Path) -> None:
    answer = design(brief(shop, 'usual = "warn"\n', kind="balm"))
    assert isinstance(answer, Designed)
    text = terminal(designed(answer), 100)
    order = ("ingredients cost", "Unusual in this kind", "Limits\n", "No other formula")
    places = [text.index(words) for words in order]
    assert places == sorted(places)


@pytest.mark.parametrize(
    ("kind", "name", "why"),
    [
        ("body butter", "water", "made without a water phase"),
        ("body butter", "citric acid", "made without water"),
        ("solid scrub bar", "citric acid", "made without water"),
        ("body butter", "panthenol, 75 % solution", "made without water"),
        ("body butter", "sugar, granulated", "not a scrub"),
        ("body butter", "corn starch", ""),
        ("anhydrous emulsified scrub", "sugar, granulated", ""),
        ("anhydrous emulsified scrub", "glycerin", ""),
        ("anhydrous emulsified scrub", "sorbitol, 70 %", "made without water"),
        ("anhydrous emulsified scrub", "xanthan gum", "made without water"),
        ("lotion", "water", ""),
        ("lotion", "pumice, fine", "not a scrub"),
        ("cream scrub", "sea salt, fine", ""),
        ("", "water", ""),
    ],
)
def test_which_kind_is_made_without_what(kind: str, name: str, why: str) -> None:
    told = ruled_out(kind, read_catalogue().ingredients[name.casefold()])
    assert (why in in_words(told)) if told else why == ""
