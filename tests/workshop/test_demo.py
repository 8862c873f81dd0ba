"""The demo's records: whole, taken in by the workshop, and at one with the demo's own tables."""

import datetime
from collections.abc import Iterator
from pathlib import Path

import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import read_formula
from optiform.reading.paths import DEMO
from optiform.reading.tables import read_records
from optiform.workshop.exchange import FILES, import_from
from optiform.workshop.kinds import KINDS
from optiform.workshop.records import (
    Batch,
    BatchLine,
    Lot,
    Movement,
    Offer,
    OwnCell,
    Packaging,
    PackagingCount,
    Reading,
    Trial,
    TrialWeight,
    Version,
    VersionLine,
)
from optiform.workshop.stock import by_ingredient, expiring, holdings, pieces
from optiform.workshop.store import Workshop

TODAY = datetime.date(2026, 11, 25)
CHANGED = ("cetearyl alcohol", "mango butter", "sea salt, fine")


@pytest.fixture(scope="module")
def workshop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workshop]:
    with Workshop.open(tmp_path_factory.mktemp("quillmere")) as opened:
        import_from(opened, DEMO / "workshop")
        yield opened


def test_there_is_a_file_of_every_kind(workshop: Workshop) -> None:
    """But for what only the pages keep (products, what was done to them, what was ticked), and forecasts."""
    pages = {"products.csv", "steps.csv", "drafts.csv", "file_texts.csv", "weighings.csv", "ticks.csv", "forecasts.csv"}
    kinds = [kind for file, kind in FILES.items() if file not in pages]
    assert {path.name for path in (DEMO / "workshop").iterdir()} == set(FILES) - pages
    assert [kind.__name__ for kind in kinds if not workshop.read(kind)] == []


def test_the_server_takes_them_too(database: str, workshop: Workshop) -> None:
    with Workshop.open(database) as on_server:
        import_from(on_server, DEMO / "workshop")
        assert on_server.read_all() == workshop.read_all()


def test_the_lots_hold_what_the_table_of_ingredients_says(workshop: Workshop) -> None:
    rows = read_records(DEMO / "workshop.csv")
    stock = {row.get("ingredient"): float(row.get("stock (kg)")) for row in rows}
    held = holdings(workshop.read(Lot), workshop.read(Movement))
    assert by_ingredient(held) == {name: pytest.approx(kg, abs=1e-6) for name, kg in stock.items()}
    assert min(holding.kg for holding in held) == 0
    assert [holding.lot.ingredient for holding in expiring(held, TODAY, 60)] == ["apricot kernel oil", "rice bran oil"]
    cells = {(cell.ingredient, cell.column): cell.text for cell in workshop.read(OwnCell)}
    assert {(ingredient, cell) for (ingredient, column), cell in cells.items() if column == "note"} == {
        (row.get("ingredient"), row.get("note")) for row in rows if row.get("note")
    }


def test_most_ingredients_are_offered_in_two_packs(workshop: Workshop) -> None:
    rows = {row.get("ingredient"): row for row in read_records(DEMO / "workshop.csv")}
    packs: dict[str, list[tuple[float, float]]] = {name: [] for name in rows}
    for offer in workshop.read(Offer):
        packs[offer.ingredient].append((offer.pack, offer.price))
    for name, row in rows.items():
        assert (float(row.get("pack (kg)")), float(row.get("pack price (eur)"))) in packs[name]
    assert sum(len({pack for pack, _ in offers}) == 2 for offers in packs.values()) >= 0.8 * len(rows)


def test_every_ingredient_is_known(workshop: Workshop) -> None:
    catalogue = read_catalogue([DEMO / "workshop.csv"])
    kinds = (OwnCell, Offer, Lot, VersionLine, BatchLine, TrialWeight)
    named = {record.ingredient for kind in kinds for record in workshop.read_all()[kind] if isinstance(record, kinds)}
    assert named <= {item.name for item in catalogue.ingredients.values()}


