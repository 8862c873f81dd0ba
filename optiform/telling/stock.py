"""The shelf, the versions and what is saved, told."""

import shlex
from collections.abc import Iterator, Mapping, Sequence

from optiform.batch.keeping import Recorded
from optiform.batch.on_hand import ForBatch, Shelf, Stock
from optiform.reading.units import count_of
from optiform.telling.parts import Cell, Column, Level, Section, Sentence, Step, Table, Telling, number, sentences
from optiform.telling.worked import recorded_notes
from optiform.workshop.records import Batch, BatchLine, Offer, PackagingCount, Version, VersionLine
from optiform.workshop.stock import Holding

MOST = 15  # rows of the shelf in the short telling
NO_DATE = "no date"


def stock(owned: Stock) -> Telling:
    """What is short and what expires soon first, then what is owned by ingredient and lot, and packaging."""
    sections = (
        Section("short", "", tuple(part for batch in owned.batches for part in _batch(batch))),
        _expiring(owned),
        _overdrawn(owned.overdrawn),
        _shelves(owned.shelves),
        _packaging(owned),
    )
    title = f"Stock on {owned.today}: {count_of(len(owned.shelves), 'ingredient')}"
    return Telling(title, sections, lots(owned))


def lots(owned: Stock, soon: bool = False) -> Table:
    """Every lot with what is left of it, those of an ingredient in the order in which to take them.

    Args:
        owned: the stock.
        soon: only those that expire soon.
    """
    columns = (
        Column("ingredient"), Column("lot"), Column("left", "kg", 3), Column("expiry"), Column("take"),
        Column("all lots", "kg", 3), Column("paid per kg", places=2), Column("currency"), Column("supplier"),
        Column("their lot"), Column("note"),
    )  # fmt: skip
    numbers = {holding.lot.number for holding in owned.expiring}
    rows = tuple(
        (shelf.ingredient, x.lot.number, x.kg, _expiry(x, owned), _ordinal(order), shelf.kg, x.lot.price,
         x.lot.currency if x.lot.price is not None else "", x.lot.supplier, x.lot.supplier_lot, x.lot.note)
        for shelf in owned.shelves
        for order, x in enumerate(shelf.lots, 1)
        if not soon or x.lot.number in numbers
    )  # fmt: skip
    return Table(columns, rows)


def _ordinal(order: int) -> str:
    """A place in an order.

    Example:
        >>> [_ordinal(order) for order in (1, 2, 3, 11, 22)]
        ['1st', '2nd', '3rd', '11th', '22nd']
    """
    ends = {1: "st", 2: "nd", 3: "rd"}
    return f"{order}{'th' if order % 100 in (11, 12, 13) else ends.get(order % 10, 'th')}"


def _expiry(holding: Holding, owned: Stock) -> str:
    if holding.lot.expiry is None:
        return "not known"
    days = (holding.lot.expiry - owned.today).days
    return f"{holding.lot.expiry}, {'EXPIRED' if days < 0 else count_of(days, 'day')}"


def _batch(batch: ForBatch) -> Iterator[Sentence]:
    of = f"{number(batch.kg)} kg of {batch.product}, version {batch.version}"
    level = Level.MIND if batch.pieces else Level.PLAIN
    if batch.short:
        lacking = "; ".join(
            f"{x.ingredient}, {x.needed - x.there:.3f} kg missing, {f'{x.there:.3f} kg' if x.there else 'none'} there"
            for x in batch.short
        )
        yield Sentence(f"Short for {of}: {lacking}. Expired lots are not counted.", Level.MIND)
    else:
        yield Sentence(f"Enough of every ingredient for {of}.")
    yield Sentence(packaging_for(batch), level)


def packaging_for(batch: ForBatch) -> str:
    """What is short of packaging, of what there is enough, or that it was not looked at."""
    if batch.jars is None:
        return "Packaging is not counted: no batch of the product says which a jar takes."
    jars = count_of(batch.jars, "jar")
    lacking = "; ".join(f"{x.packaging}, {x.there} there and {x.needed} needed" for x in batch.pieces)
    if lacking:
        return f"Too little packaging for {jars}: {lacking}."
    return f"Enough for {jars} of what the last batch took for each: {', '.join(batch.counted)}."


