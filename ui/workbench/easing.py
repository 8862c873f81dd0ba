"""A limit that is only just met: eased by a step, and the exact curve of what it costs."""

import streamlit as st

from optiform.brief.brief import Brief
from optiform.design.answer import NoFormula
from optiform.design.explore import TradeOff, explore_limit
from optiform.design.stepped import Stepped
from optiform.telling.charts import trade_off_chart
from optiform.telling.goal import unit_of_goal
from optiform.telling.parts import readable
from workbench import limits, parts, scales, show, state, work
from workbench.cards import card
from workbench.question import asked
from workbench.work import Answered


def _rows(answered: Answered) -> dict[str, state.Document]:
    return {readable(row["words"]): row for row in answered.data["binding"] if row["kind"] == "limit"}


def tight(answered: object) -> set[str]:
    """The names of the limits that an answer only just meets."""
    return {row["limit"] for row in _rows(answered).values()} if isinstance(answered, Answered) else set()


def easing(answered: Answered) -> None:
    """A row for each, which opens on a step further out and the curve."""
    rows = _rows(answered)
    if not rows:
        return
    unit = show.escape(unit_of_goal(answered.answer.brief.goal))
    st.markdown(f"**Only just met**, and what each point of easing saves, {unit}. Open one to ease it.")
    for words, row in rows.items():
        if inside := card(f"{show.escape(words)}: {row['price']:.2g}", f"ease {row['limit']} {row['side']}"):
            with inside:
                _opened(answered.answer.brief, row)


def _opened(brief: Brief, row: state.Document) -> None:
    """A step further out, and the curve of the limit as far as its price holds."""
    further = _further(brief, row)
    if further is not None:
        end = "at least" if row["side"] == "low" else "at most"
        st.button(f"Ease it to {end} {scales.words(further)}", key=f"ease-it {row['limit']}", icon=":material/expand:",
                  on_click=_ease, args=(row["limit"], row["side"], further))  # fmt: skip
    ranged = work.answer(state.bench(), ranged=True)
    if isinstance(ranged, Answered):
        curve(next(bound for bound in ranged.data["binding"] if bound["words"] == row["words"]))


def curve(row: state.Document) -> None:
    """The cost of the best formula for each place at which the limit could stand, as far as its price holds."""
    name, side, ends = row["limit"], row["side"], (row["valid_from"], row["valid_to"])
    traded: TradeOff | Stepped | NoFormula | None = asked(
        "curve", (name, side, *ends), lambda brief: explore_limit(brief, name, side, *ends)
    )
    if isinstance(traded, TradeOff | Stepped):
        parts.chart(trade_off_chart(traded), f"ease-chart {name} {side}")


def _further(brief: Brief, row: state.Document) -> float | None:
    """The next point of the limit's own scale that asks for less; None where there is none."""
    for limit in brief.limits:
        if limit.property.name == row["limit"]:
            points = scales.scale(limit.property)
            low = row["side"] == "low"
            beyond = [point for point in points if (point < row["target"] if low else point > row["target"])]
            return (max if low else min)(beyond, default=None)
    return None


def _ease(name: str, side: str, end: float) -> None:
    limits.set_end(name, side, end)
    state.tell(f"{show.escape(name)}: eased to {scales.words(end)}.")
