"""A living sheet as one page that reckons by itself: formula, cost and properties follow the limits under the hand.

The page holds the map of bases (program/bases.py) as numbers and asks nothing of any network. `living.js` proves each
answer anew from the numbers as they stand at the targets, or says that it does not.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from pathlib import Path

import numpy as np

from optiform.brief.doses import least_doses
from optiform.brief.goal import Nearest, NearestUsual
from optiform.design.sheet import Sheet, Slider
from optiform.program.bases import Place
from optiform.program.build import Demand
from optiform.program.linear import Row, Sense, Vector
from optiform.program.pieces import limit_of
from optiform.properties.base import Piecewise, Property, Ratio, Terms
from optiform.reading.frozen import frozen
from optiform.review.rounding import capped
from optiform.telling.page import text
from optiform.telling.parts import readable

HERE = Path(__file__).parent
SIGNS = {Sense.AT_LEAST: 1, Sense.AT_MOST: -1, Sense.EQUAL: 0}
POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'"
WORDS = {
    "best": "The best formula for these limits, proven here.",
    "open": "The best of the ways looked at. Another way to keep the rules may do better here: ask optiform design.",
    "little": "Too little to weigh",
    "none": "No formula keeps these limits together. Shown faintly: the last one that kept its limits.",
    "unknown": "The sheet ends here: what is best at these limits was not worked out. Shown faintly: the last answer.",
    "ends": "with the other limits as in the brief, no formula fits beyond",
    "just": "only just met",
    "saves": "each point of easing saves",
    "start": "as in the brief",
    "against": "against the brief",
}
FOOT = (
    "What is not on a slider holds as in the brief: lines, law, certificates, rules, and usual ranges as far as they "
    "held at the brief's own limits. Shares are not rounded to your scale, and a line can be too little to weigh: "
    "optiform design gives it none or enough, which changes the formula a little. Before you make one of these "
    "formulas, put its limits into the brief and run optiform design: this page shows no warnings."
)
#: What is said otherwise where the brief stands beside the sheet, and the limits can be taken into it.
BESIDE = {"open": "The best of the ways looked at. Another may do better here: take the limits, and all are looked at."}
FOOT_BESIDE = (
    "What is not on a slider holds as in the brief: lines, law, certificates, rules, and usual ranges as far as they "
    "held at the brief's own limits. Shares are not rounded to your scale, a line can be too little to weigh, and "
    "nothing is warned of. Take the limits, and the workbench gives such a line none or enough, which changes the "
    "formula a little, rounds and warns as ever."
)


@frozen
class Living:
    """A sheet told: what a page puts into an element of its own, and hands to `living` of the script with it.

    Attributes:
        title: of the brief.
        goal: in the brief's words.
        body: HTML; whatever the brief calls things is text in it.
        numbers: JSON, with the words of the file.
    """

    title: str
    goal: str
    body: str
    numbers: str


def told(sheet: Sheet) -> Living:
    """A sheet as its page needs it."""
    brief, properties = sheet.brief, _properties(sheet)
    numbers = json.dumps(_data(sheet, properties), ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
    body = f"""<div class="goal"><div role="status"><strong id="goal" class="answer"></strong>
<span id="change" class="soft answer"></span><p id="status" class="soft"></p></div>
<div class="buttons"><button id="back" type="button">Back to the brief's limits</button></div></div>
<div class="parts">
<section id="formula" class="answer"><h2>Formula</h2>
<table><thead><tr><th>ingredient</th><th>% of the jar</th><th>g in {brief.batch:g} kg</th></tr></thead>
<tbody>
{"".join(_lines(sheet))}</tbody></table></section>
<section><h2>Limits</h2>
{"".join(_limits(sheet, properties))}</section>
</div>
"""
    return Living(brief.title, brief.goal.words, body, numbers)


def living(sheet: Sheet) -> str:
    """A sheet as one file."""
    return as_file(told(sheet))


def as_file(sheet: Living) -> str:
    """One file that needs no network."""
    return f"""<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="{POLICY}">
