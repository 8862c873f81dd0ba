"""What a brief asks of the choice of its ingredients: `[[choose]]`, `[[when]]`, and `if_used` of a line.

Each is of the form that a rule of chemistry has (rules/forms.py): kept in at least one of several ways.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import comb

from optiform.brief.background import Background
from optiform.ingredients.ingredient import Evidence
from optiform.reading import keys
from optiform.reading.cells import Cells, between
from optiform.rules.forms import Bound, Either, Keeping, Rule, absent

ASKED = "asked"  #: id of every choice a brief asks for
LEAST = 0.1  # %: the least dose of one that is taken; nobody notices less
MOST_WAYS = 120  # of one choice
CHOOSE: keys.Keys = {
    "of": keys.one_of("names"),
    "exactly": keys.count("so many of them, or most, or least"),
    "most": keys.count(least=0),
    "least": keys.count(),
    "dose": keys.amount(f"the least of one that is taken; {LEAST:g} % if left out"),
}
WHEN: keys.Keys = {
    "uses": keys.one_of("names", "an ingredient, or several together"),
    "above": keys.amount("more than so much; any if left out"),
    "also": keys.one_of("names", "then of this too, or of several together"),
    "at_least": keys.amount("so much of it"),
}
COUNTS = ("exactly", "most", "least")


def choices_of(background: Background) -> tuple[Either, ...]:
    """Every choice that the brief asks for, in its order."""
    cells = background.cells
    chosen = (_chosen(background, table) for table in cells.numbered("choose", "tables: [[choose]], each with of"))
    needs = (_needed(background, table) for table in cells.numbered("when", "tables: [[when]], each with uses"))
    return tuple(either for either in (*chosen, *needs, *_doses(background)) if either is not None)


def asked(words: str, ways: Sequence[Keeping]) -> Either:
    """A choice that a brief asks for, in its words.

    Example:
        >>> asked("no butter", [(absent("no butter", ["shea butter"]),)]).rule.title
        'no butter'
    """
    text = "The brief asks for it, and the formula does not keep it."
    return Either(Rule(ASKED, "dose", "mind", words, text, Evidence.OWN), tuple(ways))


def _chosen(background: Background, cells: Cells) -> Either | None:
    """Exactly, at most or at least so many of a list."""
    cells.only(CHOOSE)
    names = _names(background, cells, "of")
    counts = [key for key in COUNTS if key in cells]
    if len(counts) != 1:
        words = f"{cells.where}: write how many in one of exactly, most and least, such as exactly = 1."
        cells.fault("", ", ".join(counts) or "no number", "one of: exactly, most, least", words)
    if not names or len(counts) != 1:
        return None
    count = cells.count(counts[0], 1, 0 if counts[0] == "most" else 1)
    dose = cells.quantity("dose", "%", LEAST, between(0.0, 100.0, "%"))
    if count > len(names):
        cells.fault(counts[0], count, f"at most {len(names)}, as many as are named")
        return None
    if comb(len(names), count) > MOST_WAYS:
        words = f"{comb(len(names), count)} ways to take {count} of {len(names)}"
        cells.fault("", words, f"at most {MOST_WAYS}: name fewer")
        return None
    how = {"exactly": "exactly", "most": "at most", "least": "at least"}[counts[0]]
    return asked(f"{how} {count} of {', '.join(names)}", list(_ways(names, counts[0], count, dose / 100)))


def _ways(names: Sequence[str], how: str, count: int, dose: float) -> Iterator[Keeping]:
    for taken in combinations(names, count):
        others = [name for name in names if name not in taken]
        none = (absent(f"no {', no '.join(others)}", others),) if others and how != "least" else ()
        yield (*none, *(_at_least([name], dose) for name in taken if how != "most"))


def _at_least(names: Sequence[str], dose: float) -> Bound:
    words = f"{' with '.join(names)} at least {100 * dose:.6g} %"
    return Bound(words, tuple((name, 1.0) for name in names), "low", dose)


def _needed(background: Background, cells: Cells) -> Either | None:
    """If there is some of one, then at least so much of another."""
    cells.only(WHEN)
    cells.lacks("at_least", "how much of it is needed then")
    uses, also = _names(background, cells, "uses"), _names(background, cells, "also")
    above = cells.quantity("above", "%", 0.0, between(0.0, 100.0, "%")) / 100
    dose = cells.quantity("at_least", "%", LEAST, between(0.0, 100.0, "%")) / 100
    if not uses or not also:
        return None
    of = " with ".join(uses)
    little = Bound(f"{of} at most {100 * above:.6g} %", tuple((name, 1.0) for name in uses), "high", above)
    enough = _at_least(also, dose)
    more = f"more than {100 * above:.6g} % of {of}" if above else of
    return asked(f"{enough.words} where there is {more}", [(little,), (enough,)])


def _doses(background: Background) -> Iterator[Either]:
    """Lines of which there is none at all or at least so much."""
    lines = background.cells.within("lines", expected="a table of ingredients")
    for name, written in lines.table.items():
        item = background.catalogue.find(name)
        if item is not None and isinstance(written, dict) and "if_used" in written:
            line = Cells(written, lines.inspection, lines.place(name))
            dose = line.quantity("if_used", "%", LEAST, between(0.0, 100.0, "%")) / 100
            enough = _at_least([item.name], dose)
            yield asked(f"{enough.words} if used", [(absent(f"no {item.name}", [item.name]),), (enough,)])


def _names(background: Background, cells: Cells, key: str) -> list[str]:
    """The ingredients under a key, a list or one of them, as the catalogue names them."""
    written = cells.table.get(key)
    names = [written] if isinstance(written, str) else written
    if not isinstance(names, list) or not names or not all(isinstance(name, str) for name in names):
        cells.fault(key, written, "an ingredient, or a list of them")
        return []
    items = [cells.known(key, name, background.catalogue) for name in names]
    known = [item.name for item in items if item is not None]
    if len(set(known)) < len(known):
        cells.fault(key, ", ".join(known), "each ingredient once")
    return list(dict.fromkeys(known)) if len(known) == len(names) else []
