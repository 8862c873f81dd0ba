"""Tables and charts of answers that telling/ has as text only."""

from collections.abc import Mapping

from optiform.batch.batch import BatchSheet
from optiform.design.explore import TradeOff
from optiform.design.texture import Texture
from optiform.ingredients.formula import Formula
from optiform.properties.oil_phase import solid_fat
from optiform.reading.answer import Answer
from optiform.reading.values import cells
from optiform.review.answer import Formulated
from optiform.review.compare import Comparison
from optiform.telling.parts import Chart, Column, Table

#: Class of an answer to the field with the rows of its table; the plain values of each are the cells.
ROWS: Mapping[str, str] = {
    "Alternatives": "leeway",
    "Declaration": "entries",
    "Impossible": "conflict",
    "CheaperOptions": "rungs",
    "PriceUncertainty": "rivals",
    "Purchases": "balances",
    "Substitutes": "swaps",
    "Texture": "courses",
    "TradeOff": "corners",
    "Unobtainable": "missing",
    "Unweighable": "misses",
}
TEMPERATURES = [10 + 0.5 * k for k in range(61)]  # degC
POINTS = 200  # of a drawn curve, beside those where it bends


def table_of(answer: Answer) -> Table:
    """The answer's main rows.

    Raises:
        LookupError: it has none.
    """
    if isinstance(answer, Comparison):
        columns = (Column("ingredient"), *(Column(formula.name, "%") for formula in answer.formulas))
        return Table(columns, tuple((line.ingredient, *line.percents) for line in answer.lines))
    if isinstance(answer, BatchSheet):
        return _of_records(tuple(line for phase in answer.phases for line in phase.lines))
    if isinstance(answer, Formulated):
        return formula_table(answer.formula)
    name = ROWS.get(type(answer).__name__)
    if name is None:
        raise LookupError(f"{type(answer).__name__} has no table")
    return _of_records(getattr(answer, name))


def formula_table(formula: Formula) -> Table:
    """The lines of a formula."""
    columns = (Column("ingredient"), Column("phase"), Column("share", "%"))
    return Table(columns, tuple((x.ingredient.name, x.phase, 100 * x.fraction) for x in formula.lines))


def _of_records(records: tuple[object, ...]) -> Table:
    """A row for each record: the fields that are plain values, or that have words or a name."""
    rows = [dict(cells(record)) for record in records]
    heads = list(dict.fromkeys(head for row in rows for head in row))
    return Table(tuple(map(Column, heads)), tuple(tuple(row.get(head) for head in heads) for row in rows))


def chart_of(answer: Answer) -> Chart | None:
    """The curve of a trade-off, or solid fat against temperature of formulas that differ in firmness."""
    if isinstance(answer, TradeOff):
        return _curve(answer)
    if isinstance(answer, Texture):
        options = answer.ranked() or ((answer.season.winter, answer.season.summer) if answer.season else ())
        return _solid_fat([answer.today.formula, *(course.formula for course in options[:2])])
    return None


def _curve(answer: TradeOff) -> Chart:
    start, end = answer.fits or answer.asked
    bends = {corner.target for corner in answer.corners}
    targets = sorted(bends | {start + (end - start) * k / POINTS for k in range(POINTS + 1)})
    rows = tuple((at, answer.value_at(at), at in bends) for at in targets if answer.fits and start <= at <= end)
    columns = Column(answer.words, answer.unit.strip("-")), Column("goal", answer.value_unit.strip("-")), Column("bend")
    return Chart(Table(columns, rows), "line", answer.words, "goal", dots="bend")


def _solid_fat(formulas: list[Formula]) -> Chart:
    known = [(f.name, at, solid_fat(at).of(f)) for f in formulas for at in TEMPERATURES]
    columns = (Column("formula"), Column("temperature", "°C"), Column("solid fat", "% of the fats", 1))
    return Chart(Table(columns, tuple(known)), "line", "temperature", "solid fat", series="formula")
