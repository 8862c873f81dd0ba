"""What a page shows as large figures is not told again below them, and the answer stands first."""

import json

from streamlit.testing.v1 import AppTest

from tests.ui.test_pages import page, texts


def told(at: AppTest) -> str:
    return "\n".join((texts(at.markdown), texts(at.header), texts(at.caption)))


def test_a_jars_cost_is_told_once() -> None:
    at = page("costs")
    assert at.metric[0].label == "A jar of 150 g, EUR"
    assert "A jar costs" not in told(at)
    assert "jars of 150 g in" in told(at), "what follows it stays"


def test_what_is_to_pay_is_told_once() -> None:
    at = page("buying")
    assert at.metric[0].label == "To pay, EUR"
    assert "To pay:" not in told(at)
    assert "no choice of these packs costs less" in told(at)
    assert "24 jars of 150 g, today (today.csv), today's formula: " in told(at).replace("\\", "")


def test_the_title_of_what_changes_in_a_product_is_no_half_sentence() -> None:
    at = page("range")
    assert "today: what changes" in texts(at.header)


def test_nearly_as_good_answers_first() -> None:
    at = page("nearly")
    answer, beside = (told(at).index(words) for words in ("Option 1 is the best", "option 1 costs"))
    assert answer < beside


def test_a_page_says_what_to_do_on_a_page_and_names_no_command() -> None:
    at = page("trials")
    assert "Look at a formula under What they teach" in texts(at.markdown)
    assert "optiform " not in texts(at.markdown)


def test_the_benchs_table_has_room_for_the_longest_name() -> None:
    at = page("bench")
    (table,) = (each for each in at.dataframe if "in 1 kg" in each.value.columns)
    assert json.loads(table.proto.columns)["ingredient"]["width"] >= 7 * len("tetrasodium glutamate diacetate, 40 %")
