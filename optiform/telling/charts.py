"""Charts of formulas: solid fat and firmness against temperature, and what a limit costs over its range."""

from collections.abc import Mapping, Sequence

from optiform.design.explore import TradeOff
from optiform.ingredients.formula import Formula
from optiform.properties.firmness import Band
from optiform.properties.oil_phase import solid_fat
from optiform.telling.around import unit_of
from optiform.telling.parts import Chart, Column, Table

COLD, HOT = (10.0, "cold room"), (35.0, "warm room, 35 °C")
TEMPERATURES = [10 + 0.5 * k for k in range(61)]  # °C
POINTS = 200  # of a drawn curve; where the mix changes it is drawn exactly


def solid_fat_chart(formulas: Sequence[Formula]) -> Chart:
    """Solid fat of the fats against temperature, one line per formula whose figures are known, cold and hot marked."""
    curves = {formula.name: [solid_fat(at).of(formula) for at in TEMPERATURES] for formula in formulas}
    rows = tuple(
        (name, at, value)
        for name, curve in curves.items()
        if None not in curve
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


def trade_off_chart(curve: TradeOff) -> Chart:
    """The goal against the target of one limit: the curve, where the mix changes, and where the brief stands now."""
    start, end = curve.fits or curve.asked
    turns = {corner.target: corner.value for corner in curve.corners}
    drawn = {*(start + (end - start) * k / POINTS for k in range(POINTS + 1)), *turns}
    rows = tuple(
        (at, turns[at] if at in turns else curve.value_at(at), at in turns)
        for at in sorted(drawn)
        if start <= at <= end
    )
    columns = (
        Column(curve.words, target_unit(curve)),
        Column(curve.brief.goal.words, curve.value_unit.strip("-")),
        Column("turns"),
    )
    return Chart(
        Table(columns, rows if curve.fits else ()),
        "line",
        columns[0].head,
        columns[1].head,
        title="At each dot the mix changes",
        ruled=() if curve.today is None else ((curve.today, "your brief"),),
        dots="turns",
    )


def target_unit(curve: TradeOff) -> str:
    """The unit of the targets of a trade-off; a percentage with what it is of."""
    name = curve.words.removesuffix(" at least").removesuffix(" at most").removesuffix(" exactly")
    return unit_of(name, curve.unit, curve.brief)
