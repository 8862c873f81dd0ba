"""Iodine and saponification values, fatty-acid profiles and the solid fat curve against the outside.

"Read" means that the figure stood in the source when it was collected; "recalled" means that it was known from
handbooks and not read again. Profiles are mass % of all fatty acids.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from optiform.ingredients.catalogue import read_catalogue
from optiform.properties.oil_phase import (
    GLYCERYL,
    KOH,
    fatty_acid_constants,
    iodine_value,
    monotone_curve,
    saponification_value,
)
from tests.every import every

Acids = dict[str, float]

# Belitz, Grosch, Schieberle: Food Chemistry, Tables 14.8 and 14.9, averages, read. Cocoa butter sums to 99.
COCOA: Acids = {"C16:0": 25, "C18:0": 37, "C18:1": 34, "C18:2": 3}
COCONUT: Acids = {
    "C8:0": 8, "C10:0": 6, "C12:0": 47, "C14:0": 18, "C16:0": 9, "C18:0": 2.5, "C18:1": 7, "C18:2": 2.5,
}  # fmt: skip
PALM_KERNEL: Acids = {
    "C8:0": 6, "C10:0": 4, "C12:0": 47, "C14:0": 16, "C16:0": 8, "C18:0": 2.5, "C18:1": 14, "C18:2": 2.5,
}  # fmt: skip
MCT: Acids = {"C8:0": 60, "C10:0": 40}

# Published ranges of the saponification value, mg KOH/g.
SAPONIFICATION = {
    # Read: Codex CXS 210-1999.
    "babassu oil": (245, 256),
    "canola oil": (182, 193),
    "coconut oil": (248, 265),
    "palm oil": (190, 209),
    "rice bran oil": (180, 199),
    "sunflower oil, high oleic": (182, 194),
    "sunflower oil": (188, 194),  # a trade specification that quotes it
    # Read: Codex CXS 325R-2017, unrefined shea butter.
    "shea butter, refined": (160, 195),
    "shea butter, unrefined": (160, 195),
    # Read: data of Malaysian cocoa butter, as quoted; a trade page quoting the USP; 21 Moroccan samples, J Agric Food
    # Chem 2005; Jahurul et al. 2020; encyclopedia citing the SEA Handbook 2009; Ph. Eur. 0868.
    "cocoa butter": (188, 198),
    "sweet almond oil": (190, 200),
    "argan oil": (180.0, 199.6),
    "mango butter": (181.4, 194.5),
    "kokum butter": (187, 193),
    "caprylic/capric triglyceride": (310, 360),
    # Recalled: Codex CXS 210-1999 and CXS 33-1981.
    "grapeseed oil": (188, 194),
    "olive oil": (184, 196),
    "palm kernel oil": (230, 254),
    "safflower oil, high oleic": (186, 194),
    "sesame oil": (186, 195),
    "soybean oil": (189, 195),
    # Recalled: USP.
    "castor oil": (176, 182),
    # Recalled: handbooks of fats (Firestone; Lipp and Anklam; Gunstone).
    "apricot kernel oil": (185, 199),
    "avocado oil": (177, 198),
    "cupuacu butter": (174, 195),
    "hempseed oil": (188, 196),
    "illipe butter": (189, 200),
    "macadamia oil": (190, 200),
    "murumuru butter": (237, 247),
    "sal butter": (180, 195),
}

# Coconut oil: Codex CXS 210-1999, Table 1, read. Cocoa butter has no Codex profile: review ranges, recalled.
COCONUT_CODEX = {
    "C6:0": (0, 0.7), "C8:0": (4.6, 10.0), "C10:0": (5.0, 8.0), "C12:0": (45.1, 53.2), "C14:0": (16.8, 21.0),
    "C16:0": (7.5, 10.2), "C18:0": (2.0, 4.0), "C18:1": (5.0, 10.0), "C18:2": (1.0, 2.5), "C18:3": (0, 0.2),
}  # fmt: skip
COCOA_REVIEWS = {
    "C16:0": (24.0, 31.0), "C18:0": (30.0, 37.0), "C18:1": (31.0, 38.0), "C18:2": (1.7, 4.8), "C18:3": (0, 0.3),
}  # fmt: skip


# -- iodine value: AOCS Recommended Practice Cd 1c-85, read ------------------------------------------------------------


@pytest.mark.parametrize(("acid", "published"), [("C18:1", 86.0), ("C18:2", 173.2), ("C18:3", 261.6)])
def test_pure_triglycerides_take_up_the_iodine_of_the_standard(acid: str, published: float) -> None:
    assert iodine_value({acid: 100}) == pytest.approx(published, abs=0.05)


def test_castor_oil_by_the_iodine_of_pure_triricinolein() -> None:
    """Not in the standard; 3 x 253.81 / 933.4 g/mol by arithmetic. USP range of the oil 83 to 88, recalled."""
    assert iodine_value({"C18:1-OH": 100}) == pytest.approx(100 * 3 * 253.81 / 933.4, abs=0.1)
    assert 83 <= iodine_value(shipped("castor oil")) <= 88


# Ranges: Malaysian cocoa butter, read as quoted; Codex CXS 210-1999 for coconut oil, read.
@pytest.mark.parametrize(
    ("acids", "by_hand", "low", "high"), [(COCOA, 34.8, 32, 36), (COCONUT, 10.35, 6.3, 10.6)], ids=["cocoa", "coconut"]
)
def test_iodine_value_of_published_profiles(acids: Acids, by_hand: float, low: float, high: float) -> None:
    assert iodine_value(acids) == pytest.approx(by_hand, abs=0.05)
    assert low <= iodine_value(acids) <= high


def test_palm_kernel_oil_lies_within_codex_and_a_hair_below_the_survey() -> None:
    """Codex 14.1 to 21.0, recalled. Malaysian survey 16.5 to 18.75, read: the profile misses it by 0.13.

    The profile is an average from a textbook and not of the survey's oils; 0.13 is the iodine of 0.15 % oleic acid.
    """
    found = iodine_value(PALM_KERNEL)
    assert 14.1 <= found <= 21.0
    assert found == pytest.approx(16.5 - 0.13, abs=0.01)


# -- saponification value: AOCS Cd 3a-94, formula read in a secondary source -------------------------------------------


# Ranges: Malaysian cocoa butter, read as quoted; Codex CXS 210-1999, coconut read and palm kernel recalled; Ph. Eur.
# 0868, medium-chain triglycerides, read as quoted.
@pytest.mark.parametrize(
    ("acids", "by_hand", "low", "high"),
    [(COCOA, 194.3, 188, 198), (COCONUT, 254.5, 248, 265), (PALM_KERNEL, 247.8, 230, 254), (MCT, 336.1, 310, 360)],
    ids=["cocoa", "coconut", "palm kernel", "mct"],
)
def test_saponification_value_of_published_profiles(acids: Acids, by_hand: float, low: float, high: float) -> None:
    assert saponification_value(acids) == pytest.approx(by_hand, abs=0.1)
    assert low <= saponification_value(acids) <= high


def test_the_mass_mean_would_leave_the_range_of_coconut_oil() -> None:
    """The trap: a mean molar mass weighted by mass gives 247.4, below the 248 of Codex CXS 210-1999 (read)."""
    constants = fatty_acid_constants()
    mass_mean = sum(constants[acid].molar_mass * share for acid, share in COCONUT.items()) / 100
    assert mass_mean == pytest.approx(214.10, abs=0.01)
    trapped = 3000 * KOH / (3 * mass_mean + GLYCERYL)
    assert trapped == pytest.approx(247.4, abs=0.1)
    assert trapped < 248 <= saponification_value(COCONUT)


# -- what is shipped ---------------------------------------------------------------------------------------------------


def shipped(name: str) -> Acids:
    """The typical profile of a shipped fat."""
    item = read_catalogue().find(name)
    assert item is not None
    return {acid: value.figure for acid, value in item.fatty_acids.items()}


def test_no_shipped_profile_is_left_out() -> None:
    profiles = {item.name for item in read_catalogue().ingredients.values() if item.fatty_acids}
    assert profiles == set(SAPONIFICATION)


@every("name", SAPONIFICATION)
def test_shipped_fat_saponifies_as_published(name: str) -> None:
    low, high = SAPONIFICATION[name]
    assert low <= saponification_value(shipped(name)) <= high


def outside(acids: Acids, ranges: dict[str, tuple[float, float]]) -> Acids:
    """By how many points a share leaves its range; acids without a range must not be there at all."""
    found: Acids = {}
    for acid, share in acids.items():
        low, high = ranges.get(acid, (0.0, 0.0))
        miss = max(low - share, share - high)
        found |= {acid: miss} if miss > 1e-9 else {}
    return found


def test_shipped_coconut_oil_is_one_by_codex() -> None:
    assert outside(shipped("coconut oil"), COCONUT_CODEX) == {}


def test_shipped_cocoa_butter_against_reviews() -> None:
    """Means of 108 to 154 samples lie within the reviews, but for traces of two acids that these leave out."""
    assert outside(shipped("cocoa butter"), COCOA_REVIEWS) == pytest.approx({"C14:0": 0.11, "C16:1": 0.21}, abs=0.005)


def test_a_wrong_profile_would_be_seen() -> None:
    assert outside(shipped("palm kernel oil"), COCONUT_CODEX) != {}


# -- the curve through solid fat points: scipy's PchipInterpolator (Fritsch and Butland 1984) --------------------------


def random_table(seed: int) -> tuple[list[float], list[float]]:
    """2 to 9 points with falling or rising figures, some of them level."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(2, 10))
    x = np.cumsum(rng.uniform(0.5, 12, count)) - 10
    steps = rng.uniform(0, 30, count) * (rng.random(count) < 0.8)
    y = 100 - np.cumsum(steps) if rng.random() < 0.7 else np.cumsum(steps)
    return x.tolist(), y.tolist()


