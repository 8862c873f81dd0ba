"""Charts of formulas: solid fat and firmness against temperature, and what a limit costs over its range."""

from collections.abc import Mapping, Sequence

from optiform.design.explore import TradeOff
from optiform.design.stepped import Stepped
from optiform.ingredients.formula import Formula
from optiform.properties.firmness import Band
from optiform.properties.oil_phase import solid_fat
from optiform.telling.around import unit_of
from optiform.telling.parts import Cell, Chart, Column, Table

COLD, HOT = (10.0, "cold room"), (35.0, "warm room, 35 °C")
TEMPERATURES = [10 + 0.5 * k for k in range(61)]  # °C
SAME = 6  # decimals of a solid fat, % of the fats; what differs beyond them is one curve
POINTS = 200  # of a drawn curve; where the mix changes it is drawn exactly


def solid_fat_chart(formulas: Sequence[Formula]) -> Chart:
    """Solid fat of the fats against temperature, one line per formula whose figures are known, cold and hot marked.

    Formulas of one curve share its line, which has the names of all.
    """
    curves: dict[tuple[float, ...], tuple[list[float], list[str]]] = {}
    for formula in formulas:
        curve = [value for at in TEMPERATURES if (value := solid_fat(at).of(formula)) is not None]
        if len(curve) == len(TEMPERATURES):
            curves.setdefault(tuple(round(value, SAME) for value in curve), (curve, []))[1].append(formula.name)
    rows = tuple(
        (" and ".join(names), at, value)
        for curve, names in curves.values()
        for at, value in zip(TEMPERATURES, curve, strict=True)
    )
    columns = (Column("formula"), Column("temperature", "°C"), Column("solid fat", "% of the fats", 1))
    return Chart(Table(columns, rows), "line", "temperature", "solid fat", series="formula", ruled=(COLD, HOT))


def firmness_chart(bands: Mapping[str, Mapping[float, Band]]) -> Chart:
    """Firmness with what it could be against temperature, one band per formula, cold and hot marked."""
    rows = tuple(
        (name, at, band.typical, band.low, band.high) for name, curve in bands.items() for at, band in curve.items()
    )
    columns = (
        Column("formula"), Column("temperature", "°C"), Column("firmness", "today at 20 °C is 100", 0),
        Column("could be from", "", 0), Column("to", "", 0),
    )  # fmt: skip
    return Chart(
        Table(columns, rows),
        "band",
        "temperature",
        "firmness",
        series="formula",
        low="could be from",
        high="to",
        ruled=(COLD, HOT),
    )


def trade_off_chart(curve: TradeOff | Stepped) -> Chart:
    """The goal against the target of one limit: the curve, where the mix changes, and where the brief stands now.

    Of steps their dots, and straight lines between those next to each other.
    """
    whole = isinstance(curve, TradeOff)
    columns = (
        Column(curve.words, target_unit(curve)),
        Column(curve.brief.goal.words, curve.value_unit.strip("-")),
        Column("turns" if whole else "worked out"),
    )
    return Chart(
        Table(columns, _points(curve) if isinstance(curve, TradeOff) else _dots(curve)),
        "line",
        columns[0].head,
        columns[1].head,
        title="At each dot the mix changes" if whole else "Each dot is worked out by itself; between dots only drawn",
        ruled=() if curve.today is None else ((curve.today, "your brief"),),
        dots=columns[2].head,
    )


def _points(curve: TradeOff) -> tuple[tuple[Cell, ...], ...]:
    if curve.fits is None:
        return ()
    start, end = curve.fits
    turns = {corner.target: corner.value for corner in curve.corners}
    drawn = {*(start + (end - start) * k / POINTS for k in range(POINTS + 1)), *turns}
    return tuple(
        (at, turns[at] if at in turns else curve.value_at(at), at in turns)
        for at in sorted(drawn)
        if start <= at <= end
    )


def _dots(curve: Stepped) -> tuple[tuple[Cell, ...], ...]:
    """A target without a formula has no value, so that the line breaks there."""
    return tuple((step.target, step.corner.value if step.corner else None, bool(step.corner)) for step in curve.steps)


def target_unit(curve: TradeOff | Stepped) -> str:
    """The unit of the targets of a trade-off; a percentage with what it is of."""
    name = curve.words.removesuffix(" at least").removesuffix(" at most").removesuffix(" exactly")
    return unit_of(name, curve.unit, curve.brief)
