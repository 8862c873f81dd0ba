"""The mass factors of limits.csv (acid per salt and the like) against outside figures."""

import csv
import re

import pytest

from optiform.reading.paths import DATABASE

# Standard atomic weights, IUPAC 2021, abridged, recalled.
ATOMIC_WEIGHTS = {
    "H": 1.008,
    "C": 12.011,
    "N": 14.007,
    "O": 15.999,
    "Na": 22.990,
    "K": 39.098,
    "S": 32.06,
    "Cl": 35.45,
    "Ca": 40.078,
    "Al": 26.982,
    "Si": 28.085,
    "Zn": 65.38,
    "B": 10.81,
    "Mg": 24.305,
    "P": 30.974,
    "Hg": 200.592,
    "Ag": 107.868,
}

# Formula as sold, the part the law counts, and how many of it: textbook formulas.
COUNTED = {
    "Sodium Benzoate": ("C7H5NaO2", "C7H6O2", 1),
    "Potassium Benzoate": ("C7H5KO2", "C7H6O2", 1),
    "Sodium Propionate": ("C3H5NaO2", "C3H6O2", 1),
    "Calcium Propionate": ("C6H10CaO4", "C3H6O2", 2),
    "Sodium Salicylate": ("C7H5NaO3", "C7H6O3", 1),
    "Potassium Sorbate": ("C6H7KO2", "C6H8O2", 1),
    "Sodium Dehydroacetate": ("C8H7NaO4", "C8H8O4", 1),
    "Methylparaben": ("C8H8O3", "C7H6O3", 1),
    "Sodium Methylparaben": ("C8H7NaO3", "C7H6O3", 1),
    "Ethylparaben": ("C9H10O3", "C7H6O3", 1),
    "Sodium Ethylparaben": ("C9H9NaO3", "C7H6O3", 1),
    "Propylparaben": ("C10H12O3", "C7H6O3", 1),
    "Sodium Propylparaben": ("C10H11NaO3", "C7H6O3", 1),
    "Butylparaben": ("C11H14O3", "C7H6O3", 1),
    "Sodium Butylparaben": ("C11H13NaO3", "C7H6O3", 1),
    "Zinc Sulfate": ("O4SZn", "Zn", 1),
    "Zinc Chloride": ("Cl2Zn", "Zn", 1),
    "Zinc Gluconate": ("C12H22O14Zn", "Zn", 1),
    "Zinc PCA": ("C10H12N2O6Zn", "Zn", 1),
    "Zinc Acetate": ("C4H6O4Zn", "Zn", 1),
    "Zinc Lactate": ("C6H10O6Zn", "Zn", 1),
    "Zinc Citrate": ("C12H10O14Zn3", "Zn", 3),
    "Aluminum Chlorohydrate": ("Al2ClH5O5", "Al", 2),
    "Aluminum Chloride": ("AlCl3", "Al", 1),
    "Alumina": ("Al2O3", "Al", 2),
    "Potassium Alum": ("AlKO8S2", "Al", 1),
    "Mica": ("Al3H2KO12Si3", "Al", 3),
    "Ultramarines": ("Al6Na7O24S3Si6", "Al", 6),
    "Magnesium Aluminum Silicate": ("Al2O3", "Al", 2),  # at most as much as alumina
    "Aluminum Starch Octenylsuccinate": ("Al2O3", "Al", 2),  # likewise
    "Retinyl Acetate": ("C22H32O2", "C20H30O", 1),
    "Retinyl Palmitate": ("C36H60O2", "C20H30O", 1),
    "Sodium Glycolate": ("C2H3NaO3", "C2H4O3", 1),
    "Ammonium Glycolate": ("C2H7NO3", "C2H4O3", 1),
    "Sodium Lactate": ("C3H5NaO3", "C3H6O3", 1),
    "Potassium Lactate": ("C3H5KO3", "C3H6O3", 1),
    "Sodium o-Phenylphenate": ("C12H9NaO", "C12H10O", 1),
    "Ammonium Benzoate": ("C7H9NO2", "C7H6O2", 1),
    "Calcium Benzoate": ("C14H10CaO4", "C7H6O2", 2),
    "Magnesium Benzoate": ("C14H10MgO4", "C7H6O2", 2),
    "MEA-Benzoate": ("C9H13NO3", "C7H6O2", 1),
    "Methyl Benzoate": ("C8H8O2", "C7H6O2", 1),
    "Ethyl Benzoate": ("C9H10O2", "C7H6O2", 1),
    "Propyl Benzoate": ("C10H12O2", "C7H6O2", 1),
    "Isopropyl Benzoate": ("C10H12O2", "C7H6O2", 1),
    "Butyl Benzoate": ("C11H14O2", "C7H6O2", 1),
    "Isobutyl Benzoate": ("C11H14O2", "C7H6O2", 1),
    "Phenyl Benzoate": ("C13H10O2", "C7H6O2", 1),
    "Ammonium Propionate": ("C3H9NO2", "C3H6O2", 1),
    "Magnesium Propionate": ("C6H10MgO4", "C3H6O2", 2),
    "Potassium Propionate": ("C3H5KO2", "C3H6O2", 1),
    "Calcium Salicylate": ("C14H10CaO6", "C7H6O3", 2),
    "Magnesium Salicylate": ("C14H10MgO6", "C7H6O3", 2),
    "MEA-Salicylate": ("C9H13NO4", "C7H6O3", 1),
    "Potassium Salicylate": ("C7H5KO3", "C7H6O3", 1),
    "TEA-Salicylate": ("C13H21NO6", "C7H6O3", 1),
    "Calcium Sorbate": ("C12H14CaO4", "C6H8O2", 2),
    "Sodium Sorbate": ("C6H7NaO2", "C6H8O2", 1),
    "TEA-Sorbate": ("C12H23NO5", "C6H8O2", 1),
    "Sodium Sulfite": ("Na2O3S", "O2S", 1),
    "Ammonium Bisulfite": ("H5NO3S", "O2S", 1),
    "Ammonium Sulfite": ("H8N2O3S", "O2S", 1),
    "Potassium Sulfite": ("K2O3S", "O2S", 1),
    "Sodium Bisulfite": ("HNaO3S", "O2S", 1),
    "Sodium Metabisulfite": ("Na2O5S2", "O2S", 2),
    "Potassium Metabisulfite": ("K2O5S2", "O2S", 2),
    "Potassium Hydrogen Sulfite": ("HKO3S", "O2S", 1),
    "Silver Citrate": ("C6H5Ag3O7", "Ag", 3),
    "Sodium Paraben": ("C7H5NaO3", "C7H6O3", 1),
    "Potassium Paraben": ("C7H5KO3", "C7H6O3", 1),
    "Potassium Methylparaben": ("C8H7KO3", "C7H6O3", 1),
    "Potassium Ethylparaben": ("C9H9KO3", "C7H6O3", 1),
    "Calcium Paraben": ("C7H4CaO3", "C7H6O3", 1),
    "Potassium Propylparaben": ("C10H11KO3", "C7H6O3", 1),
    "Potassium Butylparaben": ("C11H13KO3", "C7H6O3", 1),
    "Sodium Formate": ("CHNaO2", "CH2O2", 1),
    "Potassium Undecylenate": ("C11H19KO2", "C11H20O2", 1),
    "Sodium Undecylenate": ("C11H19NaO2", "C11H20O2", 1),
    "Calcium Undecylenate": ("C22H38CaO4", "C11H20O2", 2),
    "MEA-Undecylenate": ("C13H27NO3", "C11H20O2", 1),
    "TEA-Undecylenate": ("C17H35NO5", "C11H20O2", 1),
    "Chlorhexidine Diacetate": ("C26H38Cl2N10O4", "C22H30Cl2N10", 1),
    "Chlorhexidine Digluconate": ("C34H54Cl2N10O14", "C22H30Cl2N10", 1),
    "Chlorhexidine Dihydrochloride": ("C22H32Cl4N10", "C22H30Cl2N10", 1),
    "Ammonium Hydroxide": ("H5NO", "H3N", 1),
    "Tetrasodium Etidronate": ("C2H4Na4O7P2", "C2H8O7P2", 1),
    "Thimerosal": ("C9H9HgNaO2S", "Hg", 1),
    "Phenyl Mercuric Acetate": ("C8H8HgO2", "Hg", 1),
    "Phenyl Mercuric Benzoate": ("C13H10HgO2", "Hg", 1),
    "Phenyl Mercuric Borate": ("C6H7BHgO3", "Hg", 1),
}
#: With the water that they crystallise with, counted where a limit is broken beyond doubt.
HYDRATES = {
    "Aluminum Chlorohydrate": ("Al2ClH9O7", "Al", 2),
    "Aluminum Chloride": ("AlCl3H12O6", "Al", 1),
    "Potassium Alum": ("AlH24KO20S2", "Al", 1),
}
NO_FORMULA = {"Pumice"}  # a rock: from memory, and said so in its rows

