"""What replaces an ingredient, told: surfactants as active matter, and what no figure says."""

from dataclasses import replace

import pytest

from optiform.design.substitute import Substitutes, substitute
from optiform.ingredients.formula import Formula, Line
from optiform.telling.parts import Table
from optiform.telling.substitute import option
from optiform.telling.substitute import substitute as told
from tests.kind_shelves import bare_brief

LATHER = {
    "water": 48.0, "glycerin": 20.0, "cocamidopropyl betaine, 30 %": 20.0, "sodium methyl cocoyl taurate, 30 %": 10.0,
    "xanthan gum": 2.0,
}  # fmt: skip


def answer(gone: str, *shelf: str) -> Substitutes:
    brief = bare_brief("whipped foaming base", dict.fromkeys((*LATHER, *shelf), 5.0))
    names = {item.name: item for item in brief.mix.ingredients}
    lines = tuple(Line(names[name], share / 100, names[name].phase) for name, share in LATHER.items())
    return substitute(replace(brief, reference=Formula("today", lines)), [gone])


def test_each_surfactant_is_told_as_supplied_and_as_active_matter_and_the_sum_is_as_today() -> None:
    found = answer("cocamidopropyl betaine, 30 %", "sodium cocoamphoacetate, 32 %")
    (place,) = [
        k for k, x in enumerate(found.swaps, 1) if [name for name, _ in x.parts] == ["sodium cocoamphoacetate, 32 %"]
    ]
    (table,) = [x for x in option(found, place).parts if isinstance(x, Table) and "surfactant" in x.columns[0].words]
    rows = {str(row[0]): row[1:] for row in table.rows}
    assert rows["cocamidopropyl betaine, 30 %"] == pytest.approx((20, 6, 0, 0))
    assert rows["sodium methyl cocoyl taurate, 30 %"] == pytest.approx((10, 3.1, 10, 3.1))
    assert rows["sodium cocoamphoacetate, 32 %"] == pytest.approx((0, 0, 6 / 0.32, 6))
    assert "Foam is not worked out." in " ".join(told(found).sentences)


def test_of_another_family_neither_foam_nor_active_matter_is_told() -> None:
    found = answer("glycerin", "propanediol")
    assert found.swaps
    words = " ".join(told(found).sentences)
    assert "Foam" not in words
    assert not any("surfactant" in part.columns[0].words for part in option(found, 1).parts if isinstance(part, Table))
