"""Stock: what is owned, what expires, what is short; lots, packaging, offers and versions; out and in."""

import streamlit as st
from workbench import batchform, forms, papers, parts, shop, show, stockforms, touch
from workbench.shop import Shop
from workbench.work import Refused

from optiform.batch.on_hand import Stock, stock
from optiform.batch.records import Packed
from optiform.reading import clock
from optiform.telling import stock as told
from optiform.telling.json import records as json
from optiform.workshop.keeping import own_lines
from optiform.workshop.records import Batch, BatchLine, Lot, Offer, Version, VersionLine

DAYS = 60


def shelf(records: Shop) -> None:
    """Kilograms left by ingredient and lot, what expires, what is short, and the forms that change it."""
    if not records.of(Lot):
        st.info("Nothing is on the shelf yet. Save your first lot here, or bring in records under Out and in.")
        stockforms.receive(records, first=True)
        return
    left, right = st.columns([1, 2], vertical_alignment="bottom")
    days = int(left.number_input("Expires within, days", 0, 3650, DAYS, 10, key="days"))
    only = right.toggle("Only lots that expire by then", key="only-expiring")
    owned = stock(records.records, records.held, clock.today(), days)
    telling = told.stock(owned)
    papers.downloads("stock", telling, lambda: json.stock(owned))
    for section in telling.only("short", "overdrawn").sections:
        parts.body(section, f"stock-{section.name}")
    if touch.narrow():  # below all lots a phone would scroll far for a form
        _changed(records)
    lots(owned, only)
    if not touch.narrow():
        _changed(records)


def _changed(records: Shop) -> None:
    """The forms by which the shelf changes."""
    stockforms.receive(records)
    stockforms.take(records)
    stockforms.weigh_again(records)


def lots(owned: Stock, only: bool) -> None:
    """A row for each lot, those of an ingredient in the order in which to take them."""
    count = len({holding.lot.number for holding in owned.expiring})
    words = "1 lot expires" if count == 1 else f"{count} lots expire" if count else "No lot is known to expire"
    st.markdown(f"**{words} within {owned.days} days.** Of each ingredient, take the lot first that expires first.")
    if undated := told.undated(owned):
        st.caption(undated)
    parts.table(told.lots(owned, only), "lots")
    gone = [shelf.ingredient for shelf in owned.shelves if not shelf.lots]
    if gone and not only:
        st.caption(f"Nothing left of: {show.escape(', '.join(gone))}.")


def packaging(records: Shop) -> None:
    """Pieces left, and a form for what came or went."""
    owned = stock(records.records, records.held, clock.today(), DAYS)
    if owned.packaging:
        parts.table(told.pieces(owned), "packaging")
    else:
        st.info("No packaging is saved yet. Save the first pieces below.")
    stockforms.packaging(records)


def offers(records: Shop) -> None:
    """Packs that can be bought, the newest first, and a form for another."""
    if records.of(Offer):
        parts.table(told.offers(records.of(Offer)), "offers")
    else:
        st.info("No offer is saved yet.")
    stockforms.offer(records)


def versions(records: Shop) -> None:
    """What came from what and why, and the lines of one."""
    kept = records.of(Version)
    if not kept:
        st.info("No version is saved yet. On Drafts, “Save as a version” puts one here.")
        return
    parts.told(told.versions(kept, records.of(VersionLine)), "versions")
    names = [f"{x.product}, {x.name}" for x in kept]
    chosen = kept[names.index(st.selectbox("Lines of", names, len(names) - 1, key="version-lines"))]
    own = own_lines(records.of(VersionLine), chosen.product, chosen.name)
    parts.table(told.version_lines(own), "lines")


def batches(records: Shop) -> None:
    """Batches that are kept, the newest first, the weighings of one, and a form for what came of it."""
    kept = sorted(records.of(Batch), key=lambda batch: batch.made, reverse=True)
    if not kept:
        st.info("No batch is saved yet. On Batch, “Save this batch” puts one here, with the lots it was weighed from.")
        return
    parts.table(told.batches(kept), "batches")
    numbers = [batch.number for batch in kept]
    batch = kept[numbers.index(st.selectbox("Weighings of", numbers, key="batch-lines"))]
    batchform.came_of(batch)
    lines = sorted((x for x in records.of(BatchLine) if x.batch == batch.number), key=lambda x: x.position)
    telling = told.batch(batch, lines)
    papers.downloads(f"batch-{batch.number}", telling, lambda: json.batch(batch, lines, Packed((), ())))
    parts.table(telling.table, "weighings")


def exchange(_: Shop) -> None:
    """Every record out as a zip, and in again."""
    out, into = st.columns(2, gap="large")
    with out:
        st.header("Out", anchor=False)
        st.markdown("Every record as plain CSV, one file for each kind: your backup, and yours to read anywhere.")
        content = shop.exported()
        if isinstance(content, Refused):
            forms.refused(content)
        else:
            name = f"workshop-{clock.today()}.zip"
            st.download_button("Download all records (zip)", content, name, "application/zip", key="export")
    with into:
        st.header("In", anchor=False)
        st.markdown("Adds the records of such a zip to those that are here: all of them, or none.")
        file = st.file_uploader("Zip of records", "zip", key=forms.key("import", "file"))
        if st.button("Bring in", key="import", disabled=file is None, type="primary") and file is not None:
            _bring_in(file.name, file.getvalue())


def _bring_in(name: str, content: bytes) -> None:
    outcome = shop.brought_in(name, content)
    if isinstance(outcome, Refused):
        show.refused(outcome, "Nothing was brought in. Everything that is wrong with it:")
    else:
        forms.done("import", f"Brought in {sum(outcome.values())} records from {name}.")


PARTS = {
    "On the shelf": shelf,
    "Packaging": packaging,
    "Offers": offers,
    "Versions": versions,
    "Batches": batches,
    "Out and in": exchange,
}

forms.on_records("Stock", PARTS)
