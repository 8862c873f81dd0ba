"""What a batch has to do with the records: the lots it is weighed from, and keeping it once it is made."""

import streamlit as st

from optiform.batch.batch import BatchSheet
from optiform.batch.keeping import Wanted, kept_batch, lotted
from optiform.batch.outcome import outcome
from optiform.reading import clock
from optiform.telling.stock import packaging
from optiform.telling.worked import recorded_notes, uncounted_of
from optiform.workshop.decisions import Kept, Where
from optiform.workshop.records import Batch, Version
from optiform.workshop.store import Reader
from workbench import shop, typed
from workbench.forms import Form
from workbench.shop import Shop
from workbench.which import Chosen
from workbench.work import Refused

SAME = "the one that is this formula"


def with_lots(sheet: BatchSheet, chosen: Chosen) -> tuple[BatchSheet, Shop | None]:
    """The sheet with the lots of the records if that is asked for, and the records."""
    if not st.toggle("Lots of the records, first expired first", **typed.field("lots-of-records")):
        return sheet, None
    records = shop.opened()
    if records is None:
        return sheet, None
    lots = shop.within(lambda kept: lotted(kept, sheet, chosen.brief.catalogue, clock.today()))
    return (sheet if isinstance(lots, Refused) else lots.sheet), records


@st.fragment
def keep(sheet: BatchSheet, chosen: Chosen, records: Shop) -> None:
    """A form that keeps the batch and takes it out of its lots, in one decision."""
    versions = {f"{each.product}, {each.name}": each for each in records.of(Version)}
    form = Form("batch", (Batch,), {"batch": "Number of the batch"})
    with form.box("Save this batch", "add_box", "keep-batch", "Save the batch"):
        st.caption("Save the batch once it is weighed. It is taken out of its lots, each line is saved with its lot, "
                   "and packaging is counted out. What you ticked one by one is saved as you weighed it.")  # fmt: skip
        one, two, three = st.columns(3)
        form.ask("number", one)
        form.ask("made", two, clock.today(), at="day", max_value=clock.today())
        form.choose("version", [SAME, *versions], three, 0)
        form.row("maker", "room")

    def decided(now: Reader) -> Kept:
        version = versions.get(form.values["version"])
        of = (version.product, version.name) if version else ("", "")
        wanted = Wanted(form.values["number"], form.values["made"], form.values["maker"], form.values["room"], *of)
        return _kept(now, wanted, sheet, chosen, form.where)

    form.keep(("number", "made"), decided)


def _kept(now: Reader, wanted: Wanted, sheet: BatchSheet, chosen: Chosen, where: Where) -> Kept:
    made = kept_batch(now, wanted, sheet, chosen.formula, chosen.brief.catalogue, where)
    batch, told = made.recorded.batch, made.recorded
    head = f"batch {batch.number} of {batch.product}, version {batch.version}, {batch.planned:g} g out of the lots"
    return Kept(made.records, _sentences(head, *packaging(told.counts), *recorded_notes(told)))


def _sentences(*words: str) -> str:
    return ". ".join(each.rstrip(".") for each in words)


@st.fragment
def came_of(batch: Batch) -> None:
    """A form for what came of a batch; what is left as it is stays."""
    form = Form(f"outcome {batch.number}", (Batch,))
    with form.box("Result", "edit_note", "outcome", "Save the result", batch.jars is None):
        form.row("actual", "jars", "rejected", actual=batch.actual, jars=batch.jars, rejected=batch.rejected)
        form.ask("deviation", value=batch.deviation)
        form.ask("note", value=batch.note)
        st.caption("Packaging that was counted out for the batch follows the jars that were filled or rejected.")
    before = {name: getattr(batch, name) for name in form.values}
    changed = {name: value for name, value in form.values.items() if value is not None and value != before[name]}

    def decided(now: Reader) -> Kept:
        came = outcome(now, batch.number, changed, clock.now().replace(microsecond=0), form.where)
        words = (f"result of batch {batch.number}", *packaging(came.packed.counts), *uncounted_of(came.packed))
        return Kept(came.records, _sentences(*words))

    form.keep((), decided, **{"A change": changed or None})
