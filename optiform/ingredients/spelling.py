"""Spellings of a substance's name: what two of them have in common, and what stands around a name.

Pure text: which names there are is known to `names.py`.
"""

import re
import unicodedata
from collections.abc import Iterator
from itertools import islice

BRACKETS = 3  #: brackets of a name that are looked at, so that a row of hundreds takes no time
LONGEST = 300  #: characters of a text that is looked at; the longest INCI names have about 100

_GREEK = {
    "\N{GREEK SMALL LETTER ALPHA}": "alpha",
    "\N{GREEK SMALL LETTER BETA}": "beta",
    "\N{GREEK SMALL LETTER GAMMA}": "gamma",
    "\N{GREEK SMALL LETTER DELTA}": "delta",
    "\N{GREEK SMALL LETTER EPSILON}": "epsilon",
    "\N{GREEK SMALL LETTER KAPPA}": "kappa",
    "\N{GREEK SMALL LETTER LAMDA}": "lambda",
    "\N{GREEK SMALL LETTER OMEGA}": "omega",
}
_DOTTED = re.compile(rf"\.({'|'.join(_GREEK.values())})\.")
#: A sign of rotation in brackets tells one isomer from another: it is spelled out before other signs go.
_ROTATIONS = (
    (re.compile(r"\(\s*(?:±|\+\s*/?\s*-)\s*\)"), "~pm~"),
    (re.compile(r"\(\s*\+\s*\)"), "~p~"),
    (re.compile(r"\(\s*-\s*\)"), "~m~"),
)
_DASHES = re.compile("[\\u2010-\\u2015\\u2212]")
_BRITISH = (("sulph", "sulf"), ("aluminium", "aluminum"))
_BETWEEN_DIGITS = re.compile(r"(?<=[0-9])[^a-z0-9~]+(?=[0-9])")
_SIGNS = re.compile(r"[^a-z0-9~-]|(?<![0-9])-|-(?![0-9])")
_MARKS = re.compile(r"[®™©*°†‡•]")

_SHARE = re.compile(
    r"^(?P<name>.*?[^\s(\[,;:-])(?P<gap>(?:[\s(\[;:]|[,-](?= ))+)(?:(?:min|max|ca|approx)\.? ?|about |[≥≤<>~] ?)?"
    r"(?P<share>[0-9]+(?:[.,][0-9]+)?)(?: ?(?:-|to) ?[0-9]+(?:[.,][0-9]+)?)? ?(?P<unit>%|percent|pct)?"
    r"(?: ?(?:w/w|m/m|solution|active|aqueous))?[)\]]?$",
    re.IGNORECASE,
)
_BRACKET = re.compile(r"[(\[]([^()\[\]]*)[)\]]")
_PARTS = re.compile(r"\s*\(\s*and\s*\)\s*|\s+and\s+|\s+[&+]\s+|\s*[;/]\s*|\s*,(?!(?<=[0-9],)[0-9])\s*", re.IGNORECASE)
_NUMBER = re.compile(
    r"^(?:(?:cas|ec|einecs|elincs)(?:[ -]?(?:no|nr|number))?\.? ?:? ?)?"
    r"([0-9]{2,7}-[0-9]{2}-[0-9]|[0-9]{3}-[0-9]{3}-[0-9])$",
    re.IGNORECASE,
)
_GRADE = re.compile(r"[ ,]+(?:usp|bp|nf|ep|fcc|ph\. ?eur\.?|pharma grade|cosmetic grade|food grade)$", re.IGNORECASE)
#: A colour index number, by which the lists of the law name colours. Behind a colon stands which lake of it.
COLOUR_NUMBER = re.compile(r"C\.?\s?I\.?\s?(?:No\.?\s?)?\d{5}", re.IGNORECASE)
_CERTIFIED = re.compile(r"(?:F|Ext\.?\s?)?D&C\s[a-z]+\s(?:No\.?\s?)?\d+", re.IGNORECASE)


def is_colour(name: str) -> bool:
    """Whether a name can be nothing but a colour: its number, or what the US calls one that it certifies.

    Example:
        >>> is_colour("CI 77491"), is_colour("Ext. D&C Violet No. 2"), is_colour("CI 77491:1")
        (True, True, False)
    """
    return any(pattern.fullmatch(name) for pattern in (COLOUR_NUMBER, _CERTIFIED))