@every("seed", range(200))
def test_curve_is_the_one_of_scipy(seed: int) -> None:
    x, y = random_table(seed)
    reference = PchipInterpolator(x, y)
    for at in (*x, *np.linspace(x[0], x[-1], 57)):
        assert monotone_curve(x, y, float(at)) == pytest.approx(float(reference(at)), abs=1e-9)
    assert monotone_curve(x, y, x[0] - 3) == y[0]
    assert monotone_curve(x, y, x[-1] + 3) == y[-1]


#: Solid fat in %, to as many decimals as a table may give.
FIGURE = st.floats(0, 100).map(lambda share: round(share, 4))


@given(
    degrees=st.lists(st.integers(-20, 80), min_size=2, max_size=9, unique=True).map(sorted),
    shares=st.lists(FIGURE, min_size=9, max_size=9).map(lambda cells: sorted(cells, reverse=True)),
    at=st.floats(-30, 90),
    step=st.floats(0, 20),
)
def test_curve_never_overshoots_nor_rises(degrees: list[int], shares: list[float], at: float, step: float) -> None:
    x, y = [float(degree) for degree in degrees], shares[: len(degrees)]
    here, warmer = monotone_curve(x, y, at), monotone_curve(x, y, at + step)
    before = max((k for k, degree in enumerate(x) if degree <= at), default=0)
    after = min((k for k, degree in enumerate(x) if degree >= at), default=len(x) - 1)
    assert y[after] - 1e-9 <= here <= y[before] + 1e-9
    assert warmer <= here + 1e-9


