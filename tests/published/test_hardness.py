"""The band of firmness against published hardness: how many lie inside is counted, and the figures say where it fails.

Each row compares two products of one series, read by one instrument: solids in % and kinds of both, and the measured
ratio. Read at abstracts and slides (solids/hardness of the reference facts); solids of palm oil and the dose of the
alcohol and acid gels are from memory.
"""

import pytest

from optiform.properties.firmness import ALIKE, OTHERWISE, State, band
from optiform.telling.report import PROCESS

Kinds = tuple[tuple[str, float], ...]
FAT: Kinds = (("fat", 1.0),)
WAX: dict[str, Kinds] = {
    name: ((name, 1.0),) for name in ("beeswax", "sunflower wax", "rice bran wax", "candelilla wax")
}
ACID: Kinds = (("fatty acid", 1.0),)
MIXED: Kinds = (("fatty alcohol", 0.75), ("fatty acid", 0.25))
THREE: Kinds = (("candelilla wax", 0.4), ("emulsifier", 0.3), ("fat", 0.3))
ESTERED: Kinds = (("candelilla wax", 0.7), ("behenyl behenate", 0.3))

# (what, solids and kinds of the one, of the other, measured ratio)
SERIES: list[tuple[str, float, Kinds, float, Kinds, float]] = [
    # One pure fat held at 5, 15, 20 and 24 degC: yield force in N, stiffness in N/mm, storage modulus in MPa.
    ("yield force, 15 to 5 degC", 90.5, FAT, 90.5, FAT, 602 / 593),
    ("stiffness, 15 to 5 degC", 90.5, FAT, 90.5, FAT, 231 / 223),
    ("modulus, 15 to 5 degC", 90.5, FAT, 90.5, FAT, 21.9 / 26.4),
    ("yield force, 20 to 15 degC", 90.5, FAT, 80.5, FAT, 593 / 312),
    ("stiffness, 20 to 15 degC", 90.5, FAT, 80.5, FAT, 223 / 90),
    ("modulus, 20 to 15 degC", 90.5, FAT, 80.5, FAT, 26.4 / 16.3),
    ("yield force, 24 to 20 degC", 80.5, FAT, 60.0, FAT, 312 / 344),
    ("stiffness, 24 to 20 degC", 80.5, FAT, 60.0, FAT, 90 / 96),
    ("modulus, 24 to 20 degC", 80.5, FAT, 60.0, FAT, 16.3 / 40.8),
    # Palm oil at 20 and 25 degC, hardness in N.
    ("palm oil, 25 to 20 degC", 26.1, FAT, 16.3, FAT, 1.30 / 0.31),
    # Behenyl alcohol with behenic acid 7:3 or 8:2 against the acid alone (83 to 123 g), 5 % in four oils.
    ("alcohol and acid, apricot oil", 5.0, MIXED, 5.0, ACID, 323 / 103),
    ("alcohol and acid, canola oil", 5.0, MIXED, 5.0, ACID, 306 / 103),
    ("alcohol and acid, olive oil", 5.0, MIXED, 5.0, ACID, 269 / 103),
    ("alcohol and acid, camelina oil", 5.0, MIXED, 5.0, ACID, 243 / 103),
    # Petrolatum: one grade cooled slowly and fast, 0.7 and 1.5 % crystalline; two grades alike in composition.
    ("petrolatum, fast against slow", 1.5, FAT, 0.7, FAT, 79 / 26),
    ("petrolatum, two grades", 1.0, FAT, 1.0, FAT, 280 / 65),
    # Gels of 2.5 % in soybean oil, storage modulus.
    ("rice bran against sunflower wax", 2.5, WAX["rice bran wax"], 2.5, WAX["sunflower wax"], 31000 / 27000),
    ("rice bran wax against beeswax", 2.5, WAX["rice bran wax"], 2.5, WAX["beeswax"], 31000 / 90.7),
    ("sunflower wax against beeswax", 2.5, WAX["sunflower wax"], 2.5, WAX["beeswax"], 27000 / 90.7),
    # Doses that are equally firm: in soybean oil against hydrogenated soybean oil, in olive oil against beeswax.
    ("2 sunflower wax, 18 hard fat", 2.0, WAX["sunflower wax"], 18.0, FAT, 1.0),
    ("6 sunflower wax, 30 hard fat", 6.0, WAX["sunflower wax"], 30.0, FAT, 1.0),
    ("3 sunflower wax, 7 beeswax", 3.0, WAX["sunflower wax"], 7.0, WAX["beeswax"], 1.0),
    # Behenic acid alone in the oil in which it is hardest and softest, and 7:3 and 8:2 in two oils each (F-L27).
    ("behenic acid, two oils", 5.0, ACID, 5.0, ACID, 123 / 83),
    ("alcohol and acid 7:3, two oils", 5.0, MIXED, 5.0, MIXED, 323 / 306),
    ("alcohol and acid 8:2, two oils", 5.0, MIXED, 5.0, MIXED, 269 / 243),
    # Palm oil and an interesterified palm fat at 25 degC, said to hold about as much solid (F-L29).
    ("palm oil against interesterified", 16.3, FAT, 16.3, FAT, 0.31 / 1.0),
    # Candelilla wax, monoglyceride and hard fat with 1 and 5 % water and without: hardness, modulus (F-L30).
    ("5 % water, hardness", 10.0, THREE, 10.0, THREE, 0.42 / 0.15),
    ("1 % water, modulus", 10.0, THREE, 10.0, THREE, 13157.78 / 4132.92),
    ("5 % water, modulus", 10.0, THREE, 10.0, THREE, 9702.35 / 4132.92),
    # Candelilla wax with 30 % of it behenyl behenate, at equal solids.
    ("candelilla with behenyl behenate", 5.0, ESTERED, 5.0, WAX["candelilla wax"], 4.0),
]

