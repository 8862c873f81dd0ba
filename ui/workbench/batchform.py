"""What a batch has to do with the records: the lots it is weighed from, and keeping it once it is made."""

from typing import Any

import streamlit as st

from optiform.batch.batch import BatchSheet
from optiform.batch.keeping import Wanted, kept_batch, lotted
from optiform.batch.outcome import outcome
from optiform.reading import clock
from optiform.telling.stock import packaging
from optiform.workshop.decisions import Kept
from optiform.workshop.records import Batch, Lot, Movement, Version
from optiform.workshop.store import Reader
from workbench import forms, shop
from workbench.forms import key
from workbench.shop import Shop
from workbench.which import Chosen

SAME = "the one that is this formula"
BATCH = forms.written(
    number="Number of the batch", batch="Number of the batch", made="Made on", maker="Made by", room="Room, °C",
    version="Version", product="Version",
)  # fmt: skip
OUTCOME = forms.written(
    number="Batch", actual="Came out, g", jars="Jars filled", rejected="Jars rejected", deviation="Deviation",
    note="Note",
)  # fmt: skip


def with_lots(sheet: BatchSheet, chosen: Chosen) -> tuple[BatchSheet, Shop | None]:
    """The sheet with the lots of the records if that is asked for, and the records."""
    if not st.toggle("Lots of the records, first expired first", key="lots-of-records"):
        return sheet, None
    found = shop.opened()
    if found is None:
        return sheet, None
    today = clock.today()
    return lotted(sheet, found.of(Lot), found.of(Movement), chosen.brief.catalogue, today).sheet, found


def keep(sheet: BatchSheet, chosen: Chosen, found: Shop) -> None:
    """A form that keeps the batch and takes it out of its lots, in one decision."""
    versions = {f"{each.product}, {each.name}": each for each in found.of(Version)}
    with (
        st.expander("Keep this batch", icon=":material/add_box:", key="keep-batch"),
        st.form(key("batch", "form"), border=False),
    ):
        st.caption("When it is weighed: its lots go down, each line is kept with its lot, packaging is counted out.")
        one, two, three = st.columns(3)
        number = one.text_input("Number of the batch", key=key("batch", "number"))
        day = two.date_input("Made on", clock.today(), max_value=clock.today(), key=key("batch", "day"))
        of = three.selectbox("Version", [SAME, *versions], key=key("batch", "version"))
        one, two, _ = st.columns(3)
        maker = one.text_input("Made by", key=key("batch", "maker"))
        room = two.number_input("Room, °C", -20.0, 60.0, None, format="%g", key=key("batch", "room"))
        sent = st.form_submit_button("Keep the batch", type="primary", key="batch")
    if sent:
        version = versions.get(of)
        product, name = (version.product, version.name) if version else ("", "")
        wanted = Wanted(number.strip(), day or clock.today(), maker.strip(), room, product, name)
        needed = {"Number of the batch": number.strip(), "Made on": day}
        forms.keep("batch", needed, lambda now: _kept(now, wanted, sheet, chosen), BATCH)


def _kept(now: Reader, wanted: Wanted, sheet: BatchSheet, chosen: Chosen) -> Kept:
    made = kept_batch(now, wanted, sheet, chosen.formula, chosen.brief.catalogue, BATCH)
    batch, told = made.recorded.batch, made.recorded
    head = f"batch {batch.number} of {batch.product}, version {batch.version}, {batch.planned:g} g out of the lots"
    return Kept(made.records, ". ".join(words.rstrip(".") for words in (head, *packaging(told.counts), *told.notes)))


def came_of(batch: Batch) -> None:
    """A form for what came of a batch; what is left as it is stays."""
    name = f"outcome {batch.number}"
    with (
        st.expander("What came of it", icon=":material/edit_note:", expanded=batch.jars is None, key="outcome"),
        st.form(key(name, "form"), border=False),
    ):
        one, two, three = st.columns(3)
        given = {
            "actual": one.number_input("Came out, g", 0.0, None, batch.actual, format="%g", key=key(name, "actual")),
            "jars": two.number_input("Jars filled", 0, None, batch.jars, 1, key=key(name, "jars")),
            "rejected": three.number_input("Jars rejected", 0, None, batch.rejected, 1, key=key(name, "rejected")),
            "deviation": st.text_input("Deviation", batch.deviation, key=key(name, "deviation")),
            "note": st.text_input("Note", batch.note, key=key(name, "note")),
        }
        st.caption("Packaging that was counted out for the batch follows the jars that were filled or rejected.")
        sent = st.form_submit_button("Keep what came of it", type="primary", key=name)
    changed = {field: value for field, value in given.items() if value is not None and value != getattr(batch, field)}
    if sent:
        forms.keep(name, {"A change": changed or None}, lambda now: _came(now, batch.number, changed), OUTCOME)


def _came(now: Reader, number: str, changed: dict[str, Any]) -> Kept:
    found = outcome(now, number, changed, clock.now().replace(microsecond=0), OUTCOME)
    told = (f"what came of batch {number}", *packaging(found.packed.counts), *found.packed.notes)
    return Kept(found.records, ". ".join(words.rstrip(".") for words in told))
