"""The state of one browser session: the brief as a document, the maker's files as text, their history, drafts.

What changes here is put into the records before the page is drawn (products.py); a session can go on from where another
ended (going_on.py). A page changes state only through these functions.
"""

import copy
import datetime
import secrets
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cache, cached_property
from hashlib import sha256
from pathlib import Path
from unicodedata import normalize

import streamlit as st

from optiform.reading import clock
from optiform.reading.documents import Document as Document
from optiform.reading.documents import beside, document_of
from optiform.reading.faults import Inspection
from optiform.reading.paths import DEMO
from optiform.reading.tables import read_text
from optiform.reading.toml_text import changed_text
from optiform.workshop.products import free_name

Spelling = Mapping[str, Mapping[str, str]]  # of a table or a list of the brief: a name to another spelling of it
BRIEF_FILE = "brief.toml"
MAKING_FILE = "making.toml"
COSTS_FILE = "costs.toml"
PAPERS = {MAKING_FILE: "how it is made", COSTS_FILE: "costs of a jar"}  #: each with what it is called in the history
TODAY, BEST = "today", "the best on the bench"  # what the formulas that nobody kept are called


class Key(StrEnum):
    """Where things stand in the session."""

    BENCH = "bench"
    TRAIL = "trail"
    HOME = "home"
    DEMO = "demo"
    VISITED = "visited"
    UNSAVED = "unsaved"
    CLASH = "clash"
    KEEP = "keep"
    NEW = "new"
    PUT = "put"
    TYPED = "typed"
    OF = "of"
    PICKED = "picked"
    BEGAN = "began"
    HELD = "held"
    VARIANTS = "variants"
    NOTICE = "notice"
    EDITS = "edits"
    ENDS = "ends"
    JOBS = "jobs"
    TOLD = "told"
    SHOP = "shop"
    FRESH = "fresh"
    FIELDS = "fields"
    FORMULA = "formula"
    MARKET = "market"
    PLAN = "plan"
    WORD = "word"
    PAGE = "page"
    WAY = "way"
    SIZE = "size"
    EXPONENTS = "exponents"


@dataclass(frozen=True)
class Bench:
    """What is being worked on.

    Attributes:
        text: the brief's, as the maker wrote it but for what was changed here.
        files: those it names, by their text.
        papers: those beside it that say how a batch is made and what it costs, by their text. They change no formula.
        name: the brief's file name.
        spelling: of `lines`, `limits` and `exclude` the names in the text to those of the tables, so that a control
            finds the entry that is there.
    """

    text: str
    files: Mapping[str, str] = field(default_factory=dict)
    papers: Mapping[str, str] = field(default_factory=dict)
    name: str = BRIEF_FILE
    spelling: Spelling = field(default_factory=dict)

    @cached_property
    def document(self) -> Document:
        """The brief's, with names as the tables spell them. It is not to be changed in place: see `saying`."""
        return respelled(tomllib.loads(self.text), self.spelling)

    def saying(self, document: Document) -> "Bench":
        """The bench with another document. What is the same in both stays as it is written, comments and all."""
        written = {key: {new: old for old, new in names.items()} for key, names in self.spelling.items()}
        return replace(self, text=changed_text(self.text, respelled(document, written)))

    @cached_property
    def content(self) -> str:
        """A short text that is the same exactly when brief and files are: the key of every cache."""
        whole = repr((self.name, sorted_items(self.document), sorted(self.files.items())))
        return sha256(whole.encode("utf-8", "surrogatepass")).hexdigest()


@dataclass(frozen=True)
class Began:
    """What the session began with: the demo, or the brief `given` to `optiform app`; why that could not be read."""

    bench: Bench
    given: bool = False
    faults: tuple[str, ...] = ()


@dataclass(frozen=True)
class Step:
    """One step of the history: from which it was made, what was done, and what then stood on the bench.

    `bench` is None while only the records hold it.
    """

    number: int
    before: int
    words: str
    when: datetime.datetime
    bench: Bench | None = None


