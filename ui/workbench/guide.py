"""What the guide says of a page, behind its Help; the commands that it ends with are for a terminal."""

import streamlit as st

from optiform.telling.guide import title, topic

#: Page to the topics behind its Help, the nearest first.
TOPICS = {
    "Products": ("records", "workbench"),
    "New product": ("brief", "own-table"),
    "History": ("records", "workbench"),
    "Workbench": ("workbench", "words", "how-sure", "brief"),
    "As typed": ("words", "how-sure"),
    "Cheaper": ("words", "how-sure"),
    "Substitute": ("words", "how-sure"),
    "Firmer or softer": ("words", "how-sure"),
    "Nearly as good": ("words", "how-sure"),
    "Weighable": ("words", "how-sure"),
    "Drafts": ("workbench", "how-sure"),
    "Batch": ("making", "records"),
    "Declaration": ("own-table", "how-sure"),
    "Costs": ("costs", "own-table"),
    "Buying": ("buying", "records"),
    "Range": ("buying", "records"),
    "Stock": ("records",),
    "Trials": ("records", "how-sure"),
    "Ingredients": ("own-table", "how-sure"),
}


def on_page(name: str) -> str:
    """A topic without its title, which is that of its tab, and without its commands.

    >>> "## Commands" in topic("records"), "## Commands" in on_page("records")
    (True, False)
    """
    return topic(name).partition("\n")[2].partition("\n## Commands\n")[0].strip()


@st.fragment
def behind(page: str) -> None:
    """The Help of a page: its topics, one a tab. The text is the program's own, so it is shown as Markdown."""
    names = TOPICS[page]
    words = "What can stand here, and what the words mean"
    row = st.container(horizontal=True, horizontal_alignment="right")
    help_ = row.popover("Help", help=words, key=f"help {page}", on_change="rerun")
    if help_.open:  # a page is not sent its pages of text with every step
        with help_:
            for tab, name in zip(st.tabs([title(name) for name in names]), names, strict=True):
                tab.markdown(on_page(name))
