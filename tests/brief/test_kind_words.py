"""Words that makers have for what they make lead to the kinds there are, or say that there is none."""

import pytest

from optiform.brief.brief import KINDS
from optiform.brief.kind_words import WITHOUT, Called, all_called, called, expected
from optiform.reading.sentences import sentence


def told(word: str) -> str:
    return sentence("--kind", repr(word), expected(word))


@pytest.mark.parametrize(
    ("word", "meant"),
    [
        ("whipped butter", "body butter"), ("Whipped Shea Butter", "body butter"),
        ("face cream", "lotion or hand and foot cream"), ("hand cream", "hand and foot cream"),
        ("lip balm", "stick and lip balm"), ("body lotion", "lotion"), ("rose body milk", "lotion"),
        ("sugar scrub", "anhydrous emulsified scrub or cream scrub"), ("shampoo bar", "solid cleansing bar"),
        ("balmm", "balm"), ("crem scrub", "cream scrub"), ("cuticle balm", "balm"), ("body buter", "body butter"),
    ],
)  # fmt: skip
def test_the_kinds_that_are_near_by_meaning_are_named(word: str, meant: str) -> None:
    assert told(word) == f"--kind: “{word}” is not known here. Did you mean {meant}?"


@pytest.mark.parametrize("word", ["cleansing gel", "shower gel", "aloe gel", "body wash", "shampoo", "cleansing milk"])
def test_where_no_kind_is_near_it_says_so_and_how_to_begin_without_one(word: str) -> None:
    assert told(word).startswith(f"--kind: “{word}” is not known here. There are no usual ranges for a")
    assert told(word).endswith(f". To make it, {WITHOUT}.")
    assert "Did you mean" not in told(word)


def test_soap_of_lye_is_no_kind_and_the_bar_that_is_one_is_named() -> None:
    words = told("soap")
    assert "There are no usual ranges for soap made of fats with lye" in words
    assert words.endswith("not worked out here. Did you mean solid cleansing bar?")


def test_a_word_that_nobody_knows_leads_to_the_list_and_to_a_beginning_without_a_kind() -> None:
    assert called("zebra") is None
    assert told("zebra").startswith("--kind: “zebra” is not known here. `optiform guide brief` lists the kinds there ")
    assert told("zebra").endswith(f"{WITHOUT}.")


def test_a_kind_is_itself_and_every_word_of_the_table_leads_to_kinds_or_says_what_has_none() -> None:
    assert [called(kind) for kind in KINDS] == [Called(kind, (kind,)) for kind in KINDS]
    words = [each.words for each in all_called()]
    assert len(words) == len(set(words)) >= 40
    for each in all_called():
        assert each.words == each.words.casefold()
        assert each.words not in KINDS
        assert set(each.kinds) <= set(KINDS)
        assert len(each.kinds) <= 2
        assert each.kinds or each.about
