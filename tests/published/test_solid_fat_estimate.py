"""The solid fat estimate against pure triglycerides, fats with figures, and the shipped table.

Figures marked "from memory" were not read again: check before relying on them. No constant was
fitted to a solid fat curve, but the method was chosen with these fats in view (see the module), so
the misses say how well it describes them, not how well it foretells another fat. The ranges in
values.csv were set after the misses, to be wider than they are.
"""

import csv
from collections.abc import Mapping

import numpy as np
import pytest

from optiform.reading.paths import DATABASE
from tests.published.triglycerides import (
    distribution,
    estimated_solid_fat,
    melting,
    parse_acid,
)

# Middle of the ranges of Codex CXS 210 (2015, as quoted in Nutrients 2019 11:2008, Table 4).
PALM_STEARIN = {
    "C12:0": 0.3, "C14:0": 1.5, "C16:0": 61.0, "C16:1": 0.1, "C18:0": 4.95, "C18:1": 25.75,
    "C18:2": 6.5, "C18:3": 0.25, "C20:0": 0.5, "C20:1": 0.2, "C22:0": 0.1,
}  # fmt: skip
PALM_KERNEL_STEARIN = {
    "C6:0": 0.1, "C8:0": 2.15, "C10:0": 2.85, "C12:0": 55.85, "C14:0": 22.5, "C16:0": 8.35,
    "C18:0": 2.0, "C18:1": 6.05, "C18:2": 1.0, "C18:3": 0.05, "C20:0": 0.25, "C20:1": 0.05,
}  # fmt: skip

# Measured solid fat, % by temperature, all from memory: cocoa butter Shukla 1995 (mean of four
# origins, tempered), palm fats and palm kernel oil the Malaysian surveys (PORIM, Pantzaris),
# coconut oil and palm kernel stearin the middle of the ranges across books.
MEASURED = {
    "cocoa butter": {20: 74.1, 25: 66.7, 30: 42.2, 35: 0.8},
    "palm oil": {10: 53.7, 15: 39.1, 20: 26.1, 25: 16.3, 30: 10.5, 35: 7.9, 40: 4.6},
    "palm stearin": {10: 76.0, 15: 68.9, 20: 60.2, 25: 50.6, 30: 40.4, 35: 34.3, 40: 28.1},
    "coconut oil": {10: 78.5, 15: 59.0, 20: 36.0, 25: 1.5, 30: 0.0},
    "palm kernel oil": {10: 67.6, 15: 55.7, 20: 40.1, 25: 17.1, 30: 0.0},
    "palm kernel stearin": {20: 86.0, 25: 74.0, 30: 35.0, 35: 1.0},
}

# Estimate less measured, percentage points. Cocoa butter: mostly a little high, because diglycerides and
# free acids keep some of a real fat liquid. Palm oil: high up to 25 degC (not tempered, beta
# prime), low above (its tripalmitin is left out by the sn-2 rule). Palm stearin: a fraction,
# outside the model. Lauric fats: mostly far too high from 25 degC, because mixed chain lengths
# crystallise together.
MISS = {
    "cocoa butter": {20: 7.5, 25: 6.9, 30: -2.0, 35: -0.8},
    "palm oil": {10: 21.2, 15: 19.4, 20: 16.6, 25: 14.8, 30: -10.1, 35: -7.9, 40: -4.6},
    "palm stearin": {10: 23.8, 15: 29.1, 20: 31.2, 25: 15.6, 30: 1.6, 35: -27.3, 40: -22.0},
    "coconut oil": {10: -10.9, 15: 1.0, 20: 4.8, 25: 31.0, 30: 14.5},
    "palm kernel oil": {10: -10.9, 15: -9.5, 20: -3.6, 25: 13.6, 30: 14.0},
    "palm kernel stearin": {20: -17.5, 25: -11.4, 30: 16.8, 35: 12.4},
}


# Solid fat at which a fat slips or drops at most, %: milk fat is 95 % liquid there, standard deviation 2.7
# (J Dairy Sci 99 (2016) 2571-2587, abstract).
SLIPPED = 8.0


def _rows(table: str) -> list[dict[str, str]]:
    with (DATABASE / table).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _acids(ingredient: str) -> dict[str, float]:
    return {
        row["fatty acid"]: float(row["typical"]) for row in _rows("fatty_acids.csv") if row["ingredient"] == ingredient
    }


def _profile(fat: str) -> Mapping[str, float]:
    fractions = {"palm stearin": PALM_STEARIN, "palm kernel stearin": PALM_KERNEL_STEARIN}
    return fractions[fat] if fat in fractions else _acids(fat)


def _stored(source: str) -> list[dict[str, str]]:
    """Solid fat rows of one derived source; a table without any would test nothing."""
    rows = [row for row in _rows("values.csv") if row["property"] == "solid fat" and row["source"] == source]
    assert rows, f"values.csv has no solid fat rows of {source}"
    return rows