def _expiring(owned: Stock) -> Section:
    columns = (Column("expires soon"), Column("lot"), Column("left", "kg", 3), Column("expires"))
    rows = tuple(
        (x.lot.ingredient, x.lot.number, x.kg, f"{x.lot.expiry}{', expired' if x.expired(owned.today) else ''}")
        for x in owned.expiring
    )
    soon = count_of(owned.days, "day")
    unknown = sentences([undated(owned)] if undated(owned) else [], Level.NOTE, bullet=False)
    if not rows:
        return Section("expiring", "", (Sentence(f"Nothing is known to expire within {soon}."), *unknown))
    return Section("expiring", f"Expires within {soon}", (Table(columns, rows), *unknown), most=MOST)


def undated(owned: Stock) -> str:
    """How many lots nobody knows the expiry of; empty where every lot has one."""
    count = sum(holding.lot.expiry is None for shelf in owned.shelves for holding in shelf.lots)
    return f"No expiry is known of {count_of(count, 'lot')}." if count else ""


def _overdrawn(held: Sequence[Holding]) -> Section:
    words = (
        "Of lot {}, {} kg more was taken than came in. Weigh what is left, and save that; if nothing is left: "
        "`optiform stock correct {} '0 g' --reason 'as weighed'`."
    )
    texts = (words.format(x.lot.number, number(-x.kg), shlex.quote(x.lot.number)) for x in held)
    return Section("overdrawn", "", sentences(texts, Level.MIND, bullet=False), most=5)


