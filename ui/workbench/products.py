"""The product of this session: where the records have it, and how another one comes in its place (see saving.py)."""

import datetime
from dataclasses import dataclass, replace

import streamlit as st

from optiform.workshop import products as records
from optiform.workshop.records import Draft, Product
from optiform.workshop.records import Step as StepRecord
from optiform.workshop.store import Workshop
from workbench import places, state, work
from workbench.load import spelling
from workbench.state import Bench, Key, Step, Trail, Variant
from workbench.work import Refused


@dataclass(frozen=True)
class Home:
    """Where the product of this session is kept, and what of it is.

    Attributes:
        place: of the records.
        name: of the product there.
        revision: the last one that this session has seen.
        at: the step it stands at there.
        steps: how many there are.
        drafts: how many of the session's drafts are there.
    """

    place: str
    name: str
    revision: int
    at: int
    steps: int
    drafts: int


@dataclass(frozen=True)
class Clash:
    """What another window did meanwhile, and the step of the history that holds what was done here; 0 for none."""

    theirs: str
    when: datetime.datetime
    mine: int
    words: str


@dataclass(frozen=True)
class Visit:
    """What was on the bench before another product was put there."""

    words: str
    bench: Bench
    trail: Trail
    home: Home | None
    drafts: tuple[Variant, ...]
    demo: bool


@dataclass(frozen=True)
class Opened:
    """A product as the records have it."""

    home: Home
    trail: Trail
    bench: Bench
    drafts: tuple[Variant, ...]


def home() -> Home | None:
    """Where the product is kept; None before its first change."""
    kept: Home | None = st.session_state.get(Key.HOME)
    return kept


def is_demo() -> bool:
    """Whether what is on the bench is the demo, or a copy of it."""
    return bool(st.session_state.get(Key.DEMO, not state.began().given))


def place() -> str:
    """Where it is kept from the first change on."""
    known = home()
    return known.place if known else places.demos() if is_demo() else places.own()


def title() -> str:
    """What the product is called."""
    known = home()
    return known.name if known else title_of(state.bench())


def title_of(bench: Bench) -> str:
    """The title of a brief, else its file's name."""
    return " ".join(str(bench.document.get("title") or bench.name.removesuffix(".toml")).split())


# -- opening ----------------------------------------------------------------------------------------------------------


def state_of(bench: Bench) -> records.State:
    """What the records keep of a bench."""
    return records.State(bench.name, bench.text, dict(bench.files), dict(bench.papers))


def opened(where: str, name: str) -> Opened | Refused:
    """A product as the records have it, or why it cannot be opened."""

    def read(workshop: Workshop) -> tuple[Product, list[StepRecord], records.State, tuple[Draft, ...]] | None:
        product = next(iter(workshop.read(Product, name=name)), None)
        if product is None:
            return None
        steps = {step.number: step for step in workshop.read(StepRecord, product=name)}
        content = records.state_of(workshop, steps[product.at])
        return product, list(steps.values()), content, workshop.read(Draft, product=name)

    try:
        read_there = places.within(where, read)
    except LookupError:
        return Refused((f"{name}: a text of its history is missing in {places.told(where)}",))
    if read_there is None or isinstance(read_there, Refused):
        return read_there or Refused((f"{name}: there is no product of this name in {places.told(where)}",))
    product, steps, content, drafts = read_there
    bench = bench_of(content)
    known = {step.number: Step(step.number, step.before, step.words, step.when) for step in steps}
    known[product.at] = replace(known[product.at], bench=bench)
    variants = tuple(Variant(each.name, each.parent, each.reason, records.lines_of(each)) for each in drafts)
    numbers = product.revision, product.at, product.steps, len(variants)
    return Opened(Home(where, name, *numbers), Trail(known, product.at), bench, variants)


