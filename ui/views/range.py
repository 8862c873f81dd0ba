"""Range: formulas and packs of everything planned, chosen together."""

import streamlit as st
from workbench import papers, parts, planning, shop, show, state, work
from workbench.question import asked
from workbench.shop import Shop

from optiform.brief.brief import Brief
from optiform.design.range import range_design
from optiform.telling.document import document
from optiform.telling.range import range_design as range_told
from optiform.workshop.records import Lot, Movement, Offer
from optiform.workshop.supplies import kept_lots, kept_offers


def body(records: Shop, brief: Brief) -> None:
    """What is planned, and the formulas and packs that make it for the least money."""
    offers = kept_offers(records.of(Offer), [brief.catalogue])
    lots = kept_lots(records.of(Lot), records.of(Movement), [brief.catalogue])
    plan = planning.planned(brief, {offer.supplier for offer in offers})
    if plan is None:
        return
    made = tuple((p.name, p.jars, p.jar, p.loss) for p in plan.products)  # on one bench a name is one formula
    settings = (made, plan.date, plan.leftover, tuple(plan.suppliers.items()), offers, lots)
    answer = asked("range", settings, lambda _: range_design(plan, offers, lots))
    if answer is not None:
        telling = range_told(answer)
        papers.downloads("range", lambda: document(telling, telling.title), telling.table)
        parts.told(telling, "range")


st.title("Range")
st.markdown("Formulas and packs of everything planned, chosen together for the least money. What customers notice of "
            "each formula stays near what it is.")  # fmt: skip
opened = shop.opened()
read = work.brief(state.bench())
if isinstance(read, work.Refused):
    show.refused(read)
elif opened is not None:
    body(opened, read)
