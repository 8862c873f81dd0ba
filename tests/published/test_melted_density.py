"""The density of melted butters, worked out by the relation of Lund, against densities that have another source."""

import csv

import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.reading.paths import DATABASE

with (DATABASE / "values.csv").open(encoding="utf-8", newline="") as _file:
    VALUES = list(csv.DictReader(_file))
#: Triglycerides of common acids; castor oil and jojoba are none, and the relation is not for them.
NO_FAT = ("castor oil", "jojoba oil")
FATS = {
    item.name
    for item in read_catalogue().ingredients.values()
    if item.functions[0] in ("oil", "butter") and item.name not in NO_FAT
}


#: g/mL by which the relation misses densities of the tables that have another source, where that is more than 0.005.
LUND_MISSES = {
    ("kokum butter", 40.0): -0.013,
    ("shea butter, refined", 40.0): -0.015,
    ("shea butter, unrefined", 40.0): -0.015,
}


def by_lund(name: str, temperature: float) -> float:
    """J. Am. Oil Chem. Soc. 76 (1999) 1415, read: at 15 degC relative to water (0.9991), less 0.00064 g/mL per degC."""
    saponified, iodine = (middle(figure(name, what)[0]) for what in ("saponification value", "iodine value"))
    return (0.8475 + 0.00030 * saponified + 0.00014 * iodine) * 0.9991 - 0.00064 * (temperature - 15)


def figure(name: str, what: str) -> list[dict[str, str]]:
    return [row for row in VALUES if (row["ingredient"], row["property"]) == (name, what)]


def middle(row: dict[str, str]) -> float:
    ends = [float(row[end]) for end in ("low", "high") if row[end]]
    return float(row["typical"]) if row["typical"] else sum(ends) / len(ends)


def test_five_butters_have_the_density_of_lund() -> None:
    rows = [row for row in VALUES if row["source"] == "W-DERIVED-LUND"]
    assert len(rows) == 5
    for row in rows:
        assert float(row["typical"]) == pytest.approx(by_lund(row["ingredient"], 40.0), abs=0.0006)
        assert float(row["low"]) <= by_lund(row["ingredient"], 40.0) <= float(row["high"])


def test_lund_misses_densities_of_other_sources_by_little_but_for_three_butters() -> None:
    known = [
        row
        for row in VALUES
        if row["property"] == "density" and row["evidence"] == "published" and row["typical"]
        and row["ingredient"] in FATS and "solid" not in row["note"]
    ]  # fmt: skip
    off = {
        (row["ingredient"], at): by_lund(row["ingredient"], at) - float(row["typical"])
        for row in known
        for at in (float(row["temperature"]),)
        if figure(row["ingredient"], "saponification value") and figure(row["ingredient"], "iodine value")
    }
    assert len(off) > 15
    assert {key: miss for key, miss in off.items() if abs(miss) > 0.005} == pytest.approx(LUND_MISSES, abs=0.001)
