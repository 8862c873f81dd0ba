"""What a declaration can stand for."""

from optiform.label.from_label import LabelRanges, NoComposition
from optiform.telling.text import paragraph, shorten, table

HONEST = (
    "Ranges, not a recipe: the order of a label allows all of them, and the centre is only one of many. Both ends of "
    "two names are not reached at once. What was bought, how it was made and what was left out cannot be read off it."
)


def ranges(found: LabelRanges) -> str:
    """The range of each name, and a composition in the middle."""
    rows = [["% of the whole", "least", "centre", "most", "place", "also held by"]]
    rows += [
        [r.inci, f"{r.low:.2f}", f"{r.centre:.2f}", f"{r.high:.2f}", r.place, shorten("; ".join(r.caps), 44)]
        for r in found.ranges
    ]
    where = " or ".join(str(place) for place in found.first_below)
    line = f"The first name at or below 1 % is number {where}; the centre takes number {found.centre_for}."
    parts = [table(rows, right=[1, 2, 3]), paragraph(line, ""), *(paragraph(note, "") for note in found.notes)]
    return "\n\n".join([*parts, paragraph(HONEST, ""), f"  Checked: worst residual {found.residual:.1e}."])


def no_composition(found: NoComposition) -> str:
    """Why no composition has this declaration."""
    lines = ["  No composition has this declaration. These cannot hold together:", *map(paragraph, found.conflict)]
    return "\n".join([*lines, *(paragraph(note, "") for note in found.notes)])
