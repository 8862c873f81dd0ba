"""The draft of a declaration."""

import textwrap
from collections.abc import Sequence

from optiform.label.allergens import AllergenContent
from optiform.label.declare import Declaration
from optiform.label.items import Item
from optiform.label.net_content import NetContent, figure
from optiform.label.order import Entry
from optiform.telling.sections import warnings
from optiform.telling.text import WIDTH, number, paragraph, shorten, table

DRAFT = (
    "A draft, made from published, recalled and own figures. Local law and a qualified assessor decide what the label "
    "says; a person signs for it."
)


def drafted(found: Declaration) -> str:
    """The list as a label prints it, where each name comes from, allergens, net content and what is left to decide."""
    head = f"{found.formula}\n  draft of the declaration for {found.market}, {found.use}, {found.area}, {found.date}"
    sections = [
        head,
        "\n".join(paragraph(note, "") for note in found.notes),
        warnings(found.warnings),
        textwrap.indent(textwrap.fill(found.text, WIDTH - 2, break_on_hyphens=False), "  "),
        _entries(found),
        _allergens(found),
        _net(found.net),
        _items("Made by these rules", found.rules),
        _lines("What rules of this market add", found.statements),
        _lines("Usual cautions of use and sale, for the label's precautions", found.precautions),
        _items("What a person decides", found.decisions),
        paragraph(DRAFT, ""),
    ]
    return "\n\n".join(section for section in sections if section)


def _entries(found: Declaration) -> str:
    rows = [["", "Name (per cent not for print)", "%", "range", "order", "known how", "from"]]
    for place, entry in enumerate(found.entries, 1):
        span = f"{number(entry.least, 3)} to {number(entry.most, 3)}" if entry.most - entry.least > 1e-9 else ""
        carriers = shorten(_carriers(entry.carriers), 30)
        rows.append([f"{place}", entry.name, number(entry.percent, 3), span, _order(entry), str(entry.known), carriers])
    return table(rows, right=[0, 2])


def _order(entry: Entry) -> str:
    if entry.colourant:
        return "colourant"
    return "any" if entry.free else "weight"


def _carriers(carriers: Sequence[tuple[str, float]]) -> str:
    return ", ".join(name for name, _ in carriers)


def _allergens(found: Declaration) -> str:
    header = ["Allergens", "contains %", "named above", "", "known how", "from"]
    return table([header, *map(_allergen, found.allergen_details)], right=[1, 2]) if found.allergen_details else ""


def _allergen(each: AllergenContent) -> list[str]:
    limit = f"{each.threshold:g} %" if each.threshold is not None else "no rule taken"
    named = "named" if each.declared else ""
    return [each.name, number(each.percent, 3), limit, named, str(each.known), shorten(_carriers(each.carriers), 30)]


def _net(net: NetContent | None) -> str:
    if net is None:
        return ""
    told = [f"Net content: {net.words}. {net.note}"]
    if (found := net.tolerance) is not None:
        told.append(
            f"Tolerable error of a pack {figure(found.error)} {net.unit}: T1 {figure(found.first)} {net.unit}, "
            f"T2 {figure(found.second)} {net.unit} ({found.evidence})."
        )
    return "\n".join(paragraph(text, "") for text in told)


def _items(title: str, items: Sequence[Item]) -> str:
    return _lines(
        title, [f"{item.about}: {item.text}{f' ({item.evidence})' if item.evidence else ''}" for item in items]
    )


def _lines(title: str, lines: Sequence[str]) -> str:
    return "\n".join([f"  {title}", *map(paragraph, lines)]) if lines else ""