# Kinds of row that weigh the whole substance: a ban of the salt, an upper bound, a statement; no figure.
WHOLE = {"prohibited", "label", "no entry", "open"}


def molar_mass(formula: str) -> float:
    counts = re.findall(r"([A-Z][a-z]?)(\d*)", formula)
    return sum(ATOMIC_WEIGHTS[element] * int(count or 1) for element, count in counts)


def stored() -> list[tuple[str, str, float]]:
    """Row id, INCI and factor of every counted substance."""
    with (DATABASE / "limits.csv").open(encoding="utf-8", newline="") as table:
        return [
            (row["id"], inci, float(factor))
            for row in csv.DictReader(table)
            if row["kind"] not in WHOLE and not row["expressed as"].startswith("mixture")
            for inci, factor in zip(row["inci"].split("; "), row["factors"].split("; "), strict=True)
        ]


def factor_of(inci: str) -> float:
    """The one factor other than 1 that every row gives this substance."""
    (factor,) = {factor for _, name, factor in stored() if name == inci and factor != 1}
    return factor


# Worked out beside the Annex V rows when these were collected; acid over salt or ester.
@pytest.mark.parametrize(
    ("inci", "published"),
    [
        ("Sodium Benzoate", 0.8475),
        ("Sodium Salicylate", 0.8627),
        ("Potassium Sorbate", 0.7464),
        ("Methylparaben", 0.9078),
        ("Ethylparaben", 0.8312),
        ("Propylparaben", 0.7665),
        ("Butylparaben", 0.7111),
        ("Sodium Dehydroacetate", 0.8844),
    ],
)
def test_factors_agree_with_the_printed_ones(inci: str, published: float) -> None:
    assert factor_of(inci) == pytest.approx(published, abs=0.0001)


