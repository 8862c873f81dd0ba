"""Nearly as good: formulas that are told apart from the best one and cost hardly more, and how far each line may go."""

import streamlit as st
from workbench import answers, firmness, papers, parts, proposals, touch
from workbench.question import asked

from optiform.design.alternatives import Alternatives, alternatives
from optiform.design.answer import NoFormula
from optiform.telling.explore import explore
from optiform.telling.json.explore import explored as as_json


def shown(answer: Alternatives) -> None:
    """The options, one to take, and how far each line may go."""
    fitted = firmness.of_bench()
    telling = explore(answer.brief.title, (answer,), fitted)
    options = [option.formula for option in answer.options]
    parts.told(telling.only("options"), "nearly")
    if options:
        numbers = list(range(1, len(options) + 1))
        number = touch.choice("Look at option", numbers, 1, "nearly-option") if len(numbers) > 1 else 1
        proposals.actions(options[number - 1], "the best", f"nearly as good {number}", f"within {within:g} %", "nearly")
    proposals.beside_today(answer.brief, options, "nearly", fitted)
    parts.told(telling.only(*(name for name in telling.names if name != "options")), "nearly-more")
    papers.downloads(
        "nearly", telling, lambda: as_json("explored", answer.brief.title, {"alternatives": answer}, fitted)
    )


st.title("Nearly as good", anchor=False)
st.markdown("Formulas that differ from the best one on the bench and are hardly worse, and how far each line may go.")
within = touch.number("How much worse they may be, %", 0.5, 20.0, 2.0, 0.5, "within")
found: Alternatives | NoFormula | None = asked("nearly", (within,), lambda brief: alternatives(brief, within))
if isinstance(found, NoFormula):
    answers.impossible(found)
elif found is not None:
    shown(found)
