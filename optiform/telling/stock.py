"""The shelf, the versions and what was kept, as text."""

import shlex
from collections.abc import Mapping, Sequence

from optiform.batch.on_hand import ForBatch, Shelf, Stock
from optiform.reading.units import count_of
from optiform.telling.text import number, paragraph, table
from optiform.workshop.records import Batch, BatchLine, PackagingCount, Version
from optiform.workshop.stock import Holding


def stock(found: Stock) -> str:
    """What is owned by ingredient and lot, what expires soon, what is short, packaging."""
    head = f"Stock on {found.today}\n  {count_of(len(found.shelves), 'ingredient')}"
    parts = [head, _shelves(found.shelves), _expiring(found), _overdrawn(found.overdrawn)]
    parts += [_batch(each) for each in found.batches]
    rows = [["packaging", "kind", "pieces"]]
    rows += [[each.packaging.name, each.packaging.kind, str(each.left)] for each in found.packaging]
    parts.append(table(rows, right=[2]) if len(rows) > 1 else "")
    return "\n\n".join(part for part in parts if part)


def _shelves(shelves: Sequence[Shelf]) -> str:
    rows = [["ingredient", "kg", "lot", "kg", "expiry"]]
    for shelf in shelves:
        total = [shelf.ingredient, _kg(shelf.kg)]
        lots = [[each.lot.number, _kg(each.kg), _expiry(each)] for each in shelf.lots] or [["", "", ""]]
        rows += [[*(total if first else ["", ""]), *lot] for first, lot in _first(lots)]
    return table(rows, right=[1, 3]) if len(rows) > 1 else "  No lot is kept yet: `optiform stock receive` keeps one."


def _first(rows: Sequence[list[str]]) -> list[tuple[bool, list[str]]]:
    return [(index == 0, row) for index, row in enumerate(rows)]


def _kg(value: float) -> str:
    """Kilograms to the gram."""
    return f"{value:.3f}"


def _expiry(holding: Holding) -> str:
    return str(holding.lot.expiry or "no date")


def _expiring(found: Stock) -> str:
    rows = []
    for each in found.expiring:
        past = "expired" if each.expired(found.today) else ""
        rows.append([each.lot.ingredient, each.lot.number, _kg(each.kg), _expiry(each), past])
    soon = count_of(found.days, "day")
    if not rows:
        return f"  Nothing expires within {soon}."
    return f"Expires within {soon}\n" + table([["ingredient", "lot", "kg", "expiry", ""], *rows], right=[2])


def _overdrawn(held: Sequence[Holding]) -> str:
    words = "of lot {}, {} kg more was taken than came in: weigh what is left and use `optiform stock correct`"
    return "\n".join(paragraph(words.format(each.lot.number, number(-each.kg))) for each in held)


def _batch(found: ForBatch) -> str:
    of = f"{number(found.kg)} kg of {found.product}, version {found.version}"
    packed = f"\n{paragraph(found.packaging, '')}"
    if not found.short:
        return f"  Enough of every ingredient for {of}.{packed}"
    rows = [["short for it", "needed kg", "there kg", "missing kg"]]
    rows += [[x.ingredient, _kg(x.needed), _kg(x.there), _kg(x.needed - x.there)] for x in found.short]
    return f"Short for {of}; expired lots are not counted\n{table(rows, right=[1, 2, 3])}{packed}"


def versions(found: Sequence[Version]) -> str:
    """Versions in the order kept, each with its parent and the reason for it."""
    if not found:
        return "No version is kept yet: `optiform stock keep FORMULA` keeps one."
    rows = [["product", "version", "from", "kept on", "reason"]]
    rows += [[x.product, x.name, x.parent or "-", f"{x.created:%Y-%m-%d}", x.reason] for x in found]
    return table(rows)


def batch(made: Batch, lines: Sequence[BatchLine]) -> str:
    """A batch as it is kept, and its weighings by lot."""
    figures = [
        ("planned", f"{made.planned:g} g"),
        ("came out", "not known yet" if made.actual is None else _came_out(made.actual, made.planned)),
        ("jars filled", _known(made.jars)),
        ("jars rejected", _known(made.rejected)),
        ("maker", made.maker),
        ("room", "" if made.room is None else f"{made.room:g} degC"),
        ("deviation", made.deviation),
        ("note", made.note),
    ]
    head = f"Batch {made.number}, made {made.made}: {made.product}, version {made.version}"
    rows = [["ingredient", "lot", "planned g", "weighed g"]]
    rows += [[x.ingredient, x.lot, f"{x.planned:g}", "" if x.actual is None else f"{x.actual:g}"] for x in lines]
    told = table([[name, words] for name, words in figures if words])
    return "\n\n".join([f"{head}\n{told}", table(rows, right=[2, 3])])


def _came_out(actual: float, planned: float) -> str:
    off = 100 * (actual - planned) / planned
    return f"{actual:g} g, {abs(off):.1f} % {'more' if off > 0 else 'less'} than planned"


def _known(count: int | None) -> str:
    return "not known yet" if count is None else str(count)


def batch_kept(made: Batch, counts: Sequence[PackagingCount], notes: Sequence[str], place: str = "") -> str:
    """What went into the records with a new batch, and the next step: `place` is where the records are, if not here."""
    head = f"Kept: batch {made.number} of {made.product}, version {made.version}, {made.planned:g} g out of the lots."
    after = "When it is filled, with the figures of what came out:"
    told = [paragraph(words) for words in (head, *packaging(counts), *notes, after)]
    return "\n".join([*told, f"    {filled(made, place)}"])


def filled(made: Batch, place: str = "") -> str:
    """The next step for a batch, as it would be typed if everything came out as planned; see `batch_kept`."""
    where = f" --records {shlex.quote(place)}" if place else ""
    return f'optiform stock batch {shlex.quote(made.number)} --actual "{made.planned:g} g" --rejected 0{where}'


def packaging(counts: Sequence[PackagingCount]) -> list[str]:
    """Which packaging went, or came back."""
    gone = ", ".join(f"{-each.pieces} x {each.packaging}" for each in counts if each.pieces < 0)
    back = ", ".join(f"{each.pieces} x {each.packaging}" for each in counts if each.pieces > 0)
    return [f"{words}: {names}." for words, names in (("Packaging taken", gone), ("Put back", back)) if names]


def counts(head: str, found: Mapping[str, int]) -> str:
    """How many records went over, by file."""
    rows = [[name.replace("_", " "), str(count)] for name, count in found.items() if count]
    return f"{head}: {count_of(sum(found.values()), 'record')}\n" + table(rows, right=[1])