# Molar masses printed by the package chemicals 1.5.2, read; benzoic acid 122.12 and sorbic acid
# 112.13 g/mol, handbooks, recalled.
@pytest.mark.parametrize(
    ("inci", "acid", "salt"),
    [("Sodium Benzoate", 122.12, 144.10317), ("Potassium Sorbate", 112.13, 150.21688)],
)
def test_factors_agree_with_printed_molar_masses(inci: str, acid: float, salt: float) -> None:
    assert factor_of(inci) == pytest.approx(acid / salt, abs=0.0001)


# Amounts of salt that just meet the limit, worked out when the rows were collected.
@pytest.mark.parametrize(
    ("row_id", "inci", "salt"),
    [
        ("EU-V-1-rinse", "Sodium Benzoate", 2.950),
        ("EU-V-1-leave", "Sodium Benzoate", 0.590),
        ("EU-V-4-more", "Potassium Sorbate", 0.804),
    ],
)
def test_the_most_salt_a_limit_allows(row_id: str, inci: str, salt: float) -> None:
    with (DATABASE / "limits.csv").open(encoding="utf-8", newline="") as table:
        row = next(row for row in csv.DictReader(table) if row["id"] == row_id)
    factor = dict(zip(row["inci"].split("; "), row["factors"].split("; "), strict=True))[inci]
    assert float(row["limit"]) / float(factor) == pytest.approx(salt, abs=0.001)


def test_every_factor_follows_from_molar_masses() -> None:
    wrong = [
        (row_id, inci, factor)
        for row_id, inci, factor in stored()
        if factor != 1
        and inci not in NO_FORMULA
        and not any(factor == pytest.approx(right, abs=0.0001) for right in by_formula(inci))
    ]
    assert wrong == []


def test_no_salt_or_ester_is_counted_whole_by_mistake() -> None:
    """A substance with a formula here has factor 1 only in a row that says so by its kind."""
    whole = [(row_id, inci) for row_id, inci, factor in stored() if factor == 1]
    assert [pair for pair in whole if pair[1] in COUNTED and "-2027" not in pair[0]] == []


def by_formula(inci: str) -> list[float]:
    formulas = [table[inci] for table in (COUNTED, HYDRATES) if inci in table]
    return [number * molar_mass(part) / molar_mass(whole) for whole, part, number in formulas]
