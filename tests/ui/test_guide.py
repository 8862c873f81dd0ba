"""Behind the Help of every page stands what the guide says of it."""

import re
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest
from workbench import guide

from optiform.commands.arguments.help import TOPICS
from optiform.reading.paths import UI
from optiform.telling.guide import title, topic

PAGES = re.findall(r'Page\("[^"]+", title="([^"]+)"', Path(UI, "app.py").read_text(encoding="utf-8"))


def shown(page: str) -> None:
    from workbench import guide

    guide.behind(page)


def test_every_page_has_topics_and_every_topic_a_page() -> None:
    assert set(PAGES) == set(guide.TOPICS)
    assert {name for names in guide.TOPICS.values() for name in names} == set(TOPICS)


@pytest.mark.parametrize("page", sorted(guide.TOPICS))
def test_the_help_of_a_page_shows_its_topics(page: str) -> None:
    at = AppTest.from_function(shown, args=(page,)).run()
    assert not at.exception
    assert not at.tabs, "a page sends its help only when it is opened"
    at.session_state[f"help {page}"] = True
    at.run()
    assert [tab.label for tab in at.tabs] == [title(name) for name in guide.TOPICS[page]]
    texts = [text.value for text in at.markdown]
    assert [name for name in guide.TOPICS[page] if guide.on_page(name) not in texts] == []


def test_no_help_of_a_page_names_a_command_or_an_option() -> None:
    named = re.compile(
        r"`optiform |`--|`(?:design|check|weigh|explore|cheaper|substitute|texture|compare|declare|buy)`"
    )
    assert {name: found for name in TOPICS if (found := named.findall(guide.on_page(name)))} == {}
    assert "optiform stock" in topic("records"), "a terminal has them"


def test_no_topic_has_signs_that_a_page_would_take_for_more_than_text() -> None:
    signs = re.compile(r"\$|~~|!\[|\]\(|:\w+\[|<\w")
    assert [name for name in TOPICS if signs.search(re.sub(r"`[^`]*`", "", topic(name)))] == []


def test_help_on_a_page_begins_with_the_page_not_with_the_keys_of_a_file() -> None:
    assert guide.TOPICS["Workbench"][0] == "workbench"
