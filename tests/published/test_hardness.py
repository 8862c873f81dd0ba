"""The band of firmness against published hardness: how many lie inside is counted, and the figures say where it fails.

Each row compares two products of one series, read by one instrument: solids in % and kinds of both, and the measured
ratio. Read at abstracts and slides (solids/hardness of the reference facts); solids of palm oil and the dose of the
alcohol and acid gels are from memory.
"""

import pytest

from optiform.properties.firmness import State, band

Kinds = tuple[tuple[str, float], ...]
FAT: Kinds = (("fat", 1.0),)
WAX: dict[str, Kinds] = {
    name: ((name, 1.0),) for name in ("beeswax", "sunflower wax", "rice bran wax", "candelilla wax")
}
ACID: Kinds = (("fatty acid", 1.0),)
MIXED: Kinds = (("fatty alcohol", 0.75), ("fatty acid", 0.25))
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
    # Candelilla wax with 30 % of it behenyl behenate, at equal solids.
    ("candelilla with behenyl behenate", 5.0, ESTERED, 5.0, WAX["candelilla wax"], 4.0),
]

#: Outside the band. The pure fat crystallised anew at each temperature: at 24 degC it holds less solid and is no
#: softer. Grades of petrolatum are one composition to the model.
OUTSIDE = {
    "stiffness, 20 to 15 degC", "yield force, 24 to 20 degC", "stiffness, 24 to 20 degC", "modulus, 24 to 20 degC",
    "petrolatum, two grades", "candelilla with behenyl behenate",
}  # fmt: skip


def inside(one: State, other: State, ratio: float) -> bool:
    """Whether the measured ratio lies in the band."""
    found = band(one, other)
    return found.low <= 100 * ratio <= found.high


def test_so_many_published_ratios_lie_in_the_band() -> None:
    """17 of 23. Of the 16 that no range of structurants.csv was drawn from 11.

    The band does not cover one fat crystallised differently; where it covers waxes against fat it is very wide.
    """
    out = set()
    for what, solids, kinds, others, other_kinds, ratio in SERIES:
        one, other = State((solids,) * 3, 0.0, kinds), State((others,) * 3, 0.0, other_kinds)
        if not inside(one, other, ratio):
            out.add(what)
    assert len(SERIES) == 23
    assert out == OUTSIDE


@pytest.mark.parametrize("name", ["carnauba wax", "fatty acid"])
def test_unlike_structurants_are_never_told_alike(name: str) -> None:
    one, other = State((7.0,) * 3, 0.0, (("beeswax", 1.0),)), State((7.0,) * 3, 0.0, ((name, 1.0),))
    found = band(one, other)
    assert found.low < 100 / 4
    assert found.high > 100 * 4
