"""What is pasted from a spreadsheet or typed: amounts, prices and packs, and names that are asked back."""

from time import process_time

import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.pasted import CHARACTERS, formula_in, left_in, shelf_in

CATALOGUE = read_catalogue()

SAME = [("beeswax", 20.0), ("sorbitol, 70 %", 3.0), ("olive oil", 77.0)]


@pytest.mark.parametrize(
    "text",
    [
        "beeswax\t20\nsorbitol, 70 %\t3\nolive oil\t77\n",
        "Beeswax;20;\nsorbitol, 70 %;3\nolive oil;77",
        'ingredient,percent\nbeeswax,20\n"sorbitol, 70 %",3\nolive oil,77\ntotal,100\n',
        "Beeswax 20 %\nsorbitol, 70 % 3 %\nOlive oil: 77%\nTotal 100 %",
        "20% beeswax\n3% sorbitol, 70 %\n77% olive oil",
        "Ingredient\t% w/w\tphase\nbeeswax\t20\toil phase\nsorbitol, 70 %\t3\twater phase\nolive oil\t77\toil phase",
    ],
    ids=["tabs", "semicolons", "csv", "lines", "amount first", "other heads"],
)
def test_the_ways_to_write_a_formula_are_one(text: str) -> None:
    pasted = formula_in(text, CATALOGUE)
    assert pasted.faults == ()
    assert [(line.ingredient, line.amount) for line in pasted.lines] == SAME
    assert pasted.total == 100.0


def test_the_unit_is_that_of_the_lines() -> None:
    assert formula_in("beeswax 20 g\nolive oil 0.08 kg", CATALOGUE).column == "grams"
    assert [line.amount for line in formula_in("beeswax 20 g\nolive oil 0.08 kg", CATALOGUE).lines] == [20.0, 80.0]
    assert formula_in("beeswax 2 parts\nolive oil 7 parts", CATALOGUE).column == "parts"
    assert formula_in("beeswax 2 parts\nolive oil 7 g", CATALOGUE).faults


def test_a_name_that_is_not_certain_is_asked_back_with_what_it_may_be() -> None:
    (line,) = formula_in("shea butter 20", CATALOGUE).lines
    assert line.ingredient == ""
    assert set(line.near) >= {"shea butter, refined", "shea butter, unrefined"}


def test_a_row_without_an_amount_is_told_and_the_others_are_read() -> None:
    pasted = formula_in("beeswax 20\nsome words\nolive oil 80", CATALOGUE)
    assert len(pasted.lines) == 2
    assert "row 2" in str(pasted.faults[0])


def test_a_text_too_long_is_refused_in_words() -> None:
    assert "at most" in str(formula_in("a 1\n" * CHARACTERS, CATALOGUE).faults[0])
    assert len(formula_in("a 1\n" * 300, CATALOGUE).faults) == 1


@pytest.mark.parametrize(
    "text",
    ["glycerin\t21,00 EUR\t5 kg\t6.2", "ingredient;pack price (EUR);pack;stock\nglycerin;21;5;6.2"],
    ids=["cells", "with heads"],
)
def test_a_shelf_has_prices_packs_and_what_is_there(text: str) -> None:
    (row,), faults = shelf_in(text, CATALOGUE, "EUR")
    assert faults == ()
    assert (row.ingredient, row.price, row.pack, row.stock) == ("glycerin", 21.0, 5.0, 6.2)


def test_a_shelf_may_be_names_alone() -> None:
    rows, faults = shelf_in("beeswax\nolive oil\n", CATALOGUE, "EUR")
    assert [row.ingredient for row in rows] == ["beeswax", "olive oil"]
    assert faults == ()


@pytest.mark.parametrize(
    ("header", "cells", "price", "pack", "stock"),
    [
        ("price (EUR)\tpack (g)\tstock (g)", "5,80\t500\t300", 5.8, 0.5, 0.3),
        ("price (EUR)\tpack (g)", "5,80\t2 kg", 5.8, 2.0, None),
        ("price (EUR/kg)\tpack (kg)\tin stock (kg)", "11,60\t5\t6.2", 58.0, 5.0, 6.2),
        ("price (EUR/kg)\tstock (kg)", "11,60\t2", 11.6, 1.0, 2.0),
        ("price per kg", "11,60", 11.6, 1.0, None),
        ("EUR/kg", "11,60", 11.6, 1.0, None),
        ("price (EUR/100 g)\tpack", "3\t250 g", 7.5, 0.25, None),
    ],
)
def test_what_the_header_of_a_shelf_says_its_numbers_are_of_counts(
    header: str, cells: str, price: float, pack: float, stock: float | None
) -> None:
    (row,), faults = shelf_in(f"ingredient\t{header}\nglycerin\t{cells}\n", CATALOGUE, "EUR")
    assert faults == ()
    assert (row.price, row.pack) == pytest.approx((price, pack))
    assert row.stock == stock


def test_a_price_of_no_mass_is_told() -> None:
    rows, (fault,) = shelf_in("ingredient\tprice (EUR/bucket)\nglycerin\t3\n", CATALOGUE, "EUR")
    assert rows == ()
    assert "bucket" in str(fault)