#: Not made alike: one fat crystallised anew at each temperature, another lot or cooling, another fat. The band is for
#: products made alike; of these the program says that they differ by OTHERWISE.
OTHERWISE_MADE = {
    *(f"{what}, {step} degC" for what in ("yield force", "stiffness", "modulus")
      for step in ("15 to 5", "20 to 15", "24 to 20")),
    "petrolatum, fast against slow", "petrolatum, two grades", "palm oil against interesterified",
}  # fmt: skip
WATERED = {"5 % water, hardness", "1 % water, modulus", "5 % water, modulus"}
#: A range of structurants.csv, MIXED, WET or OTHERWISE was drawn from these.
DRAWN_FROM = {
    "2 sunflower wax, 18 hard fat", "6 sunflower wax, 30 hard fat", "3 sunflower wax, 7 beeswax",
    "candelilla with behenyl behenate", "petrolatum, fast against slow", "petrolatum, two grades", *WATERED,
    *(f"alcohol and acid, {oil} oil" for oil in ("apricot", "canola", "olive", "camelina")),
}  # fmt: skip
#: Outside: another oil makes a gel of one acid 1.48 times as hard. ALIKE, 1.4, is not moved for one point.
OUTSIDE = {"behenic acid, two oils"}


def inside(what: str, one: State, other: State, ratio: float) -> bool:
    """Whether the measured ratio lies in the band."""
    found = band(one, other, alike=OTHERWISE if what in OTHERWISE_MADE else ALIKE)
    return found.low <= 100 * ratio <= found.high


def test_so_many_published_ratios_lie_in_the_band() -> None:
    """29 of 30 (97 %). Of the 17 that no range was drawn from 16; of the 12 not made alike all, by OTHERWISE.

    Where it covers waxes against fat, mixed against single kinds, or water against none, the band is very wide.
    """
    out = set()
    for what, solids, kinds, others, other_kinds, ratio in SERIES:
        one = State((solids,) * 3, 0.0, kinds, wet=what in WATERED)
        if not inside(what, one, State((others,) * 3, 0.0, other_kinds), ratio):
            out.add(what)
    names = {row[0] for row in SERIES}
    assert len(SERIES) == len(names) == 30
    assert names >= OTHERWISE_MADE | DRAWN_FROM
    assert len(names - DRAWN_FROM) == 17
    assert out == OUTSIDE
    assert 1 - len(out) / len(names) >= 0.90
    assert 1 - len(out - DRAWN_FROM) / len(names - DRAWN_FROM) >= 0.90


def test_a_fat_crystallised_otherwise_is_not_in_the_band_of_products_made_alike() -> None:
    """Firmer at 24 degC with three quarters of the solid: why the factor is told beside every band."""
    (row,) = [row for row in SERIES if row[0] == "modulus, 24 to 20 degC"]
    found = band(State((row[1],) * 3, 0.0, FAT), State((row[3],) * 3, 0.0, FAT))
    assert 100 * row[-1] < found.low
    assert "four times" in PROCESS
    assert 4 <= OTHERWISE < 5


@pytest.mark.parametrize("name", ["carnauba wax", "fatty acid"])
def test_unlike_structurants_are_never_told_alike(name: str) -> None:
    one, other = State((7.0,) * 3, 0.0, (("beeswax", 1.0),)), State((7.0,) * 3, 0.0, ((name, 1.0),))
    found = band(one, other)
    assert found.low < 100 / 4
    assert found.high > 100 * 4
