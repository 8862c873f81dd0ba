"""HLB arithmetic against published worked examples.

Read when collected: OCL 2022, article ocl210096, Tables 4 and 5 (creams F1 to F5); PMC3969497, Table I (two
emulsifiers for a target); PMC4137601, Table 2 (HLB of mixtures).
"""

from dataclasses import dataclass

import pytest

from optiform.brief.brief import Range
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Mix, fractions
from optiform.properties.surfactants import emulsifier_hlb, hlb_difference, required_hlb
from tests.builders import brief_of, ingredient
from tests.every import every

# -- OCL 2022: five creams ---------------------------------------------------------------------------------------------

# The paper counts its glyceryl monostearate inside the oil phase with 3.8, so it is no emulsifier here.
OILS = tuple(
    ingredient(name, 5.0, function, {"required hlb": wanted}, phase="oil phase")
    for name, function, wanted in (
        ("white beeswax", "wax", 12.0),
        ("isopropyl myristate", "ester", 11.5),
        ("glyceryl monostearate", "fatty alcohol", 3.8),
        ("stearic acid", "fatty acid", 15.0),
        ("seed oil", "oil", 6.2),
    )
)
POLYSORBATE = ingredient("polysorbate 80", 7.0, "emulsifier", {"hlb": 15.0})
SORBITAN = ingredient("sorbitan stearate", 6.0, "emulsifier", {"hlb": 4.7})
WATER = ingredient("water", 0.1, "water")
EMULSIFIER = 3.0  # % of the whole


@dataclass(frozen=True)
class Cream:
    """Percent of each oil, and the required HLB and percents of the two emulsifiers as printed."""

    oils: tuple[float, ...]
    required: float
    polysorbate: float
    sorbitan: float


CREAMS = {
    "F1": Cream((1.5, 7.5, 7.5, 12.5, 5), 10.33, 1.64, 1.36),
    "F2": Cream((1.5, 7.5, 7.5, 10.5, 5), 10.04, 1.56, 1.44),
    "F3": Cream((1.5, 7.5, 7.5, 8.5, 5), 9.71, 1.46, 1.54),
    "F4": Cream((1.5, 7.5, 7.5, 6.5, 5), 9.33, 1.35, 1.65),
    "F5": Cream((1.5, 10, 10, 10.5, 5), 9.72, 1.46, 1.54),
}
PRINTED = 0.0051  # half of the last printed digit
each_cream = pytest.mark.parametrize("cream", CREAMS.values(), ids=CREAMS.keys())


def percents(*lines: tuple[Ingredient, float]) -> Formula:
    """A formula from percents of the whole, filled up with water."""
    rest = 100 - sum(percent for _, percent in lines)
    return Formula("", tuple(Line(item, percent / 100, item.phase) for item, percent in (*lines, (WATER, rest))))


def cream_formula(cream: Cream) -> Formula:
    emulsifiers = ((POLYSORBATE, cream.polysorbate), (SORBITAN, cream.sorbitan))
    return percents(*zip(OILS, cream.oils, strict=True), *emulsifiers)


@each_cream
def test_required_hlb_of_the_oil_phase(cream: Cream) -> None:
    assert required_hlb().of(cream_formula(cream)) == pytest.approx(cream.required, abs=PRINTED)


@each_cream
def test_the_printed_split_meets_the_required_hlb(cream: Cream) -> None:
    """To the rounding of the split: 0.005 of 3.00 % is worth 0.017 of HLB."""
    assert hlb_difference().of(cream_formula(cream)) == pytest.approx(0, abs=0.02)


def test_contributions_to_the_first_cream() -> None:
    """Printed 0.53, 2.54, 0.84, 5.51, 0.91."""
    oils = CREAMS["F1"].oils
    formula = percents(*zip(OILS, oils, strict=True))
    x = fractions(formula)
    terms = required_hlb().terms(Mix.of(formula), x)
    found = terms.numerator * x / float(terms.denominator @ x)
    assert found[:-1] == pytest.approx([0.53, 2.54, 0.84, 5.51, 0.91], abs=PRINTED)
    assert found[-1] == 0