def test_a_fault_of_a_row_shows_the_cell_that_cannot_be_read() -> None:
    _, (fault,) = shelf_in("ingredient\tprice (EUR/kg)\tstock\nglycerin\tdear\t3\n", CATALOGUE, "EUR")
    assert fault.read == "'dear'"
    _, (fault,) = shelf_in("sweet almond oil\t16\t1 l\t1\n", CATALOGUE, "EUR")
    assert str(fault).startswith("row 1: sweet almond oil: “1 l” is not a mass. ")


def test_grams_may_be_written_as_gr() -> None:
    pasted = formula_in("Beeswax 20 gr\n80 gr olive oil", CATALOGUE)
    assert ([line.amount for line in pasted.lines], pasted.column) == ([20.0, 80.0], "grams")


@pytest.mark.parametrize(
    ("currency", "price", "says"),
    [
        ("EUR", "£9.00", "£"), ("EUR", "$9", "$"), ("EUR", "9.00 zł", "zł"), ("EUR", "9 kr", "kr"),
        ("EUR", "CHF 9", "CHF"), ("EUR", "9 USD", "USD"), ("GBP", "€9", "€"), ("EUR", "9.00 GBP/kg", "GBP"),
        ("USD", "C$9", "C$"), ("SEK", "9 NOK", "NOK"),
    ],
)  # fmt: skip
def test_a_price_in_another_currency_is_refused_and_the_other_rows_are_read(
    currency: str, price: str, says: str
) -> None:
    rows, (fault,) = shelf_in(f"glycerin\t{price}\t5 kg\nolive oil\t9", CATALOGUE, currency)
    assert [(row.ingredient, row.price) for row in rows] == [("olive oil", 9.0)]
    begins, words = str(fault).split(f" says {says}, ")
    assert begins.startswith("row 1: glycerin: “")
    assert words == (f"and prices are in {currency} here. Write what it costs in {currency}, or change the currency.")


@pytest.mark.parametrize(
    ("currency", "price"),
    [
        ("EUR", "€9.50"), ("EUR", "9,50 eur"), ("EUR", "9.5"), ("GBP", "£9.50"), ("USD", "$9.50"), ("CAD", "CA$ 9.50"),
        ("CHF", "Fr. 9.50"), ("CHF", "sfr 9.50"), ("SEK", "9,50 kr."), ("DKK", "kr.9,50"), ("PLN", "9,50 zł"),
        ("MXN", "MXN 9.50"),
    ],
)  # fmt: skip
def test_a_price_with_the_workshops_own_sign_or_none_is_read(currency: str, price: str) -> None:
    (row,), faults = shelf_in(f"glycerin\t{price}\t5 kg", CATALOGUE, currency)
    assert (row.price, faults) == (9.5, ())


def test_a_header_in_another_currency_is_told_once_and_takes_no_price() -> None:
    rows, faults = shelf_in("ingredient\tprice (£)\nglycerin\t9\nolive oil\t8\nbeeswax\t", CATALOGUE, "EUR")
    assert [(row.ingredient, row.price) for row in rows] == [("beeswax", None)]
    (fault,) = faults
    assert str(fault).startswith("the header: its price says £, and prices are in EUR here. ")
    rows, faults = shelf_in("ingredient\tprice (net)\nglycerin\t9", CATALOGUE, "EUR")
    assert ([row.price for row in rows], faults) == ([9.0], ())


def test_a_price_of_a_mass_is_that_of_the_pack_and_numbers_are_not_run_together() -> None:
    (row,), _ = shelf_in("glycerin\t9.00 €/kg\t5 kg", CATALOGUE, "EUR")
    assert (row.price, row.pack) == (45.0, 5.0)
    for cell in ("9€100", "9/100", "9 EUR 100"):
        rows, (fault,) = shelf_in(f"glycerin\t{cell}", CATALOGUE, "EUR")
        assert rows == ()
        assert fault.read == repr(cell)


def test_a_price_of_many_spaces_is_read_at_once() -> None:
    begun = process_time()
    rows, _ = shelf_in(f"glycerin\t9{' ' * 40_000}x", CATALOGUE, "EUR")
    assert rows == ()
    assert process_time() - begun < 2


def test_what_did_not_go_to_the_shelf_is_left_under_its_header() -> None:
    text = "ingredient\tprice (EUR)\nglycerin\t21\n\nolive oil\t£9\nsome oil\t4\n"
    rows, _ = shelf_in(text, CATALOGUE, "EUR")
    certain = {row.row for row in rows if row.ingredient}
    assert left_in(text, certain) == ("ingredient\tprice (EUR)\nolive oil\t£9\nsome oil\t4", 2)
    assert left_in(text, {2, 4, 5}) == ("", 0)


@pytest.mark.parametrize("row", ["glycerin 21.00", "glycerin, 21.00", "glycerin 5 kg"])
def test_a_number_that_stands_in_no_column_of_a_shelf_is_asked_back(row: str) -> None:
    rows, (fault,) = shelf_in(f"olive oil\nsorbitol, 70 %\n{row}", CATALOGUE, "EUR")
    assert [each.ingredient for each in rows] == ["olive oil", "sorbitol, 70 %"]
    assert str(fault).startswith("row 3: glycerin: “")
    assert "stands in no column. Put a tab or a semicolon between" in str(fault)
