"""Two or more formulas side by side: what differs, in points, in properties, in cost and on the label."""

from collections.abc import Iterator, Sequence

from optiform.ingredients.formula import Formula
from optiform.properties.base import Mix, Property, fractions
from optiform.properties.firmness import ASSUMED, REFERENCE_TEMPERATURE, Band, Exponents, firmness_band
from optiform.reading.answer import Answer
from optiform.reading.frozen import frozen
from optiform.review.answer import FormulaWarning, Measured, Report, heaviest_first
from optiform.review.causes import Cause, causes
from optiform.review.measures import Setting, measure, reported
from optiform.review.report import report
from optiform.rules.network import without_network

PERCENT = 100.0


@frozen
class LineRow:
    """One ingredient across the formulas, in % of the whole; `same` when no difference can be weighed."""

    ingredient: str
    percents: tuple[float, ...]
    same: bool


@frozen
class PropertyRow:
    """One property across the formulas; `same` when they differ by less than a thousandth of its size."""

    name: str
    unit: str
    measured: tuple[Measured, ...]
    same: bool

    @property
    def values(self) -> tuple[float | None, ...]:
        """The value in each formula; None where `measured` says why there is none."""
        return tuple(each.value for each in self.measured)


@frozen
class LabelRow:
    """One constituent and its place in each declaration, largest first from 1; None where it is absent."""

    inci: str
    places: tuple[int | None, ...]


@frozen
class Comparison(Answer):
    """Formulas side by side. `resolution` is the smallest difference that counts, in percentage points.

    `firmness`: what the scale says of each at 20 degC without any trial, the first formula being 100; None where it is
    not known. Empty where it says nothing of the kind, and `no_firmness` why. `causes`: of two formulas, which line has
    changed what. `warnings`: on each formula, heaviest first.
    """

    formulas: tuple[Formula, ...]
    resolution: float
    lines: tuple[LineRow, ...]
    properties: tuple[PropertyRow, ...]
    label: tuple[LabelRow, ...]
    firmness: tuple[Band | None, ...] = ()
    no_firmness: str = ""
    causes: tuple[Cause, ...] = ()
    warnings: tuple[tuple[FormulaWarning, ...], ...] = ()


def compare(
    formulas: Sequence[Formula], setting: Setting, step: float, today: Formula | None = None, known: Exponents = ASSUMED
) -> Comparison:
    """Compare formulas for a batch weighed in steps of `step` g; `today`, else the first, is 100 on the firmness scale.

    A difference below one step of the scale in the batch cannot be weighed and counts as none. `label` lists only the
    constituents whose place changes.
    """
    resolution = PERCENT * step / (1000 * (setting.batch or 1.0))
    refusal = without_network(setting.kind)
    reports = [report(formula, setting) for formula in formulas]
    wanted = _wanted(formulas, reports, setting)
    rows = tuple(_row(of, formulas) for of in wanted)
    differ = [of for of, row in zip(wanted, rows, strict=True) if not row.same]
    return Comparison(
        formulas=tuple(formulas),
        resolution=resolution,
        lines=tuple(_lines(formulas, resolution)),
        properties=rows,
        label=tuple(_label(formulas)),
        firmness=() if refusal else tuple(_firmness(formulas, today or formulas[0], known)),
        no_firmness=refusal,
        causes=causes(formulas[0], formulas[1], differ) if len(formulas) == 2 else (),
        warnings=tuple(tuple(heaviest_first(of.warnings)) for of in reports),
    )


def _firmness(formulas: Sequence[Formula], today: Formula, known: Exponents) -> Iterator[Band | None]:
    """Firmness of each, today's being 100; not known where a figure lacks, or the grains jam."""
    for formula in formulas:
        try:
            yield firmness_band(formula, today, REFERENCE_TEMPERATURE, known)
        except ValueError:
            yield None


def _lines(formulas: Sequence[Formula], resolution: float) -> list[LineRow]:
    names = dict.fromkeys(line.ingredient.name for formula in formulas for line in formula.lines)
    rows = []
    for name in names:
        percents = tuple(PERCENT * formula.fraction(name) for formula in formulas)
        rows.append(LineRow(name, percents, max(percents) - min(percents) < resolution))
    return rows


def _wanted(formulas: Sequence[Formula], reports: Sequence[Report], setting: Setting) -> list[Property]:
    """What the report on any of them shows."""
    shown = dict.fromkeys(measured.name for of in reports for measured in of.measures)
    ingredients = [line.ingredient for formula in formulas for line in formula.lines]
    known = {wanted.name: wanted for wanted in reported(ingredients, setting)}
    return [known[name] for name in shown]


def _row(wanted: Property, formulas: Sequence[Formula]) -> PropertyRow:
    """A property measured on all of them."""
    measured = tuple(measure(wanted, Mix.of(formula), fractions(formula)) for formula in formulas)
    return PropertyRow(wanted.name, wanted.unit, measured, _alike(measured))


def _alike(measured: Sequence[Measured]) -> bool:
    known = [each.value for each in measured if each.value is not None]
    if len(known) < len(measured):
        return len({each.state for each in measured}) == 1
    return max(known) - min(known) <= 1e-3 * max(1e-9, *map(abs, known))


def _label(formulas: Sequence[Formula]) -> list[LabelRow]:
    orders = [[inci for inci, _ in formula.declaration()] for formula in formulas]
    names = dict.fromkeys(inci for order in orders for inci in order)
    rows = [LabelRow(inci, tuple(_place(inci, order) for order in orders)) for inci in names]
    return [row for row in rows if len(set(row.places)) > 1]


def _place(inci: str, order: Sequence[str]) -> int | None:
    return order.index(inci) + 1 if inci in order else None
