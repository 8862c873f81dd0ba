"""Bytes as text: UTF-8, UTF-16, or the code page that a spreadsheet of the maker's region writes.

A code page is told from the others by what its reading looks like: letters that its languages use, no sign and no
capital inside a word, no word of accented letters alone. Where two read equally well the western one is taken. That is
a guess, so the maker is told of it with a word to judge by.
"""

import codecs
import re
from itertools import pairwise

from optiform.reading import run
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen

_WEST = "äöüßéèêëàâçñóòáíìïúùåæøœôîûõãÄÖÜÉÈÀÇÑÓÁÍÚÅÆØŒÊÔ"
_CYRILLIC = "".join(map(chr, range(0x410, 0x450))) + "ёЁіїєґІЇЄҐ№"
_GREEK = "".join(map(chr, range(0x391, 0x3CF))) + "ΆΈΉΊΌΎΏ"


@frozen
class _Page:
    """A code page: words for it, the letters that its languages use, and those most used where two scripts compete."""

    words: str
    letters: frozenset[str]
    vowels: frozenset[str] = frozenset()


#: In the order in which they are preferred where they read equally well.
CODE_PAGES = {
    "cp1252": _Page("Windows, Western Europe (cp1252)", frozenset(_WEST)),
    "cp1250": _Page(
        "Windows, Central Europe (cp1250)",
        frozenset("ąćęłńśźżáčďéěíňóřšťúůýžőűäöüßĄĆĘŁŃŚŹŻÁČĎÉĚÍŇÓŘŠŤÚŮÝŽŐŰÄÖÜâăîșțşţđĐ"),
    ),
    "cp1251": _Page("Windows, Cyrillic (cp1251)", frozenset(_CYRILLIC), frozenset("аеиоя")),
    "cp1253": _Page("Windows, Greek (cp1253)", frozenset(_GREEK), frozenset("αειοηάέίόή")),
    "cp1254": _Page("Windows, Turkish (cp1254)", frozenset("çğıöşüÇĞİÖŞÜâî")),
    "mac_roman": _Page("Macintosh (Mac Roman)", frozenset(_WEST)),
    "cp850": _Page("DOS, Western Europe (cp850)", frozenset(_WEST)),
}
_MARKS = ((codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be"))
_WORKBOOKS = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"  #: how a spreadsheet's own files begin, new ones and old ones
_UTF_8_CHARACTER = re.compile(rb"[\xc3-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}|[\xf0-\xf4][\x80-\xbf]{3}")
_HIGH = re.compile(rb"[\x80-\xff]+")
#: Signs that a table of any region may have.
_SIGNS = frozenset("’‘‚“”„‹›«»°·–—…€£¥§©®™µ²³½¼¾±×‰\u00a0")  # noqa: RUF001
_OPENING, _CLOSING = frozenset("‚„‘“‹"), frozenset("…§©®™²³½¼¾±‰·")  # noqa: RUF001
#: A word of accented Latin letters alone: what Greek and Cyrillic look like in a Latin code page.
_ACCENTS_ONLY = re.compile(r"(?<![^\W\d_])[\u00c0-\u024f]{2,}(?![^\W\d_])")
_LOOKED_AT = 20_000  # bytes around what is no ASCII


def decoded(content: bytes, name: str) -> str:
    """The text that bytes are; where it is not UTF-8, that is noted in the run.

    Args:
        content: the whole file.
        name: the file, for faults and notes.

    Raises:
        BadInput: damaged UTF-8 or UTF-16, or no text at all.

    Example:
        >>> decoded("beurre de karité".encode("cp1252"), "today.csv")
        'beurre de karité'
    """
    if content.startswith(_WORKBOOKS):
        words = "it is a workbook or a zip, not text. Save the sheet as CSV (UTF-8), and name that file."
        raise BadInput([Fault(name, "file", "a workbook or a zip", "a table saved as CSV", words)])
    for mark, encoding in _MARKS:
        if content.startswith(mark):
            return _as(content[len(mark) :], encoding, name)
    if encoding := _unmarked_utf_16(content):
        return _as(content, encoding, name)
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        page = None if _mostly_utf_8(content) else _code_page(content)
        if page is None:
            raise _refused(error, name, "text in UTF-8") from None
    return _as(content, page, name)


def _as(content: bytes, encoding: str, name: str) -> str:
    try:
        text = content.decode(encoding)
    except UnicodeDecodeError as error:
        raise _refused(error, name, f"text in {encoding.upper()}, as the file begins") from None
    if encoding in CODE_PAGES:
        word = next((word for word in re.split(r"[\s,;]+", text) if not word.isascii()), "")
        words = f"read as {CODE_PAGES[encoding].words}, which shows {word[:40]!r}; if that is wrong, save it as UTF-8"
        run.note(name, words)
    elif encoding != "utf-8":
        run.note(name, "read as UTF-16")
    return text


def _refused(error: UnicodeDecodeError, name: str, expected: str) -> BadInput:
    return BadInput([Fault(name, f"byte {error.start}", f"byte 0x{error.object[error.start]:02x}", expected)])


def _unmarked_utf_16(content: bytes) -> str:
    """The order of bytes where nearly every second one of the beginning is null, as Latin text has it."""
    head = content[:400]
    half = len(head) // 2
    if half < 4 or len(content) % 2:
        return ""
    if head[1::2].count(0) > 0.7 * half and not head[0::2].count(0):
        return "utf-16-le"
    return "utf-16-be" if head[0::2].count(0) > 0.7 * half and not head[1::2].count(0) else ""


def _mostly_utf_8(content: bytes) -> bool:
    """Whether what is no ASCII is UTF-8 for the most part: then it is damaged, and no code page."""
    high = sum(map(len, _HIGH.findall(content)))
    return 2 * sum(map(len, _UTF_8_CHARACTER.findall(content))) > high


def _code_page(content: bytes) -> str | None:
    """The code page in which the bytes look most like words; None where they are text in none."""
    words = b" ".join(word for word in content.split() if not word.isascii())[:_LOOKED_AT]
    looks = {page: look for page in CODE_PAGES if _reads(content, page) and (look := _look(words, page)) is not None}
    return min(looks, key=lambda page: looks[page]) if looks else None


def _reads(content: bytes, page: str) -> bool:
    try:
        content.decode(page)
    except UnicodeDecodeError:
        return False
    return True


def _look(content: bytes, page: str) -> tuple[int, int] | None:
    """How strange the words look, then how few of the usual vowels they have; less is better. None for no text."""
    text = content.decode(page)
    if any("\x80" <= sign <= "\x9f" for sign in text):
        return None
    known = CODE_PAGES[page]
    foreign = sum(not sign.isascii() and sign not in known.letters and sign not in _SIGNS for sign in text)
    strange = sum(_strange(one, other) for one, other in pairwise(text)) + sum(map(len, _ACCENTS_ONLY.findall(text)))
    return foreign + strange, -sum(sign in known.vowels for sign in text.casefold())


def _strange(one: str, other: str) -> int:
    """How far two neighbours are from being part of a word: `aŠ`, `Ìà`, `sя`."""
    if one.isascii() and other.isascii():
        return 0
    if one.isalpha() and other.isalpha():
        capital_inside = one.islower() and other.isupper()
        return 3 * (_latin(one) != _latin(other)) + capital_inside
    return int((one.isalpha() and other in _OPENING) or (one in _CLOSING and other.isalpha()))


def _latin(letter: str) -> bool:
    return letter < "\u0250"
