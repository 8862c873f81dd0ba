"""The band of firmness against published hardness: how many lie inside is counted, whatever the number.

Each row compares two products of one series, read by one instrument: solids in % and kinds of both, and the measured
ratio. Read at abstracts and slides (solids/hardness of the reference facts); solids of palm oil and the dose of the
alcohol and acid gels are from memory. No width may be drawn from the row it is held to: each row is compared with the
band as it would be had its source never been read. How far the rest lie outside is the model's own error (conformal,
one source left out at a time).
"""

import math
from collections.abc import Iterable, Iterator, Mapping

import pytest

from optiform.properties import firmness, structurants
from optiform.properties.firmness import OTHERWISE, OWN_ERROR, State, band
from optiform.properties.structurants import MIXED, Structurant, strengths
from optiform.reading.tables import shipped
from optiform.telling.report import PROCESS

Kinds = tuple[tuple[str, float], ...]
FAT: Kinds = (("fat", 1.0),)
WAX: dict[str, Kinds] = {
    name: ((name, 1.0),) for name in ("beeswax", "sunflower wax", "rice bran wax", "candelilla wax")
}
ACID: Kinds = (("fatty acid", 1.0),)
BOTH: Kinds = (("fatty alcohol", 0.75), ("fatty acid", 0.25))
THREE: Kinds = (("candelilla wax", 0.4), ("emulsifier", 0.3), ("fat", 0.3))
ESTERED: Kinds = (("candelilla wax", 0.7), ("behenyl behenate", 0.3))

Row = tuple[str, str, float, Kinds, float, Kinds, float]
# (source, what, solids and kinds of the one, of the other, measured ratio)
SERIES: list[Row] = [
    # One pure fat held at 5, 15, 20 and 24 degC: yield force in N, stiffness in N/mm, storage modulus in MPa.
    ("L28", "yield force, 15 to 5 degC", 90.5, FAT, 90.5, FAT, 602 / 593),
    ("L28", "stiffness, 15 to 5 degC", 90.5, FAT, 90.5, FAT, 231 / 223),
    ("L28", "modulus, 15 to 5 degC", 90.5, FAT, 90.5, FAT, 21.9 / 26.4),
    ("L28", "yield force, 20 to 15 degC", 90.5, FAT, 80.5, FAT, 593 / 312),
    ("L28", "stiffness, 20 to 15 degC", 90.5, FAT, 80.5, FAT, 223 / 90),
    ("L28", "modulus, 20 to 15 degC", 90.5, FAT, 80.5, FAT, 26.4 / 16.3),
    ("L28", "yield force, 24 to 20 degC", 80.5, FAT, 60.0, FAT, 312 / 344),
    ("L28", "stiffness, 24 to 20 degC", 80.5, FAT, 60.0, FAT, 90 / 96),
    ("L28", "modulus, 24 to 20 degC", 80.5, FAT, 60.0, FAT, 16.3 / 40.8),
    # Palm oil at 20 and 25 degC, hardness in N.
    ("L29", "palm oil, 25 to 20 degC", 26.1, FAT, 16.3, FAT, 1.30 / 0.31),
    # Behenyl alcohol with behenic acid 7:3 or 8:2 against the acid alone (83 to 123 g), 5 % in four oils.
    ("L27", "alcohol and acid, apricot oil", 5.0, BOTH, 5.0, ACID, 323 / 103),
    ("L27", "alcohol and acid, canola oil", 5.0, BOTH, 5.0, ACID, 306 / 103),
    ("L27", "alcohol and acid, olive oil", 5.0, BOTH, 5.0, ACID, 269 / 103),
    ("L27", "alcohol and acid, camelina oil", 5.0, BOTH, 5.0, ACID, 243 / 103),
    # Petrolatum: one grade cooled slowly and fast, 0.7 and 1.5 % crystalline; two grades alike in composition.
    ("L34", "petrolatum, fast against slow", 1.5, FAT, 0.7, FAT, 79 / 26),
    ("L34", "petrolatum, two grades", 1.0, FAT, 1.0, FAT, 280 / 65),
    # Gels of 2.5 % in soybean oil, storage modulus.
    ("L26", "rice bran against sunflower wax", 2.5, WAX["rice bran wax"], 2.5, WAX["sunflower wax"], 31000 / 27000),
    ("L26", "rice bran wax against beeswax", 2.5, WAX["rice bran wax"], 2.5, WAX["beeswax"], 31000 / 90.7),
    ("L26", "sunflower wax against beeswax", 2.5, WAX["sunflower wax"], 2.5, WAX["beeswax"], 27000 / 90.7),
    # Doses that are equally firm: in soybean oil against hydrogenated soybean oil, in olive oil against beeswax.
    ("L12", "2 sunflower wax, 18 hard fat", 2.0, WAX["sunflower wax"], 18.0, FAT, 1.0),
    ("L12", "6 sunflower wax, 30 hard fat", 6.0, WAX["sunflower wax"], 30.0, FAT, 1.0),
    ("L38", "3 sunflower wax, 7 beeswax", 3.0, WAX["sunflower wax"], 7.0, WAX["beeswax"], 1.0),
    # Behenic acid alone in the oil in which it is hardest and softest, and 7:3 and 8:2 in two oils each (F-L27).
    ("L27", "behenic acid, two oils", 5.0, ACID, 5.0, ACID, 123 / 83),
    ("L27", "alcohol and acid 7:3, two oils", 5.0, BOTH, 5.0, BOTH, 323 / 306),
    ("L27", "alcohol and acid 8:2, two oils", 5.0, BOTH, 5.0, BOTH, 269 / 243),
    # Palm oil and an interesterified palm fat at 25 degC, said to hold about as much solid (F-L29).
    ("L29", "palm oil against interesterified", 16.3, FAT, 16.3, FAT, 0.31 / 1.0),
    # Candelilla wax, monoglyceride and hard fat with 1 and 5 % water and without: hardness, modulus (F-L30).
    ("L30", "5 % water, hardness", 10.0, THREE, 10.0, THREE, 0.42 / 0.15),
    ("L30", "1 % water, modulus", 10.0, THREE, 10.0, THREE, 13157.78 / 4132.92),
    ("L30", "5 % water, modulus", 10.0, THREE, 10.0, THREE, 9702.35 / 4132.92),
    # Candelilla wax with 30 % of it behenyl behenate, at equal solids.
    ("L24", "candelilla with behenyl behenate", 5.0, ESTERED, 5.0, WAX["candelilla wax"], 4.0),
]