<title>{_seen(sheet.title)}</title>
<style>
{style()}{_shipped("living_file.css")}</style>
<header><h1>{_seen(sheet.title)}</h1>
<p class="soft">Move a limit; the formula follows. Goal: {_seen(sheet.goal)}.</p></header>
<main class="living">
{sheet.body}</main>
<footer class="soft"><p>{_seen(FOOT)}</p></footer>
<script type="application/json" id="data">{sheet.numbers}</script>
<script>
{script()}const data = JSON.parse(document.getElementById("data").textContent);
window.sheet = living(document.querySelector(".living"), data);
</script>
"""


def style() -> str:
    """How a sheet looks; its colours are of the page that it stands in."""
    return _shipped("living.css")


def script() -> str:
    """What makes a sheet follow the hand: the function `living`, and all that it needs."""
    return _shipped("living.js")


@cache
def _shipped(name: str) -> str:
    return (HERE / name).read_text(encoding="utf-8")


def _seen(words: str) -> str:
    """Words as a reader sees them, as HTML."""
    return text(readable(words))


def _lines(sheet: Sheet) -> Iterable[str]:
    """A row for every candidate, in the order of the formula at the start; the page hides those not in use."""
    items = sheet.brief.mix.ingredients
    order = {line.ingredient.name: place for place, line in enumerate(sheet.start.formula.lines)}
    for j, item in sorted(enumerate(items), key=lambda pair: order.get(pair[1].name, len(order))):
        yield (
            f'<tr id="line-{j}" hidden><td>{_seen(item.name)}<div class="bar"></div></td><td></td><td></td></tr>\n'
        )  # fmt: skip


def _limits(sheet: Sheet, properties: Sequence[Property]) -> Iterable[str]:
    """The sliders, those of one property together with its value."""
    for number, wanted in enumerate(properties):
        own = [(k, slider) for k, slider in enumerate(sheet.sliders) if slider.demand.name == wanted.name]
        if own:
            head = f'<h3>{_seen(wanted.name)}</h3><span id="value-{number}" class="answer"></span>'
            sliders = "".join(_slider(k, slider) for k, slider in own)
            yield f'<div class="property"><div class="head">{head}</div>{sliders}</div>\n'


def _slider(number: int, slider: Slider) -> str:
    demand = slider.demand
    end = "at least" if demand.side == "low" else "at most"
    here = f'<span id="target-{number}">{demand.target:.2f} {_seen(demand.unit)}</span>'
    span = f'min="{slider.low!r}" max="{slider.high!r}" step="any" value="{demand.target!r}"'
    return (
        f'<label for="slider-{number}"><span>{end}</span>{here}</label>'
        f'<input type="range" id="slider-{number}" {span} aria-label="{_seen(demand.name)} {end}">'
        f'<p class="note answer" id="note-{number}"></p>'
    )


# -- the numbers -------------------------------------------------------------------------------------------------------


def _properties(sheet: Sheet) -> list[Property]:
    """What the page shows the value of: the goal's property first, then what is limited."""
    goal = sheet.brief.goal
    wanted = [] if isinstance(goal, Nearest | NearestUsual) else [goal.wanted]
    return list({item.name: item for item in (*wanted, *(limit.property for limit in sheet.brief.limits))}.values())


def _data(sheet: Sheet, properties: Sequence[Property]) -> Mapping[str, object]:
    brief, bases, goal = sheet.brief, sheet.map, sheet.brief.goal
    program = bases.places[0].program
    pool = _Pool()
    places = [_place(place, pool) for place in bases.places]
    straight = not isinstance(goal, Nearest | NearestUsual)
    return {
        "names": [readable(item.name) for item in brief.mix.ingredients],
        "capped": [int(capped(item)) for item in brief.mix.ingredients],
        "least": least_doses(brief).tolist(),
        "batch": brief.batch,
        "cost": program.cost.tolist(), "low": program.low.tolist(), "high": program.high.tolist(),
        "scale": sheet.start.solution.scale,
        "rows": pool.rows, "places": places,
        "choices": [[_ways(way, bases.limits) for way in part.disjuncts] for part in bases.disjunctions],
        "sliders": [
            {"target": s.demand.target, "low": s.low, "high": s.high, "ends_low": s.ends_low, "ends_high": s.ends_high,
             "unit": readable(s.demand.unit), "per": readable(goal.unit)} for s in sheet.sliders
        ],
        "properties": [_property(wanted, sheet) for wanted in properties],
        "goal": 0 if straight else -1, "goal_unit": readable(goal.unit), "places_of_goal": 3,
        "prices": not isinstance(goal, NearestUsual),
        "words": WORDS,
    }  # fmt: skip


class _Pool:
    """The rows of all nodes, each once."""

    def __init__(self) -> None:
        self.rows: list[Mapping[str, object]] = []
        self._numbers: dict[tuple[object, ...], int] = {}

    def number(self, row: Row, limit: int) -> int:
        """The number of a row, which is added where it is new."""
        group = b"" if row.group is None else row.group.tobytes()
        key = (row.coefficients.tobytes(), group, row.sense, row.rhs, row.per_target, limit)
        if key not in self._numbers:
            self._numbers[key] = len(self.rows)
            wide = None if row.group is None else _sparse(row.group)
            same = {"a": _sparse(row.coefficients), "b": row.rhs, "s": SIGNS[row.sense]}
            self.rows.append({**same, "k": limit, "p": row.per_target, "g": wide})
        return self._numbers[key]


def _place(place: Place, pool: _Pool) -> Mapping[str, object]:
    return {
        "r": [pool.number(row, limit) for row, limit in zip(place.program.rows, place.moving, strict=True)],
        "bases": [[list(basis.basic), list(basis.at_high)] for basis in place.bases],
        "rays": [_sparse(ray) for ray in place.rays],
    }


def _ways(way: Sequence[Demand], limits: Mapping[tuple[str, str, str, float], int]) -> list[Mapping[str, object]]:
    nowhere = np.zeros(0)
    return [
        {**_terms(demand.terms(nowhere)), "s": 1 if demand.side == "low" else -1, "t": demand.target,
         "k": limits.get(limit_of(demand), -1)}
        for demand in way
    ]  # fmt: skip


def _property(wanted: Property, sheet: Sheet) -> Mapping[str, object]:
    mix = sheet.brief.mix
    pieces = wanted.pieces(mix) if isinstance(wanted, Piecewise) else (wanted.everywhere(mix),)
    join = wanted.join if isinstance(wanted, Piecewise) else "max"
    assert isinstance(wanted, Ratio | Piecewise)
    return {
        "unit": readable(wanted.unit),
        "join": join,
        "pieces": [_terms(piece) for piece in pieces],
    }


def _terms(terms: Terms) -> Mapping[str, object]:
    return {"n": _sparse(terms.numerator), "d": None if terms.whole else _sparse(terms.denominator)}


def _sparse(vector: Vector) -> list[list[float]]:
    """What is not zero, each with its place."""
    return [[int(j), float(vector[j])] for j in np.flatnonzero(vector)]