def _typical(ingredient: str, prop: str, temperature: str = "") -> float:
    """The typical figure, or the middle of a range without one."""
    (ends,) = (
        [row["typical"]] if row["typical"] else [row["low"], row["high"]]
        for row in _rows("values.csv")
        if (row["ingredient"], row["property"], row["temperature"]) == (ingredient, prop, temperature)
    )
    return sum(map(float, ends)) / len(ends)


def _blank(row: Mapping[str, str]) -> bool:
    return row["typical"] == ""


def _melted(ingredient: str) -> float:
    """Upper end of the melting range, degC."""
    (high,) = (
        row["high"] or row["typical"]
        for row in _rows("values.csv")
        if (row["ingredient"], row["property"]) == (ingredient, "melting range")
    )
    return float(high)


def _slips(ingredient: str) -> float:
    """Lower end of a slip point, degC; endless without one: other melting ranges begin where a fat softens."""
    ends = [
        float(row["low"])
        for row in _rows("values.csv")
        if (row["ingredient"], row["property"]) == (ingredient, "melting range")
        and row["note"].startswith("slip point")
    ]
    return min(ends, default=np.inf)


def _plain(acids: Mapping[str, float]) -> dict[str, float]:
    """With the four double bonds of stearidonic acid counted as three: the model knows no chain with more."""
    return {acid: share for acid, share in acids.items() if acid != "C18:4"} | {
        "C18:3": acids.get("C18:3", 0.0) + acids.get("C18:4", 0.0)
    }


def _estimate(ingredient: str, temperature: float) -> float:
    return float(estimated_solid_fat(_acids(ingredient), [temperature])[0])


def _triglyceride(labels: str) -> tuple[float, float]:
    one, two, three = (parse_acid(label) for label in labels.split())
    return melting((one, two, three))


@pytest.mark.parametrize(
    ("labels", "point", "tolerance"),
    [
        # Not used to set the constants. POO, SOO: reviews of Hagemann and Small, from memory. The
        # estimate for POO is 2.3 K too high (the figure may belong to its beta prime form).
        ("C16:0 C18:1 C18:1", 19.0, 2.4),
        ("C18:0 C18:1 C18:1", 23.5, 1.0),
        # Tribehenin 82 degC: table of a review of bio-based phase change materials (2025).
        ("C22:0 C22:0 C22:0", 82.0, 2.0),
        # Used to set the constants, so only the residual of the fit: same reviews, from memory.
        ("C18:0 C18:0 C18:0", 73.2, 0.4),
        ("C16:0 C16:0 C16:0", 66.0, 0.4),
        ("C18:1 C18:1 C18:1", 5.1, 0.1),
    ],
)
def test_melting_point_of_pure_triglycerides(labels: str, point: float, tolerance: float) -> None:
    assert _triglyceride(labels)[0] == pytest.approx(point, abs=tolerance)


def test_heat_of_fusion_of_tristearin() -> None:
    """J Chem Eng Data 50 (2005) 1624-1630 (abstract): 195.8 and 197.6 kJ/mol."""
    assert _triglyceride("C18:0 C18:0 C18:0")[1] == pytest.approx(196.7, rel=0.02)


@pytest.mark.parametrize("fat", MEASURED)
def test_miss_against_measured_fat(fat: str) -> None:
    measured = MEASURED[fat]
    estimate = estimated_solid_fat(_profile(fat), list(measured))
    miss = dict(zip(measured, estimate - np.array(list(measured.values())), strict=True))
    assert miss == pytest.approx(MISS[fat], abs=0.3)


@pytest.mark.parametrize(
    ("ingredients", "like"),
    [
        (("murumuru butter",), ("coconut oil", "palm kernel oil", "palm kernel stearin")),
        (
            ("shea butter, refined", "shea butter, unrefined", "mango butter", "kokum butter",
             "illipe butter", "sal butter", "cupuacu butter"),
            ("cocoa butter", "palm oil"),
        ),
    ],
)  # fmt: skip
def test_stored_ranges_cover_the_misses(ingredients: tuple[str, ...], like: tuple[str, ...]) -> None:
    for row in _stored("F-DERIVED-ESTIMATE"):
        if row["ingredient"] not in ingredients:
            continue
        low, high = float(row["low"]), float(row["high"])
        typical = _estimate(row["ingredient"], float(row["temperature"])) if _blank(row) else float(row["typical"])
        for miss in (MISS[fat].get(int(row["temperature"]), 0.0) for fat in like):
            assert low <= max(0.0, typical - max(miss, 0.0)), row
            assert high >= min(100.0, typical + max(-miss, 0.0)), row


def test_every_estimated_figure_is_what_the_function_gives() -> None:
    rows = [row for row in _stored("F-DERIVED-ESTIMATE") if not _blank(row)]
    assert len(rows) > 40, "most cells keep the figure of the estimate"
    for row in rows:
        estimate = _estimate(row["ingredient"], float(row["temperature"]))
        assert float(row["typical"]) == pytest.approx(estimate, abs=0.5), row


def _contradicted(ingredient: str, temperature: float) -> bool:
    """Whether the melting range speaks against the estimate: nothing solid below its end, or much where it slips."""
    solid = _estimate(ingredient, temperature)
    return (solid < 0.5 and temperature < _melted(ingredient)) or (
        solid > SLIPPED and temperature >= _slips(ingredient)
    )