#: 1 and 5 % of water in the one, none in the other.
WATERED = {"5 % water, hardness", "1 % water, modulus", "5 % water, modulus"}

# -- what each width was read from -------------------------------------------------------------------------------------

#: g of solid fat, or of beeswax, that a gram of sunflower wax stands for.
WAX_FOR_FAT = {"L12": (5.0, 9.0), "L10": (5.0, 18.0)}
WAX_FOR_BEESWAX = {"L38": 7 / 3}
#: g of beeswax that a gram of another wax stands for, by one maker's experiments; none of the rows above is of them.
FOR_BEESWAX = {"candelilla wax": (1.7, 2.3), "carnauba wax": (1.7, 2.5)}
#: Mixed crystals over single ones.
MIXED_READ = {"L24": 4.0, "L27": 323 / 83}
#: Water in one of the two was read at one place. Without it nothing is known of water.
WATER_READ = {"L30"}


def without(dropped: str) -> tuple[dict[str, tuple[float, float]], float, float]:
    """Wax by what was read of it, and how far mixed crystals and water move, without a source.

    Of each the widest that is left.
    """
    grams = [span for source, span in WAX_FOR_FAT.items() if source != dropped]
    low, high = min(least for least, _ in grams), max(most for _, most in grams)
    read = {"fat": (1.0, 1.0), "sunflower wax": (low, high)}
    if dropped not in WAX_FOR_BEESWAX:
        low, high = read["beeswax"] = low / WAX_FOR_BEESWAX["L38"], high / WAX_FOR_BEESWAX["L38"]
        read |= {wax: (low * least, high * most) for wax, (least, most) in FOR_BEESWAX.items()}
    mixed = max(most for source, most in MIXED_READ.items() if source != dropped)
    return read, mixed, 1.0 if dropped in WATER_READ else mixed


def test_the_widths_are_what_the_sources_say_and_nothing_else() -> None:
    read, mixed, water = without("")
    rows = {row["kind"]: row for row in shipped("structurants")}
    assert {kind for kind, row in rows.items() if row["low"]} == read.keys()
    for kind, span in read.items():
        assert [float(rows[kind][end]) for end in ("low", "high")] == pytest.approx(span, rel=0.03), kind
    assert (mixed, water) == (MIXED, MIXED)