@dataclass(frozen=True)
class Trail:
    """The history of a bench as a tree of steps, and the one it stands at. A step is never taken out."""

    steps: Mapping[int, Step]
    at: int

    @staticmethod
    def begun(bench: Bench, words: str = "") -> "Trail":
        """One that begins with this."""
        return Trail({1: Step(1, 0, words or f"begun from {bench.name}", _moment(), bench)}, 1)

    @property
    def here(self) -> Step:
        """The step it stands at."""
        return self.steps[self.at]

    @property
    def earlier(self) -> Step | None:
        """Where undoing leads."""
        return self.steps.get(self.here.before)

    @property
    def later(self) -> Step | None:
        """Where redoing leads: the latest step that was made from this one."""
        made = [step for step in self.steps.values() if step.before == self.at]
        return max(made, key=lambda step: step.number, default=None)

    def with_step(self, words: str, bench: Bench) -> "Trail":
        """One step more, made from the one it stands at."""
        number = max(self.steps) + 1
        return Trail({**self.steps, number: Step(number, self.at, words, _moment(), bench)}, number)

    def standing_at(self, number: int, bench: Bench) -> "Trail":
        """At another step, where this is on the bench."""
        return Trail({**self.steps, number: replace(self.steps[number], bench=bench)}, number)

    def without_last(self) -> "tuple[Bench, Trail]":
        """As before the step it stands at, which was just made, and what was on the bench then."""
        before = self.earlier
        assert before is not None
        assert before.bench is not None, "a step that was just made was made from one that is known"
        return before.bench, Trail({n: step for n, step in self.steps.items() if n != self.at}, before.number)


def _moment() -> datetime.datetime:
    return clock.now().replace(microsecond=0)


@dataclass(frozen=True)
class Variant:
    """A formula that was kept: never changed, never overwritten."""

    name: str
    parent: str
    reason: str
    lines: tuple[tuple[str, float, str], ...]


def respelled(document: Document, spelling: Spelling) -> Document:
    """A brief's document with names in its tables and lists spelled otherwise."""
    new = dict(document)
    for key, names in spelling.items():
        entries = document.get(key)
        if isinstance(entries, dict):
            new[key] = {names.get(name, name): value for name, value in entries.items()}
        elif isinstance(entries, list):
            new[key] = [names.get(name, name) for name in entries]
    return new


def sorted_items(value: object) -> object:
    """Nested tables in one order, for comparing."""
    if isinstance(value, dict):
        return [(key, sorted_items(value[key])) for key in sorted(value)]
    return [sorted_items(each) for each in value] if isinstance(value, list) else value


def named(document: Document) -> list[str]:
    """The files that a brief names beside it or below. What it says wrongly is told when the brief is read."""
    own, goal = document.get("own_files", []), document.get("goal", {})
    nearest = goal.get("nearest") if isinstance(goal, dict) else None
    given = [*(own if isinstance(own, list) else []), document.get("reference")]
    given += [nearest] if nearest not in ("reference", "usual") else []
    return [name for name in dict.fromkeys(each for each in given if isinstance(each, str)) if near(name)]


def near(name: str) -> bool:
    """Whether a name is that of a file in the brief's folder or below, by the rule of all documents."""
    return beside(Path(BRIEF_FILE), "", name, Inspection("")) is not None


def on_disk(path: Path) -> Bench:
    """The brief at a path, the files it names, and the papers that lie beside it.

    Raises:
        BadInput: one of them cannot be read as text, or the brief is no TOML document.
    """
    text = normalize("NFC", read_text(path))
    document = document_of(text, str(path))
    papers = [name for name in PAPERS if (path.parent / name).is_file()]
    files, beside_it = ({name: read_text(path.parent / name) for name in group} for group in (named(document), papers))
    return Bench(text, files, beside_it, path.name)