# -- measured fatty acids against a third table ------------------------------------------------------------------------

#: Commercial oils of one laboratory: number of samples, and mean of each acid in %. Worked out from a data set of 96
#: oils that was read (Chemometrics and Intelligent Laboratory Systems 2005, title from memory). No figure of
#: fatty_acids.csv rests on it.
COMMERCIAL: dict[str, tuple[int, Acids]] = {
    "olive oil": (7, {
        "C16:0": 11.529, "C18:0": 2.786, "C18:1": 72.629,
        "C18:2": 10.7, "C18:3": 1.157, "C20:0": 0.2, "C20:1": 0.214}),
    "canola oil": (10, {
        "C16:0": 5.22, "C18:0": 1.95, "C18:1": 58.24,
        "C18:2": 23.76, "C18:3": 8.38, "C20:0": 0.42, "C20:1": 0.96}),
    "soybean oil": (11, {
        "C16:0": 10.464, "C18:0": 3.973, "C18:1": 25.7,
        "C18:2": 52.227, "C18:3": 6.718, "C20:0": 0.327, "C20:1": 0.227}),
    "sunflower oil": (26, {
        "C16:0": 6.265, "C18:0": 4.138, "C18:1": 26.023,
        "C18:2": 61.746, "C18:3": 0.631, "C20:0": 0.335, "C20:1": 0.2}),
}  # fmt: skip

#: Points by which the shipped mean is off, where that is more than 3. Sunflower: these European oils hold less linoleic
#: acid than the 177 samples of the shipped mean; a second European table agrees with them.
OFF = {
    ("canola oil", "C18:1"): 4.3,
    ("canola oil", "C18:2"): -4.5,
    ("sunflower oil", "C18:1"): -5.6,
    ("sunflower oil", "C18:2"): 7.0,
}


def test_measured_acids_against_oils_of_another_laboratory() -> None:
    """Of 25 figures 21 lie within 3 points.

    The middles of specifications that stood here before did better on these four oils (27 of 28): their standards are
    drawn around oils like these. On almond, high oleic sunflower, apricot and others they were up to 9 points off.
    """
    off = {
        (name, acid): shipped(name)[acid] - share
        for name, (_, acids) in COMMERCIAL.items()
        for acid, share in acids.items()
        if acid in shipped(name)
    }
    assert len(off) == 25
    assert {key: miss for key, miss in off.items() if abs(miss) > 3} == pytest.approx(OFF, abs=0.1)


def test_olive_oil_has_the_means_of_572_oils() -> None:
    """The data set holds oleic acid 73.117 and linoleic 9.805 %, read; its acids sum to 99.85."""
    assert shipped("olive oil")["C18:1"] == pytest.approx(73.117 / 0.9985, abs=0.02)
    assert shipped("olive oil")["C18:2"] == pytest.approx(9.805 / 0.9985, abs=0.02)
