"""Properties, limits and how sure their figures are, in words."""

from collections.abc import Iterator, Sequence

from optiform.ingredients.ingredient import Evidence, Value
from optiform.program.build import Demand
from optiform.properties.base import OF_TODAY
from optiform.properties.base import of_what as of_what
from optiform.properties.grounds import Assumption, FittedTo, ListsDisagree, Readings, Relative, Traces
from optiform.review.answer import Measured
from optiform.telling.figures import listed
from optiform.telling.parts import Column, Part, Sentence, Table, number, sentences
from optiform.telling.words import in_words

#: How sure a figure or a statement is, for a maker.
SURE = {
    Evidence.PUBLISHED: "read",
    Evidence.OWN: "yours",
    Evidence.PRACTICE: "custom",
    Evidence.DERIVED: "worked out",
    Evidence.SECONDARY: "read second-hand",
    Evidence.ASSUMED: "middle of a range",
    Evidence.RECALLED: "from memory",
}


def heat_limit(limit: Value) -> str:
    """One figure, or two where suppliers differ, and how sure it is.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> heat_limit(read_catalogue().ingredients["honey"].value("heat limit"))
        'heat limit 45 degC (custom)'
    """
    both = f"{limit.least:g} to {limit.most:g} degC, suppliers differ" if limit.least < limit.most else ""
    return f"heat limit {both or f'{limit.most:g} degC'} ({SURE[limit.evidence]})"


RESTS_ON = {
    Assumption.ALL: "measured firmness lay up to three times off: a direction, until you log readings of your own",
    Assumption.WEIGHED: "its exponent is assumed until your own readings are fitted; how the grains pack is weighed",
}


@in_words.register
def _readings(fit: Readings) -> str:
    """Example:
    >>> in_words(Readings(2, 12, (10.0, 20.0), (168.0,)))
    '2 trials, 12 readings at 10 and 20 degC, 7 days old'
    """
    heat = listed([f"{at:g}" for at in fit.temperatures])
    days = listed([f"{hours / 24:.3g}" for hours in fit.ages])
    return f"{fit.trials} trials, {fit.readings} readings at {heat} degC, {days} days old"


@in_words.register
def _assumption(of: Assumption) -> str:
    return RESTS_ON[of]


@in_words.register
def _fitted_to(of: FittedTo) -> str:
    return f"its exponents are fitted to {in_words(of.readings)}"


@in_words.register
def _relative(note: Relative) -> str:
    return f"relative: today's formula is 100 at 20 degC; {in_words(note.rests_on)}"


@in_words.register
def _traces(note: Traces) -> str:
    """Example:
    >>> in_words(Traces(("disodium EDTA", "allantoin")))
    'disodium EDTA and allantoin have no density and count at 1 g/mL: of so little it does not matter'
    """
    have, count = ("has", "counts") if len(note.names) == 1 else ("have", "count")
    told = f"{listed(note.names)} {have} no density and {count} at 1 g/mL: of so little it does not matter"
    return f"{in_words(note.note)}; {told}" if note.note else told


@in_words.register
def _lists_disagree(note: ListsDisagree) -> str:
    """Example:
    >>> in_words(ListsDisagree((("squalane", 5.0, 11.0),)))
    'lists disagree on squalane (5 to 11): the middle counts, which no list has'
    """
    names = ", ".join(f"{name} ({low:g} to {high:g})" for name, low, high in note.spans)
    return f"lists disagree on {names}: the middle counts, which no list has"


def unit_of(demand: Demand) -> str:
    """The unit of a limit; a percentage with what it is of."""
    return of_what(demand.unit, demand.basis)


def demanded(demand: Demand, instead: str = "") -> str:
    """A limit as a person would say it, with another figure in its place where one is given."""
    if not instead:
        return demand.words
    return f"{demand.name} at {'least' if demand.side == 'low' else 'most'} {instead} {unit_of(demand)}".rstrip()


def wanted(low: float | None, high: float | None) -> str:
    """What a limit allows, without its unit.

    Example:
        >>> wanted(22, 28), wanted(6, None), wanted(3, 3), wanted(None, None)
        ('22 to 28', 'at least 6', 'exactly 3', '')
    """
    if low is not None and high is not None:
        return f"exactly {number(low)}" if low == high else f"{number(low)} to {number(high)}"
    if low is not None:
        return f"at least {number(low)}"
    return f"at most {number(high)}" if high is not None else ""


def state_of(measured: Measured) -> str:
    """Why there is no value."""
    return {"not known": "not known", "not given": "not given"}.get(measured.state, "does not apply")


def table(measures: Sequence[Measured], title: str = "") -> Table:
    """Properties with their limits, what they could be, and how sure they are."""
    limited = any(measured.limited for measured in measures)
    limit = (Column("your limit"),) if limited else ()
    columns = (
        Column("limit" if limited else "property"), Column("value", unknown="-"), Column(""), *limit,
        Column("could be"), Column("how sure"),
    )  # fmt: skip
    rows = tuple(
        (
            measured.name,
            _value(measured),
            of_what(measured.unit, measured.basis) if measured.value is not None else state_of(measured),
            *((wanted(measured.low, measured.high),) if limited else ()),
            " to ".join(number(rounded(end, measured.basis)) for end in measured.span) if measured.span else "",
            SURE[measured.evidence] if measured.value is not None else "",
        )
        for measured in measures
    )
    return Table(columns, rows, title)


def rounded(figure: float, basis: str) -> float:
    """A figure to three digits, as none is known better; a firmness as a whole number, as everywhere.

    Example:
        >>> rounded(1404.9, "whole"), rounded(1404.9, "today = 100")
        (1400.0, 1405.0)
    """
    return float(round(figure)) if basis == OF_TODAY else float(f"{figure:.3g}")


def _value(measured: Measured) -> float | None:
    """The value to three digits, as no figure is known better; more where it would look like a limit that it misses."""
    if measured.value is None:
        return None
    short = rounded(measured.value, measured.basis)
    return measured.value if measured.missed and short in (measured.low, measured.high) else short


def notes(measures: Sequence[Measured]) -> tuple[Sentence, ...]:
    """What there is to know of each property beside its figure."""
    return sentences(_notes(measures))


def _notes(measures: Sequence[Measured]) -> Iterator[str]:
    for measured in measures:
        if measured.lacking:
            yield f"{measured.name}: no figure for {', '.join(measured.lacking)}."
        elif measured.note and (measured.value is not None or measured.beyond):
            yield f"{measured.name}: {in_words(measured.note)}."


def told(measures: Sequence[Measured], title: str = "") -> tuple[Part, ...]:
    """Properties in a table, then the notes on them."""
    return (table(measures, title), *notes(measures)) if measures else ()
