"""The frame of printed pages: what a name may not do to a page, and where a hand may write."""

import re
from collections.abc import Callable
from html.parser import HTMLParser
from itertools import product

import pytest

from optiform.telling.page import bullets, heading, page, paragraph, section, table, text
from tests.every import every

HOSTILE = (
    "<script>alert(1)</script>",
    'salt" onmouseover="alert(1)',
    "salt' onload='alert(1)",
    "fish & chips &lt;b&gt;",
    "</td></table><img src=x onerror=alert(1)>",
    "<!-- ",
    "</style></title><h1>",
)
BUILDERS: dict[str, Callable[[str], str]] = {
    "text": text,
    "heading": heading,
    "paragraph": paragraph,
    "caution": lambda words: paragraph(words, "caution"),
    "bullets": lambda words: bullets([words]),
    "header": lambda words: table([words], []),
    "cell": lambda words: table(["name"], [[words]]),
    "number": lambda words: table(["name"], [[words]], right=[0]),
    "blank": lambda words: table(["name"], [[words]], blank=[0]),
    "title": lambda words: page(words),
    "section": lambda words: section(paragraph(words)),
    "tick": lambda words: table(["name"], [[words]], tick=[0]),
}


class Seen(HTMLParser):
    """The tags, attributes and words that a browser would read."""

    def __init__(self, source: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, tuple[tuple[str, str | None], ...]]] = []
        self.words: list[str] = []
        self.feed(source)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, tuple(attrs)))

    def handle_data(self, data: str) -> None:
        self.words.append(data)


@every("build, words", list(product(BUILDERS, HOSTILE)))
def test_words_stay_words(build: str, words: str) -> None:
    """The page has the tags that a harmless word gives it, and a reader sees the words as they are."""
    found, harmless = Seen(BUILDERS[build](words)), Seen(BUILDERS[build]("salt"))
    assert found.tags == harmless.tags
    assert words in found.words


def test_a_page_is_a_whole_document() -> None:
    found = page("Sheet", heading("Part"), paragraph("Words."))
    assert found.startswith('<!doctype html>\n<html lang="en">\n<meta charset="utf-8">\n<title>Sheet</title>')
    assert [tag for tag, _ in Seen(found).tags] == ["html", "meta", "title", "meta", "style", "h1", "h2", "p"]
    assert "http" not in found


def test_an_empty_cell_to_be_filled_in_is_ruled_and_a_filled_one_is_not() -> None:
    found = table(["name", "g"], [["salt", ""], ["oil", "5"]], blank=[1])
    assert found.count('class="blank"') == 1
    assert '<td>salt</td><td class="blank"></td>' in found
    assert "<td>oil</td><td>5</td>" in found
    assert 'class="blank"' not in table(["name", "g"], [["salt", ""]])


def test_the_rule_of_a_blank_is_in_the_style() -> None:
    style = page("Sheet").split("<style>")[1].split("</style>")[0]
    assert ".blank { border-bottom: 1px solid" in style


def test_numbers_stand_flush_right_also_where_they_may_be_filled_in() -> None:
    found = table(["name", "g"], [["salt", "5"], ["oil", ""]], right=[1], blank=[1])
    assert '<th class="number">g</th>' in found
    assert '<td class="number">5</td>' in found
    assert '<td>oil</td><td class="blank"></td>' in found


def test_the_head_of_a_table_is_repeated_on_every_printed_page() -> None:
    assert "<thead><tr><th>name</th></tr></thead>" in table(["name"], [])
    assert "thead { display: table-header-group }" in page("Sheet")


def test_bullets_and_classes() -> None:
    assert bullets(["a", "b"]) == "<ul><li>a</li><li>b</li></ul>"
    assert paragraph("a") == "<p>a</p>"
    assert paragraph("a", "small") == '<p class="small">a</p>'


@pytest.mark.parametrize("words", [*HOSTILE, "line\nbreak", "back\\slash", 'Q26-050 "blue" \u00e9'])
def test_the_running_line_ends_neither_its_string_nor_the_style(words: str) -> None:
    """Read back by the rules of CSS (CSS Syntax 3, consume an escaped code point) it is the words as they were."""
    style = page("Sheet", running=words).split("<style>")[1].split("</style>")[0]
    (content,) = re.findall(r'@top-left \{ content: "([^"]*)"', style)
    assert re.sub(r"\\([0-9a-f]{1,6}) ", lambda each: chr(int(each[1], 16)), content) == words
    assert Seen(page("Sheet", running=words)).tags == Seen(page("Sheet")).tags


def test_a_page_without_a_running_line_has_none_and_pages_are_numbered() -> None:
    assert "@top-left" not in page("Sheet")
    assert 'content: "page " counter(page)' in page("Sheet")


def test_a_heading_stays_with_its_table() -> None:
    assert re.search(r"h2 \{[^}]*break-after: avoid", page("Sheet"))
    assert section(heading("a"), table(["b"], [])).startswith("<section>\n<h2>a</h2>\n<table>")


def test_a_box_to_tick() -> None:
    found = table(["", "name"], [["", "salt"]], tick=[0])
    assert '<td class="tick"></td><td>salt</td>' in found
    assert "td.tick::before" in page("Sheet")
