"""From what a person says to records that can be kept: numbers of lots, corrections, versions, weighings, readings."""

import datetime
import re
from collections.abc import Iterable, Mapping, Sequence

from optiform.reading.faults import BadInput, Fault, Inspection
from optiform.reading.units import parse_quantity
from optiform.workshop.records import Lot, Movement, Reading, TrialWeight, Version, VersionLine
from optiform.workshop.stock import NOTHING, Draw, Holding, draw

#: A split between readings: a comma inside a number is none.
_BETWEEN = re.compile(r"[;\n]|,(?=\s)")


def lot_number(lots: Iterable[Lot], received: datetime.date) -> str:
    """The day and the first free count of the day: 20261125-1."""
    taken = {lot.number for lot in lots}
    numbers = (f"{received:%Y%m%d}-{count}" for count in range(1, len(taken) + 2))
    return next(number for number in numbers if number not in taken)


def taken(draw: Draw, when: datetime.datetime, reason: str, batch: str = "") -> list[Movement]:
    """A movement out of each lot of a draw."""
    return [Movement(lot=lot.number, when=when, kg=-kg, reason=reason, batch=batch) for lot, kg in draw.takes]


def draw_of(held: Sequence[Holding], what: str, kg: float, today: datetime.date) -> Draw:
    """Where to take kg from: a lot by its number, expired or not, or an ingredient's lots, first expired first."""
    named = next((holding for holding in held if holding.lot.number == what), None)
    if named is None:
        return draw(held, what, kg, today)
    missing = kg - named.kg
    return Draw(((named.lot, kg),), missing if missing > NOTHING else 0.0)


def corrected(lot: str, before: float, weighed: float, when: datetime.datetime, reason: str) -> Movement | None:
    """The difference between what is left by the records and by the scale (kg), or None where there is none."""
    if abs(weighed - before) <= NOTHING:
        return None
    off = round(weighed - before, 9)  # a sum of floats has digits that no scale has shown
    return Movement(lot=lot, when=when, kg=off, reason=f"correction: {reason}")


def parents_of(versions: Iterable[Version], product: str) -> list[str]:
    """The versions a further one of a product must come from one of; only a product's first comes from none."""
    return [version.name for version in versions if version.product == product]


def lines_of(version: Version, lines: Iterable[tuple[str, float, str]]) -> list[VersionLine]:
    """A version's lines from ingredient, % of the whole and phase, in this order."""
    return [
        VersionLine(
            product=version.product, version=version.name, position=position,
            ingredient=ingredient, percent=percent, phase=phase,
        )
        for position, (ingredient, percent, phase) in enumerate(lines, 1)
    ]  # fmt: skip


def own_lines(lines: Iterable[VersionLine], product: str, version: str) -> list[VersionLine]:
    """The lines of one version of a product, in their order."""
    own = (line for line in lines if (line.product, line.version) == (product, version))
    return sorted(own, key=lambda line: line.position)


def weights_of(
    trial: str, lines: Sequence[VersionLine], grams: Mapping[int, float | None], place: str
) -> list[TrialWeight]:
    """What was weighed for the lines of a version, g by position: every line, or none at all.

    Raises:
        BadInput: some lines were weighed and others not; what is there would pass for the whole formula.
    """
    if all(grams.get(line.position) is None for line in lines):
        return []
    inspection = Inspection(place)
    for line in lines:
        if grams.get(line.position) is None:
            inspection.fault(f"weighed, {line.ingredient}", "", "grams; 0 where it was left out")
    inspection.finish()
    return [
        TrialWeight(trial=trial, ingredient=line.ingredient, phase=line.phase, actual=float(grams[line.position] or 0))
        for line in lines
    ]


def next_reading(readings: Iterable[Reading], trial: str) -> int:
    """The first number no reading of this trial has."""
    return max((reading.number for reading in readings if reading.trial == trial), default=0) + 1


def split_readings(text: str) -> list[str]:
    """Single readings of a line such as `210 g, 198 g`."""
    return [part.strip() for part in _BETWEEN.split(text) if part.strip()]


def values_of(texts: Sequence[str], place: str) -> list[tuple[float, str]]:
    """Number and unit of each reading, the unit as written.

    Raises:
        BadInput: with every one that has no number.
    """
    inspection, values = Inspection(place), []
    for text in texts:
        try:
            values.append(value_of(text))
        except ValueError as error:
            inspection.fault("value", text, str(error))
    inspection.finish()
    return values


def value_of(text: str) -> tuple[float, str]:
    """Number and unit of a reading, the unit as written.

    Raises:
        ValueError: it has no number.

    Example:
        >>> value_of("8.5 mm")
        (8.5, 'mm')
    """
    match = re.fullmatch(r"\s*([-+.,\d]+)\s*(\D*?)\s*", text)
    try:
        return parse_quantity(match[1] if match else text, ""), match[2] if match else ""
    except ValueError:
        raise ValueError("a number with its unit: '210 g', '8.5 mm', 3") from None


def refuse_missing(kg: float, draw: Draw, where: str, place: tuple[str, str]) -> None:
    """Raise where a draw does not hold what is wanted, with how much there is."""
    if draw.missing:
        words = f"at most {max(kg - draw.missing, 0.0):.6g} kg, what is left in {where}"
        raise BadInput([Fault(*place, f"{kg:g} kg", words)])
