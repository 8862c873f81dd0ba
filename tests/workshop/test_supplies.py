"""Offers and lots as a maker writes them, and every fault at once."""

import datetime
from pathlib import Path

import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.reading.faults import BadInput
from optiform.workshop.records import Lot, Offer
from optiform.workshop.supplies import read_lots, read_offers

HEAD = "ingredient,supplier,pack,price,currency,date,shipping\n"


def offers(tmp_path: Path, rows: str) -> tuple[Offer, ...]:
    path = tmp_path / "offers.csv"
    path.write_text(HEAD + rows, encoding="utf-8")
    return read_offers(path, [read_catalogue()])


def test_an_offer(tmp_path: Path) -> None:
    (found,) = offers(tmp_path, "Glycerin,Mill,500 g,6.40,eur,2026-11-02,1.2\n")
    assert found == Offer(
        ingredient="glycerin", supplier="Mill", pack=0.5, price=6.4, currency="EUR",
        date=datetime.date(2026, 11, 2), shipping=1.2,
    )  # fmt: skip


def test_faults_of_offers(tmp_path: Path) -> None:
    rows = "moon dust,,0,6 USD,EUR,2 Nov,-1\nglycerin,Mill,,,euro,,\n"
    with pytest.raises(BadInput) as bad:
        offers(tmp_path, rows)
    assert {fault.place for fault in bad.value.faults} == {
        "row 2, column ingredient", "row 2, column supplier", "row 2, column pack", "row 2, column price",
        "row 2, column date", "row 2, column shipping", "row 3, column currency", "row 3, column pack",
        "row 3, column price", "row 3, column date",
    }  # fmt: skip


def test_what_an_empty_cell_lacks_is_said_as_its_record_declares_it(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as bad:
        offers(tmp_path, "glycerin,Mill,,,,,\n")
    assert [fault.expected for fault in bad.value.faults] == [
        "the pack, kg", "the price of the pack", "a date such as 2026-11-25",
    ]  # fmt: skip


def test_faults_of_lots(tmp_path: Path) -> None:
    path = tmp_path / "lots.csv"
    path.write_text("number,ingredient,left,expiry\nA,glycerin,1,soon\nA,glycerin,,\n,moon dust,-2,\n")
    with pytest.raises(BadInput) as bad:
        read_lots(path, [read_catalogue()])
    assert {fault.place for fault in bad.value.faults} == {
        "row 2, column expiry", "row 3, column number", "row 3, column left", "row 4, column number",
        "row 4, column ingredient", "row 4, column left",
    }  # fmt: skip


def test_a_lot_without_dates_or_price(tmp_path: Path) -> None:
    path = tmp_path / "lots.csv"
    path.write_text("number;ingredient;left\nA;glycerin;0,25\n")
    (found,) = read_lots(path, [read_catalogue()])
    assert (found.lot, found.left) == (Lot(number="A", ingredient="glycerin"), 0.25)
