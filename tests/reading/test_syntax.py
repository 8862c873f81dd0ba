"""A text that is no TOML: every line at fault at once, with how to write it."""

import pytest

from optiform.reading.documents import document_of
from optiform.reading.faults import BadInput
from optiform.reading.syntax import faults_of

REMEDIES = {
    'title = "Balm': 'Close the quote: title = "Balm"',
    "title = 'Balm": 'Close the quote: title = "Balm"',
    "batch = 4 kg": 'Put quotes around it: batch = "4 kg"',
    "kind = cream scrub": 'Put quotes around it: kind = "cream scrub"',
    "batch = “4 kg”": 'Put quotes around it: batch = "4 kg"',
    "scale = 4,5": "Write a decimal point, or quotes: scale = 4.5",
    "cools_fast = True": "Write it in small letters, without quotes: cools_fast = true",
    "date = 2026-13-01": "There is no such day. Write a date such as 2026-11-25",
    "[limits": "Close the heading: [limits], or [[part]] with two brackets on either side",
    'oil phase = "3 %"': 'Put quotes around the words before the equals sign: "oil phase" = ...',
    '"oil phase" = { low = 2 % }': (
        'Put straight quotes around words and amounts: { low = "2 %", high = "5 %" } or ["EU", "US"]'
    ),
    '"oil phase" = { low = "2 %"': 'Close every bracket: { low = "2 %", high = "5 %" } or ["EU", "US"]',
    "loss =": 'Write a key, an equals sign and a value: batch = "4 kg"',
}  # fmt: skip


@pytest.mark.parametrize("line", REMEDIES)
def test_a_line_at_fault_is_told_with_how_to_write_it(line: str) -> None:
    assert list(faults_of(f"first = 1\n{line}\nlast = 1")) == [("line 2", line, REMEDIES[line])]


def test_every_line_at_fault_is_told_at_once() -> None:
    lines = [line for line in REMEDIES if not {*"[{"} & {*line}]
    assert {place for place, *_ in faults_of("\n".join(lines))} == {f"line {k + 1}" for k in range(len(lines))}


def test_what_is_said_twice_is_told_where_it_is_said_again() -> None:
    assert [place for place, *_ in faults_of("a = 1\nb = 2\na = 3\n[c]\n[c]")] == ["line 3", "line 5"]


def test_a_list_that_is_not_closed_is_told_where_it_begins() -> None:
    assert next(place for place, *_ in faults_of('a = 1\nb = ["x",\n  "y"\n[c]\nd = 2')) == "line 2"


def test_a_document_says_what_was_written_and_no_words_of_the_parser() -> None:
    with pytest.raises(BadInput) as bad:
        document_of('title = "Balm\nbatch = 4 kg\n', "brief.toml")
    assert str(bad.value) == (
        'brief.toml: line 1: “title = "Balm” cannot be read. Close the quote: title = "Balm".\n'
        'brief.toml: line 2: “batch = 4 kg” cannot be read. Put quotes around it: batch = "4 kg".'
    )
