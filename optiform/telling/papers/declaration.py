"""The declaration as a page to print: the list, where each name comes from, and what a person decides and signs."""

from collections.abc import Iterator, Mapping, Sequence

from optiform.ingredients.catalogue import Source
from optiform.label.allergens import AllergenContent
from optiform.label.declare import Declaration
from optiform.label.items import Item
from optiform.label.net_content import NetContent, figure
from optiform.label.order import Entry
from optiform.telling.page import bullets, heading, page, paragraph, table

DRAFT = (
    "This is a draft, made from published, recalled and own figures. Local law and a qualified assessor decide what "
    "the label says. It holds only with a signature below."
)


def document(found: Declaration, sources: Mapping[str, Source]) -> str:
    """The page of a draft. `sources` gives the titles of the sources that it names."""
    return page(
        f"Declaration, draft: {found.formula}",
        paragraph(f"Market {found.market}. {found.use}, {found.area}. Rules taken for {found.date}."),
        *(paragraph(text, "caution") for text in (*found.notes, *found.warnings)),
        heading("The list as it would be printed"),
        paragraph(found.text),
        *_places(found),
        heading("Where each name comes from (per cent not for print)"),
        table(["", "Name", "%", "Range", "Order", "From", "Known how"], _entries(found.entries), right=[0, 2]),
        *_allergens(found),
        *_net(found.net),
        *_listed("What rules of this market add", found.statements),
        *_listed("Usual cautions of use and sale, for the label's precautions", found.precautions),
        heading("What a person decides"),
        table(["About", "What is known", "Known how", "Decided"], map(_decision, found.decisions), blank=[3]),
        heading("Signature"),
        paragraph(DRAFT, "caution"),
        table(["Name", "Function", "Date", "Signature"], [["", "", "", ""], ["", "", "", ""]], blank=[0, 1, 2, 3]),
        heading("Made by these rules"),
        table(["About", "Rule", "Known how", "Source"], map(_rule, found.rules)),
        heading("Sources"),
        table(["", "Title", "Note"], _sources(found, sources)),
    )


def _places(found: Declaration) -> Iterator[str]:
    """Where the parts of the list begin that may stand in any order."""
    free, colours = found.free_from, found.colourants_from
    if free is not None:
        yield paragraph(
            f"From {found.entries[free - 1].name} on, names may stand in any order; here by weight.", "small"
        )
    if colours is not None:
        words = (
            f"Colourants begin with {found.entries[colours - 1].name}; among themselves they may stand in any order."
        )
        yield paragraph(words, "small")


def _entries(entries: Sequence[Entry]) -> Iterator[list[str]]:
    for place, entry in enumerate(entries, 1):
        span = f"{entry.least:.3g} to {entry.most:.3g}" if entry.most - entry.least > 1e-9 else ""
        kind = "colourant" if entry.colourant else "any" if entry.free else "by weight"
        name = f"{entry.name} (allergen)" if entry.allergen else entry.name
        carriers = "; ".join(f"{carrier} {part:.3g} %" for carrier, part in entry.carriers)
        yield [str(place), name, f"{entry.percent:.3g}", span, kind, carriers, str(entry.known)]


def _allergens(found: Declaration) -> Iterator[str]:
    if found.allergen_details:
        yield heading("Allergens")
        header = ["Allergen", "Content %", "Known how", "Named above %", "Named", "From", "Rule", "Known how"]
        yield table(header, map(_allergen, found.allergen_details), right=[1, 3])


def _allergen(each: AllergenContent) -> list[str]:
    limit = f"{each.threshold:g}" if each.threshold is not None else "no rule"
    carriers = "; ".join(f"{carrier} {part:.3g} %" for carrier, part in each.carriers)
    annex = each.reference.rpartition(", ")[2] if each.listed else "not in this market's list"
    named, law = "yes" if each.declared else "no", str(each.evidence) if each.listed else ""
    return [each.name, f"{each.percent:.3g}", str(each.known), limit, named, carriers, annex, law]


def _net(net: NetContent | None) -> Iterator[str]:
    if net is None:
        return
    yield heading("Net content")
    yield paragraph(f"{net.words}. {net.note}")
    if (found := net.tolerance) is not None:
        row = [net.words, *(f"{figure(each)} {net.unit}" for each in (found.error, found.first, found.second))]
        yield table(["Nominal", "Tolerable error", "T1", "T2", "Known how"], [[*row, str(found.evidence)]])


def _listed(title: str, lines: Sequence[str]) -> list[str]:
    return [heading(title), bullets(lines)] if lines else []


def _decision(item: Item) -> list[str]:
    known = f"{item.evidence}, {item.source}" if item.evidence else "this draft"
    return [item.about, item.text, known, ""]


def _rule(item: Item) -> list[str]:
    return [item.about, item.text, str(item.evidence or ""), item.source]


def _sources(found: Declaration, sources: Mapping[str, Source]) -> Iterator[list[str]]:
    """Every source that the page rests on, own files among them, once."""
    items = [item.source for item in (*found.rules, *found.decisions)]
    named = [*(entry.source for entry in found.entries), *(each.source for each in found.allergen_details), *items]
    tolerance = [found.net.tolerance.source] if found.net and found.net.tolerance else []
    for name in sorted({name for name in (*named, *tolerance) if name}):
        source = sources.get(name, Source(name, "not in the list of sources"))
        yield [name, source.title, source.note]


def declaration_table(found: Declaration) -> Iterator[Sequence[object]]:
    """The names in the list's order as a table, under a header."""
    yield ["place", "name", "percent", "least percent", "most percent", "free order", "colourant", "allergen", "from"]
    for place, entry in enumerate(found.entries, 1):
        marks = ["yes" if mark else "" for mark in (entry.free, entry.colourant, entry.allergen)]
        carriers = "; ".join(name for name, _ in entry.carriers)
        yield [place, entry.name, entry.percent, entry.least, entry.most, *marks, carriers]