def test_a_typical_is_left_out_only_where_the_melting_range_contradicts_the_estimate() -> None:
    """Such a cell is blank and its range stays; no other is."""
    for row in _stored("F-DERIVED-ESTIMATE"):
        contradicted = _contradicted(row["ingredient"], float(row["temperature"]))
        assert _blank(row) == contradicted, row
        assert not contradicted or ("no typical" in row["note"] and float(row["high"]) > float(row["low"])), row


def test_kokum_butter_is_less_than_half_solid_where_it_may_slip() -> None:
    """Its slip point was read as 34 to 40 degC; the estimate alone leaves 63.5 % at 35 degC."""
    assert _typical("kokum butter", "solid fat", "35") < 50 < _estimate("kokum butter", 35)


def test_no_derived_fat_is_wholly_liquid_below_its_melting_point() -> None:
    derived = [row for row in _rows("values.csv") if row["property"] == "solid fat" and row["evidence"] == "derived"]
    assert derived
    for row in derived:
        read_to_set = row["source"].startswith("F-SET-")  # far below: its melting range is not looked up
        if row["typical"] and float(row["typical"]) == 0 and row["source"] != "F-DERIVED-LIQUID" and not read_to_set:
            assert float(row["temperature"]) >= _melted(row["ingredient"]), row


def test_an_oil_is_called_liquid_only_where_the_estimate_leaves_nothing_solid() -> None:
    """The estimate reads too much solid in cold oils: olive oil 15 % at 10 degC, where it only begins to cloud."""
    for row in _stored("F-DERIVED-LIQUID"):
        found = estimated_solid_fat(_plain(_acids(row["ingredient"])), [float(row["temperature"])])
        assert float(row["typical"]) == 0
        assert found[0] < 0.5, row


def test_a_fat_is_called_molten_only_above_its_melting_range() -> None:
    for row in _stored("F-DERIVED-MOLTEN"):
        assert float(row["typical"]) == 0
        assert float(row["temperature"]) > _melted(row["ingredient"]), row


@pytest.mark.parametrize("fat", ["shea butter, refined", "shea butter, unrefined"])
def test_the_low_end_of_shea_leaves_room_for_its_unsaponifiables(fat: str) -> None:
    """Trade curves, from memory and not read again: they lie near 12 % at 25 degC and near 5 % at 30 degC."""
    low = {row["temperature"]: float(row["low"]) for row in _stored("F-DERIVED-ESTIMATE") if row["ingredient"] == fat}
    assert low["25"] <= 12
    assert low["30"] <= 5


def test_cocoa_butter_below_20_degrees_hangs_on_the_measured_figure() -> None:
    for row in _stored("F-DERIVED-ANCHORED"):
        fat, temperature = row["ingredient"], float(row["temperature"])
        change = _estimate(fat, temperature) - _estimate(fat, 20)
        expected = _typical(fat, "solid fat", "20") + change
        assert float(row["typical"]) == pytest.approx(expected, abs=0.5), row


def test_babassu_lies_between_two_measured_lauric_fats() -> None:
    low, own, high = (_typical(fat, "iodine value") for fat in ("coconut oil", "babassu oil", "palm kernel oil"))
    share = (own - low) / (high - low)
    for row in _stored("F-DERIVED-LAURIC"):
        coconut, kernel = (_typical(fat, "solid fat", row["temperature"]) for fat in ("coconut oil", "palm kernel oil"))
        expected = coconut + share * (kernel - coconut)
        assert float(row["typical"]) == pytest.approx(expected, abs=0.5), row


@pytest.mark.parametrize("fat", ["cocoa butter", "coconut oil", "palm oil", "olive oil"])
def test_solid_fat_never_rises_with_temperature(fat: str) -> None:
    solid = estimated_solid_fat(_acids(fat), np.arange(-20.0, 80.0, 0.5))
    assert np.all(np.diff(solid) <= 1e-9)
    assert solid[0] > 50
    assert solid[-1] == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("fat", ["cocoa butter", "coconut oil", "olive oil"])
def test_distribution_keeps_every_acid(fat: str) -> None:
    kinds = distribution(_acids(fat))
    assert sum(kinds.values()) == pytest.approx(1)
    moles = {acid: share / parse_acid(acid).molar_mass for acid, share in _acids(fat).items()}
    for label, amount in moles.items():
        acid = parse_acid(label)
        kept = sum(fraction * kind.count(acid) / 3 for kind, fraction in kinds.items())
        assert kept == pytest.approx(amount / sum(moles.values()))


def test_a_single_triglyceride_melts_at_its_point() -> None:
    point = _triglyceride("C18:0 C18:0 C18:0")[0]
    below, above = estimated_solid_fat({"C18:0": 100}, [point - 0.1, point + 0.1])
    assert below == pytest.approx(100)
    assert above == pytest.approx(0)


def test_castor_is_refused() -> None:
    with pytest.raises(ValueError, match="C18:1-OH"):
        estimated_solid_fat({"C18:1-OH": 90, "C18:1": 10}, [20])
