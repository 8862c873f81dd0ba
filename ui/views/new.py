"""New product: what it is, what is on the shelf, and a first formula stands."""

import streamlit as st
from streamlit.runtime.uploaded_file_manager import UploadedFile
from workbench import beginning, parts, places, products, proposals, shelf, show, typed
from workbench.typed import field
from workbench.work import Refused

from optiform.brief.brief import KINDS
from optiform.brief.kind_words import all_called
from optiform.brief.new import OnShelf, Start, usual_shelf
from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.formula import Basis, Formula
from optiform.ingredients.pasted import Named, formula_in
from optiform.label.from_label import LabelRanges, from_label
from optiform.label.list_text import parse_label
from optiform.label.middle import middle
from optiform.reading import clock
from optiform.reading.encodings import decoded
from optiform.reading.faults import BadInput
from optiform.rules.kinds import use_of
from optiform.rules.law import MARKETS, USES, Scope
from optiform.rules.usual import grains_of
from optiform.telling.check import how_read
from optiform.telling.label import label as label_told
from optiform.telling.label import of_centre

USUAL, FORMULA, LABEL, COPY = "what is usual", "a formula of mine", "a label", "another product"
BASES = {
    "percent of the whole": ("percent", Basis.WHOLE), "percent of the base, grains on top": ("percent", Basis.BASE),
    "grams": ("grams", None), "parts": ("parts", None),
}  # fmt: skip
FIRST = {"percent": 0, "grams": 2, "parts": 3}


@st.cache_resource(show_spinner=False)
def catalogue() -> Catalogue:
    """The shipped ingredients."""
    return read_catalogue()


def what() -> Start:
    """Name, kind, use and markets."""
    left, right = st.columns([3, 2])
    title = left.text_input("Name of the product", placeholder="what you call it", **field("new-title"))
    typed.begin("new-kind", KINDS)
    kind = right.selectbox("Kind of product", KINDS, None, key="new-kind", on_change=_kind_chosen,
                           placeholder="choose")  # fmt: skip
    left, middle, right = st.columns([2, 2, 1])
    use, area = use_of(kind or "")
    used = left.segmented_control("Use", USES, default=use, required=True, **field(f"new-use {kind}"))
    markets = middle.multiselect("Markets", MARKETS, list(MARKETS[:1]), help="whose law counts",
                                 **field("new-markets"))  # fmt: skip
    currency = right.text_input("Currency", "EUR", max_chars=3, **field("new-currency"))
    name = " ".join(title.split()) or (kind or "New product").capitalize()
    return Start(name, kind or "", str(used), area, tuple(markets), currency.upper() or "EUR")


def _kind_chosen() -> None:
    typed.hold("new-kind")
    kind = st.session_state["new-kind"]
    if kind:
        shelf.lay_for(kind, "", catalogue(), st.session_state.get("new-currency", "EUR"))


def _grain_chosen() -> None:
    typed.hold("new-grain")
    shelf.lay_for(st.session_state["new-kind"], st.session_state["new-grain"] or "", catalogue(),
                  st.session_state.get("new-currency", "EUR"))  # fmt: skip


def on_shelf(start: Start) -> list[OnShelf]:
    """The shelf: ticked from what is usual, the records and the catalogue, or pasted."""
    st.header("On the shelf", anchor=False)
    grains = grains_of(start.kind)
    if grains:
        typed.begin("new-grain", grains)
        st.segmented_control("Grains", grains, default=None, key="new-grain", on_change=_grain_chosen)
    st.caption("Ticked is what makers of this kind take first. Tick what you have; price and pack can wait.")
    ticked = shelf.table(start.currency)
    shelf.more(catalogue(), start.currency)
    return ticked


def from_usual(start: Start) -> None:
    """From the usual ranges of a kind and what is on the shelf."""
    if not start.kind:
        st.info("Choose the kind of product; its usual ingredients come to the shelf below.")
        _none_of_these()
        return
    ticked = on_shelf(start)
    if st.button("Begin", type="primary", key="begin", icon=":material/play_arrow:", disabled=not ticked):
        beginning.begin(beginning.files_of(start, ticked), f"begun from what is usual in a {start.kind}")


def _none_of_these() -> None:
    """What a product that is not in the list of kinds is called there, and how to begin where it is none of them."""
    words: dict[str, list[str]] = {kind: [] for kind in KINDS}
    for each in all_called():
        for kind in () if each.about else each.kinds:
            words[kind].append(each.words)
    with st.expander("Your product is not in the list?", icon=":material/help:"):
        st.markdown("\n".join(f"- **{kind}**, for {', '.join(also)}" for kind, also in words.items() if also))
        none = ", ".join(each.words for each in all_called() if not each.kinds)
        st.markdown(
            f"There are no usual ranges for others, such as {none}, nor for soap made with lye. Leave the kind empty "
            f"and begin from “{FORMULA}” or “{LABEL}”: then your own limits count, and what is usual does not."
        )


