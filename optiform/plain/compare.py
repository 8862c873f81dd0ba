"""Formulas side by side."""

from collections.abc import Sequence

from optiform.jobs.compare import Comparison
from optiform.plain.layout import number, paragraph, shorten, table


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
            rows.append([f"{row.name}{unit}", *(number(v) if v is not None else "not known" for v in row.values)])
    sections.append(table(rows, right=right))
    if found.label:
        rows = [["place in the declaration", *names]]
        rows += [[row.inci, *(str(place) if place else "-" for place in row.places)] for row in found.label]
        sections.append(table(rows, right=right))
    if notes:
        sections.append("\n".join(map(paragraph, notes)))
    return "\n\n".join(sections)
