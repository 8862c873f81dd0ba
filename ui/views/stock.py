"""Stock: what is owned, what expires, what is short; lots, packaging, offers and versions; out and in."""

import datetime
from collections.abc import Sequence

import streamlit as st
from streamlit.elements.lib.column_types import ColumnConfig
from workbench import batchform, forms, shop, show, stockforms
from workbench.shop import Shop
from workbench.work import Refused

from optiform.batch.on_hand import Stock, stock
from optiform.reading import clock
from optiform.workshop.records import Batch, BatchLine, Lot, Offer, Version, VersionLine
from optiform.workshop.stock import Holding

KG = st.column_config.NumberColumn(format="%.3f")
COUNT = st.column_config.NumberColumn(format="%d")
DAYS = 60


def shelf(found: Shop) -> None:
    """Kilograms left by ingredient and lot, what expires, what is short, and the forms that change it."""
    if not found.of(Lot):
        st.info("Nothing is on the shelf yet. Keep your first lot here, or bring in records under Out and in.")
        stockforms.receive(found, first=True)
        return
    left, right = st.columns([1, 2], vertical_alignment="bottom")
    days = int(left.number_input("Expires within, days", 0, 3650, DAYS, 10, key="days"))
    only = right.toggle("Show only lots that do", key="only-expiring")
    owned = stock(found.records, clock.today(), days)
    short(owned)
    lots(owned, only)
    stockforms.receive(found)
    stockforms.take(found)
    stockforms.weigh_again(found)


def short(owned: Stock) -> None:
    """What has to be bought, what has to be looked at."""
    for batch in owned.batches:
        of = f"{batch.kg:g} kg of {show.escape(batch.product)}, version {show.escape(batch.version)}"
        if batch.short:
            lacking = "; ".join(
                f"**{show.escape(x.ingredient)}** {x.needed - x.there:.3f} kg missing ({x.there:.3f} there)"
                for x in batch.short
            )
            st.warning(
                f"Short for {of}: {lacking}. Expired lots are not counted. {show.escape(batch.packaging)}",
                icon=":material/shopping_cart:",
            )
        else:
            told = st.warning if batch.pieces else st.success
            icon = ":material/shopping_cart:" if batch.pieces else ":material/check:"
            told(f"Enough of every ingredient for {of}. {show.escape(batch.packaging)}", icon=icon)
    show.warnings(
        f"Of lot {each.lot.number}, {-each.kg:.3f} kg more was taken than came in: weigh what is left again, below."
        for each in owned.overdrawn
    )


def lots(owned: Stock, only: bool) -> None:
    """A row for each lot, those of an ingredient in the order in which to take them."""
    soon = {each.lot.number for each in owned.expiring}
    rows = [
        _row(shelf.ingredient, shelf.kg, order, each, owned.today)
        for shelf in owned.shelves
        for order, each in enumerate(shelf.lots, 1)
        if not only or each.lot.number in soon
    ]
    gone = [shelf.ingredient for shelf in owned.shelves if not shelf.lots]
    words = "1 lot expires" if len(soon) == 1 else f"{len(soon) or 'No'} lots expire"
    st.markdown(f"**{words} within {owned.days} days.** Lots of an ingredient stand first expired first.")
    if rows:
        shop.table(rows, "lots", False, **{"left, kg": KG, "all lots, kg": KG, "paid per kg": _money()})
    if gone and not only:
        st.caption(f"Nothing left of: {show.escape(', '.join(gone))}.")


def _row(ingredient: str, kg: float, order: int, holding: Holding, today: datetime.date) -> dict[str, object]:
    lot = holding.lot
    return {
        "ingredient": ingredient,
        "lot": lot.number,
        "left, kg": holding.kg,
        "expiry": _expiry(lot.expiry, today),
        "take": f"{order}.",
        "all lots, kg": kg,
        "paid per kg": lot.price,
        "currency": lot.currency if lot.price is not None else "",
        "supplier": lot.supplier,
        "their lot": lot.supplier_lot,
        "note": lot.note,
    }


def _expiry(date: datetime.date | None, today: datetime.date) -> str:
    if date is None:
        return "not known"
    days = (date - today).days
    return f"{date}, {'EXPIRED' if days < 0 else f'{days} days'}"


def _money() -> ColumnConfig:
    return st.column_config.NumberColumn(format="%.2f")


def packaging(found: Shop) -> None:
    """Pieces left, and a form for what came or went."""
    owned = stock(found.records, clock.today(), DAYS)
    if owned.packaging:
        rows = [
            {"packaging": x.packaging.name, "kind": x.packaging.kind, "pieces left": x.left,
             "price": x.packaging.price, "currency": x.packaging.currency if x.packaging.price is not None else "",
             "volume, mL": x.packaging.volume, "empty, g": x.packaging.tare, "note": x.packaging.note}
            for x in owned.packaging
        ]  # fmt: skip
        shop.table(rows, "packaging", price=_money())
    else:
        st.info("No packaging is kept yet. Keep the first pieces below.")
    stockforms.packaging(found)


