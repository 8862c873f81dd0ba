"""Charts of a telling in the grammar of Vega-Lite, one for a page, a notebook, a file and the workbench.

Okabe and Ito's palette keeps lines apart for every kind of colour vision; lines are also dashed each in its own way and
named in a legend, so that colour is never the only sign.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import floor, log10
from typing import TYPE_CHECKING, Any

from optiform.telling.parts import Chart, number

if TYPE_CHECKING:
    from pathlib import Path

    import altair as alt

Spec = dict[str, Any]

SCHEMA = "https://vega.github.io/schema/vega-lite/v6.json"  # names the grammar; nothing is fetched from there
INK, RULE = "#22303a", "rgba(128, 128, 128, 0.25)"  # the rule stands behind words on a light and a dark ground
COLOURS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7")
DASHES = ([1, 0], [6, 3], [8, 3, 2, 3], [2, 2])
WIDTH, HEIGHT, BAR = 480, 280, 22  # pixels: of a chart, and of a bar with its room


def spec(chart: Chart, ink: str = INK, colours: Sequence[str] = COLOURS) -> Spec:
    """The chart as a Vega-Lite document; `ink` is the colour of its words, `colours` those of bars and lines."""
    layers = _bars(chart, ink, colours) if chart.mark == "bar" else _lines(chart, colours)
    layers += [layer for value, words in chart.ruled for layer in _rule(value, words, ink, _beyond(chart, value))]
    axis = {"labelColor": ink, "titleColor": ink, "gridColor": RULE, "domain": False, "labelLimit": 240}
    words: Spec = {"title": {"text": chart.title, "color": ink}} if chart.title else {}
    return {
        "$schema": SCHEMA,
        "data": {"values": _points(chart)},
        "layer": layers,
        "width": WIDTH,
        "height": BAR * len(chart.data.rows) if chart.mark == "bar" else HEIGHT,
        **words,
        "resolve": {"scale": {"fill": "independent"}, "legend": {"fill": "independent"}},  # lines have the one legend
        "background": "transparent",
        "config": {"axis": axis, "legend": {"labelColor": ink, "orient": "top"}, "view": {"stroke": None}},
    }


def draw(chart: Chart) -> alt.Chart:
    """The chart as an Altair chart, for a notebook."""
    import altair as alt

    drawn: alt.Chart = alt.Chart.from_dict(spec(chart))
    return drawn


@lru_cache(maxsize=32)
def svg(chart: Chart) -> str:
    """The chart as SVG, for a page; drawn once for a page, its paper and what is saved, as it takes 60 ms."""
    import vl_convert

    return str(vl_convert.vegalite_to_svg(spec(chart)))


def write(chart: Chart, path: Path) -> None:
    """The chart on white in a file: PNG or SVG, by its name.

    Raises:
        OSError: when the file cannot be written.
    """
    import vl_convert

    drawn = spec(chart) | {"background": "white"}
    if path.suffix == ".svg":
        path.write_text(vl_convert.vegalite_to_svg(drawn), encoding="utf-8")
    else:
        path.write_bytes(vl_convert.vegalite_to_png(drawn, scale=2))


def _points(chart: Chart) -> list[Spec]:
    """The rows by their heads, without units: in the grammar a dot or bracket in a name is read as a path.

    What a bar says of itself is rounded here, as in a table: a browser rounds half of a last digit up.
    """
    columns = chart.data.columns
    bar = [chart.mark == "bar" and column.head == chart.across for column in columns]
    names = [_name(column.head) for column in columns]
    printed = [
        (float(number(cell, _places(chart))) if says and isinstance(cell, int | float) else cell
         for says, cell in zip(bar, row, strict=True))
        for row in chart.data.rows
    ]  # fmt: skip
    return [dict(zip(names, row, strict=True)) for row in printed]


def _places(chart: Chart) -> int:
    """Decimals of what a bar says of itself."""
    places = next(column.places for column in chart.data.columns if column.head == chart.across)
    return 2 if places is None else places


def _name(head: str) -> str:
    return "".join(letter if letter.isalnum() else "_" for letter in head)


def _axis(chart: Chart, head: str, **more: object) -> Spec:
    title = next(column.words for column in chart.data.columns if column.head == head)
    return {"field": _name(head), "type": "quantitative", "title": title, **more}


def _bars(chart: Chart, ink: str, colours: Sequence[str]) -> list[Spec]:
    ends: Spec = {
        "x": _axis(chart, chart.across, axis={"grid": False}),  # each bar says its number
        "y": {"field": _name(chart.up), "type": "nominal", "sort": None, "title": None},
    }
    words = {"field": _name(chart.across), "type": "quantitative", "format": f",.{_places(chart)}f"}
    return [
        {"mark": {"type": "bar", "color": colours[0], "height": BAR - 8}, "encoding": ends},
        {"mark": {"type": "text", "align": "left", "dx": 4, "color": ink}, "encoding": {**ends, "text": words}},
    ]


def _lines(chart: Chart, colours: Sequence[str]) -> list[Spec]:
    near: Spec = {"scale": {"zero": False}}
    ends: Spec = {"x": _axis(chart, chart.across, **near), "y": _axis(chart, chart.up, **_decades(chart) or near)}
    line: Spec = {"type": "line", "strokeWidth": 2, "tooltip": True}
    area: Spec = {"type": "area", "opacity": 0.2}
    series: Spec = {}
    if chart.series:
        plain: Spec = {"field": _name(chart.series), "type": "nominal", "title": None, "sort": None}
        series["stroke"] = {**plain, "scale": {"range": list(colours)}}
        series["strokeDash"] = {**plain, "scale": {"range": list(DASHES)}}
    else:
        line["color"] = area["color"] = colours[0]
    layers: list[Spec] = [{"mark": line, "encoding": {**ends, **series}}]
    if chart.mark == "band":
        width = {**ends, "y": {**ends["y"], "field": _name(chart.low)}, "y2": {"field": _name(chart.high)}}
        fill = {"fill": {**series["stroke"], "legend": None}} if series else {}
        layers.insert(0, {"mark": area, "encoding": {**width, **fill}})
    if chart.dots:
        only = [{"filter": f"datum['{_name(chart.dots)}']"}]
        dot = {"type": "point", "filled": True, "size": 45, "color": colours[0]}
        layers.append({"transform": only, "mark": dot, "encoding": ends})
    return layers


def _decades(chart: Chart) -> Spec:
    """The upright axis of bands that reach over a decade and more: by tenfolds, so that the narrow ones can be read.

    Its ends and ticks are 1, 2 and 5 times a power of ten around the data. Nothing where a band begins at 0, or where
    all of it is near enough for an even axis.
    """
    heads = [column.head for column in chart.data.columns]
    ends = [row[heads.index(head)] for head in (chart.low, chart.high) if head for row in chart.data.rows]
    numbers = [float(end) for end in ends if isinstance(end, int | float)]
    if not numbers or min(numbers) <= 0 or max(numbers) < 10 * min(numbers):
        return {}
    steps = [digit * 10.0**power for power in range(floor(log10(min(numbers))), 9) for digit in (1, 2, 5)]
    first = max(step for step in steps if step <= min(numbers))
    last = min(step for step in steps if step >= max(numbers))
    ticks = [step for step in steps if first <= step <= last]
    return {"scale": {"type": "log", "domain": [first, last]}, "axis": {"values": ticks, "format": "~g"}}


def _beyond(chart: Chart, value: float) -> bool:
    """Whether a place is in the right half of a chart, so that words beside it have their room to its left."""
    heads = [column.head for column in chart.data.columns]
    across = [row[heads.index(chart.across)] for row in chart.data.rows]
    numbers = [float(at) for at in across if isinstance(at, int | float)]
    return bool(numbers) and 2 * value > min(numbers) + max(numbers)


def _rule(value: float, words: str, ink: str, beyond: bool) -> list[Spec]:
    data = {"values": [{"at": value, "words": words}]}
    x: Spec = {"field": "at", "type": "quantitative"}
    text = {
        "type": "text",
        "color": ink,
        "align": "right" if beyond else "left",
        "dx": -4 if beyond else 4,
        "baseline": "top",
    }
    return [
        {"data": data, "mark": {"type": "rule", "color": ink, "strokeDash": [2, 3]}, "encoding": {"x": x}},
        {"data": data, "mark": text, "encoding": {"x": x, "y": {"value": 2}, "text": {"field": "words"}}},
    ]
