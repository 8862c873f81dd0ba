"""What is wrong with a text that is no TOML: every line at fault, with its text and how to write it."""

import re
import tomllib
from collections.abc import Iterator, Sequence

QUOTES = "\"'\u201c\u201d\u201e\u2018\u2019 "  #: of keyboards and of word processors
QUOTES = "\"'\u201c\u201d\u201e\u2018\u2019 "  #: of keyboards and of word processors
LONGEST = 60  #: characters of a value that is written out anew
LINES = 20  #: that are told of one file; who mends these sees the next
_AT = re.compile(r"(?P<what>.*) \(at (?:line (?P<line>\d+), column \d+|end of document)\)", re.DOTALL)
_PAIR = re.compile(r"\s*(?P<key>[^=#]*?)\s*=\s*(?P<value>[^#]*?)\s*(?:#.*)?")
_OPENS = re.compile(r"[^#=]*=\s*[\[{]")


def faults_of(text: str) -> Iterator[tuple[str, str, str]]:
    """Place, line and what to do, of each line of a text that keeps it from being TOML.

    A line that is no TOML by itself is taken out and the rest is looked at again, so that all are told at once.

    Args:
        text: that could not be read.

    Example:
        >>> list(faults_of("batch = 4 kg"))
        [('line 1', 'batch = 4 kg', 'Put quotes around it: batch = "4 kg"')]
    """
    lines = text.split("\n")
    for _ in range(LINES):
        what, number = _first(lines)
        line = lines[number - 1] if what else ""
        if not line:
            return
        yield f"line {number}", line.strip(), _remedy(what, line)
        lines[number - 1] = f"[taken-out-{number}]" if line.lstrip().startswith("[") else ""


def _first(lines: Sequence[str]) -> tuple[str, int]:
    """What the parser says first, and the number of the line that it is about; nothing where it reads them."""
    try:
        tomllib.loads("\n".join(lines))
    except (ValueError, RecursionError) as error:
        at = _AT.fullmatch(str(error))
        number = int(at["line"]) if at and at["line"] else len(lines)
        return (at["what"] if at else str(error)), _before(lines, number, at["what"] if at else "")
    return "", 0


def _before(lines: Sequence[str], number: int, what: str) -> int:
    """The line at fault: the parser notices what is not closed where something else stands, further down."""
    opens = what.startswith("Unclosed")
    upwards = range(min(number, len(lines)), 0, -1)
    wrong = (k for k in upwards if _alone(lines[k - 1]) and (not opens or _OPENS.match(lines[k - 1])))
    return next(wrong, number)


def _alone(line: str) -> str:
    """What the parser says of a line by itself; nothing where it is TOML."""
    try:
        tomllib.loads(line)
    except (ValueError, RecursionError) as error:
        return str(error)
    return ""


# -- what to do --------------------------------------------------------------------------------------------------------

_TWICE = "It is said twice. Take one of the two out"
#: What the parser says, and what to do then; what is none of them is a value that is none.
_REMEDIES = (
    (r"Cannot (overwrite|declare|mutate|redefine)|Duplicate", _TWICE),
    (r"Exceeds", "Write a number of ordinary size"),
    (r"Expected '\]", "Close the heading: [limits], or [[part]] with two brackets on either side"),
    (r"Unescaped|Escaped|Invalid hex", "Write a backslash twice, or put single quotes around the text"),
)  # fmt: skip
_KEY = 'Write a key, an equals sign and a value: batch = "4 kg"'


def _remedy(what: str, line: str) -> str:
    """What to do about a line of which the parser says this."""
    key, value = (pair["key"], pair["value"]) if (pair := _PAIR.fullmatch(line)) else ("", "")
    told = next((told for pattern, told in _REMEDIES if re.match(pattern, what)), "")
    if told == _TWICE and line.lstrip().startswith("["):
        return "This heading is there already. Where there are several, write each in two brackets: [[product]]"
    if told or not key or not value:
        return told or _KEY
    if re.match(r"Expected '='|Invalid (statement|initial)", what):
        return f'Put quotes around the words before the equals sign: "{key}" = ...' if " " in key else _KEY
    return _value(key, value)


def _value(key: str, value: str) -> str:
    """How to write a value that is none: words and amounts with a unit stand in straight quotes."""
    bare = value.strip(QUOTES)
    if value[0] in "{[" or value[-1] in "}]":
        closed = all(value.count(begin) == value.count(end) for begin, end in ("{}", "[]"))
        first = "Put straight quotes around words and amounts" if closed else "Close every bracket"
        return f'{first}: {{ low = "2 %", high = "5 %" }} or ["EU", "US"]'
    if re.fullmatch(r"\d{4}-\d+-\d+", value):
        return "There is no such day. Write a date such as 2026-11-25"
    if re.fullmatch(r"[-+]?\d+,\d+", value):
        return f"Write a decimal point, or quotes: {key} = {value.replace(',', '.')}"
    if bare.casefold() in ("true", "false"):
        return f"Write it in small letters, without quotes: {key} = {bare.casefold()}"
    if '"' in bare or len(bare) > LONGEST:
        return "Put one pair of quotes around the whole value"
    if value.count('"') == 1 or value.count("'") == 1:
        return f'Close the quote: {key} = "{bare}"'
    return f'Put quotes around it: {key} = "{bare}"'
