"""An ingredient of one's own that is like a known one: missing figures are that one's, and say so."""

from pathlib import Path

import pytest

from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.ingredient import Evidence
from optiform.reading.faults import BadInput


def table(folder: Path, text: str) -> Catalogue:
    (folder / "own.csv").write_text(text, encoding="utf-8")
    return read_catalogue([folder / "own.csv"])


ROW = 'ingredient,phase,functions,like,solid fat at 20 degC,price (EUR/kg)\nsal blend,oil phase,butter,"{}",61,18\n'


def test_missing_figures_are_taken_and_marked(tmp_path: Path) -> None:
    catalogue = table(tmp_path, ROW.format("shea butter, refined"))
    mine, shea = catalogue.ingredients["sal blend"], catalogue.ingredients["shea butter, refined"]
    taken, read = mine.value("solid fat", 30.0), shea.value("solid fat", 30.0)
    assert taken is not None
    assert read is not None
    assert (taken.figure, taken.evidence, taken.note) == (
        read.figure, Evidence.RECALLED, "taken to be like shea butter, refined",
    )  # fmt: skip
    assert {value.evidence for value in mine.fatty_acids.values()} == {Evidence.RECALLED}
    assert set(mine.fatty_acids) == set(shea.fatty_acids)


def test_a_figure_of_ones_own_goes_before(tmp_path: Path) -> None:
    mine = table(tmp_path, ROW.format("shea butter, refined")).ingredients["sal blend"]
    own = mine.value("solid fat", 20.0)
    assert own is not None
    assert (own.figure, own.evidence) == (61, Evidence.OWN)


def test_nothing_of_a_supplier_or_a_label_is_taken(tmp_path: Path) -> None:
    mine = table(tmp_path, ROW.format("shea butter, refined")).ingredients["sal blend"]
    assert mine.constituents == ()
    assert mine.value("maximum use") is None
    price = mine.value("price")
    assert price is not None
    assert price.figure == 18
    scent = table(tmp_path, "ingredient,phase,functions,like\nmy scent,cool-down,fragrance,fragrance oil\n")
    assert not [
        name for name, _ in scent.ingredients["my scent"].values if name.startswith(("certificate", "allergen"))
    ]


def test_what_it_is_like_must_be_known(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="column like"):
        table(tmp_path, ROW.format("moonstone butter"))