def test_todays_version_is_todays_formula_and_has_a_history(workshop: Workshop) -> None:
    today = read_formula(DEMO / "today.csv", read_catalogue([DEMO / "workshop.csv"])).formula
    lines = {line.ingredient: line.percent for line in workshop.read(VersionLine) if line.version == "today"}
    assert lines == {line.ingredient.name: pytest.approx(100 * line.fraction) for line in today.lines}
    parents = {version.name: version.parent for version in workshop.read(Version)}
    assert (parents["today"], parents[parents["today"]]) == ("oats", "first")
    assert parents["first"] == ""


def test_what_a_batch_took_is_what_was_weighed(workshop: Workshop) -> None:
    lots = {lot.number: lot for lot in workshop.read(Lot)}
    for batch in workshop.read(Batch):
        lines = [line for line in workshop.read(BatchLine) if line.batch == batch.number]
        assert sum(line.planned for line in lines) == pytest.approx(batch.planned)
        taken = {move.lot: -1000 * move.kg for move in workshop.read(Movement) if move.batch == batch.number}
        assert {line.lot: line.actual for line in lines} == {lot: pytest.approx(grams) for lot, grams in taken.items()}
        for line in lines:
            lot = lots[line.lot]
            assert lot.ingredient == line.ingredient
            assert lot.received is not None
            assert lot.received <= batch.made <= (lot.expiry or datetime.date.max)
        filled = [count for count in workshop.read(PackagingCount) if count.batch == batch.number]
        assert {-count.pieces for count in filled} == {(batch.jars or 0) + (batch.rejected or 0)}


def test_packaging_is_left_of_every_kind(workshop: Workshop) -> None:
    left = pieces(workshop.read(PackagingCount))
    assert set(left) == {each.name for each in workshop.read(Packaging)}
    assert min(left.values()) > 0


def test_trials_vary_what_makes_it_firm_and_are_read_warm_and_cold(workshop: Workshop) -> None:
    trials, weights, readings = workshop.read(Trial), workshop.read(TrialWeight), workshop.read(Reading)
    assert 5 <= len(trials) <= 6
    for name in CHANGED:
        shares = {round(weight.actual / 300, 3) for weight in weights if weight.ingredient == name}
        assert max(shares) - min(shares) > 0.015
    for trial in trials:
        own = [reading for reading in readings if reading.trial == trial.name]
        assert {reading.temperature for reading in own} == {10.0, 20.0, 30.0}
        assert {reading.instrument for reading in own} == {"push on a scale", "flat probe"}
        pushes = [reading.value for reading in own if reading.instrument == "push on a scale"]
        assert pushes == sorted(pushes, reverse=True), "warmer is softer"
        lines = {
            (line.ingredient, line.phase): line.percent
            for line in workshop.read(VersionLine)
            if (line.product, line.version) == (trial.product, trial.version)
        }
        weighed = {(each.ingredient, each.phase): each.actual for each in weights if each.trial == trial.name}
        assert weighed == {key: pytest.approx(3 * percent, rel=0.08, abs=0.1) for key, percent in lines.items()}


def test_more_fatty_alcohol_is_firmer(workshop: Workshop) -> None:
    pushes = {
        reading.trial: reading.value
        for reading in workshop.read(Reading)
        if reading.instrument == "push on a scale" and reading.temperature == 20.0
    }
    by_version = {trial.version: pushes[trial.name] for trial in workshop.read(Trial)}
    assert by_version["less alcohol"] < by_version["today"] < by_version["more alcohol"]
    assert by_version["less butter"] < by_version["today"] < by_version["more butter"]


def test_an_exchange_file_is_named_for_every_kind() -> None:
    assert list(FILES) == [f"{kind.file}.csv" for kind in KINDS.values()]
    assert all(Path(name).name == name for name in FILES)
