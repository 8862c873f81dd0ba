"""Formulas side by side."""

from collections.abc import Iterator, Sequence

from optiform.review.answer import Measured
from optiform.review.compare import Comparison
from optiform.telling.text import number, paragraph, shorten, table


def compared(found: Comparison, notes: Sequence[str] = ()) -> str:
    """Formulas side by side, differences first; `notes` say what reading them changed."""
    names = [shorten(formula.name, 16) for formula in found.formulas]
    right = range(1, 1 + len(names))
    rows = [["percent of the whole", *names]]
    rows += [[line.ingredient, *(f"{p:.2f}" for p in line.percents)] for line in found.lines if not line.same]
    same = [line.ingredient for line in found.lines if line.same]
    sections = [table(rows, right=right)]
    if same:
        sections.append(
            paragraph(
                f"Same to {found.resolution:.3g} points, which the scale cannot tell apart: {', '.join(same)}.", ""
            )
        )
    rows = [["properties that differ", *names]]
    for row in found.properties:
        if not row.same:
            unit = "" if row.unit == "-" else f" ({row.unit})"
            rows.append([f"{row.name}{unit}", *map(_cell, row.measured)])
    sections.append(table(rows, right=right))
    if gaps := list(_gaps(found)):
        sections.append("\n".join(paragraph(text, "") for text in gaps))
    if found.label:
        rows = [["place in the declaration", *names]]
        rows += [[row.inci, *(str(place) if place else "-" for place in row.places)] for row in found.label]
        sections.append(table(rows, right=right))
    if notes:
        sections.append("\n".join(map(paragraph, notes)))
    return "\n\n".join(sections)


def _cell(found: Measured) -> str:
    """The value, `-` where the property does not apply, else why there is no value."""
    if found.value is not None:
        return number(found.value)
    return "-" if found.state == "does not apply" else found.state


def _gaps(found: Comparison) -> Iterator[str]:
    """Why a value is not known or not given, formula by formula."""
    for row in found.properties:
        for formula, each in zip(found.formulas, row.measured, strict=True):
            if each.state == "not known":
                yield f"{row.name} of {formula.name} not known: no figure for {', '.join(each.lacking)}."
            elif each.state == "not given":
                yield f"{row.name} of {formula.name} not given: {each.note}."
