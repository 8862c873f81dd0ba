"""Names that look like a known one: told with it, never taken for it."""

from collections.abc import Iterable, Mapping, Sequence

from optiform.reading.faults import Inspection

ALIKE = 0.8  #: of difflib's ratio; below it lie words that mean something else
_LONGEST = 100  # characters of a name that is compared
ONE_OF_THE_KEYS = "one of the keys: "


def nearest(word: str, known: Iterable[str]) -> str:
    """The known name that a word looks like; empty where there is none, or where it is one.

    Example:
        >>> nearest("prise", ["price", "pack"]), nearest("lwo", ["low", "high"])
        ('price', 'low')
    """
    names = list(known)
    if word in names or len(word) > _LONGEST:
        return ""
    if swapped := next((name for name in names if _swapped(word, name)), ""):
        return swapped
    from difflib import get_close_matches  # only for what is misspelt

    return next(iter(get_close_matches(word, names, n=1, cutoff=ALIKE)), "")


def _swapped(word: str, name: str) -> bool:
    """Whether two letters side by side are all that is the other way round."""
    differing = [at for at, (one, other) in enumerate(zip(word, name, strict=False)) if one != other]
    if len(word) != len(name) or len(differing) != 2 or differing[1] - differing[0] != 1:
        return False
    first, second = differing
    return word[first] == name[second] and word[second] == name[first]


def one_of_the_keys(key: str, known: Iterable[str]) -> str:
    """What was expected where an unknown key stood, with the one that was probably meant.

    Example:
        >>> one_of_the_keys("limit", ["limits", "lines"])
        'limits? one of the keys: limits, lines'
    """
    names = list(known)
    same = key.casefold()
    near = same if same in names else nearest(same, names)
    expected = f"{ONE_OF_THE_KEYS}{', '.join(names)}"
    return f"{near}? {expected}" if near else expected


def refuse_misspelt(
    header: Sequence[str], known: Iterable[str], inspection: Inspection, meant: Mapping[str, str] | None = None
) -> list[str]:
    """Note every column that looks like a known one; these columns.

    Args:
        header: the columns' names.
        known: the columns that are read.
        inspection: where it is noted.
        meant: other words that people use for a known column.
    """
    names, refused = list(known), []
    for column in header:
        if near := (meant or {}).get(column) or nearest(column, names):
            inspection.fault("header", column, f"{near!r}, or a name less like it for something else")
            refused.append(column)
    return refused
