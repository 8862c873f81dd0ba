"""Charts for the pages, with units, direct labels and hover; each line has a dash of its own beside its colour."""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Literal

import altair as alt
import pandas as pd
import streamlit as st

from optiform.telling.charts import COLD, HOT
from optiform.telling.drawing import COLOURS, Spec
from optiform.telling.json import Data
from optiform.telling.measured import of_what
from optiform.telling.parts import readable
from optiform.trials.curve import Curve, Point
from workbench import look

Layered = alt.LayerChart | alt.FacetChart

DASHES = [[1, 0], [6, 3], [2, 2], [8, 2, 2, 2]]
#: A temperature with its words, and how they stand beside their rule: on which side, pixels off.
MARKS: tuple[tuple[tuple[float, str], Literal["left", "right"], int], ...] = ((COLD, "left", 4), (HOT, "right", -4))


#: A bar is from 0 to 1; this far to its left and right stand the ends of the range and the value. On a phone the value
#: stands without its unit, and names have fewer pixels.
ROOM, ROOM_NARROW = (-0.4, 2.05), (-0.5, 2.3)
NAMES, NAMES_NARROW = 230, 178


def limit_rows(properties: Mapping[str, Data]) -> pd.DataFrame:
    """What `limit_bars` draws: a row for each limit that has a value; its `figure` is the value without a unit."""
    rows = [
        {
            "limit": readable(name),
            "start": 0.0,
            "end": 1.0,
            "at": place(values["value"], values["low"], values["high"]),
            "low": _end(values["low"]),
            "high": _end(values["high"]),
            "value": f"{values['value']:.4g} {of_what(values['unit'], values['basis'])}".rstrip(),
            "figure": f"{values['value']:.4g}",
            "asked": asked(values),
        }
        for name, values in properties.items()
        if values["value"] is not None and (values["low"] is not None or values["high"] is not None)
    ]
    return pd.DataFrame(rows)


def place(value: float, low: float | None, high: float | None) -> float:
    """Where a value stands in its range: 0 at the low end, 1 at the high one, a little beyond where it is missed.

    An open range is taken as wide as its one end is far from 0: up to twice the least, or down to 0 from the most.
    """
    if low is not None and high is not None:
        at = (value - low) / (high - low) if high > low else 0.5
    elif low is not None:
        at = (value - low) / (abs(low) or 1.0)
    else:
        most = high or 0.0
        at = 1 - (most - value) / (abs(most) or 1.0)
    missed = (low is not None and at < -1e-6) or (high is not None and at > 1 + 1e-6)
    beyond = 0.05 if missed else 0.0
    return min(1 + beyond, max(-beyond, at))


def _end(end: float | None) -> str:
    return "" if end is None else f"{end:.4g}"


@cache
def limit_bars(ink: str, narrow: bool = False) -> Spec:
    """One bar of the same length per limit: from least to most, these at its ends, the value as a tick in its place.

    The drawing without its data: while it stays the same, the browser only moves what has moved.
    """
    names, room = (NAMES_NARROW, ROOM_NARROW) if narrow else (NAMES, ROOM)
    base = alt.Chart(alt.NamedData("source")).encode(
        y=alt.Y(
            "limit:N", sort=None, title=None, axis=alt.Axis(labelLimit=names, ticks=False, domain=False, labelColor=ink)
        ),
        tooltip=[alt.Tooltip("limit:N"), alt.Tooltip("value:N"), alt.Tooltip("asked:N")],
    )
    scale = alt.Scale(domain=room, nice=False)
    band = base.mark_bar(height=9, opacity=0.35).encode(x=alt.X("start:Q", scale=scale, axis=None), x2="end:Q")
    tick = base.mark_tick(thickness=3, height=17).encode(x=alt.X("at:Q", scale=scale, axis=None))
    low = base.mark_text(align="right", dx=-5, color=ink).encode(x=alt.X("start:Q", scale=scale), text="low:N")
    high = base.mark_text(align="left", dx=5, color=ink).encode(x=alt.X("end:Q", scale=scale), text="high:N")
    of = "figure:N" if narrow else "value:N"
    value = base.mark_text(align="right", fontWeight="bold", color=ink).encode(x=alt.value("width"), text=of)
    drawn: Spec = alt.layer(band, tick, low, high, value).properties(height=alt.Step(23)).to_dict()
    return drawn


def ink() -> str:
    """The theme's colour of text: without it, words inside a chart are black, also on a dark ground."""
    return str(st.get_option(f"theme.{look.scheme()}.textColor") or "#808080")


def colours() -> list[str]:
    """The theme's colours of lines and bars; each line has a dash of its own beside it."""
    own = st.get_option(f"theme.{look.scheme()}.chartCategoricalColors")
    return list(own or st.get_option("theme.chartCategoricalColors") or COLOURS)


def asked(limit: Data) -> str:
    """The range that was asked for, in words."""
    low, high = limit["low"], limit["high"]
    if low is not None and high is not None:
        return f"{low:g} to {high:g}"
    return f"at least {low:g}" if low is not None else f"at most {high:g}"


STATES = ("assumed", "fitted")


