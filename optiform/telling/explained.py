"""Every rule of chemistry as it is explained: the rules of chemistry.csv, and the windows of acidity.csv."""

from functools import cache

from optiform.ingredients.ingredient import Evidence
from optiform.reading.frozen import frozen
from optiform.rules.acidity import OVERLAP, WATERY, Window, windows
from optiform.rules.chemistry import Chemistry, chemistry
from optiform.rules.forms import LEVELS, Rule
from optiform.telling.acidity import window_words


@frozen
class Explained:
    """A rule with what keeps it, in words.

    Attributes:
        form: need, clash, level or acidity.
        ways: each way to keep it.
        kinds: of product that it is about, or is not about where the first word is `not`; all where empty.
        areas: where the product is used that it is about; all where empty.
        exposures: of the oils to air and light in the pack that it is about; all where empty.
        figures: how well its amounts are known, apart from the statement.
    """

    rule: Rule
    form: str
    ways: tuple[str, ...]
    kinds: tuple[str, ...]
    figures: Evidence
    note: str
    exposures: tuple[str, ...] = ()
    areas: tuple[str, ...] = ()


@cache
def explained() -> tuple[Explained, ...]:
    """Every rule, the gravest first.

    Example:
        >>> len(explained()) > 160, explained()[0].rule.level
        (True, 'stop')
    """
    every = (*map(_of_table, chemistry()), *map(_of_window, windows()))
    return tuple(sorted(every, key=lambda x: (LEVELS.index(x.rule.level), x.rule.about, x.rule.id)))


def matching(words: str) -> tuple[Explained, ...]:
    """The rule of this id, those about this, else those whose id, title, text or amounts have every word; or all.

    Example:
        >>> [x.rule.id for x in matching("acid-carbonate")], matching("no such thing")
        (['acid-carbonate'], ())
    """
    named = tuple(x for x in explained() if x.rule.id == words.casefold())
    about = tuple(x for x in explained() if x.rule.about == words.casefold())
    if named or about or not words:
        return named or about or explained()
    wanted = words.casefold().split()
    return tuple(x for x in explained() if all(word in _searched(x) for word in wanted))


def _searched(x: Explained) -> str:
    return " ".join((x.rule.id, x.rule.about, x.rule.level, x.rule.title, x.rule.text, *x.ways)).casefold()


def _of_table(row: Chemistry) -> Explained:
    ways = tuple(" and ".join(term.words for term in way) for way in row.ways)
    kinds = ("not", *row.kinds) if row.but else row.kinds
    return Explained(row.rule, row.form, ways, kinds, row.figures, row.note, row.exposures, row.areas)


def _of_window(window: Window) -> Explained:
    rule = Rule(
        id=window.id,
        about="acidity",
        level=window.level,
        title=window_words(window),
        text=f"Outside: {window.outside or 'it does not work as meant'}.",
        evidence=window.evidence,
        source=window.source,
    )
    own = f"a pH of the product in this window, at least {OVERLAP:g} wide together with the windows of all the others"
    ways = (f"water at most {100 * WATERY:g} %", own, f"no {window.of}")
    return Explained(rule, "acidity", ways, (), window.bounds, "")