def _shelves(shelves: Sequence[Shelf]) -> Section:
    columns = (
        Column("ingredient"), Column("in all", "kg", 3), Column("lot"), Column("left", "kg", 3), Column("expires")
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for shelf in shelves:
        held = [(x.lot.number, x.kg, str(x.lot.expiry or NO_DATE)) for x in shelf.lots]
        for first, lot in enumerate(held or [("", None, "")]):
            rows.append((*(("", None) if first else (shelf.ingredient, shelf.kg)), *lot))
    if not rows:
        words = "No lot is saved yet. To save the first, for instance: `optiform stock receive glycerin '1 kg'`."
        return Section("shelf", "", (Sentence(words),))
    return Section("shelf", "On the shelf", (Table(columns, tuple(rows)),), most=MOST)


def _packaging(owned: Stock) -> Section:
    table = pieces(owned)
    instead = f"{count_of(len(table.rows), 'kind')} of packaging" if table.rows else ""
    return Section("packaging", "Packaging", (table,), short=False, instead=instead)


def pieces(owned: Stock) -> Table:
    """Packaging with the pieces that are left."""
    columns = (
        Column("packaging"), Column("kind"), Column("pieces left"), Column("price", places=2), Column("currency"),
        Column("volume", "mL"), Column("empty", "g"), Column("note"),
    )  # fmt: skip
    rows = tuple(
        (x.packaging.name, x.packaging.kind, x.left, x.packaging.price,
         x.packaging.currency if x.packaging.price is not None else "", x.packaging.volume, x.packaging.tare,
         x.packaging.note)
        for x in owned.packaging
    )  # fmt: skip
    return Table(columns, rows)


def offers(saved: Sequence[Offer]) -> Table:
    """Packs that can be bought, by ingredient, the newest first."""
    columns = (
        Column("ingredient"), Column("supplier"), Column("pack", "kg"), Column("price of it", places=2),
        Column("shipping", places=2), Column("currency"), Column("on"), Column("note"),
    )  # fmt: skip
    rows = (
        (x.ingredient, x.supplier, x.pack, x.price, x.shipping, x.currency, str(x.date), x.note)
        for x in sorted(saved, key=lambda offer: (offer.ingredient, -offer.date.toordinal()))
    )
    return Table(columns, tuple(rows))


# -- versions and batches ----------------------------------------------------------------------------------------------


def versions(saved: Sequence[Version], lines: Sequence[VersionLine] = ()) -> Telling:
    """Versions in the order they were saved, each with its parent and the reason for it.

    Args:
        saved: the versions.
        lines: of all versions, for the table.
    """
    columns = (Column("product"), Column("version"), Column("from"), Column("saved on"), Column("reason"))
    rows = tuple((x.product, x.name, x.parent or "-", f"{x.created:%Y-%m-%d}", x.reason) for x in saved)
    none = Sentence("No version is saved yet. How to save one: `optiform guide records`.")
    own = {(x.product, x.name) for x in saved}
    heads = ("product", "version", "ingredient", "percent", "phase")
    of_each = tuple(
        (x.product, x.version, x.ingredient, x.percent, x.phase) for x in lines if (x.product, x.version) in own
    )
    shown = Section("versions", "", (Table(columns, rows) if rows else none,), most=25)
    return Telling(count_of(len(rows), "version"), (shown,), Table(tuple(map(Column, heads)), of_each))


def version_lines(lines: Sequence[VersionLine]) -> Table:
    """The lines of one version, in their order."""
    columns = (Column("ingredient"), Column("% of the jar", places=2), Column("phase"))
    ordered = sorted(lines, key=lambda line: line.position)
    return Table(columns, tuple((x.ingredient, x.percent, x.phase) for x in ordered))


def batches(saved: Sequence[Batch]) -> Table:
    """Batches in the order given."""
    columns = (
        Column("batch"), Column("made"), Column("product"), Column("version"), Column("planned", "g"),
        Column("came out", "g"), Column("jars"), Column("rejected"), Column("deviation"), Column("note"),
    )  # fmt: skip
    rows = (
        (x.number, str(x.made), x.product, x.version, x.planned, x.actual, x.jars, x.rejected, x.deviation, x.note)
        for x in saved
    )
    return Table(columns, tuple(rows))


def batch(made: Batch, lines: Sequence[BatchLine], after: Sequence[str] = ()) -> Telling:
    """A batch as it is saved, and its weighings by lot.

    Args:
        made: the batch.
        lines: its weighings.
        after: what a change of it did to the packaging.
    """
    came_out = "not known yet" if made.actual is None else _came_out(made.actual, made.planned)
    facts = [
        ("Planned", f"{made.planned:g} g"), ("Came out", came_out), ("Jars filled", _known(made.jars)),
        ("Jars rejected", _known(made.rejected)), ("Maker", made.maker),
        ("Room", "" if made.room is None else f"{made.room:g} °C"), ("Deviation", made.deviation),
        ("Note", made.note),
    ]  # fmt: skip
    about = sentences((f"{name}: {words}" for name, words in facts if words), bullet=False)
    columns = (Column("ingredient"), Column("lot"), Column("planned", "g"), Column("weighed", "g"))
    table = Table(columns, tuple((x.ingredient, x.lot, x.planned, x.actual) for x in lines))
    sections = (
        Section("batch", "", (*about, *sentences(after, bullet=False))),
        Section("weighings", "Weighings", (table,), most=20),
    )
    title = f"Batch {made.number}, made {made.made}: {made.product}, version {made.version}"
    return Telling(title, sections, table)


def _came_out(actual: float, planned: float) -> str:
    off = 100 * (actual - planned) / planned
    return f"{actual:g} g, {abs(off):.1f} % {'more' if off > 0 else 'less'} than planned"


def _known(count: int | None) -> str:
    return "not known yet" if count is None else str(count)


def batch_saved(of: Recorded) -> Section:
    """What went into the records with a new batch."""
    made = of.batch
    head = f"Saved: batch {made.number} of {made.product}, version {made.version}, {made.planned:g} g out of the lots."
    return Section("saved", "", sentences((head, *packaging(of.counts), *recorded_notes(of)), bullet=False))


def filled(made: Batch) -> Step:
    """The next step for a batch, as it would be typed if everything came out as planned."""
    command = f'optiform stock batch {shlex.quote(made.number)} --actual "{made.planned:g} g" --rejected 0'
    return Step("When it is filled, with what came out", command)


def packaging(counts: Sequence[PackagingCount]) -> list[str]:
    """Which packaging went, or came back."""
    gone = ", ".join(f"{-each.pieces} x {each.packaging}" for each in counts if each.pieces < 0)
    back = ", ".join(f"{each.pieces} x {each.packaging}" for each in counts if each.pieces > 0)
    return [f"{words}: {names}." for words, names in (("Packaging taken", gone), ("Put back", back)) if names]


def counts(head: str, records: Mapping[str, int]) -> Telling:
    """How many records went over, by file."""
    rows = tuple((name.replace("_", " "), count) for name, count in records.items() if count)
    table = Table((Column("records"), Column("count")), rows)
    return Telling(f"{head}: {count_of(sum(records.values()), 'record')}", (Section("records", "", (table,)),), table)
