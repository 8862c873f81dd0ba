"""What is left of each lot, summed by the database: equal to the sum over every movement, and no broken cell is 0."""

import random
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import text

from optiform.cli import main
from optiform.reading.faults import BadInput
from optiform.workshop.engine import engine_of, writing
from optiform.workshop.records import Lot, Movement
from optiform.workshop.stock import Holding, holdings
from optiform.workshop.store import Reader, Workshop, at_a_glance
from tests.workshop.samples import BATCH, CAME, EVERY, FIRST, GLYCERIN, LOT, TAKEN, WATER


@contextmanager
def movements_made(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """The lots of the movements that are read one by one meanwhile."""
    lots: list[str] = []
    as_ever = Movement.__init__

    def noted(self: Movement, **values: object) -> None:
        lots.append(str(values["lot"]))
        as_ever(self, **values)  # type: ignore[arg-type]

    with monkeypatch.context() as patched:
        patched.setattr(Movement, "__init__", noted)
        yield lots


def by_hand(workshop: Workshop) -> tuple[Holding, ...]:
    return holdings(workshop.read(Lot), workshop.read(Movement))


def filled(workshop: Workshop, seed: int, moves: int) -> None:
    """Some lots with so many movements among them, in any order: some used up, some overdrawn, some without any."""
    draw = random.Random(seed)
    lots = [replace(LOT, number=f"G-{k}", expiry=None if k % 3 else LOT.expiry) for k in range(12)]
    masses = [draw.choice((0.1, -0.1, 1 / 3, -0.002, 25.0, -25.0, -1e-6, 3e-8)) for _ in range(moves)]
    moments = [CAME.when + timedelta(hours=draw.randint(-9000, 9000), microseconds=draw.randint(0, 9)) for _ in masses]
    made = zip(masses, moments, strict=True)
    some = (replace(CAME, lot=f"G-{draw.randint(0, 9)}", kg=kg, when=when) for kg, when in made)
    gone = [replace(CAME, lot="G-10", kg=kg) for kg in (1.0, *[-0.1] * 10)]
    workshop.add(FIRST, WATER, GLYCERIN, BATCH, *lots, *some, *gone, replace(TAKEN, lot="G-0"))


def test_the_database_sums_to_what_all_movements_make(workshop: Workshop) -> None:
    assert workshop.held() == ()
    filled(workshop, seed=7, moves=400)
    held = workshop.held()
    assert held == by_hand(workshop)
    left = {holding.lot.number: holding.kg for holding in held}
    assert left["G-10"] == left["G-11"] == 0, "used up in tenths, and never filled"
    assert any(kg < 0 for kg in left.values())
    assert any(kg > 0 for kg in left.values())
    assert workshop.look(at_a_glance)[1] == held


def test_a_writer_sees_what_it_is_deciding_on(workshop: Workshop) -> None:
    workshop.add(LOT, CAME)
    seen: list[tuple[Holding, ...]] = []

    def taken(kept: Reader) -> list[Movement]:
        seen.append(kept.held())
        return [replace(CAME, kg=-1.5)]

    workshop.decide(taken)
    assert [[holding.kg for holding in held] for held in (*seen, workshop.held())] == [[5.0], [3.5]]


def test_a_glance_reads_no_movement(workshop: Workshop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a thousand times as many a page would read a thousand times as long."""
    filled(workshop, seed=8, moves=60)
    with movements_made(monkeypatch) as made:
        records, _ = workshop.look(at_a_glance)
        assert made == []
        workshop.read(Movement, lot="G-10")
        assert made == ["G-10"] * 11, "else this counts nothing"
    everything = workshop.read_all()
    assert records == {kind: everything[kind] for kind in everything if kind is not Movement}


BROKEN = {
    "kg": ("'much'", "x'0102'", "NULL", "9e999", "-9e999"),
    '"when"': ("'soon'", "''", "'2026-02-30 09:30:00.000000'", "'2026-11-02 24:00:00.000000'", "2461000", "NULL"),
    "lot": ("x'472d31'", "NULL", "CAST(x'472d31ff' AS TEXT)"),
    "reason": ("x'ff'", "NULL", "CAST(x'ff' AS TEXT)", "CAST(x'72c0af' AS TEXT)", "CAST(x'7200ff' AS TEXT)"),
    "batch": ("x'ff'", "CAST(x'80' AS TEXT)"),
}


def hurt(place: Path, column: str, cell: str) -> None:
    """Put something into a cell of the last movement, as a broken disk or another program would."""
    with closing(sqlite3.connect(place / "records.db")) as connection:
        connection.execute("PRAGMA writable_schema = ON")
        connection.execute("UPDATE sqlite_schema SET sql = replace(sql, 'NOT NULL', '') WHERE name = 'movements'")
        connection.commit()
    with closing(sqlite3.connect(place / "records.db")) as connection:
        connection.execute("DROP TRIGGER movements_no_update")
        connection.execute(f"UPDATE movements SET {column} = {cell} WHERE kept = (SELECT max(kept) FROM movements)")
        connection.commit()


@pytest.mark.parametrize(("column", "cell"), [(column, cell) for column, cells in BROKEN.items() for cell in cells])
def test_a_broken_cell_of_a_movement_is_told_and_never_counted_as_nothing(
    tmp_path: Path, column: str, cell: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with Workshop.open(tmp_path) as workshop:
        workshop.add(*EVERY)
    hurt(tmp_path, column, cell)
    with Workshop.open(tmp_path) as workshop:
        for look in (workshop.held, lambda: workshop.look(at_a_glance), lambda: workshop.read(Movement)):
            with pytest.raises(BadInput, match="It must be a whole database") as caught:
                look()
            assert [fault.place for fault in caught.value.faults] == ["database"]
    assert main(["stock", "--records", str(tmp_path)]) == 2
    assert "Take the last export or backup" in capsys.readouterr().err


def test_a_reason_in_any_language_is_sound(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is read as a text, and so are the others like it, but no movement is."""
    with Workshop.open(tmp_path) as workshop:
        workshop.add(LOT, CAME, *(replace(CAME, kg=-1.2, reason=why) for why in ("Überschuss", "余り", "übrig\u0301")))
        with movements_made(monkeypatch) as made:
            assert [holding.kg for holding in workshop.held()] == [pytest.approx(CAME.kg - 3.6)]
        assert made == []


def test_a_moment_that_another_program_wrote_shorter_is_read_as_ever(tmp_path: Path) -> None:
    """What SQL is not sure of, Python reads, and sums."""
    with Workshop.open(tmp_path) as workshop:
        workshop.add(LOT, CAME, replace(CAME, kg=-1.2))
        hurt(tmp_path, '"when"', "'2026-11-02'")
        assert [holding.kg for holding in workshop.held()] == [3.8]


@pytest.mark.parametrize("figure", ["NaN", "Infinity", "-Infinity"])
def test_no_number_on_a_server_is_told_too(database: str, figure: str) -> None:
    """Its columns hold numbers only, but it takes these for some."""
    with Workshop.open(database) as workshop:
        workshop.add(LOT, CAME)
        engine, _ = engine_of(database)
        with writing(engine) as connection:
            line = "INSERT INTO movements (lot, \"when\", kg, reason) VALUES ('G-1', now(), :kg, 'x')"
            connection.execute(text(line), {"kg": float(figure)})
        engine.dispose()
        with pytest.raises(BadInput, match="movements: kg"):
            workshop.held()