def offers(found: Shop) -> None:
    """Packs that can be bought, the newest first, and a form for another."""
    kept = sorted(found.of(Offer), key=lambda offer: (offer.ingredient, -offer.date.toordinal()))
    if kept:
        rows = [
            {"ingredient": x.ingredient, "supplier": x.supplier, "pack, kg": x.pack, "price of it": x.price,
             "shipping": x.shipping, "currency": x.currency, "on": str(x.date), "note": x.note}
            for x in kept
        ]  # fmt: skip
        shop.table(rows, "offers", False, **{"price of it": _money(), "shipping": _money()})
    else:
        st.info("No offer is kept yet.")
    stockforms.offer(found)


def versions(found: Shop) -> None:
    """What came from what and why, and the lines of one."""
    kept = found.of(Version)
    if not kept:
        st.info("No version is kept yet. On Variants, “Keep in the workshop” puts one here.")
        return
    shop.table([
        {"product": x.product, "version": x.name, "from": x.parent or "none", "kept on": f"{x.created:%Y-%m-%d}",
         "reason": x.reason}
        for x in kept
    ], "versions")  # fmt: skip
    names = [f"{x.product}, {x.name}" for x in kept]
    chosen = kept[names.index(st.selectbox("Lines of", names, len(names) - 1, key="version-lines"))]
    _lines([x for x in found.of(VersionLine) if (x.product, x.version) == (chosen.product, chosen.name)])


def _lines(lines: Sequence[VersionLine]) -> None:
    rows = [
        {"ingredient": x.ingredient, "%": x.percent, "phase": x.phase} for x in sorted(lines, key=lambda x: x.position)
    ]
    shop.table(rows, "lines", whole=True, **{"%": st.column_config.NumberColumn(format="%.2f")})


def batches(found: Shop) -> None:
    """Batches that are kept, the newest first, the weighings of one, and a form for what came of it."""
    kept = sorted(found.of(Batch), key=lambda batch: batch.made, reverse=True)
    if not kept:
        st.info("No batch is kept yet. On Batch, “Keep this batch” puts one here, with the lots it was weighed from.")
        return
    shop.table([
        {"batch": x.number, "made": str(x.made), "product": x.product, "version": x.version, "planned, g": x.planned,
         "came out, g": x.actual, "jars": x.jars, "rejected": x.rejected, "deviation": x.deviation, "note": x.note}
        for x in kept
    ], "batches", jars=COUNT, rejected=COUNT)  # fmt: skip
    numbers = [batch.number for batch in kept]
    batch = kept[numbers.index(st.selectbox("Weighings of", numbers, key="batch-lines"))]
    batchform.came_of(batch)
    rows = [
        {"ingredient": x.ingredient, "lot": x.lot, "planned, g": x.planned, "weighed, g": x.actual}
        for x in sorted(found.of(BatchLine), key=lambda x: x.position)
        if x.batch == batch.number
    ]
    shop.table(rows, "weighings", whole=True)


def exchange(_: Shop) -> None:
    """Every record out as a zip, and in again."""
    out, into = st.columns(2, gap="large")
    with out:
        st.subheader("Out")
        st.markdown("Every record as plain CSV, one file for each kind: your backup, and yours to read anywhere.")
        content = shop.exported()
        if isinstance(content, Refused):
            forms.refused(content)
        else:
            name = f"workshop-{clock.today()}.zip"
            st.download_button("Download all records (zip)", content, name, "application/zip", key="export")
    with into:
        st.subheader("In")
        st.markdown("Adds the records of such a zip to those that are here: all of them, or none.")
        file = st.file_uploader("Zip of records", "zip", key=forms.key("import", "file"))
        if st.button("Bring in", key="import", disabled=file is None, type="primary") and file is not None:
            _bring_in(file.name, file.getvalue())


def _bring_in(name: str, content: bytes) -> None:
    found = shop.brought_in(name, content)
    if isinstance(found, Refused):
        st.error("Nothing was brought in. Everything that is wrong with it:", icon=":material/error:")
        show.listed(found.faults)
    else:
        forms.done("import", f"Brought in {sum(found.values())} records from {name}.")


PARTS = {
    "On the shelf": shelf,
    "Packaging": packaging,
    "Offers": offers,
    "Versions": versions,
    "Batches": batches,
    "Out and in": exchange,
}

st.title("Stock")
here = shop.opened()
if here is not None:
    forms.told()
    for tab, part in zip(st.tabs(list(PARTS), key="stock-tab", on_change="rerun"), PARTS.values(), strict=True):
        if tab.open:
            with tab:
                part(here)
