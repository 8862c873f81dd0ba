"""The workshop's records for the pages: which workshop, everything in it as it is now, and what is added.

Each call opens the workshop, does one short transaction and closes it: two sessions, or two programs, on one workshop
see each other's work at the next click. Without a workshop, a session gets the demo's records in a place of its own.
"""

import datetime
import shutil
import tempfile
import weakref
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Literal, TypeVar

import pandas as pd
import streamlit as st
from streamlit.elements.lib.column_types import ColumnConfig

from optiform.reading import clock
from optiform.reading.clock import behind
from optiform.reading.demo import copy_demo
from optiform.reading.faults import BadInput
from optiform.trials.cells import no_readings
from optiform.workshop import decisions
from optiform.workshop.decisions import Kept, Where
from optiform.workshop.engine import file_in
from optiform.workshop.exchange import export_to, import_from
from optiform.workshop.fieldtypes import R
from optiform.workshop.log import Log
from optiform.workshop.records import Reading, Record, Trial, TrialWeight, Version, VersionLine
from optiform.workshop.stock import Holding
from optiform.workshop.store import Reader, Workshop, at_a_glance
from workbench import places, products, show
from workbench.state import Key
from workbench.work import Refused

T = TypeVar("T")
Decision = Callable[[Reader], Kept]


@dataclass(frozen=True)
class Shop:
    """Everything that is kept in a workshop, as it was at one moment. `demo`: it is this session's own and passes.

    `held`: what is left of each lot, first expired first, in place of the movements: there may be very many.
    `clock`: words where the machine's clock is behind what is kept.
    """

    name: str
    demo: bool
    records: Mapping[type[Record], tuple[Record, ...]]
    held: tuple[Holding, ...]
    clock: str = ""

    def of(self, kind: type[R]) -> tuple[R, ...]:
        """Every record of one kind but movements, in the order kept."""
        return tuple(record for record in self.records[kind] if isinstance(record, kind))

    @property
    def log(self) -> Log:
        """The trials and what belongs to them."""
        return Log(
            self.name, self.of(Version), self.of(VersionLine), self.of(Trial), self.of(TrialWeight), self.of(Reading)
        )


class _Demo:
    """The demo's records, dated for today, in a folder that goes when the session does."""

    def __init__(self) -> None:
        self.place = tempfile.mkdtemp(prefix="optiform-demo-")
        weakref.finalize(self, shutil.rmtree, self.place, ignore_errors=True)
        file_in(Path(self.place)).write_bytes(_imported(clock.today()))


@lru_cache(maxsize=1)
def _imported(day: datetime.date) -> bytes:
    """The file of the demo's records, dated for a day; imported once, whatever sessions come."""
    with tempfile.TemporaryDirectory() as folder:
        copy_demo(files := Path(folder, "demo"), day)
        with Workshop.open(place := Path(folder, "records")) as workshop:
            import_from(workshop, files / "workshop")
        return file_in(place).read_bytes()


def own() -> str:
    """The place of the maker's own records; empty where the demo's are shown."""
    return places.named() or ("" if products.is_demo() else products.place())


def _place() -> str:
    if own():
        return own()
    if Key.SHOP not in st.session_state:
        st.session_state[Key.SHOP] = _Demo()
    demo: _Demo = st.session_state[Key.SHOP]
    return demo.place


def within(work: Callable[[Workshop], T]) -> T | Refused:
    """Work on the open records, or every fault in words."""
    place = ""
    try:
        place = _place()
        with Workshop.open(place, create=bool(own()), late=True) as workshop:
            return work(workshop)
    except BadInput as bad:
        return Refused(tuple(_words(str(fault), place) for fault in bad.faults))
    except OSError as error:
        return Refused((f"the folder for the records: {error.strerror}",))


def _words(fault: str, place: str) -> str:
    """A fault without a folder that only this program knows."""
    return fault if own() else fault.replace(str(file_in(Path(place))), "the demo's records")


def read() -> Shop | Refused:
    """The workshop as it is now."""
    return within(_demo_shop if not own() else _own_shop)


def _demo_shop(workshop: Workshop) -> Shop:
    return Shop("the demo's records", True, *workshop.look(at_a_glance))


def _own_shop(workshop: Workshop) -> Shop:
    return Shop(workshop.name, False, *workshop.look(at_a_glance), behind(workshop.latest(), clock.now()))


def keep(decision: Decision, where: Where) -> Kept | Refused:
    """Keep what is decided on the records as they are now, all of it or nothing."""
    return within(lambda workshop: decisions.keep(workshop, decision, where))


def exported() -> bytes | Refused:
    """Every record as plain CSV in a zip."""

    def work(workshop: Workshop) -> bytes:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder, "records.zip")
            export_to(workshop, path)
            return path.read_bytes()

    return within(work)


def brought_in(name: str, content: bytes) -> dict[str, int] | Refused:
    """Add the records of an exported zip, or nothing: how many each file gave."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, Path(name).name)
        path.write_bytes(content)
        outcome = within(lambda workshop: import_from(workshop, path, no_readings))
    if isinstance(outcome, Refused):
        return Refused(tuple(fault.replace(f"{folder}/", "") for fault in outcome.faults))
    return outcome


def opened() -> Shop | None:
    """The workshop with words on where it is, or None after its faults were shown."""
    outcome = read()
    if isinstance(outcome, Refused):
        show.refused(outcome, "The workshop cannot be read now. Nothing in it was changed.")
        st.button("Try again", key="again", icon=":material/refresh:")
        return None
    if outcome.demo:
        st.caption("The demo's records: nothing here lasts beyond this session. A product of your own, begun under "
                   "New product, has records that stay.")  # fmt: skip
    else:
        st.caption(f"Workshop: {show.escape(outcome.name)}")
    if outcome.clock:
        st.warning(show.escape(outcome.clock), icon=":material/schedule:")
    return outcome


def table(rows: Sequence[Mapping[str, object]], key: str, whole: bool = False, **columns: ColumnConfig) -> None:
    """Rows as a table, `whole` without scrolling; `columns` say how a column is shown."""
    height: Literal["content", "auto"] = "content" if whole else "auto"
    st.dataframe(
        pd.DataFrame(rows), hide_index=True, placeholder="", key=key, height=height, column_config=columns or None
    )
