"""Firmer or softer, with few lines changed; or a winter and a summer version."""

import streamlit as st
from workbench import firmness, papers, parts, proposals, touch
from workbench.question import asked, needs_today
from workbench.typed import field

from optiform.design.texture import Texture, texture
from optiform.properties.firmness import ASSUMED
from optiform.telling import texture as words
from optiform.telling.json.options import texture as as_json
from optiform.trials.fit import Fitted

HUNDRED = "of today's formula at 20 °C, which is 100"


def settings() -> tuple[float, float, bool, float | None, float | None]:
    """The step, the temperature, whether emulsifiers may change, and how firm it may be cold and must be hot."""
    first, second, left, middle, right, _ = papers.grid(6, 3)
    with first:
        step = touch.number(
            "Step, % of today's firmness", -50.0, 100.0, 20.0, 5.0, "step", "above 0 firmer, below 0 softer"
        )
    with second:
        at = touch.choice("At this temperature, °C", [10, 15, 20, 25, 30, 35], 20, "at")
    free = right.toggle("Emulsifiers may change too", help="they move rinse and skin feel", **field("free-emulsifier"))
    cold = left.number_input("At 10 °C at most", 0.0, None, None, 5.0, "%g", help=HUNDRED, **field("cold-most"),
                             placeholder="half more than today's")  # fmt: skip
    hot = middle.number_input("At 35 °C at least", 0.0, None, None, 1.0, "%g", help=HUNDRED, **field("hot-least"),
                              placeholder="a quarter less than today's")  # fmt: skip
    return step, float(at), free, cold, hot


def shown(answer: Texture, fitted: Fitted | None) -> None:
    """Every option with its firmness at each temperature, and one in detail."""
    telling = words.texture(answer, fitted)
    parts.told(telling.only("answer", "options", "scale"), "texture")
    if choices := words.choices(answer):
        option(answer, fitted)
        proposals.beside_today(answer.brief, [choice.formula for choice in choices.values()], "texture", fitted)
        papers.downloads("texture", telling, lambda: as_json(answer))
    parts.told(telling.only("common", "unused", "trial"), "texture")


def option(answer: Texture, fitted: Fitted | None) -> None:
    """The option that the maker looks at, the way to take or save it, and what it changes."""
    choices = words.choices(answer)
    named = {f"{name}: {words.changes(choice.moves)}": name for name, choice in choices.items()}
    label = st.selectbox("Look at", list(named), **field("texture-option", named))
    name = named[label]
    why = f"firmness {answer.wanted:.0f} at {answer.temperature:g} °C"
    proposals.actions(
        choices[name].formula, "today", label, why, "texture", f"{name} version" if answer.season else name
    )
    parts.body(words.option(answer, name, fitted), f"option-{name}")


st.title("Firmer or softer", anchor=False)
st.markdown("Moves firmness by a step at one temperature and keeps cold and hot within limits.")
if needs_today():
    wishes = settings()
    scale = firmness.of_bench()
    known = scale.exponents if scale else ASSUMED
    answer = asked("texture", (*wishes, known), lambda brief: texture(brief, *wishes, known=known))
    if answer is not None:
        shown(answer, scale)
