"""The tab of files: to load a brief with what belongs to it, to take all along, to begin again."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import partial
from pathlib import PurePath

import streamlit as st

from optiform.reading.run import Run, begun
from workbench import bundle, products, show, state
from workbench.load import Taken, Waiting, gathered
from workbench.state import Key
from workbench.work import Refused


@dataclass(frozen=True)
class Held:
    """Files that were given and are no bench yet, and why. `times`: how often any were given."""

    texts: Mapping[str, str] = field(default_factory=dict)
    why: Waiting | Refused | None = None
    times: int = 0


def files() -> None:
    """Load and take along. What cannot be used, or not yet, changes nothing and waits for the rest."""
    key = f"load {_held().times}"
    st.file_uploader(
        "Load a brief and the files it names, several at once",
        ["toml", "csv", "zip"],
        accept_multiple_files=True,
        key=key,
        on_change=_given,
        args=(key,),
        help="A brief and formulas in TOML, tables and formulas in CSV, making.toml and costs.toml, or all in one zip. "
        "They are judged together; until all are there and right, the bench stays as it is.",
    )
    _waiting()
    show.stock()
    bench = state.bench()
    row = st.container(horizontal=True)
    row.download_button("Download the brief", bench.text, bench.name, "application/toml", key="save-brief")
    row.download_button(
        "Download everything",
        partial(bundle.packed, bench),
        f"{bench.name.removesuffix('.toml')}.zip",
        "application/zip",
        key="save-all",
    )
    st.caption(
        "As the bench stands now: the brief as TOML with your comments, or a zip with the files it "
        "names, making.toml and costs.toml, which can be loaded here again. Trials stay in the records: with "
        "others, or none, the same formula has other figures of firmness."
    )
    row = st.container(horizontal=True)
    began = state.began()
    if began.given:
        words = f"Start again from {began.bench.name}"
        row.button(
            show.escape(words),
            icon=":material/restart_alt:",
            key="load-given",
            on_click=_start,
            args=(began.bench, words),
        )
    row.button(
        "Start from the demo",
        icon=":material/restart_alt:",
        key="load-demo",
        on_click=_start,
        args=(state.demo(), "back to the demo"),
    )


def _held() -> Held:
    held: Held = st.session_state.setdefault(Key.HELD, Held())
    return held


def _given(key: str) -> None:
    """Files came in: with those that wait, they may now be a bench."""
    with begun() as run:
        texts, faults = bundle.texts_of((each.name, each.getvalue()) for each in st.session_state[key])
        both = {**_held().texts, **texts}
        if faults:
            _hold(both, Refused(tuple(map(str, faults))))
        elif texts:
            _judge(both, run)


def _judge(texts: Mapping[str, str], run: Run | None = None) -> None:
    judged = gathered(state.bench(), texts)
    if not isinstance(judged, Taken):
        _hold(texts, judged)
        return
    before = state.bench()
    same = (judged.bench.text, judged.bench.files, judged.bench.papers) == (before.text, before.files, before.papers)
    if judged.another and not same and (products.is_demo() or products.title_of(judged.bench) != products.title()):
        products.start(judged.bench, f"loading {judged.what}", demo=False, keep=True)
    else:
        state.replace_bench(judged.bench, f"loading {judged.what}")
    notes = "".join(f" {PurePath(file).name}: {words}." for file, words in run.notes) if run else ""
    loaded = "That is what stands here already." if same else f"Loaded {judged.what}.{judged.words}"
    state.tell(f"{loaded}{notes}")
    _hold({}, None)


def _way(more: Mapping[str, str]) -> None:
    """A way out was chosen. Where it leads to a fault, only what the maker gave goes on waiting."""
    given = _held().texts
    _judge({**given, **more})
    if isinstance(_held().why, Refused):
        _hold(given, _held().why)


def _hold(texts: Mapping[str, str], why: Waiting | Refused | None) -> None:
    st.session_state[Key.HELD] = Held(texts, why, _held().times + 1)


def _put_away(name: str) -> None:
    rest = {each: text for each, text in _held().texts.items() if each != name}
    if rest:
        _judge(rest)
    else:
        _hold({}, None)


def _start(bench: state.Bench, words: str) -> None:
    """Begin again: a step of the product where it is one of the same records, else another product."""
    demo = bench is not state.began().bench or not state.began().given
    if demo == products.is_demo():
        state.replace_bench(bench, words)
    else:
        products.start(bench, words, demo)


def _waiting() -> None:
    """What waits, why, and what can be done about it."""
    held = _held()
    if isinstance(held.why, Refused):
        show.refused(held.why, "Not loaded; the bench stays as it was. Everything that is wrong:")
    elif held.why is not None:
        st.info(f"{show.escape(held.why.words)} The bench stays as it is until then.", icon=":material/hourglass_top:")
        for number, (label, more) in enumerate(held.why.ways):
            st.button(show.escape(label), key=f"way-{number}", on_click=_way, args=(more,))
    if held.texts:
        st.caption("Waiting here. Load a mended file under the same name, or put one away:")
        row = st.container(horizontal=True)
        for name in held.texts:
            row.button(show.escape(name), icon=":material/close:", key=f"away {name}", on_click=_put_away, args=(name,))
