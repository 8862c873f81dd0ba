"""What was done in this session goes into the records, and what another window did there is taken up.

Nothing is written over: who changes what another window has moved meanwhile is told, and both stay in the history.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Generic, TypeVar

import streamlit as st

from optiform.reading import clock
from optiform.workshop import products as records
from optiform.workshop.records import Draft, Product, Record
from optiform.workshop.records import Step as StepRecord
from optiform.workshop.store import Reader, Revision, Workshop
from workbench import places, products, state
from workbench.state import Key, Step, Trail
from workbench.work import Refused

T = TypeVar("T")

_threads = ThreadPoolExecutor(thread_name_prefix="records")  # what was begun is kept even where the program ends then


def synchronise(follow: bool = True) -> None:
    """Put into the records what they do not hold yet; else take up what another window has put there."""
    due = _due()
    if due is not None:
        due.finish()
    elif follow and (known := products.home()) is not None:
        _follow(known)


def beside() -> Callable[[], None]:
    """As `synchronise`, but begun beside what is drawn meanwhile: the disk takes longer than an answer.

    What it gives ends it; where another window was in the way what was drawn is drawn anew.
    """
    due = _due()
    if due is None:
        synchronise()
        return lambda: None
    drawn = state.bench()
    due.begin()

    def finish() -> None:
        if due.finish() and state.bench() is not drawn:
            st.rerun()

    return finish


class _Saving(Generic[T]):
    """Work on the records, which asks nothing of the session, and what the session makes of its outcome."""

    def __init__(self, work: Callable[[], T], then: Callable[[T], None]) -> None:
        self._work, self._then = work, then
        self._beside: Future[T] | None = None
        self._done = False

    def begin(self) -> None:
        """Begin the work in a thread of its own."""
        self._beside = _threads.submit(self._work)

    def finish(self) -> bool:
        """Wait for the work, or do it; whether that was left to do."""
        left, self._done = not self._done, True
        if left:
            self._then(self._beside.result() if self._beside else self._work())
        return left


def _due() -> "_Saving[Product | Refused] | _Saving[records.Saving | Refused | None] | None":
    """What the records do not hold yet, to be put there."""
    known, trail = products.home(), state.trail()
    if known is None:
        begun = len(trail.steps) > 1 or state.variants() or st.session_state.get(Key.KEEP)
        return _beginning(trail) if begun else None
    new = max(trail.steps) > known.steps or trail.at != known.at or len(state.variants()) > known.drafts
    return _changed(known, trail) if new else None


def _beginning(trail: Trail) -> "_Saving[Product | Refused]":
    where, name, steps, drafts = products.place(), products.title(), _records(trail, 0), _drafts(0)

    def begin(workshop: Workshop) -> Product:
        begun: list[Product] = []

        def decision(reader: Reader) -> Sequence[Record | Revision]:
            product, new = records.begun(reader, name, steps, trail.at)
            begun.append(product)
            return [*new, *records.drafts(reader, product.name, drafts)]

        workshop.decide(decision)
        return begun[-1]

    return _Saving(lambda: places.within(where, begin, create=True), lambda product: _seen(where, product))


def _changed(known: products.Home, trail: Trail) -> "_Saving[records.Saving | Refused | None]":
    new, drafts = _records(trail, known.steps), _drafts(known.drafts)

    def save(workshop: Workshop) -> records.Saving | None:
        savings: list[records.Saving] = []

        def decision(reader: Reader) -> Sequence[Record | Revision]:
            if not reader.read(Product, name=known.name):
                return []
            saving, changes = records.saved(reader, known.name, known.revision, new, trail.at)
            savings.append(saving)
            return [*changes, *records.drafts(reader, known.name, drafts)]

        workshop.decide(decision)
        return savings[-1] if savings else None

    def then(saving: records.Saving | Refused | None) -> None:
        _saved(known, trail, saving)

    return _Saving(lambda: places.within(known.place, save), then)


def _saved(known: products.Home, trail: Trail, saving: records.Saving | Refused | None) -> None:
    """What the session makes of how that went."""
    if saving is None:  # the records are others now: what is known here begins there anew
        st.session_state[Key.HOME] = None
        st.session_state[Key.TRAIL] = Trail.begun(state.bench()).with_step("went on", state.bench())
        _beginning(state.trail()).finish()
    elif isinstance(saving, Refused) or saving.clash is None:
        _seen(known.place, saving if isinstance(saving, Refused) else saving.product)
    else:
        done = trail.here.words if saving.numbers else ""
        number = saving.numbers[-1] if saving.numbers else 0
        clash = products.Clash(saving.clash.words, saving.clash.when, number, done)
        products.take_up(products.opened(known.place, known.name))
        st.session_state[Key.CLASH] = clash


def _seen(where: str, product: Product | Refused) -> None:
    if isinstance(product, Refused):
        st.session_state[Key.UNSAVED] = product.faults
        return
    st.session_state[Key.UNSAVED], st.session_state[Key.KEEP] = (), False
    numbers = product.revision, product.at, product.steps, len(state.variants())
    st.session_state[Key.HOME] = products.Home(where, product.name, *numbers)


def _records(trail: Trail, kept: int) -> list[tuple[StepRecord, records.State]]:
    """The steps beyond those that are kept, each with what it holds."""
    return [_record(step) for number, step in sorted(trail.steps.items()) if number > kept]


def _record(step: Step) -> tuple[StepRecord, records.State]:
    assert step.bench is not None, "a step that is not kept is known here"
    content = products.state_of(step.bench)
    row = StepRecord(
        product="", number=step.number, before=step.before, when=step.when, words=step.words, content=content.content
    )
    return row, content


def _drafts(kept: int) -> list[Draft]:
    now = clock.now().replace(microsecond=0)
    return [
        Draft(product="", name=draft.name, parent=draft.parent, reason=draft.reason, created=now,
              lines=records.lines_text(draft.lines))
        for draft in state.variants()[kept:]
    ]  # fmt: skip


def _follow(known: products.Home) -> None:
    def ahead(workshop: Workshop) -> bool:
        product = next(iter(workshop.read(Product, name=known.name)), None)
        drafts = len(workshop.read(Draft, product=known.name))
        return product is not None and (product.revision, drafts) != (known.revision, known.drafts)

    moved = places.within(known.place, ahead)
    if isinstance(moved, Refused):
        st.session_state[Key.UNSAVED] = moved.faults
        return
    st.session_state[Key.UNSAVED] = ()
    if moved:
        there = products.opened(known.place, known.name)
        same = not isinstance(there, Refused) and there.home.at == known.at
        products.take_up(there, redraw=not same)
        if not same:
            state.tell(f"Changed in another window: {state.trail().here.words}.")
