"""Formulas side by side, told: cost, firmness, label, and what moved."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import fsum

from optiform.properties.firmness import REFERENCE_TEMPERATURE
from optiform.reading.units import count_of
from optiform.review.answer import FormulaWarning, heaviest_first
from optiform.review.causes import Cause
from optiform.review.compare import Comparison, LineRow, PropertyRow
from optiform.telling.facts import in_words
from optiform.telling.figures import carried, shorten, significant
from optiform.telling.measured import of_what
from optiform.telling.parts import Cell, Column, Level, Part, Section, Sentence, Table, Telling, number, sentences
from optiform.telling.standing import firmness_beside
from optiform.telling.warned import in_short
from optiform.trials.firm import Firm

SHARED = (
    "The parts add up to the change of the property. Each is what its line does on the straight way from one formula "
    "to the other. A part counts as if nothing took its place: where one line replaces another, read both."
)
LINE_BY_LINE = (
    "Lines that take each other's place are told together where they pull both ways. Every line's part, with units: "
    "--part shares."
)
SMALL = 0.02  # of the largest part: a line that is told with others
MOST = 20  # lines in the short telling
NOTHING = 1e-6  # % points between two figures of a line: as good as equal
NAME, ROOM = 16, 48  # characters of a formula's name over a column at least, and of all together
#: What a maker looks at first, beside the cost: what is firm, cold and warm.
FIRST = (
    "firmness at 20 degC", "structuring solids at 10 degC", "structuring solids at 20 degC",
    "structuring solids at 35 degC", "solid fat at 20 degC", "solid fat at 35 degC",
)  # fmt: skip
GRAINS = "undissolved grains at 20 degC", "mean grain size"  #: looked at first too, where a hand can feel the change
COARSER = 0.1  # of the larger figure: less of a change of grains is not felt. Common practice, no source
#: What is felt of a change, told in a sentence each.
FELT = ("structuring solids at 20 degC", "structuring solids at 35 degC", "oil phase", "undissolved grains at 20 degC")


#: What takes each other's place, by what it is bought for, and what it is called together.
TOGETHER = {
    "oil": "oils", "ester": "oils", "butter": "butters", "wax": "waxes", "fatty alcohol": "fatty alcohols",
    "fatty acid": "fatty alcohols", "emulsifier": "emulsifiers", "solid surfactant": "surfactants",
    "liquid surfactant": "surfactants", "humectant": "humectants", "grain": "grains",
}  # fmt: skip

Parts = Sequence[tuple[str, float]]  #: names, each with its part of a change


def compared(
    answer: Comparison, notes: Sequence[str] = (), firms: Mapping[str, Firm] | None = None, hundred: str = ""
) -> Telling:
    """Formulas side by side, differences first.

    Args:
        answer: the comparison.
        notes: what reading the formulas changed.
        firms: how firm each is at 20 °C on the scale of the maker's own readings, by name; without, as assumed.
        hundred: the formula that is 100 on that scale; else the first one.
    """
    heads = _heads(answer)
    grains = list(filter(_coarser, _looked_at(answer, GRAINS)))
    head = "Firmness and grains" if grains else "Firmness"
    solids = _properties("firmness", head, [*_looked_at(answer, FIRST), *grains], heads, short=True)
    sections = [
        Section("answer", "", (*_cost(answer), *_label_line(answer), *_gaps(answer), *sentences(notes))),
        _warnings(answer),
        _moved(answer, heads),
        replace(solids, parts=(*_firmness(answer, firms, hundred), *solids.parts)),
        _properties("properties", "Properties that differ", [x for x in answer.properties if not x.same], heads),
        _why(answer),
        _shares(answer),
        _label(answer, heads),
    ]
    title = " and ".join(formula.name for formula in answer.formulas)
    return Telling(f"{title}, side by side", tuple(sections), _lines(answer, heads))


def _looked_at(answer: Comparison, names: Sequence[str]) -> list[PropertyRow]:
    """Rows of some properties, in the order of their names."""
    return sorted((row for row in answer.properties if row.name in names), key=lambda row: names.index(row.name))


def _coarser(row: PropertyRow) -> bool:
    """Whether grains differ by what is felt; none against some does."""
    known = [value for value in row.values if value is not None]
    return not row.same and (len(known) < len(row.values) or max(known) - min(known) >= COARSER * max(known))


def _firmness(answer: Comparison, firms: Mapping[str, Firm] | None, hundred: str) -> Iterator[Part]:
    """How firm each is on one scale, with what the maker reads of it herself; or why that is not told."""
    if answer.no_firmness:
        yield Sentence(answer.no_firmness)
        return
    yield from firmness_beside(_assumed(answer) if firms is None else firms, hundred or answer.formulas[0].name)


def _assumed(answer: Comparison) -> dict[str, Firm]:
    """How firm each is without any reading, where that is known."""
    bands = zip(answer.formulas, answer.firmness, strict=True)
    return {formula.name: Firm(REFERENCE_TEMPERATURE, band) for formula, band in bands if band}


def _heads(answer: Comparison) -> tuple[str, ...]:
    """A short head for each formula, no two alike."""
    names = [shorten(formula.name, max(NAME, ROOM // len(answer.formulas))) for formula in answer.formulas]
    return tuple(name if names.count(name) == 1 else f"{place}: {name}" for place, name in enumerate(names, 1))


def _cost(answer: Comparison) -> Iterator[Sentence]:
    """What each costs against the first."""
    row = next((row for row in answer.properties if row.name == "cost"), None)
    if row is None or row.values[0] is None:
        return
    first, (one, *others) = row.values[0], answer.formulas
    for formula, value in zip(others, row.values[1:], strict=True):
        if value is None:
            continue
        if row.same or not first:
            yield Sentence(f"{formula.name} costs {value:.3f} {row.unit}, and {one.name} {first:.3f}.")
            continue
        less = f"{abs(first - value):.3f} {row.unit} ({100 * abs(first - value) / first:.1f} %)"
        word = "less" if value < first else "more"
        yield Sentence(f"{formula.name} costs {value:.3f} {row.unit}: {less} {word} than {one.name}.")


def _label_line(answer: Comparison) -> Iterator[Sentence]:
    come = [row.inci for row in answer.label if row.places[0] is None]
    go = [row.inci for row in answer.label if row.places[0] is not None and None in row.places]
    move = len(answer.label) - len(come) - len(go)
    words = [
        *([f"new on it: {', '.join(come)}"] if come else []),
        *([f"gone: {', '.join(go)}"] if go else []),
        *([f"{move} {'name changes its place' if move == 1 else 'names change place'}"] if move else []),
    ]
    yield Sentence(f"Declaration: {'; '.join(words)}." if words else "Declaration: the same.")


def _warnings(answer: Comparison) -> Section:
    """What is warned of, behind the formulas it is about; in short every stop and what the brief overrules."""
    about: dict[FormulaWarning, list[str]] = {}
    for formula, warnings in zip(answer.formulas, answer.warnings, strict=True):
        for warning in warnings:
            about.setdefault(warning, []).append(formula.name)
    parts = tuple(_warned(replace(warning, part=" and ".join(about[warning]))) for warning in heaviest_first(about))
    return Section("warnings", "Warnings", parts, short=any(part.short for part in parts))


def _warned(warning: FormulaWarning) -> Sentence:
    short = warning.level == "stop" or warning.overruled
    return Sentence(in_short(warning), Level(warning.level), bullet=True, short=short, firm=warning.overruled)


def _moved(answer: Comparison, heads: Sequence[str]) -> Section:
    """The lines that differ, largest change first."""
    rows = sorted((row for row in answer.lines if not row.same), key=lambda row: min(row.percents) - max(row.percents))
    columns = (Column("ingredient"), *(Column(head, "", 2, fine=True, unknown="-") for head in heads))
    change = (Column("change", "% points", 2, sign=True),) if len(heads) == 2 else ()
    cells = tuple((row.ingredient, *(p or None for p in row.percents), *_change(row, len(change))) for row in rows)
    resolution = f"{answer.resolution:.3g} % points, which the scale cannot tell apart"
    if not rows:
        none = "No line differs." if _to_the_letter(answer) else f"No line differs by more than {resolution}."
        return Section("lines", "What moved, % of the jar", (Sentence(none),), most=MOST)
    same = [row.ingredient for row in answer.lines if row.same]
    alike = (Sentence(f"The same to {resolution}: {'; '.join(same)}."),) if same else ()
    return Section("lines", "What moved, % of the jar", (Table((*columns, *change), cells), *alike), most=MOST)


def _to_the_letter(answer: Comparison) -> bool:
    """Whether no line differs at all, floating point apart."""
    return all(max(row.percents) - min(row.percents) < NOTHING for row in answer.lines)


def _change(row: LineRow, columns: int) -> tuple[float, ...]:
    return (row.percents[1] - row.percents[0],) if columns else ()


def _properties(
    name: str, title: str, rows: Sequence[PropertyRow], heads: Sequence[str], short: bool = False
) -> Section:
    columns = (Column("property"), *(Column(head, unknown="-") for head in heads), Column(""))
    cells = tuple((row.name, *_cells(row), of_what(row.unit, row.measured[0].basis)) for row in rows)
    return Section(name, title, (Table(columns, cells),) if cells else (), short)


def _cells(row: PropertyRow) -> Iterator[Cell]:
    """The values to three digits, as no figure is known better; more where else two that differ would look alike."""
    digits = carried(row.values)
    for measured in row.measured:
        if measured.value is not None:
            yield significant(measured.value, digits)
        else:
            yield None if measured.state == "does not apply" else measured.state


def _why(answer: Comparison) -> Section:
    """Which line did most to each property, what a maker feels first in a sentence; the rest in a row each."""
    felt = sorted((cause for cause in answer.causes if cause.name in FELT), key=lambda cause: FELT.index(cause.name))
    columns = Column("property"), Column("change", sign=True), Column("moved most by")
    causes = [(cause, _together(answer, cause)) for cause in answer.causes if cause not in felt]
    rows = tuple((cause.name, cause.change, _most(cause, parts, 1)) for cause, parts in causes)
    table = (Table(columns, rows),) if rows else ()
    more = (Sentence(LINE_BY_LINE),) if answer.causes else ()
    instead = f"Which line changed what, property by property ({len(answer.causes)})"
    parts = (*sentences(_felt(cause, _together(answer, cause)) for cause in felt), *table, *more)
    return Section("why", "Which line changed what", parts, short=False, instead=instead)


def _together(answer: Comparison, cause: Cause) -> Parts:
    """The parts of a change; of lines that take each other's place and pull both ways what they do together."""
    lines = [line for formula in answer.formulas for line in formula.lines]
    groups = {line.ingredient.name: TOGETHER.get(line.ingredient.functions[0], "") for line in lines}
    told: list[tuple[str, float]] = []
    for group in dict.fromkeys(groups[name] for name, _ in cause.lines):
        parts = [(name, share) for name, share in cause.lines if groups[name] == group]
        shares = [share for _, share in parts]
        both = bool(group) and min(shares) < 0 < max(shares)
        told += [(f"{group} together", fsum(shares))] if both else parts
    return told


