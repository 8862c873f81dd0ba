"""Products: what is kept, to go on with; copies of the demo; dated copies of the records, to go back to one."""

import streamlit as st
from workbench import kept, places, products, show, state
from workbench.products import Listed

from optiform.telling.parts import readable


def listing(where: str, key: str, own: bool) -> None:
    """A row for each product of a place, the last changed first."""
    known = products.home()
    for number, each in enumerate(products.listed(where)):
        here = known is not None and (known.place, known.name) == (where, each.name)
        row = st.container(horizontal=True, vertical_alignment="center", key=f"{key}-{number}")
        words = f"**{show.escape(each.name)}**  \n{show.escape(readable(_last(each)))}"
        row.markdown(words)
        row.button("On the bench" if here else "Open", key=f"open-{key}-{number}", disabled=here,
                   on_click=_open, args=(where, each.name), icon=":material/folder_open:")  # fmt: skip
        if own and here:
            row.button("Copy", key=f"copy-{number}", on_click=_copy, args=(each.name,), icon=":material/file_copy:")


def _last(each: Listed) -> str:
    return f"{each.when:%Y-%m-%d %H:%M}: {each.words} ({each.steps} step{'s' if each.steps > 1 else ''})"


def _open(where: str, name: str) -> None:
    if products.open_product(where, name):
        state.tell(f"Opened {name}.")


def _copy(name: str) -> None:
    products.start_copy(f"copying {name}")
    state.tell(f"This is a copy of {name}; the other stays as it is.")


st.title("Products", anchor=False)
if st.button("New product", key="new-product", type="primary", icon=":material/add_circle:"):
    st.switch_page("views/new.py")
own, demos = places.own(), places.demos()
st.header("Yours", anchor=False)
if products.listed(own):
    listing(own, "own", own=True)
else:
    st.info("No product of your own is saved yet.")
st.caption(f"Saved in {show.escape(places.told(own))}.")
if products.listed(demos):
    st.header("Copies of the demo", anchor=False)
    listing(demos, "demo", own=False)
    st.caption(f"Saved in {show.escape(places.told(demos))}.")
    st.button("Put these copies away", key="reset-demo", icon=":material/restart_alt:", on_click=kept.reset_demo,
              help="They go from this list; a dated copy of them stays beside it.")  # fmt: skip
kept.copies(own, "own")
