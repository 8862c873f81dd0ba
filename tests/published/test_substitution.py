"""How much of one thing makers take for another, against what they publish."""

import pytest

from optiform.design.function import family_of
from optiform.ingredients.catalogue import read_catalogue

CATALOGUE = read_catalogue()


def instead(old: str, amount: float, new: str) -> float:
    """How much of the new does what so much of the old did."""
    first, second = (CATALOGUE.ingredients[name.casefold()] for name in (old, new))
    family = family_of(first)
    strengths = family.strength(first), family.strength(second)
    assert all(strengths)
    return amount * (strengths[0] or 0.0) / (strengths[1] or 1.0)


@pytest.mark.parametrize(
    ("old", "amount", "new", "low", "high"),
    [
        # active matter, as a formulating blog reckons it (how to substitute one surfactant for another)
        ("cocamidopropyl betaine, 30 %", 10, "cocamidopropyl hydroxysultaine, 42 %", 7.0, 7.3),
        ("cocamidopropyl betaine, 30 %", 10, "sodium cocoamphoacetate, 32 %", 9.2, 9.6),
        ("sodium laureth sulfate, 28 %", 10, "sodium laureth sulfate, 70 % paste", 3.9, 4.1),
        # a soap makers' forum, ratio of beeswax for candelilla: half; one tried 18 for 9
        ("beeswax", 18, "candelilla wax", 8.1, 9.9),
        # a formulating blog on replacing a nonionic wax by a cationic one: 6 by 5 to 6
        ("emulsifying wax NF", 6, "behentrimonium methosulfate blend, 50 %", 5.0, 6.0),
        # the same blog: 6 of the wax by 7 to 8 of a blend with lactylate
        ("emulsifying wax NF", 6, "glyceryl stearate + cetearyl alcohol + sodium stearoyl lactylate", 7.0, 8.0),
        # an ingredient page: xanthan 0.2 by hydroxyethylcellulose 0.4
        ("xanthan gum", 0.2, "hydroxyethylcellulose", 0.3, 0.5),
        # a formulating blog and a forum on preservatives: each by its own dose
        ("phenoxyethanol + parabens", 1, "diazolidinyl urea + iodopropynyl butylcarbamate", 0.3, 0.5),
        ("phenoxyethanol + ethylhexylglycerin", 1, "sodium benzoate + potassium sorbate", 1.0, 1.5),
    ],
)
def test_as_much_as_makers_publish(old: str, amount: float, new: str, low: float, high: float) -> None:
    assert low <= instead(old, amount, new) <= high


def test_sorbitol_for_glycerin_by_active() -> None:
    # worked out outside the program from the supplier's 70 %: 10 by 14.2
    assert instead("glycerin", 10, "sorbitol, 70 %") == pytest.approx(14.2, abs=0.1)
