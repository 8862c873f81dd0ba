"""Rules, and what a formula's acidity and preservation come to, as they are told."""

import json

import pytest

from optiform.cli import main
from optiform.ingredients.formula import mixed
from optiform.review.measures import Setting
from optiform.telling.acidity import acidity
from optiform.telling.document import document
from optiform.telling.explained import Explained, explained, matching
from optiform.telling.parts import Section, Table, Telling, readable
from optiform.telling.preservation import preservation
from optiform.telling.rules import nothing, rule, rules
from optiform.telling.terminal import terminal
from tests.every import every

LOTION = mixed(
    {
        "water": 76,
        "sunflower oil": 15,
        "emulsifying wax NF": 5,
        "sodium benzoate": 0.5,
        "phenoxyethanol + parabens": 0.5,
    }
)


def text(*sections: Section) -> str:
    return " ".join(terminal(Telling("t", tuple(sections), Table((), ()))).split())


def test_the_list_is_told_on_one_screen() -> None:
    for telling in (rules(explained()), rules(matching("charge"), "charge"), rule(explained()[0], {})):
        assert len(terminal(telling.brief(), 90).splitlines()) <= 40
        assert telling.title in document(telling)
    assert len(rules(explained()).table.rows) == len(explained())


@every("x", explained(), ids=lambda x: x.rule.id)
def test_every_rule_can_be_told_in_full(x: Explained) -> None:
    telling = rule(x, {})
    words = " ".join(telling.sentences)
    assert readable(x.rule.text) in words
    assert f'overrule = ["{x.rule.id}"]' in words
    assert "the statement" in words
    assert "its amounts" in words
    assert ".." not in words


def test_words_that_no_rule_has_are_told() -> None:
    assert "No rule has all of: moon dust." in terminal(nothing("moon dust", 9))


def test_the_command_prints_one_rule_and_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "acid-carbonate"]) == 0
    assert "Carbon dioxide" in capsys.readouterr().out
    assert main(["rules", "ph", "carbomer", "--json"]) == 0
    (data,) = json.loads(capsys.readouterr().out)["rules"]
    assert (data["id"], data["level"], data["about"]) == ("ph carbomer", "stop", "acidity")
    assert main(["rules", "no", "such", "thing"]) == 0


def test_where_the_windows_meet_is_told_and_never_a_ph_of_the_product() -> None:
    words = text(acidity(LOTION, Setting()))
    assert "A pH from 4 to 5 suits all of it" in words
    assert "measure it, set it" in words
    assert "The brief sets pH 4.5." in text(acidity(LOTION, Setting(ph=4.5)))
    assert acidity(mixed({"sweet almond oil": 90, "beeswax": 10}), Setting()).parts == ()


def test_windows_that_do_not_meet_are_told() -> None:
    wash = mixed({"water": 80, "sodium lauryl sulfoacetate": 10, "sodium benzoate": 1})
    assert "no one pH suits all of it" in text(acidity(wash, Setting()))


def test_what_preservatives_reach_and_what_is_left_to_ask() -> None:
    words = text(preservation(LOTION, Setting()))
    assert "benzoic acid 33.4 13.7 4.8 read" in words
    assert "methylparaben" in words
    assert "Is its water activity below 0.75?" in words
    assert "a challenge test" in words
    alone = text(preservation(mixed({"water": 99, "sodium benzoate": 1}), Setting(ph=5.0)))
    assert "Weak on gram negative" in alone
    assert "benzoic acid 13.7 read" in alone
    assert preservation(mixed({"sweet almond oil": 1}), Setting()).parts == ()
