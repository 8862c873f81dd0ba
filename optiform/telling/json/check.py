"""A formula checked, and formulas side by side, as plain data."""

from collections.abc import Sequence

from optiform.reading.plain import answered
from optiform.review.answer import Checked
from optiform.review.compare import Comparison
from optiform.telling.json.basic import Data, as_read, band, quantity
from optiform.telling.json.report import keeps, report


def checked(answer: Checked, currency: str, batch: float) -> Data:
    """The report on a formula that exists; `batch` in kg."""
    reading = answer.reading
    return answered(
        "checked",
        name=reading.formula.name,
        basis=str(reading.basis),
        total={"read": reading.total, "rescaled": reading.rescaled},
        keeps=keeps(answer.report),
        **report(answer.report, currency, batch, [as_read(note) for note in reading.notes]),
    )


def compared(answer: Comparison, notes: Sequence[str] = ()) -> Data:
    """Formulas side by side; `notes` say what reading them changed."""
    return answered(
        "compared",
        formulas=[formula.name for formula in answer.formulas],
        resolution=quantity(answer.resolution, "%"),
        lines=[{"ingredient": row.ingredient, "percent": list(row.percents), "same": row.same} for row in answer.lines],
        properties={
            row.name: {
                "values": list(row.values),
                "states": [measured.state for measured in row.measured],
                "lacking": [list(measured.lacking) for measured in row.measured],
                "unit": row.unit,
                "same": row.same,
            }
            for row in answer.properties
        },
        firmness=[band(each) if each else None for each in answer.firmness],
        why=[
            {
                "property": cause.name,
                "change": quantity(cause.change, cause.unit),
                "lines": [{"ingredient": name, "change": share} for name, share in cause.lines],
            }
            for cause in answer.causes
        ],
        declaration=[{"inci": row.inci, "places": list(row.places)} for row in answer.label],
        warnings=[as_read(note) for note in notes],
    )