def _felt(cause: Cause, parts: Parts) -> str:
    against = _most(cause, parts, -1)
    other = f"; against it {against}" if against else ""
    change = f"{number(significant(cause.change, 3), sign=True)} {of_what(cause.unit, cause.basis)}".rstrip()
    return f"{cause.name} {change}, moved most by {_most(cause, parts, 1)}{other}."


def _most(cause: Cause, parts: Parts, side: int) -> str:
    """What did most towards a change, or (-1) most against it; nothing where nothing did."""
    towards = side if cause.change > 0 else -side
    name, share = max(parts, key=lambda part: part[1] * towards)
    told = share * towards >= SMALL * max(abs(part) for _, part in parts)
    return f"{name} {number(significant(share, 3), sign=True)}" if told else ""


def _shares(answer: Comparison) -> Section:
    """Below each property the lines that moved it, the largest part first."""
    columns = Column("what changed it"), Column("by", sign=True), Column("")
    rows: list[tuple[Cell, ...]] = []
    heads = set()
    for cause in answer.causes:
        heads.add(len(rows))
        rows.append((cause.name, cause.change, of_what(cause.unit, cause.basis)))
        rows += [(name, share, "") for name, share in _largest(cause)]
    inset = frozenset(range(len(rows))) - heads
    parts = (Table(columns, tuple(rows), inset=inset, strong=frozenset(heads)), Sentence(SHARED)) if rows else ()
    return Section("shares", "Each line's part in every change", parts, short=False)