@each_cream
def test_design_finds_the_printed_split(cream: Cream) -> None:
    """The oils pinned, 3.00 % of emulsifiers, and their HLB held to what the oil phase requires."""
    pinned = {oil.name: Range(share / 100, share / 100, "brief") for oil, share in zip(OILS, cream.oils, strict=True)}
    limits = {"share of emulsifier": (EMULSIFIER, EMULSIFIER), "hlb difference": (0.0, 0.0)}
    answer = design(brief_of([*OILS, POLYSORBATE, SORBITAN, WATER], limits, pinned))
    assert isinstance(answer, Designed)
    formula = answer.report.formula
    assert 100 * formula.fraction(POLYSORBATE.name) == pytest.approx(cream.polysorbate, abs=PRINTED)
    assert 100 * formula.fraction(SORBITAN.name) == pytest.approx(cream.sorbitan, abs=PRINTED)


# -- PMC3969497: two emulsifiers for a target --------------------------------------------------------------------------

HLB = {"polysorbate 20": 16.7, "polysorbate 80": 15.0, "sorbitan laurate": 8.6, "sorbitan oleate": 4.3}
TARGETS = range(8, 16)
#: Mass % of the first emulsifier as printed for each target; None where the table prints N/A. The second is the rest:
#: at 9, polysorbate 80 with sorbitan laurate, the table prints 93.2 for 93.7, a misprint, because 6.3 stands beside it.
SHARES: dict[tuple[str, str], tuple[float | None, ...]] = {
    ("polysorbate 20", "sorbitan laurate"): (None, 4.9, 17.3, 29.6, 42.0, 54.3, 66.7, 79.0),
    ("polysorbate 20", "sorbitan oleate"): (29.8, 37.9, 46.0, 54.0, 62.1, 70.2, 78.2, 86.3),
    ("polysorbate 80", "sorbitan laurate"): (None, 6.3, 21.9, 37.5, 53.1, 68.8, 84.4, 100.0),
    ("polysorbate 80", "sorbitan oleate"): (34.6, 43.9, 53.3, 62.6, 72.0, 81.3, 90.7, 100.0),
}
ENTRIES = [
    (*pair, target, share) for pair, shares in SHARES.items() for target, share in zip(TARGETS, shares, strict=True)
]


def blend_for(first: str, second: str, target: float) -> Designed | NoFormula:
    """The cheapest blend of two emulsifiers that has this HLB."""
    candidates = [
        ingredient(name, price, "emulsifier", {"hlb": HLB[name]}) for name, price in ((first, 7), (second, 6))
    ]
    return design(brief_of(candidates, {"hlb of the emulsifiers": (target, target)}))


@every("first, second, target, share", [entry for entry in ENTRIES if entry[3] is not None])
def test_ratio_of_two_emulsifiers(first: str, second: str, target: int, share: float) -> None:
    answer = blend_for(first, second, target)
    assert isinstance(answer, Designed)
    assert 100 * answer.report.formula.fraction(first) == pytest.approx(share, abs=0.0501)
    assert 100 * answer.report.formula.fraction(second) == pytest.approx(100 - share, abs=0.0501)


@pytest.mark.parametrize(("first", "second", "target"), [entry[:3] for entry in ENTRIES if entry[3] is None])
def test_no_ratio_where_the_table_prints_none(first: str, second: str, target: int) -> None:
    """A target below the lower of two HLB: what clashes is named, and the least change that helps is that HLB."""
    answer = blend_for(first, second, target)
    assert isinstance(answer, NoFormula)
    assert [demand.words for demand in answer.conflict] == ["hlb of the emulsifiers at most 8"]
    assert [change.target for repair in answer.repairs for change in repair] == pytest.approx([HLB[second]], abs=1e-4)


def test_no_ratio_above_the_higher_hlb() -> None:
    """The same beyond the other end, which the table does not print: 16 is more than polysorbate 80 has."""
    assert isinstance(blend_for("polysorbate 80", "sorbitan oleate", 16), NoFormula)


# -- PMC4137601: HLB of mixtures ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(("parts", "printed"), [(9, 13.93), (8, 12.86), (7, 11.79)])
def test_hlb_of_polysorbate_80_with_sorbitan_oleate(parts: int, printed: float) -> None:
    mixed = percents((shipped("polysorbate 80"), parts), (shipped("sorbitan oleate"), 10 - parts))
    assert emulsifier_hlb().of(mixed) == pytest.approx(printed, abs=PRINTED)


@pytest.mark.parametrize("name", HLB)
def test_shipped_hlb(name: str) -> None:
    """The shipped figures are those the tables rest on; of polysorbate 20 and sorbitan laurate they come from them."""
    value = shipped(name).value("hlb")
    assert value is not None
    assert value.figure == HLB[name]


def shipped(name: str) -> Ingredient:
    """An ingredient of the shipped tables."""
    item = read_catalogue().find(name)
    assert item is not None
    return item