def bench_of(content: records.State) -> Bench:
    """The bench that the records keep, its names spelled as its tables do."""
    plain = Bench(content.brief, dict(content.files), dict(content.papers), content.name)
    read = work.brief(plain)
    return plain if isinstance(read, Refused) else replace(plain, spelling=spelling(plain.document, read))


def take_up(there: Opened | Refused, redraw: bool = True) -> bool:
    """Work on what was opened; whether it could be."""
    if isinstance(there, Refused):
        st.session_state[Key.UNSAVED] = there.faults
        return False
    edits = state.edits()
    state.stand(there.bench, there.trail)
    if not redraw:
        st.session_state[Key.EDITS] = edits
    st.session_state[Key.HOME] = there.home
    st.session_state[Key.VARIANTS] = list(there.drafts)
    st.session_state[Key.DEMO] = there.home.place == places.demos()
    st.session_state[Key.CLASH] = None
    return True


def look_at(where: str, name: str) -> Bench | Refused:
    """What a product of the records has on its bench now, without going there."""
    there = opened(where, name)
    return there if isinstance(there, Refused) else there.bench


def open_product(where: str, name: str) -> bool:
    """Put a product of the records on the bench; undoing leads back to what was there. Whether it could be opened."""
    visit = _visit(f"opening {name}")
    if not take_up(opened(where, name)):
        return False
    visited().append(visit)
    return True


def start(bench: Bench, words: str, demo: bool, keep: bool = False) -> None:
    """Begin with another product; undoing leads back to what was there. `keep`: from now on, not from a change on."""
    visited().append(_visit(words))
    state.stand(bench, Trail.begun(bench, words))
    st.session_state[Key.HOME] = None
    st.session_state[Key.VARIANTS] = []
    st.session_state[Key.DEMO] = demo
    st.session_state[Key.CLASH] = None
    st.session_state[Key.KEEP] = keep


@dataclass(frozen=True)
class Listed:
    """A product in a list: its name, when it was last changed and how."""

    name: str
    when: datetime.datetime
    words: str
    steps: int


def listed(where: str) -> list[Listed]:
    """The products of a place, the last changed first; none where nothing can be read."""

    def read(workshop: Workshop) -> list[Listed]:
        last: dict[str, StepRecord] = {step.product: step for step in workshop.read(StepRecord)}
        return [
            Listed(each.name, last[each.name].when, last[each.name].words, each.steps)
            for each in workshop.read(Product)
        ]

    kept = places.within(where, read) if places.there(where) else []
    return [] if isinstance(kept, Refused) else sorted(kept, key=lambda product: product.when, reverse=True)


def ever_held(bench: Bench) -> bool:
    """Whether the product stood so at any of its steps: then a file that says so is no news."""
    known, content = home(), state_of(bench).content
    if known is None:
        return False
    steps = places.within(known.place, lambda workshop: workshop.read(StepRecord, product=known.name))
    return isinstance(steps, Refused) or any(step.content == content for step in steps)


def start_copy(words: str) -> None:
    """Begin another product of the maker's own from what is on the bench."""
    start(state.bench(), words, demo=False, keep=True)


def reopen() -> None:
    """Show the product as the records have it now; where they have it no more it begins there anew."""
    known = home()
    if known is not None and not take_up(opened(known.place, known.name)):
        bench = state.bench()
        start(bench, "the records of another day", demo=is_demo())


def _visit(words: str) -> Visit:
    return Visit(words, state.bench(), state.trail(), home(), tuple(state.variants()), is_demo())


def visited() -> list[Visit]:
    """What was on the bench before, the last one last."""
    before: list[Visit] = st.session_state.setdefault(Key.VISITED, [])
    return before


def leave() -> str:
    """Go back to what was on the bench before this product; what had led away from it."""
    visit = visited().pop()
    state.stand(visit.bench, visit.trail)
    st.session_state[Key.HOME] = visit.home
    st.session_state[Key.VARIANTS] = list(visit.drafts)
    st.session_state[Key.DEMO] = visit.demo
    st.session_state[Key.CLASH] = None
    return visit.words
