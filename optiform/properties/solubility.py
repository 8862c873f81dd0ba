"""How much sugar or salt an amount of water dissolves."""

import functools
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from optiform.reading.tables import shipped

_Curve = tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]


class OutOfRange(ValueError):
    """A figure was asked for outside the range its table or equation was checked in."""

    def __init__(self, what: str, read: float, low: float, high: float, unit: str) -> None:
        super().__init__(f"{what}: {read:g} {unit} is outside {low:g} to {high:g} {unit}, the range the figures cover")
        self.what = what
        self.read = read
        self.low = low
        self.high = high
        self.unit = unit


def solubility(substance: str, temperature: float) -> float:
    """Return the grams of `substance` that one gram of water dissolves at `temperature`.

    `substance` is a name of `solubility.csv`, `temperature` is in degC. The result is g per g of
    water, read by straight lines between the rows of the table. For magnesium sulfate heptahydrate
    the water is the water added, not that of the crystals.

    Sucrose follows the Herzfeld family of tables (Mohos 2010, Table A2.2): 203.9 g per 100 g of
    water at 20 degC, where the Vavrinecz family gives 200.5.

    Other solutes in the same water are not allowed for: glycerin lowers what sugar dissolves.

    Raises `OutOfRange` outside the table and `KeyError` for a substance without a table.

    >>> round(20 * solubility("sucrose", 20), 2)  # 20 g of water; by Mohos (2010) 40.78
    40.78

    Source: Mohos (2010), Table A2.2 (W-S07): 203.9 g in 100 g of water at 20 degC, so 40.78 in 20.
    """
    temperatures, grams = _curves()[substance]
    low, high = float(temperatures[0]), float(temperatures[-1])
    if not low <= temperature <= high:
        raise OutOfRange(f"solubility of {substance}", temperature, low, high, "degC")
    return float(np.interp(temperature, temperatures, grams)) / 100


@functools.cache
def _curves() -> Mapping[str, _Curve]:
    """Temperatures and g per 100 g of water of each substance, in rising temperature."""
    points: dict[str, list[tuple[float, float]]] = {}
    for row in shipped("solubility"):
        point = (float(row["temperature"]), float(row["grams"]))
        points.setdefault(row["substance"], []).append(point)
    return MappingProxyType({name: _curve(rows) for name, rows in points.items()})


def _curve(points: list[tuple[float, float]]) -> _Curve:
    ordered = np.array(sorted(points), dtype=np.float64)
    return ordered[:, 0], ordered[:, 1]
