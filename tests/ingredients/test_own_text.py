"""A row more in the text of an own table: everything else stays, columns are found whatever their units."""

from pathlib import Path

import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.own_text import with_row
from optiform.reading.faults import BadInput
from optiform.reading.paths import DEMO

SHOP = (DEMO / "workshop.csv").read_text(encoding="utf-8")


def test_the_demos_table_with_a_row_more_is_the_same_but_for_it(tmp_path: Path) -> None:
    text = with_row(SHOP, {"ingredient": "marsh balm", "phase": "oil phase", "functions": "butter", "pack price": "9",
                           "pack": "1", "like": "mango butter"})  # fmt: skip
    (tmp_path / "own.csv").write_text(text, encoding="utf-8")
    before, after = read_catalogue([DEMO / "workshop.csv"]), read_catalogue([tmp_path / "own.csv"])
    assert set(after.owned) - set(before.owned) == {"marsh balm"}
    for key in before.owned:
        old, new = before.ingredients[key], after.ingredients[key]
        assert {k: v.figure for k, v in old.values.items()} == {k: v.figure for k, v in new.values.items()}


def test_a_price_of_what_is_there_changes_that_row_alone() -> None:
    text = with_row("ingredient;pack price (EUR);pack\nglycerin;21;5 kg\nwater;4;10 kg", {
        "ingredient": "Glycerin", "pack price (EUR)": "23"})  # fmt: skip
    assert text == "ingredient,pack price (EUR),pack\nglycerin,23,5 kg\nwater,4,10 kg\n"


def test_an_empty_text_becomes_a_table() -> None:
    assert with_row("", {"ingredient": "water", "stock": "2 kg"}) == "ingredient,stock\nwater,2 kg\n"


def test_what_is_no_table_is_refused() -> None:
    with pytest.raises(BadInput):
        with_row('a,"b\n', {"ingredient": "water"})
