"""What the theme's settings cannot say of the look: what is written on the primary colour, places, and sizes."""

import streamlit as st

#: What Streamlit fills with the primary colour and writes on in white, whatever that colour is.
FILLED = (
    '[data-testid="stBaseButton-primary"]:enabled',
    '[data-testid="stBaseButton-primaryFormSubmit"]:enabled',
    '[data-testid="stMultiSelectTagsContainer"] [data-tag]',
    '[data-testid^="stNumberInputStep"]:enabled:hover',
)
#: Less room above a page. What stands beside the formula stays in sight while the page scrolls; the line at the foot,
#: which says the same, is then not needed; in a low window, as at 200 %, it would lie over the first control. What only
#: asks the browser takes no room. A finger needs 44 px (WCAG 2.5.5).
PLACES = """
[data-testid="stMainBlockContainer"] { padding-top: 4.2rem; }
.st-key-unseen, .st-key-unseen-words { position: absolute; height: 0; overflow: hidden; }
@media (min-width: 1000px) {
    [data-testid="stColumn"]:has(.st-key-aside) {
        position: sticky; top: 4rem; align-self: flex-start; max-height: calc(100vh - 4.5rem); overflow-y: auto;
        padding-right: 0.3rem;
    }
    [data-testid="stMainBlockContainer"] { padding-left: 2rem; padding-right: 2rem; }
    body:has(.st-key-aside) [data-testid="stBottom"] { display: none; }
}
@media (max-width: 640px) {
    [data-testid="stMainBlockContainer"] { padding: 3.5rem 1rem 5rem; }
    [data-testid="stBottomBlockContainer"] { padding: 0.6rem 1rem 0.9rem; }
    [data-testid="stToastContainer"] { top: auto !important; bottom: 4.5rem !important; }
    h1 { font-size: 1.4rem !important; padding-top: 0 !important; }
    .st-key-head-bar { flex-wrap: nowrap !important; gap: 0.4rem !important; }
    .st-key-head-bar > :is(.st-key-undo, .st-key-redo) { min-width: 44px; flex: 0 1 auto !important; overflow: hidden; }
    .st-key-head-bar > :has(button:disabled, [data-testid="stPopoverButton"]) { min-width: max-content; }
    [data-testid="stPopoverBody"] table { display: block; max-width: 100%; overflow-x: auto; font-size: 0.85rem; }
    [data-testid="stPopoverBody"] :is(th, td) { padding: 0.2rem 0.35rem !important; }
}
@media (max-height: 500px) {
    [data-testid="stBottom"] { display: none; }
    [data-testid="stMainBlockContainer"] [data-testid="stVerticalBlock"] { gap: 0.5rem; }
}
@media (pointer: coarse) {
    body button, summary, [data-testid="stSidebarNavLink"], body [role="tab"], body [role="combobox"],
    input:not([type="checkbox"]):not([type="file"]), label:has(input[type="checkbox"]) {
        min-height: 44px !important;
    }
    body button, body [role="tab"] { min-width: 44px !important; }
    body [role="tab"] { flex-shrink: 0; white-space: nowrap; }
    [data-testid="stElementToolbar"] { display: none; }
    [data-testid="stHeadingWithActionElements"] a { display: none; }
}
"""


def scheme() -> str:
    """The scheme on screen: light or dark."""
    return "dark" if st.context.theme.type == "dark" else "light"


def style() -> None:
    """Words on the primary colour in the colour of the ground, which stands out from it in both schemes; and places."""
    colour = st.get_option(f"theme.{scheme()}.backgroundColor")
    filled = f"{', '.join(f'body {part}' for part in FILLED)} {{ color: {colour}; }}"
    st.html(f"<style>{filled}{PLACES}</style>")