def firmness_fitted(drawn: Curve, read: Sequence[Point], reference: str) -> Layered:
    """Firmness with its band as assumed and as fitted, each line named at its end, and readings as points."""
    rows = [
        {"known": known, "temperature": x.temperature, "firmness": band.typical, "low": band.low, "high": band.high}
        for x in drawn.predicted
        for known, band in zip(STATES, (x.before, x.after), strict=True)
    ]
    frame = pd.DataFrame(rows)
    title = f"firmness, {reference} at 20 °C is 100"
    firmness, degrees = alt.Tooltip("firmness:Q", format=".0f"), alt.Tooltip("temperature:Q", title="°C")
    ends = [alt.Tooltip(f"{end}:Q", format=".0f") for end in ("low", "high")]
    base = alt.Chart(frame).encode(
        x=alt.X("temperature:Q", title="temperature, °C", scale=alt.Scale(domain=[9, 40], nice=False)),
        color=alt.Color("known:N", sort=STATES, scale=alt.Scale(domain=STATES), legend=None),
        tooltip=["known:N", degrees, firmness, *ends],
    )
    dashes = alt.Scale(domain=STATES, range=[DASHES[1], DASHES[0]])
    line = base.mark_line(strokeWidth=2.4).encode(
        y=alt.Y("firmness:Q", title=title), strokeDash=alt.StrokeDash("known:N", scale=dashes, legend=None)
    )
    band = base.mark_area(opacity=0.18).encode(y=alt.Y("low:Q", title=title), y2="high:Q")
    chart = alt.layer(band, line, *_ends(frame), *_marks(), *([_points(read)] if read else []))
    return _inked(chart).properties(height=360)


def _ends(frame: pd.DataFrame) -> list[alt.Chart]:
    """The name of each line at its end, the upper one's above it and the lower one's below."""
    last = frame[frame["temperature"] == frame["temperature"].max()].sort_values("firmness", ascending=False)
    return [
        alt.Chart(last.iloc[[k]])
        .mark_text(align="left", dx=6, dy=dy, color=ink())
        .encode(x="temperature:Q", y="firmness:Q", text="known:N")
        for k, dy in enumerate((-7, 9))
    ]


#: The shapes of gauges in a chart, and the same as signs for words beside it.
SHAPES = {"●": "circle", "■": "square", "▲": "triangle-up", "◆": "diamond", "▼": "triangle-down", "+": "cross"}


def gauges_of(read: Sequence[Point]) -> list[str]:
    """The gauges of points, each with its shape: what a legend would say, in words that also fit a phone."""
    return [f"{sign} {gauge}" for sign, gauge in zip(SHAPES, _gauges(read), strict=False)]


def _gauges(read: Sequence[Point]) -> list[str]:
    return sorted({each.gauge for each in read})


def _points(read: Sequence[Point]) -> alt.Chart:
    """Means of readings, a shape for each gauge."""
    rows = [
        {"trial": x.trial, "gauge": x.gauge, "temperature": x.temperature, "firmness": x.firmness,
         "read": f"{x.read:.3g} {x.unit}".strip(), "jars": x.count, "age": f"{x.age / 24:.3g} days"}
        for x in read
    ]  # fmt: skip
    names = _gauges(read)
    shapes = alt.Scale(domain=names, range=list(SHAPES.values())[: len(names)])
    drawn: alt.Chart = (
        alt.Chart(pd.DataFrame(rows))
        .mark_point(size=70, filled=True, color=ink())
        .encode(
            x="temperature:Q",
            y="firmness:Q",
            shape=alt.Shape("gauge:N", scale=shapes, legend=None),
            tooltip=["trial:N", "gauge:N", alt.Tooltip("temperature:Q", title="°C"), "read:N",
                     alt.Tooltip("firmness:Q", format=".0f"), "jars:Q", "age:N"],
        )
    )  # fmt: skip
    return drawn


def _inked(chart: Layered) -> Layered:
    """At its height, with words dark enough to read: the theme's own grey has less than 4.5 to 1 on paper."""
    config = alt.Config(
        axis=alt.AxisConfig(labelColor=ink(), titleColor=ink()), legend=alt.LegendConfig(labelColor=ink())
    )
    drawn: Layered = chart.properties(height=280, config=config)
    return drawn


def _marks() -> list[alt.Chart]:
    """Cold and warm room, a rule and its words each; the words keep inside the chart on a phone."""
    drawn = []
    for (at, words), align, dx in MARKS:
        base = alt.Chart(pd.DataFrame({"at": [at], "words": [words]})).encode(x="at:Q")
        drawn.append(base.mark_rule(strokeDash=[2, 3], opacity=0.6, color=ink()))
        text = base.mark_text(align=align, dx=dx, dy=8, color=ink())
        drawn.append(text.encode(y=alt.value(0), text="words:N"))
    return drawn


def bars(frame: pd.DataFrame, title: str) -> Layered:
    """Amounts as bars in the order given, each with its `label` beside it; columns what, value, label."""
    most = max(frame["value"].max(), 1e-9) if len(frame) else 1.0
    base = alt.Chart(frame).encode(
        y=alt.Y("what:N", sort=None, title=None, axis=alt.Axis(labelLimit=170, ticks=False, domain=False)),
        x=alt.X(
            "value:Q", title=title, axis=alt.Axis(tickCount=5), scale=alt.Scale(domain=[0, 1.4 * most], nice=False)
        ),
        tooltip=[alt.Tooltip("what:N", title="what"), alt.Tooltip("value:Q", title=title, format=".3f"), "label:N"],
    )
    text = base.mark_text(align="left", dx=5, color=ink()).encode(text="label:N")
    config = alt.Config(axis=alt.AxisConfig(labelColor=ink(), titleColor=ink()))
    drawn: Layered = alt.layer(base.mark_bar(height=14), text).properties(height=alt.Step(26), config=config)
    return drawn
