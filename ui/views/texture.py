"""Firmer or softer, with few lines changed; or a winter and a summer version."""

import pandas as pd
import streamlit as st
from workbench import shop, show
from workbench.charts import firmness_bands
from workbench.question import asked, moves, needs_today

from optiform.brief.brief import Brief
from optiform.design.around import today_of
from optiform.design.texture import Texture, TextureOption, texture
from optiform.properties.firmness import ASSUMED, Band, Exponents
from optiform.trials.fit import exponents, fit
from optiform.workshop.log import Log
from optiform.workshop.records import Reading


def settings() -> tuple[float, float, bool]:
    """The step, the temperature, and whether emulsifiers may change."""
    left, middle, right = st.columns(3, vertical_alignment="bottom")
    step = left.slider(
        "Step, % of today's firmness", -50, 100, 20, 5, key="step", help="above 0 firmer, below 0 softer"
    )
    at = middle.select_slider("At this temperature, °C", [10, 15, 20, 25, 30, 35], 20, key="at")
    free = right.toggle("Emulsifiers may change too", key="free-emulsifier", help="they move rinse and skin feel")
    return float(step), float(at), free


def readings() -> Log | None:
    """The trials of the maker's own workshop, where something was read and the scale is to be fitted to it."""
    found = shop.read() if shop.own() else None
    if not isinstance(found, shop.Shop) or all(reading.excluded for reading in found.of(Reading)):
        return None
    wanted = st.toggle(
        "On the scale that your trials fit", True, key="fitted", help=f"those of {show.escape(found.name)}"
    )
    return found.log if wanted else None


def scale(brief: Brief, kept: Log | None) -> Exponents:
    """As the readings fit it, else as assumed."""
    return exponents(fit(kept, brief.catalogue, today_of(brief))) if kept else ASSUMED


def courses(found: Texture) -> None:
    """Every course with its firmness at each temperature, and one in detail."""
    st.markdown(f"Today at 20 °C is 100. Wanted: **{found.wanted:.0f}** at {found.temperature:g} °C; at most "
                f"{found.cold_most:.0f} at 10 °C, at least {found.hot_least:.0f} at 35 °C.")  # fmt: skip
    st.info(show.escape(found.note[0].upper() + found.note[1:] + "."))
    named = {_words(course): course for course in found.courses}  # courses that come to the same stand once
    if found.season is not None:
        seasons = {"winter": found.season.winter, "summer": found.season.summer}
        named = {f"{season}: {_words(course)}": course for season, course in seasons.items()}
    rows = [{"change": "as today"} | _bands(found.before, found)]
    rows += [{"change": name} | _bands(course.firmness, found) for name, course in named.items()]
    st.dataframe(pd.DataFrame(rows), hide_index=True, placeholder="")
    st.caption(f"A band, not a number: {show.escape(found.rests_on)}. Gums, foam and the making are not in it.")
    if named:
        chosen = st.selectbox("Look at", list(named), key="course")
        detail(found, chosen, named[chosen])


def _bands(bands: dict[float, Band], found: Texture) -> dict[str, str]:
    return {
        f"{at:g} °C": f"{bands[at].typical:.0f}  ({bands[at].low:.0f} to {bands[at].high:.0f})" for at in found.before
    }


def _words(course: TextureOption) -> str:
    return ", ".join(f"{move.ingredient} {move.points:+.2f}" for move in course.moves[:3]) or "as today"


def detail(found: Texture, name: str, course: TextureOption) -> None:
    """What changes, and how it melts."""
    left, right = st.columns(2)
    with left:
        moves(course.moves)
    with right:
        st.altair_chart(firmness_bands({"today": found.before, "with the change": course.firmness}), key="curves")
    show.keep(course.formula, "today", name, f"firmness {found.wanted:.0f} at {found.temperature:g} degC", "texture")


st.title("Firmer or softer")
st.markdown("Moves firmness by a step at one temperature and keeps cold and hot within limits.")
if needs_today():
    wishes = settings()
    kept = readings()
    answer = asked("texture", (*wishes, kept), lambda brief: texture(brief, *wishes, known=scale(brief, kept)))
    if answer is not None:
        courses(answer)