def tidy(text: str) -> str:
    r"""A name as it was written, in one line: composed letters, plain dashes and single blanks, no marks around it.

    Example:
        >>> tidy("  Cetearyl\u00a0Alcohol* ")
        'Cetearyl Alcohol'
    """
    text = _MARKS.sub("", _DASHES.sub("-", unicodedata.normalize("NFKC", text[: 2 * LONGEST])))
    return " ".join(text.split()).strip(" .,;:")[:LONGEST]


def fold(text: str) -> str:
    r"""What all spellings of a name have in common: letters and figures without case, blanks, hyphens and accents.

    Greek letters are words, British spelling is American, figures stay apart from each other, and a sign of rotation
    in brackets stays: (+)-limonene is not limonene.

    Example:
        >>> fold("PEG\u2011100 STEARATE"), fold("1,2-Hexanediol"), fold("\u03b1-Pinene"), fold("(+)-Limonene")
        ('peg100stearate', '1-2hexanediol', 'alphapinene', '~p~limonene')
    """
    text = text.casefold() if text.isascii() else _plain_letters(text)
    if "." in text:
        text = _DOTTED.sub(r"\1", text)
    text = text.replace("~", "")
    if "(" in text:
        for rotation, word in _ROTATIONS:
            text = rotation.sub(word, text)
    for british, american in _BRITISH:
        text = text.replace(british, american)
    return _SIGNS.sub("", _BETWEEN_DIGITS.sub("-", text))


def _plain_letters(text: str) -> str:
    """Small letters without accents, Greek ones as words, all dashes alike."""
    text = unicodedata.normalize("NFD", _DASHES.sub("-", unicodedata.normalize("NFKC", text))).casefold()
    return "".join(_GREEK.get(letter, letter) for letter in text if not unicodedata.combining(letter))


def without_share(text: str) -> tuple[str, str, bool]:
    """A name without the share that stands behind it: (name, share as written, whether a sign says that it is one).

    The share of a range is its first end. Empty where nothing like a share stands there.

    Example:
        >>> without_share("Phenoxyethanol 100"), without_share("Sorbitol (70 %)"), without_share("Steareth-2")
        (('Phenoxyethanol', '100', False), ('Sorbitol', '70', True), ('Steareth-2', '', False))
    """
    match = _SHARE.match(text)
    if match is None or not (match["unit"] or re.search(r"[\s(\[]", match["gap"])):
        return text, "", False
    return match["name"], match["share"], bool(match["unit"])


def bracketed(text: str) -> Iterator[tuple[str, str, bool]]:
    """Each way to take one of the first brackets out of a name: what is left, what stood in it, whether a word follows.

    Example:
        >>> list(bracketed("Cocos Nucifera (Coconut) Oil"))
        [('Cocos Nucifera Oil', 'Coconut', True)]
    """
    for match in islice(_BRACKET.finditer(text), BRACKETS):
        outside = tidy(f"{text[: match.start()]} {text[match.end() :]}")
        if outside and re.search(r"[^\W_]", match[1]):
            yield outside, tidy(match[1]), text[match.end() :].strip()[:1].isalpha()


def parts(text: str) -> list[str]:
    """What a name of several names is made of: `and`, a comma, a stroke, `&` and `+` stand between names.

    Example:
        >>> parts("Phenoxyethanol (and) Ethylhexylglycerin"), parts("1,2-Hexanediol")
        (['Phenoxyethanol', 'Ethylhexylglycerin'], ['1,2-Hexanediol'])
    """
    return [part for part in map(tidy, _PARTS.split(text)) if part]


def turned(text: str) -> str:
    """A name whose last word was put first, the right way round; empty where there is not exactly one comma.

    Example:
        >>> turned("Oil, sunflower seed")
        'sunflower seed Oil'
    """
    first, comma, rest = text.partition(", ")
    return f"{rest} {first}" if comma and "," not in rest else ""


def without_grade(text: str) -> str:
    """A name without the pharmacopoeia or grade behind it."""
    return _GRADE.sub("", text)


def number(text: str) -> str:
    """The CAS or EC number that a text is, with `CAS` before it or not; empty where it is none.

    Example:
        >>> number("CAS No. 122-99-6"), number("1,2-Hexanediol")
        ('122-99-6', '')
    """
    match = _NUMBER.match(text)
    return match[1] if match else ""