def test_the_figure_takes_each_structurant_as_what_it_was_read_to_stand_for() -> None:
    """Sunflower wax, 2 as 18 and 6 as 30 of hard fat, 3 as 7 of beeswax: the first two differ by dose."""
    rows = {row[1]: row for row in SERIES}
    figures = {}
    for what in ("2 sunflower wax, 18 hard fat", "6 sunflower wax, 30 hard fat", "3 sunflower wax, 7 beeswax"):
        _, _, solids, kinds, others, other_kinds, _ = rows[what]
        figures[what] = band(State((solids,) * 3, 0.0, kinds), State((others,) * 3, 0.0, other_kinds)).typical
    assert [round(figure) for figure in figures.values()] == [44, 193, 99]
    assert {row["evidence"] for row in shipped("structurants") if row["low"]} == {"derived"}
    assert {row["evidence"] for row in shipped("structurants") if row["source"] == "K-PRACTICE"} == {"practice"}


# -- how many lie in it ------------------------------------------------------------------------------------------------


def outside(monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[str, str, float]]:
    """Source and name of each ratio, and how many times it lies outside the band of all assumptions without its source.

    Below 1 inside it.
    """
    gels = {row["kind"]: float(row["gel"]) for row in shipped("structurants")}
    for source, what, solids, kinds, others, other_kinds, ratio in SERIES:
        read, mixed, water = without(source)
        spans = strengths(read, gels, mixed)
        table: Mapping[str, Structurant] = {kind: Structurant(*spans[kind], gel) for kind, gel in gels.items()}
        monkeypatch.setattr(structurants, "structurants", lambda table=table: table)
        monkeypatch.setattr(structurants, "MIXED", mixed)
        monkeypatch.setattr(firmness, "MIXED", water)
        one = State((solids,) * 3, 0.0, kinds, wet=what in WATERED)
        ends = band(one, State((others,) * 3, 0.0, other_kinds), apart=1.0)
        yield source, what, max(100 * ratio / ends.high, ends.low / (100 * ratio))


def nine_in_ten(beyond: Iterable[float]) -> float:
    """What one more of these exceeds at most once in ten, whatever their law: the ceil(0.9 (n + 1)) least of n."""
    ordered = sorted(beyond)
    return ordered[min(math.ceil(0.9 * (len(ordered) + 1)), len(ordered)) - 1]


def test_the_model_s_own_error_is_what_published_ratios_say(monkeypatch: pytest.MonkeyPatch) -> None:
    assert nine_in_ten(beyond for _, _, beyond in outside(monkeypatch)) == pytest.approx(OWN_ERROR, rel=1e-9)


#: One fat with three quarters of the solid 2.5 times as firm; two lots of petrolatum alike in composition.
FAR = {"modulus, 24 to 20 degC", "petrolatum, two grades"}


def test_twenty_eight_of_thirty_published_ratios_lie_in_the_band(monkeypatch: pytest.MonkeyPatch) -> None:
    """93 %, where 90 % is wanted. No row of a source counts in the error, or in the widths, that it is held to."""
    rows = [*outside(monkeypatch)]
    far = {
        what
        for source, what, beyond in rows
        if beyond > nine_in_ten(other for place, _, other in rows if place != source)
    }
    assert len({what for _, what, _ in rows}) == len(SERIES) == 30
    assert far == FAR


def test_eleven_lie_in_the_band_of_the_assumptions_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Why the model has an error of its own beside them."""
    assert sum(beyond <= 1 for _, _, beyond in outside(monkeypatch)) == 11


def test_what_lies_outside_is_told_beside_every_band() -> None:
    (row,) = [row for row in SERIES if row[1] == "modulus, 24 to 20 degC"]
    ends = band(State((row[2],) * 3, 0.0, FAT), State((row[4],) * 3, 0.0, FAT))
    assert 100 * row[-1] < ends.low
    assert "four times" in PROCESS
    assert 4 <= OTHERWISE < 5


@pytest.mark.parametrize("name", ["carnauba wax", "fatty acid"])
def test_unlike_structurants_are_never_told_alike(name: str) -> None:
    one, other = State((7.0,) * 3, 0.0, (("beeswax", 1.0),)), State((7.0,) * 3, 0.0, ((name, 1.0),))
    found = band(one, other)
    assert found.low < 100 / 4
    assert found.high > 100 * 4