def from_formula(start: Start) -> None:
    """From a formula of the maker's own, pasted or in a file."""
    left, right = st.columns(2)
    text = left.text_area("Paste the formula, a line for each ingredient", height=220, **field("new-formula"),
                          placeholder="shea butter, refined\t20\nolive oil\t77\nbeeswax\t3")  # fmt: skip
    file = right.file_uploader("Or load it", ["csv", "txt", "tsv"], key="new-formula-file", on_change=_loaded,
                               help="its lines come into the field beside it")  # fmt: skip
    if file is not None and isinstance(unread := _text_of(file), BadInput):
        show.listed(map(str, unread.faults))
        return
    pasted = formula_in(text, catalogue())
    if pasted.faults:
        show.listed(map(str, pasted.faults))
    if not pasted.lines:
        return
    basis = right.radio("The amounts are", list(BASES), FIRST[pasted.column],
                        **field(f"new-basis {pasted.column}", BASES))  # fmt: skip
    names = asked(pasted.lines, "formula")
    column, of = BASES[str(basis)]
    lines = [(name, line.amount, line.phase) for name, line in zip(names, pasted.lines, strict=True)]
    _stands(start, lines, column, of, "begun from a formula of mine")


def _loaded() -> None:
    """A file that is loaded stands in the field as if it had been pasted, and is held like it."""
    file = st.session_state["new-formula-file"]
    if file is not None and isinstance(text := _text_of(file), str):
        st.session_state["new-formula"] = text
        typed.hold("new-formula")


def _text_of(file: UploadedFile) -> str | BadInput:
    try:
        return decoded(file.getvalue(), file.name)
    except BadInput as bad:
        return bad


def asked(lines: "tuple[Named, ...]", key: str) -> list[str]:
    """The ingredient of each line; those that are not certain are asked back."""
    unsure = sum(not line.ingredient for line in lines)
    if unsure:
        st.header("Please say which", anchor=False)
    return [
        shelf.ask(line.written, line.ingredient, line.near, catalogue(), f"{key} {k}") for k, line in enumerate(lines)
    ]


def _stands(start: Start, lines: beginning.Lines, column: str, basis: Basis | None, words: str) -> None:
    """The formula as it was read, and the way to begin with it once every name is known."""
    if not all(name for name, _, _ in lines):
        st.info("It can begin once every name is known.")
        return
    read = beginning.reading(lines, column, basis, catalogue())
    if isinstance(read, Refused):
        show.refused(read)
        return
    for sentence in how_read(read):
        parts.sentence(sentence)
    _begin_with(start, read.formula, words)


def _begin_with(start: Start, formula: Formula, words: str) -> None:
    """A formula to begin with, and the button; what is usual in its kind can be put in as well."""
    st.dataframe(formula.table(), hide_index=True, key=f"read {words}", height="content")
    usual = [item.name for item in usual_shelf(start.kind, catalogue())] if start.kind else []
    names = dict.fromkeys([*(line.ingredient.name for line in formula.lines), *usual])
    if st.button("Begin", type="primary", key="begin", icon=":material/play_arrow:"):
        whole = Start(start.title, start.kind, start.use, start.area, start.markets, start.currency,
                      candidates=tuple(names))  # fmt: skip
        beginning.begin(beginning.files_of(whole, [], proposals.written(formula)), words)


def from_a_label(start: Start) -> None:
    """From a declaration: the range of each name, and its centre to begin with."""
    text = st.text_area("The list of ingredients, as it stands on the label", height=160, **field("new-label"),
                        placeholder="Aqua, Glycerin, Cetearyl Alcohol, …")  # fmt: skip
    if not text.strip():
        return
    try:
        listed = parse_label(text)
        scope = Scope(start.use, start.area, start.markets, clock.today())
        ranges = from_label(listed.names, scope, may_contain=listed.may_contain, kind=start.kind)
    except BadInput as bad:
        show.listed(map(str, bad.faults))
        return
    telling = label_told(ranges, start.title)
    if not isinstance(ranges, LabelRanges):
        parts.told(telling, "label")
        return
    with st.expander(show.escape(telling.title)):
        parts.told(telling, "label")
    lines = tuple(_declaring(each.inci) for each in ranges.ranges)
    named = dict(zip((line.written for line in lines), asked(lines, "label"), strict=True))
    taken = {inci: item for inci, name in named.items() if (item := catalogue().find(name))}
    centre = middle(ranges.ranges, catalogue(), start.title, taken)
    for sentence in of_centre(centre):
        parts.sentence(sentence)
    if centre.formula.lines:
        _begin_with(start, centre.formula, "begun from a label")


def _declaring(inci: str) -> Named:
    """The ingredient of a name of a label, where only one is declared so."""
    item = catalogue().find(inci)
    near = tuple(catalogue().near(inci, 8))
    return Named(inci, item.name if item else "", () if item else near)


def from_another(start: Start) -> None:
    """A copy of another product."""
    kept = [(where, each.name) for where in (places.own(), places.demos()) for each in products.listed(where)]
    if not kept:
        st.info("No product is saved yet to be copied.")
        return
    where, name = st.selectbox("Product", kept, format_func=lambda one: one[1], **field("new-copy-of", kept))
    if st.button("Begin", type="primary", key="begin", icon=":material/play_arrow:"):
        beginning.copied(where, name, start.title)


st.title("New product", anchor=False)
ways = {USUAL: from_usual, FORMULA: from_formula, LABEL: from_a_label, COPY: from_another}
way = st.segmented_control("Begin from", list(ways), default=USUAL, required=True, **field("new-way"))
begun = what()
ways[str(way)](begun)