def _largest(cause: Cause) -> Iterator[tuple[str, float]]:
    """The lines with the largest parts, and what the others do together."""
    size = SMALL * max((abs(share) for _, share in cause.lines), default=0.0)
    yield from ((name, share) for name, share in cause.lines if abs(share) >= size)
    others = [share for _, share in cause.lines if abs(share) < size]
    if others:
        yield f"{count_of(len(others), 'other line')} together", sum(others)


def _label(answer: Comparison, heads: Sequence[str]) -> Section:
    columns = (Column("declared"), *(Column(head, unknown="-") for head in heads))
    rows = tuple((row.inci, *row.places) for row in answer.label)
    return Section(
        "label", "Places in the declaration that change", (Table(columns, rows),) if rows else (), short=False
    )


def _lines(answer: Comparison, heads: Sequence[str]) -> Table:
    columns = (Column("ingredient"), *(Column(head, "% of the jar") for head in heads))
    return Table(columns, tuple((row.ingredient, *row.percents) for row in answer.lines))


def _gaps(answer: Comparison) -> Iterator[Sentence]:
    """Why a value is not known or not given, formula by formula."""
    for row in answer.properties:
        for formula, measured in zip(answer.formulas, row.measured, strict=True):
            if measured.state == "not known":
                yield Sentence(f"{row.name} of {formula.name} not known: no figure for {', '.join(measured.lacking)}.")
            elif measured.state == "not given":
                yield Sentence(f"{row.name} of {formula.name} not given: {in_words(measured.note)}.")
