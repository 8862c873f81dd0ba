"""Substitute: what takes the place of an ingredient."""

import streamlit as st
from workbench import firmness, papers, parts, proposals, show, state, work
from workbench.question import asked, bar, needs_today
from workbench.typed import field

from optiform.brief.brief import Brief
from optiform.brief.leftout import Out
from optiform.design.substitute import Substitutes, substitute
from optiform.telling import substitute as words
from optiform.telling.json.options import substitute as as_json
from optiform.trials.fit import Fitted


def settings(brief: Brief) -> tuple[tuple[str, ...], int, float]:
    """What is missing, how large a blend may be, how far other lines may follow."""
    assert brief.reference is not None
    lines = [line.ingredient.name for line in brief.reference.lines]
    gone = [name for name, why in brief.left_out if why is Out.OUT_OF_STOCK and name in lines]
    left, middle, right = st.columns([3, 1, 1])
    missing = left.multiselect("Out of stock, too dear or banned", lines, gone, **field("missing", lines))
    blend = middle.selectbox(
        "In its place at most", [1, 2, 3], 1, format_func=lambda n: f"{n} of the shelf", **field("blend")
    )
    follow = right.number_input("Other lines may follow, %", 0.0, 20.0, 0.0, 0.5, **field("follow"))
    return tuple(missing), blend, follow


def shown(answer: Substitutes) -> None:
    """The options, and one in detail."""
    fitted = firmness.of_bench()
    telling = proposals.kept("substitute", (answer, fitted), lambda: words.substitute(answer, fitted))
    parts.told(telling.only("answer", "options", "end"), "substitute")
    if answer.swaps:
        option(answer, fitted)
        proposals.beside_today(answer.brief, [swap.formula for swap in answer.swaps], "substitute", fitted)
        papers.downloads("substitute", telling, lambda: as_json(answer, fitted))
    parts.told(telling.only("distance", "unused", "trial"), "substitute")


def option(answer: Substitutes, fitted: Fitted | None) -> None:
    """The option that the maker looks at, the way to take or save it, and what it changes."""
    names = [f"{k}: {words.parts_words(choice)} %" for k, choice in enumerate(answer.swaps, 1)]
    number = 1 + names.index(st.selectbox("Look at option", names, **field("substitute-option", names)))
    formula = answer.swaps[number - 1].formula
    proposals.actions(
        formula,
        "today",
        f"with {formula.name}",
        f"in place of {', '.join(answer.missing)}",
        "substitute",
        f"substitute {number}",
    )
    told = proposals.kept(f"substitute {number}", (answer, fitted), lambda: words.option(answer, number, fitted=fitted))
    parts.body(told, f"option-{number}")


def work_out(brief: Brief) -> Substitutes:
    """The job, with a bar."""
    with bar("Judging what is on the shelf", lambda done, total: f"Judged {done} of {total} blends") as judged:
        return substitute(brief, wishes[0], wishes[1], wishes[2] / 100, progress=judged)


st.title("Substitute", anchor=False)
st.markdown("Ranks what can take the place of an ingredient by how far the whole product moves.")
if needs_today():
    read = work.brief(state.bench())
    if isinstance(read, work.Refused):
        show.refused(read)
    else:
        wishes = settings(read)
        if wishes[0]:
            answer = asked("substitute", wishes, work_out)
            if answer is not None:
                shown(answer)
        else:
            st.info("Choose what is missing.")
