"""What a declaration can stand for, told: the range of each name."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from optiform.label.from_label import ConstituentRange, LabelRanges, NoComposition
from optiform.label.middle import Middle
from optiform.telling.facts import in_words
from optiform.telling.parts import Column, Level, Section, Sentence, Table, Telling, number, sentences

HONEST = (
    "These are ranges, not a recipe: the order of a label allows all of them, and the centre is one of many. Two names "
    "do not reach their ends at once. A label does not tell what was bought, how it was made, or what was left out."
)
#: Where a name stands, as a maker reads it.
PLACES = {"in order": "above 1 %", "either side of the line": "above or below 1 %"}
MOST = 22  # names in the short telling


def label(answer: LabelRanges | NoComposition, name: str) -> Telling:
    """The range that each declared name can have, or why no composition has this declaration.

    Args:
        answer: for the label.
        name: of the label's file.
    """
    return _ranges(answer, name) if isinstance(answer, LabelRanges) else _none(answer, name)


def _ranges(answer: LabelRanges, name: str) -> Telling:
    columns = (
        Column("% of the jar"), Column("least", places=2), Column("centre", places=2), Column("most", places=2),
        Column("place"), Column("also held by", short=False),
    )  # fmt: skip
    rows = tuple(
        (x.inci, x.low, x.centre, x.high, PLACES.get(x.place, x.place), "; ".join(x.caps)) for x in answer.ranges
    )
    where = Sentence(
        f"The first name at or below 1 % of the jar is {_numbers(answer.first_below)} in the list. The centre takes it "
        f"to be number {answer.centre_for}."
    )
    sections = (
        Section("ranges", "", (where, Table(columns, rows)), most=MOST),
        Section("notes", "Good to know", sentences((HONEST, *map(in_words, answer.notes))), most=5),
    )
    return Telling(f"What the label {name} can stand for", sections, _table(answer.ranges))


def _numbers(places: Sequence[int]) -> str:
    """Numbers of names in words; those that follow one another as a range.

    Example:
        >>> _numbers([4]), _numbers([2, 3, 4]), _numbers([2, 4])
        ('number 4', 'one of numbers 2 to 4', 'one of numbers 2, 4')
    """
    if len(places) == 1:
        return f"number {places[0]}"
    closed = len(places) == places[-1] - places[0] + 1
    return f"one of numbers {f'{places[0]} to {places[-1]}' if closed else ', '.join(map(str, places))}"


def _table(ranges: Sequence[ConstituentRange]) -> Table:
    columns = (
        Column("name"), Column("least %"), Column("centre %"), Column("most %"), Column("place"), Column("held by"),
    )  # fmt: skip
    return Table(columns, tuple((x.inci, x.low, x.centre, x.high, x.place, "; ".join(x.caps)) for x in ranges))


def saved(centre: Middle, path: Path) -> Section:
    """What the saved centre is, and what was taken for its names."""
    return Section("saved", f"In {path}", tuple(of_centre(centre)))


def of_centre(centre: Middle) -> tuple[Sentence, ...]:
    """What the centre of a label is as a formula, and what was taken for its names."""
    return tuple(sentences(_saved(centre)))


def _saved(centre: Middle) -> Iterator[str]:
    yield "The centre as a formula: a middle of what the label allows, and no recipe."
    for inci, names in centre.assumed:
        yield f"{inci} is taken as {names[0]}; it may be {' or '.join(names[1:])}."
    if centre.missing:
        unknown = "; ".join(f"{inci} ({number(float(f'{share:.2g}'))} % of the jar)" for inci, share in centre.missing)
        yield f"Not in it, as no ingredient here is declared so: {unknown}. Add a line for what brings it."


def _none(answer: NoComposition, name: str) -> Telling:
    words = "No composition has this declaration. These contradict each other:"
    clash = Section("conflict", "", (Sentence(words, Level.STOP), *sentences(answer.conflict)))
    notes = Section("notes", "Good to know", sentences(map(in_words, answer.notes)), most=4)
    sections = (clash, notes)
    table = Table((Column("contradicts"),), tuple((words,) for words in answer.conflict))
    return Telling(f"What the label {name} can stand for", sections, table)
