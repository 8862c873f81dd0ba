"""What the theme's settings cannot say of the look."""

import streamlit as st

#: What Streamlit fills with the primary colour and writes on in white, whatever that colour is.
FILLED = (
    '[data-testid="stBaseButton-primary"]:enabled',
    '[data-testid="stBaseButton-primaryFormSubmit"]:enabled',
    '[data-testid="stMultiSelectTagsContainer"] [data-tag]',
    '[data-testid^="stNumberInputStep"]:enabled:hover',
)


def scheme() -> str:
    """The scheme on screen: light or dark."""
    return "dark" if st.context.theme.type == "dark" else "light"


def words_on_primary() -> None:
    """Words on the primary colour take the colour of the ground, which stands out from it in both schemes."""
    colour = st.get_option(f"theme.{scheme()}.backgroundColor")
    st.html(f"<style>{', '.join(f'body {part}' for part in FILLED)} {{ color: {colour}; }}</style>")
