"""Range: formulas and packs of everything planned, chosen together."""

from dataclasses import replace

import streamlit as st
from streamlit.delta_generator import DeltaGenerator
from workbench import papers, parts, planning
from workbench.question import asked
from workbench.typed import field, of_product

from optiform.costs.plan import Plan
from optiform.design.range import range_design
from optiform.telling.json.range import range_design as as_json
from optiform.telling.range import range_design as range_told


def body() -> None:
    """What is planned, and the formulas and packs that make it for the least money."""
    choices = st.container()  # before the plan: the answer stands right below its button
    planned = planning.supplied()
    if planned is None:
        return
    plan, offers, lots = planned.plan, planned.offers, planned.lots
    names = sorted({shelf.lot.ingredient for shelf in lots if shelf.left > 0})
    left, right = choices.columns([2, 3], vertical_alignment="bottom")
    used = left.selectbox("Use up", names, None, placeholder="nothing: money alone counts", **field("use-up", names),
                          help="As much of its stock goes in as can; money comes after that.")  # fmt: skip
    base = right.toggle("One base for as many as can share it", **field("common-base"),
                        help="Scents and colours stay each product's own. Jars stay as planned.")  # fmt: skip
    own = beside(choices, plan) if base else ()
    plan = replace(plan, products=tuple(replace(product, own=own or None) for product in plan.products))
    key = (*planned.key, used, base, own)
    answer = asked("range", key, lambda _: range_design(plan, offers, lots, use_up=used or "", common_base=base))
    if answer is not None:
        telling = range_told(answer)
        first, *rest = telling.names
        parts.told(telling.only(first), "range")
        papers.downloads("range", telling, lambda: as_json(answer))
        parts.told(telling.only(*rest), "range-more")


def beside(place: DeltaGenerator, plan: Plan) -> tuple[str, ...]:
    """The lines that are called no part of the base; none where it is left to scents and colours."""
    names = sorted({line.ingredient.name for made in plan.products for line in made.formula.lines})
    held = field("own-lines", names, of_product("own lines"))
    words = "Lines that are no part of the base: each product has what its own formula has of them."
    return tuple(place.multiselect("Own lines, beside the base", names, placeholder="scents and colours", help=words,
                                   **held))  # fmt: skip


st.title("Range", anchor=False)
st.markdown(
    "Formulas and packs of all that is planned, chosen together. What customers notice of each stays near what it is."
)
body()
