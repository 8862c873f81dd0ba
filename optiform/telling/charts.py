"""Pictures for a file, PNG or SVG by its name: a trade-off curve, solid fat against temperature.

Okabe and Ito's palette keeps lines apart for every kind of colour vision; each line is also named where it ends and
dashed in its own way, so colour is never the only sign.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from optiform.ingredients.formula import Formula
from optiform.properties.oil_phase import solid_fat

if TYPE_CHECKING:
    from matplotlib.axes import Axes

INK, MUTED = "#22303a", "#6b7780"
LINES = (("#0072b2", "-"), ("#d55e00", "--"), ("#009e73", "-."), ("#cc79a7", ":"))
COLD, HOT = (10.0, "cold room"), (35.0, "warm room, 35 degC")
TEMPERATURES = [10 + 0.5 * k for k in range(61)]


def trade_off_chart(
    path: Path, words: str, unit: str, curve: Mapping[float, float], points: Mapping[float, float], now: float | None
) -> None:
    """Cost (or another goal) against a target: the curve, its break points, and where the brief stands now.

    Raises:
        OSError: when the file cannot be written.
    """
    axes = _axes(words, unit)
    axes.plot(list(curve), list(curve.values()), color=LINES[0][0], linewidth=2)
    axes.plot(list(points), list(points.values()), "o", color=LINES[0][0], markersize=5, label="the mix changes here")
    if now is not None:
        _mark(axes, now, "the brief")
    axes.legend(frameon=False, labelcolor=INK)
    _save(axes, path)


def solid_fat_chart(path: Path, formulas: Sequence[Formula]) -> None:
    """Solid fat of the fats against temperature, one line per formula, cold and hot marked.

    Raises:
        OSError: when the file cannot be written.
    """
    axes = _axes("temperature, degC", "solid fat of the fats, %")
    curves = {formula.name: [solid_fat(at).of(formula) for at in TEMPERATURES] for formula in formulas}
    known = {name: [value for value in curve if value is not None] for name, curve in curves.items()}
    shown = {name: curve for name, curve in known.items() if len(curve) == len(TEMPERATURES)}
    for (name, curve), (colour, dash) in zip(shown.items(), LINES, strict=False):
        axes.plot(TEMPERATURES, curve, color=colour, linestyle=dash, linewidth=2)
        _name(axes, name, curve, [other for key, other in shown.items() if key != name], colour)
    for at, words in (COLD, HOT):
        _mark(axes, at, words)
    axes.set_ylim(0, 1.15 * max((max(curve) for curve in shown.values()), default=1.0))
    _save(axes, path)


def _name(axes: "Axes", name: str, curve: Sequence[float], others: Sequence[Sequence[float]], colour: str) -> None:
    """The line's name where it is furthest from the others, on the side away from them."""
    room = [min((abs(value - other[k]) for other in others), default=value) for k, value in enumerate(curve)]
    k = max(range(len(room)), key=room.__getitem__)
    above = all(curve[k] >= other[k] for other in others)
    offset, align = ((6, 6), "left") if above else ((-6, -14), "right")
    axes.annotate(name, (TEMPERATURES[k], curve[k]), xytext=offset, textcoords="offset points", color=colour, ha=align)


def _mark(axes: "Axes", at: float, words: str) -> None:
    axes.axvline(at, color=MUTED, linewidth=1, linestyle=":")
    top = ("data", "axes fraction")
    axes.annotate(words, (at, 1), xycoords=top, xytext=(4, -12), textcoords="offset points", color=MUTED)


def _axes(across: str, up: str) -> "Axes":
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7.2, 4.4), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    axes.set_xlabel(across, color=INK)
    axes.set_ylabel(up, color=INK)
    axes.tick_params(colors=MUTED)
    axes.grid(color="#e3e7ea", linewidth=0.8)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    return axes


def _save(axes: "Axes", path: Path) -> None:
    from matplotlib import rc_context

    figure = axes.get_figure(root=True)
    assert figure is not None
    with rc_context({"svg.fonttype": "none"}):  # words stay words: they can be found, read aloud and translated
        figure.savefig(path, dpi=150)
