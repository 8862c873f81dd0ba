"""Cheaper: today's formula at less cost, changing more and more lines."""

import streamlit as st
from workbench import answers, firmness, papers, parts, proposals, show, state, touch
from workbench.question import asked, bar, needs_today
from workbench.typed import field

from optiform.brief.brief import Brief
from optiform.design.cheaper import WORTH, CheaperOptions, cheaper
from optiform.telling import cheaper as words
from optiform.telling.json.options import cheaper as as_json
from optiform.trials.fit import Fitted

FIRST = ("answer", "options", "end")


def settings() -> tuple[float | None, float, bool]:
    """What the maker wishes: least saving, if they say one, most change of one line, whether new ones may come in."""
    left, middle, right = st.columns(3, vertical_alignment="bottom")
    unit = show.escape(f"{state.bench().document.get('currency', 'EUR')}/kg")
    saving = left.number_input(
        f"Least saving per changed line, {unit}", 0.0, value=None, step=0.01,
        placeholder=f"{100 * WORTH:g} % of today's cost", **field("least-saving"),
    )  # fmt: skip
    most = middle.number_input("Most a line may change, %", 0.0, 100.0, 100.0, 1.0, **field("most-change"))
    new = right.toggle("New ingredients may come in", value=True, **field("new-ingredients"))
    return saving, most, new


def shown(answer: CheaperOptions) -> None:
    """The options as a table, one in detail."""
    fitted = firmness.of_bench()
    telling = proposals.kept("cheaper", (answer, fitted), lambda: words.cheaper(answer, fitted))
    parts.told(telling.only(*(FIRST if answer.rungs else telling.names[:1])), "cheaper")
    if answer.impossible is not None:
        answers.repairs(answer.impossible, "repair")  # why is told above
        return
    if answer.rungs:
        option(answer, fitted)
        proposals.beside_today(answer.brief, [rung.report.formula for rung in answer.rungs], "cheaper", fitted)
        papers.downloads("cheaper", telling, lambda: as_json(answer, fitted))
    parts.told(telling.only("held", "unused", "proof", "trial"), "cheaper")


def option(answer: CheaperOptions, fitted: Fitted | None) -> None:
    """The option that the maker looks at, the way to take or save it, and what it changes."""
    numbers, best = list(range(1, len(answer.rungs) + 1)), words.rewarding(answer)
    number = touch.choice("Look at option", numbers, best, "option") if len(numbers) > 1 else 1
    choice = answer.rungs[number - 1]
    why = f"saves {choice.saving:.2f} per kg"
    proposals.actions(
        choice.report.formula, "today", f"cheaper, {choice.lines} changed", why, "cheaper", f"cheaper option {number}"
    )
    told = proposals.kept(f"cheaper {number}", (answer, fitted), lambda: words.option(answer, number, fitted=fitted))
    parts.body(told, f"option-{number}")


def work(brief: Brief) -> CheaperOptions:
    """The job, with a bar."""
    least, most, new = wishes
    with bar("Trying one more line", lambda done, _: f"Tried {done} changed lines") as tried:
        return cheaper(brief, least_saving=least, most_change=most / 100, new_ingredients=new, progress=tried)


st.title("Cheaper", anchor=False)
st.markdown("Keeps what customers notice (texture warm and cold, grains, foam, feel), and lowers the cost.")
if needs_today():
    wishes = settings()
    answer = asked("cheaper", wishes, work)
    if answer is not None:
        shown(answer)
