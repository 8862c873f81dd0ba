"""How thick oils are against each other, against what was measured of two or more oils in one laboratory.

Kinematic viscosity as compiled, with its papers, in the public repository fgregg/fgregg.github.io
(svo/centistoke.csv, svo/fuel_properties.csv, read 2026-11-27). The papers were not read. Where a paper has several
grades of an oil their mean stands here. Left out: castor oil, which the formula does not reach, rapeseed oil of unknown
erucic acid, and oils that the catalogue does not know.
"""

import csv
from collections import defaultdict
from itertools import combinations
from pathlib import Path

from optiform.ingredients.catalogue import read_catalogue
from optiform.properties.viscosity import HELD, worked_out

DENSITY = 0.90  # g/mL of a plant oil near 40 degC


def measured() -> list[tuple[str, str, float, float]]:
    """Laboratory, oil, temperature in degC and mm2/s."""
    with Path(__file__).with_name("viscosity.csv").open(encoding="utf-8", newline="") as file:
        return [(x["laboratory"], x["oil"], float(x["temperature"]), float(x["mm2/s"])) for x in csv.DictReader(file)]


def calculated(oil: str, at: float) -> float:
    figure = worked_out(read_catalogue().ingredients[oil], at)
    assert figure is not None
    return figure


def test_nine_pairs_in_ten_of_one_laboratory_lie_within_the_factor_that_is_told() -> None:
    oils = defaultdict(list)
    for laboratory, oil, at, figure in measured():
        oils[laboratory].append(figure / calculated(oil, at))
    off = [one / other for of in oils.values() for one, other in combinations(of, 2)]
    held = {factor: sum(1 / factor <= ratio <= factor for ratio in off) for factor in (1.1, 1.25, HELD)}
    assert len(off) == 49
    assert held == {1.1: 31, 1.25: 43, HELD: 47}  # most are far nearer; 1.25 would hold 88 in a hundred


def test_an_oil_worked_out_alone_reads_an_eighth_low_and_nine_in_ten_lie_within_the_factor() -> None:
    ratios = sorted(calculated(oil, at) / (DENSITY * figure) for _, oil, at, figure in measured())
    assert round(ratios[len(ratios) // 2], 2) == 0.87
    assert sum(1 / HELD <= ratio <= HELD for ratio in ratios) >= 0.9 * len(ratios)


def test_an_oil_that_nobody_compared_lies_where_it_was_measured() -> None:
    """Rice bran oil, 39.8 mPa s at 38 degC (J Food Process 2014, 234583, abstract): the formula reads low."""
    assert 39.8 / HELD <= calculated("rice bran oil", 38.0) <= 39.8
    # limits of a pharmacopoeia for medium-chain triglycerides, 25 to 33 mPa s at 20 degC
    assert 25 / HELD <= calculated("caprylic/capric triglyceride", 20.0) <= 33