@cache
def demo() -> Bench:
    """The demo workshop as shipped: read once, its files are the program's own."""
    return on_disk(DEMO / BRIEF_FILE)


def begin(began: Began) -> None:
    """Start the session with this."""
    st.session_state[Key.BEGAN] = began
    stand(began.bench, None)


def stand(new: Bench, history: Trail | None) -> None:
    """Put something on the bench, with its history; None where it begins here."""
    st.session_state[Key.BENCH] = new
    st.session_state[Key.TRAIL] = history
    st.session_state[Key.EDITS] = edits() + 1


def fresh_controls() -> None:
    """Give every control of this session a key that none of another session had.

    A window that comes back after its session has ended still shows that one's controls, and hands their values to
    controls of the same keys: they would stand beside an answer that is not theirs.
    """
    st.session_state[Key.EDITS] = secrets.randbelow(10**12)


def began() -> Began:
    """What the session began with."""
    beginning: Began | None = st.session_state.get(Key.BEGAN)
    return beginning or Began(demo())


def bench() -> Bench:
    """What this session works on; the demo to begin with."""
    if Key.BENCH not in st.session_state:
        begin(Began(demo()))
    current: Bench = st.session_state[Key.BENCH]
    return current


def replace_bench(new: Bench, words: str, redraw: bool = True) -> None:
    """Work on something else from now on; undoing brings back what was there.

    Args:
        new: what to work on.
        words: what was done, for the history.
        redraw: whether controls start afresh. Not after a change by a control itself: that one shows it already, and
            whoever works it by keyboard must not lose the place.
    """
    now = bench()
    if (new.content, new.text, new.papers) != (now.content, now.text, now.papers):
        st.session_state[Key.TRAIL] = trail().with_step(words, new)
        st.session_state[Key.BENCH] = new
        st.session_state[Key.EDITS] = edits() + int(redraw)


def change(words: str, edit: Callable[[Document], None], redraw: bool = True) -> None:
    """Change the brief's document by `edit`, which gets a copy; can be undone. For `redraw` see `replace_bench`."""
    now = bench()
    document = copy.deepcopy(now.document)
    edit(document)
    replace_bench(now.saying(document), words, redraw)


def put_paper(name: str, text: str) -> None:
    """Take a file that stands beside the brief; can be undone."""
    now = bench()
    replace_bench(replace(now, papers={**now.papers, name: text}), PAPERS[name])


def lay_anew() -> None:
    """Let controls start afresh from what stands on the bench."""
    st.session_state[Key.EDITS] = edits() + 1


def edits() -> int:
    """How often the controls had to start afresh; part of their keys."""
    return int(st.session_state.get(Key.EDITS, 0))


def trail() -> Trail:
    """The history of what is on the bench, and where it stands in it."""
    known: Trail | None = st.session_state.get(Key.TRAIL)
    return known or Trail.begun(bench())


def step_to(number: int, there: Bench, words: str) -> None:
    """Stand at another step of the history, where this is on the bench."""
    stand(there, trail().standing_at(number, there))
    tell(words)


def take_back() -> None:
    """Forget the last step as if it had never been made: what it asked for was refused."""
    stand(*trail().without_last())


def tell(words: str) -> None:
    """A note for the top of the page, shown once."""
    st.session_state[Key.NOTICE] = words


def told() -> str:
    """The note, which is then gone."""
    return str(st.session_state.pop(Key.NOTICE, ""))


def variants() -> list[Variant]:
    """What was kept, oldest first."""
    saved: list[Variant] = st.session_state.setdefault(Key.VARIANTS, [])
    return saved


def keep(variant: Variant) -> str:
    """Keep a draft; a name that is taken gets a number, so nothing is ever overwritten. Returns the name given."""
    name = free_name(variant.name, {TODAY, BEST, *(draft.name for draft in variants())})
    variants().append(replace(variant, name=name))
    return name
