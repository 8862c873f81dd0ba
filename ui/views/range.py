"""Range: formulas and packs of everything planned, chosen together."""

import streamlit as st
from workbench import papers, parts, planning
from workbench.question import asked

from optiform.design.range import range_design
from optiform.telling.document import document
from optiform.telling.range import range_design as range_told


def body() -> None:
    """What is planned, and the formulas and packs that make it for the least money."""
    planned = planning.supplied()
    if planned is None:
        return
    answer = asked("range", planned.key, lambda _: range_design(planned.plan, planned.offers, planned.lots))
    if answer is not None:
        telling = range_told(answer)
        papers.downloads("range", lambda: document(telling, telling.title), telling.table)
        parts.told(telling, "range")


st.title("Range")
st.markdown("Formulas and packs of everything planned, chosen together for the least money. What customers notice of "
            "each formula stays near what it is.")  # fmt: skip
body()
