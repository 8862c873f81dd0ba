"""What can be done with a proposed formula, alike on every page: take it, keep it as a draft, compare it."""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TypeVar, cast

import streamlit as st

from optiform.brief.brief import Brief
from optiform.ingredients.formula import Formula
from optiform.review.compare import compare
from optiform.review.measures import setting_of
from optiform.telling.compare import compared
from optiform.telling.formula import share_of
from optiform.trials.firm import beside
from optiform.trials.fit import Fitted
from optiform.workshop.products import free_name
from workbench import load, parts, show, state, work
from workbench.state import Key

TODAY_FILE = "today.csv"
T = TypeVar("T")
MOST = 3  # proposals beside today's


def actions(formula: Formula, parent: str, name: str, reason: str, key: str, short: str = "") -> None:
    """Take the formula as today's, keep it as a draft, or compare it; each can be undone or is only added.

    Args:
        formula: the proposal.
        parent: from which formula it was made.
        name: of the draft.
        reason: why it was made.
        key: of the controls.
        short: what it is called in the history, where its name is long.
    """
    row = st.container(horizontal=True)
    if row.button("Take it", key=f"take-{key}", icon=":material/check:", help="it becomes today's formula"):
        take(formula, f"{short or name} taken")
        st.rerun()
    with row:
        show.keep(formula, parent, name, reason, key)
    if row.button("Compare", key=f"compare-{key}", icon=":material/compare_arrows:"):
        draft = state.keep(state.Variant(name, parent, reason, tuple(lines_of(formula))))
        st.session_state[Key.PICKED] = [state.TODAY, draft]
        st.switch_page("views/variants.py")


def kept(what: str, hangs_on: tuple[object, ...], tell: Callable[[], T]) -> T:
    """What is told of an answer, kept beside it: told anew only of other objects.

    Args:
        what: that is told, by name.
        hangs_on: the answer, its scale of firmness: the same objects while the answer stays, as jobs keep it.
        tell: tells it.
    """
    known: dict[str, tuple[tuple[object, ...], object]] = st.session_state.setdefault(Key.TOLD, {})
    before, told = known.get(what, ((), None))
    if list(map(id, before)) != list(map(id, hangs_on)):
        known[what] = hangs_on, (told := tell())
    return cast(T, told)


def take(formula: Formula, words: str) -> None:
    """Make a formula today's, in these words. Where the brief named no goal, it stands until another is wished."""
    bench = state.bench()
    name = str(bench.document.get("reference") or TODAY_FILE)
    document = dict(bench.document) | {"reference": name}
    if "reference" not in bench.document:
        document.setdefault("goal", {"nearest": "reference"})
    taken = load.judged(replace(bench.saying(document), files={**bench.files, name: written(formula, name)}))
    if isinstance(taken, work.Refused):
        state.tell(f"Not taken: {taken.faults[0]}")
    else:
        state.replace_bench(taken.bench, words)
        state.tell(f"{words[0].upper()}{words[1:]}: it is today's formula.")


def reach_for(name: str, formula: Formula, words: str) -> None:
    """Reach for what is nearest to a draft; its formula then stands beside the brief, in a file of the draft's name."""
    bench, text = state.bench(), written(formula)
    plain = " ".join(re.findall(r"[\w-]+", name)) or "formula"
    taken = {Path(file).stem for file in bench.files if bench.files[file] != text}
    file = f"{free_name(plain, taken)}.csv"
    document = dict(bench.document) | {"goal": {"nearest": file}}
    judged = load.judged(replace(bench.saying(document), files={**bench.files, file: text}))
    if isinstance(judged, work.Refused):
        state.tell(f"Not taken: {judged.faults[0]}")
    else:
        state.replace_bench(judged.bench, f"goal: {words}")


def written(formula: Formula, name: str = TODAY_FILE) -> str:
    """A formula as the text of a file of this name, % of the whole."""
    return formula.text(Path(name).suffix)


def lines_of(formula: Formula) -> list[tuple[str, float, str]]:
    """Ingredient, % of the whole and phase of every line."""
    return [(line.ingredient.name, share_of(line), line.phase) for line in formula.lines]


def beside_today(brief: Brief, options: Sequence[Formula], key: str, fitted: Fitted | None) -> None:
    """The first options as columns beside today's: cost, firmness and label first, then what moved.

    `fitted`: the scale of firmness.
    """
    if brief.reference is None or not options:
        return
    named = [replace(formula, name=f"option {number}") for number, formula in enumerate(options[:MOST], 1)]
    formulas = [replace(brief.reference, name=state.TODAY), *named]
    today, setting = brief.reference, setting_of(brief)
    telling = kept(
        f"{key} beside today", (brief, *options[:MOST], fitted),
        lambda: compared(compare(formulas, setting, brief.step), firms=beside(formulas, today, fitted)),
    )  # fmt: skip
    with st.expander("Beside today's formula", icon=":material/view_column:", expanded=True):
        for section in telling.only("answer", "firmness", "lines").sections:
            parts.body(section, f"beside-{key}-{section.name}")
