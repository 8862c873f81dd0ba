"""TOML as text: comments, order and spelling of what is not changed survive; what is written says what was meant."""

import datetime
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optiform.reading.toml_text import changed_text, toml_text

BRIEF = """# Winter's scrub, third attempt
title = "Scrub"   # as on the jar
exclude = [
    "cocoa butter",  # too dear
    "glycerin",
]

[goal]
lowest = 'cost'

# what holds
[limits]
# firm in summer
"oil phase" = { low = "24 %", high = "32 %" }   # tried twice
"grains" = 30.0

# the lines
[lines]
fragrance = "0.8 %"  # Anna's limit

[[part]]
name = "plain"  # most of it
share = "60 %"

[[part]]
name = "blue"
share = "40 %"
"""


def changed(edit: str, **names: Any) -> str:
    """The brief's text after an edit of its document, in Python."""
    document = tomllib.loads(BRIEF)
    exec(edit, {"d": document, **names})
    text = changed_text(BRIEF, document)
    assert tomllib.loads(text) == document
    return text


def test_what_is_not_changed_stays_to_the_letter() -> None:
    assert changed("") == BRIEF


@pytest.mark.parametrize(
    ("edit", "old", "new"),
    [
        ("d['title'] = 'Polish'", '"Scrub"   #', '"Polish"   #'),
        ("d['limits']['oil phase']['low'] = '26 %'", '"24 %"', '"26 %"'),
        ("d['limits']['grains'] = 31.5", "30.0", "31.5"),
        ("d['lines']['fragrance'] = '1 %'", '"0.8 %"  # Anna', '"1 %"  # Anna'),
        ("d['lines']['water'] = 5", "Anna's limit\n", "Anna's limit\nwater = 5\n"),
        ("d['limits']['water'] = {'low': 5}", '"grains" = 30.0\n', '"grains" = 30.0\nwater = {low = 5}\n'),
        ("d['part'][1]['share'] = '41 %'", '"40 %"', '"41 %"'),
        ("d['part'][1]['jars'] = 3", 'share = "40 %"\n', 'share = "40 %"\njars = 3\n'),
        ("del d['limits']['grains']", '"grains" = 30.0\n', ""),
        ("del d['part'][0]", '[[part]]\nname = "plain"  # most of it\nshare = "60 %"\n\n', ""),
        ("d['exclude'].pop()", '    "glycerin",\n', ""),
        ("d['batch'] = '2 kg'", "]\n\n[goal]", ']\nbatch = "2 kg"\n\n[goal]'),
        ("d['goal'] = {'highest': 'oil phase'}", "lowest = 'cost'", 'highest = "oil phase"'),
    ],
)
def test_a_change_changes_its_own_words_only(edit: str, old: str, new: str) -> None:
    assert changed(edit) == BRIEF.replace(old, new, 1)


def test_a_list_gets_its_new_entries_at_its_end() -> None:
    text = changed("d['exclude'].append('kaolin')")
    assert '"cocoa butter",  # too dear' in text


def test_a_new_part_stands_under_a_heading_of_its_own() -> None:
    assert changed("d['part'].append({'name': 'green', 'share': '0 %'})").count("[[part]]") == 3


def test_what_is_spelled_otherwise_and_means_the_same_stays_as_it_is() -> None:
    text = 'wage = "0.25 EUR/min"  # agreed\nloss = "4 percent"\n'
    before = {"wage": "15 EUR/h", "loss": "4 %"}
    assert changed_text(text, {**before, "loss": "5 %"}, before) == text.replace("4 percent", "5 %")


def test_what_only_the_text_says_stays() -> None:
    assert changed_text("a = 1\nb = 2\n", {"a": 3}, {"a": 1}) == "a = 3\nb = 2\n"


def test_true_is_not_one_and_one_is_not_a_fraction() -> None:
    assert changed_text("a = 1", {"a": True}) == "a = true"
    assert changed_text("a = 1", {"a": 1.0}) == "a = 1.0"


names = st.text(min_size=1, max_size=8)
cells = st.one_of(
    st.text(max_size=8), st.integers(-9, 9), st.booleans(), st.dates(datetime.date(1990, 1, 1)), st.floats(-9, 9)
)
tables = st.dictionaries(
    names, cells | st.lists(cells, max_size=3) | st.dictionaries(names, cells, max_size=3), max_size=4
)
documents = st.dictionaries(names, cells | tables | st.lists(tables, min_size=1, max_size=3), max_size=4)


@given(documents)
def test_whatever_is_written_is_read_again(document: dict[str, Any]) -> None:
    assert tomllib.loads(toml_text(document)) == document


@given(documents, documents)
def test_whatever_is_changed_says_what_was_meant(before: dict[str, Any], after: dict[str, Any]) -> None:
    assert tomllib.loads(changed_text(toml_text(before), after)) == after
