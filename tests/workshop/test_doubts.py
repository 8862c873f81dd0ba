"""What no small workshop has is asked back before it is kept; whoever is sure says so."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from optiform.cli import main
from optiform.reading.faults import BadInput
from optiform.workshop.decisions import counted, keep, received, weighed_again, written
from optiform.workshop.records import Lot, Movement, PackagingCount
from optiform.workshop.store import Workshop
from tests.workshop.samples import CAME, JAR, LOT, NOON

WHERE = written("form", kg="Mass", price="Price", pieces="Pieces", sure="tick it")
AGAIN = replace(LOT, number="G-2")


def refusal(keeping: Callable[[], object]) -> str:
    with pytest.raises(BadInput) as caught:
        keeping()
    (fault,) = caught.value.faults
    return f"{fault.file}: {fault.place}: read {fault.read}, expected {fault.expected}"


@pytest.fixture
def shop(tmp_path: Path) -> Workshop:
    workshop = Workshop.open(tmp_path)
    workshop.add(LOT, CAME)
    return workshop


@pytest.mark.parametrize("kg", [1e9, 5000.0, 1000.5])
def test_a_receipt_of_many_tonnes(shop: Workshop, kg: float) -> None:
    told = refusal(lambda: keep(shop, lambda kept: received(kept, AGAIN, kg, NOON, WHERE), WHERE))
    assert told == f"form: Mass: read {kg:g} kg, expected at most 1000 kg at a time; if it is right, tick it"
    assert len(shop.read(Lot)) == 1
    keep(shop, lambda kept: received(kept, AGAIN, kg, NOON, WHERE, sure=True), WHERE)
    assert shop.read(Movement)[-1].kg == kg


def test_an_ordinary_receipt_is_not_asked_back(shop: Workshop) -> None:
    dear = replace(AGAIN, price=19.0)
    keep(shop, lambda kept: received(kept, dear, 1000.0, NOON, WHERE), WHERE)
    assert len(shop.read(Lot)) == 2


@pytest.mark.parametrize("price", [4200.0, 0.0042, 420.0])
def test_a_price_a_factor_of_a_thousand_from_the_last(shop: Workshop, price: float) -> None:
    dear = replace(AGAIN, price=price)
    told = refusal(lambda: keep(shop, lambda kept: received(kept, dear, 5.0, NOON, WHERE), WHERE))
    expected = "something like the 4.2 EUR/kg of lot G-1; if it is right, tick it"
    assert told == f"form: Price: read {price:g} EUR/kg, expected {expected}"
    keep(shop, lambda kept: received(kept, dear, 5.0, NOON, WHERE, sure=True), WHERE)
    assert len(shop.read(Lot)) == 2


@pytest.mark.parametrize("other", [replace(AGAIN, ingredient="water"), replace(AGAIN, currency="JPY")])
def test_a_price_is_compared_with_its_like_only(shop: Workshop, other: Lot) -> None:
    keep(shop, lambda kept: received(kept, replace(other, price=690.0), 5.0, NOON, WHERE), WHERE)
    assert len(shop.read(Lot)) == 2


def test_grams_on_the_scale_taken_for_kilograms(shop: Workshop) -> None:
    told = refusal(lambda: keep(shop, lambda kept: weighed_again(kept, "G-1", 4800.0, NOON, "count", WHERE), WHERE))
    assert told == "form: Mass: read 4800 kg, expected something like the 5 kg of the records; if it is right, tick it"
    keep(shop, lambda kept: weighed_again(kept, "G-1", 4.8, NOON, "count", WHERE), WHERE)
    keep(shop, lambda kept: weighed_again(kept, "G-1", 0.0, NOON, "count", WHERE), WHERE)


def test_a_million_jars(shop: Workshop) -> None:
    told = refusal(lambda: keep(shop, lambda kept: counted(kept, JAR, 1_000_000, NOON, "bought", WHERE), WHERE))
    assert told == "form: Pieces: read 1000000, expected at most 100000 at a time; if it is right, tick it"
    keep(shop, lambda kept: counted(kept, JAR, 1_000_000, NOON, "bought", WHERE, sure=True), WHERE)
    assert shop.read(PackagingCount)[-1].pieces == 1_000_000


@pytest.mark.parametrize(
    "words",
    [
        ("receive", "glycerin", "1000000 t", "--lot", "G-9"),
        ("packaging", "jar", "900000", "--kind", "jar", "--reason", "bought"),
    ],
)
def test_the_command_line_asks_back_and_takes_yes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    command = ["stock", *words, "--records", str(tmp_path)]
    assert main(command) == 2
    assert "If it is right, --yes" in capsys.readouterr().err
    assert not (tmp_path / "records.db").exists()
    assert main([*command, "--yes"]) == 0
