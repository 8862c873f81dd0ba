"""Every answer of the demo's workshop in every renderer: nothing that is told is lost on the way.

The tellings are those that the commands make, caught as they are printed; JSON stands in test_schemas.py.
"""

import html
import re
from dataclasses import replace
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from optiform.telling.document import document, fragment
from optiform.telling.drawing import svg
from optiform.telling.frame import comma_separated, frame
from optiform.telling.parts import Telling
from optiform.telling.terminal import terminal
from tests.telling.conftest import Said
from tests.telling.test_words import LINES

NONE = {"one more", "watch"}  #: on the demo no purchase helps, and no rule that begins is broken
NOT_TOLD = {"new", "sheet", "guide", "completion", "schema", "stock import", "stock receive"}  #: no answer in parts


@pytest.fixture
def tellings(said: Said) -> dict[str, Telling]:
    """The telling of each command."""
    return said.tellings


def close(text: str) -> str:
    """Text without blanks, however it is wrapped and hyphenated."""
    return re.sub(r"\s+", "", text.replace("\u2011", "-").replace("\u00a0", " "))


def bare(page: str) -> str:
    """What a page says, without its tags."""
    return close(html.unescape(re.sub(r"<style.*?</style>|<svg.*?</svg>|<[^>]+>", " ", page, flags=re.S)))


def on_screen(telling: Telling) -> Telling:
    """The telling without room to write and sign in, which is on paper only."""
    return replace(telling, sections=tuple(section for section in telling.sections if not section.paper))


def sentences(telling: Telling) -> tuple[str, ...]:
    """Every sentence that a screen tells."""
    return on_screen(telling).sentences


def test_every_command_that_answers_is_caught(tellings: dict[str, Telling]) -> None:
    assert set(tellings) == set(LINES) - NOT_TOLD


def test_a_terminal_says_every_sentence_and_every_word_of_the_tables(tellings: dict[str, Telling]) -> None:
    for name, telling in tellings.items():
        whole = terminal(telling, 90)
        assert [text for text in sentences(telling) if close(text) not in close(whole)] == [], name
        cells = (text for table in on_screen(telling).tables for row in table.on_screen().texts for text in row)
        words = {word for text in cells for word in text.split()}
        assert {word for word in words if word not in whole} == set(), name


def test_a_page_to_print_says_every_sentence_and_every_cell(tellings: dict[str, Telling]) -> None:
    for name, telling in tellings.items():
        for page in (document(telling), fragment(telling)):
            said = bare(page)
            assert [text for text in sentences(telling) if close(text) not in said] == [], name
            cells = [text for table in on_screen(telling).tables for row in table.texts for text in row]
            assert [text for text in cells if close(text) not in said] == [], name


def test_a_data_frame_and_a_spreadsheet_have_every_row_of_the_answer(tellings: dict[str, Telling]) -> None:
    for name, telling in tellings.items():
        rows = len(telling.table.rows)
        assert rows > 0 or name in NONE, name
        assert len(frame(telling.table)) == rows, name
        assert comma_separated(telling.table).count("\n") >= rows, name
        assert len({column.words for column in telling.table.columns}) == len(telling.table.columns), name


def test_every_chart_is_drawn(tellings: dict[str, Telling]) -> None:
    drawn = {name: [svg(chart) for chart in telling.charts] for name, telling in tellings.items()}
    assert all(picture.startswith("<svg") for pictures in drawn.values() for picture in pictures)
    assert {"costs", "texture", "cheaper", "explore limit"} <= {name for name, many in drawn.items() if many}


def _page() -> None:
    """A page of the workbench that tells every answer, one below the other."""
    import streamlit as st
    from workbench.parts import told

    for name, telling in st.session_state["tellings"].items():
        told(telling, name)


def test_a_page_of_the_workbench_says_every_sentence(tellings: dict[str, Telling]) -> None:
    from workbench.wording import on_page

    from tests.ui.test_pages import unfolded

    at = AppTest.from_function(_page, default_timeout=60)
    at.session_state["tellings"] = tellings
    unfolded(at.run())
    shown = [*at.markdown, *at.warning, *at.error, *at.info, *at.caption, *at.text, *at.success]
    said = close(" ".join(str(element.value) for element in shown).replace("\\", ""))
    lost = {
        name: [t for t in sentences(telling) if close(on_page(t)) not in said] for name, telling in tellings.items()
    }
    assert {name: texts for name, texts in lost.items() if texts} == {}


def test_a_page_names_no_option_of_a_command(tellings: dict[str, Telling]) -> None:
    from workbench.wording import on_page

    said = {on_page(text) for telling in tellings.values() for text in sentences(telling)}
    assert {text for text in said if re.search(r"(?<![\w-])--[a-z]", text)} == set()


def test_what_a_telling_says_of_itself_in_a_file_is_one_page(tellings: dict[str, Telling], tmp_path: Path) -> None:
    for name, telling in tellings.items():
        path = tmp_path / f"{name}.html"
        path.write_text(document(telling), encoding="utf-8")
        assert path.read_text(encoding="utf-8").startswith("<!doctype html>")
