"""Cells of a document: what each can be, and the place where a fault of it is told."""

import datetime
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from optiform.reading.cells import Cells, below_all, between, not_negative, positive
from optiform.reading.documents import document_of
from optiform.reading.faults import Inspection


def cells_of(text: str) -> Cells:
    return Cells(document_of(text, "a.toml"), Inspection("a.toml"))


def faults(cells: Cells) -> dict[str, str]:
    return {fault.place: fault.expected for fault in cells.inspection.faults}


def test_a_place_is_told_by_heading_then_names() -> None:
    cells = cells_of('loss = "x"\n[labour]\nwage = "x"\nsteps = { stir = { batch = "x" } }\n[[part]]\nshare = "x"\n')
    labour = cells.within("labour")
    for table, key in ((cells, "loss"), (labour, "wage"), *((part, "share") for part in cells.numbered("part", ""))):
        table.quantity(key, "%", 0.0)
    for _, step in labour.within("steps").tables("", ("batch",)):
        step.quantity("batch", "min", 0.0)
    assert list(faults(cells)) == ["loss", "[labour] wage", "[[part]] 1, share", "[labour] steps, stir, batch"]


def test_a_misspelt_key_is_told_with_the_one_it_is_like() -> None:
    cells = cells_of("los = 4\n[labour]\nwag = 3\n")
    cells.only(("loss", "labour"))
    cells.within("labour", ("wage",))
    assert faults(cells)["los"].startswith("loss? one of the keys")
    assert faults(cells)["[labour] wag"].startswith("wage? one of the keys")


@pytest.mark.parametrize(
    ("written", "rule", "expected"),
    [
        ("-1", not_negative, "zero or more"),
        ("0", positive, "more than nothing"),
        ("100", below_all, "below 100 %"),
        ("3", between(5, 9, "%"), "5 to 9 %"),
        ('"3 kg"', not_negative, "a quantity in %, not in 'kg'"),
        ("true", not_negative, "a quantity in %"),
    ],
)
def test_a_figure_that_cannot_be_is_told_and_the_default_stands_for_it(
    written: str, rule: Callable[[float], str], expected: str
) -> None:
    cells = cells_of(f"loss = {written}")
    assert cells.quantity("loss", "%", 7.0, rule) == 7.0
    assert cells.optional("loss", "%", rule) is None
    assert faults(cells) == {"loss": expected}


def test_figures_are_read_in_the_unit_that_is_asked_for() -> None:
    cells = cells_of('jar = "250 g"\nloss = "4 %"\njars = 12\n')
    assert cells.quantity("jar", "kg", 1.0) == 0.25
    assert cells.share("loss", 0.0) == pytest.approx(0.04)
    assert cells.count("jars", 1, 1) == 12
    assert cells.share("waste", 0.1) == pytest.approx(0.1)
    assert faults(cells) == {}


def test_a_figure_that_is_needed_is_told_where_it_is_missing() -> None:
    cells = cells_of("")
    assert cells.quantity("wage", "EUR/h", 0.0, needed="a figure; 0 for nothing") == 0.0
    assert faults(cells) == {"wage": "a figure; 0 for nothing"}


@pytest.mark.parametrize(
    ("written", "read", "value", "expected"),
    [
        ("5", lambda cells: cells.text("a", "x"), "x", "a text"),
        ('"soup"', lambda cells: cells.choice("a", "", ("", "balm")), "", "one of: balm"),
        ('["vegan", 3]', lambda cells: cells.choices("a", ("vegan",)), (), "a list of texts"),
        ('["Vegan", "raw"]', lambda cells: cells.choices("a", ("vegan",)), ("vegan",), "any of: vegan"),
        ('"yes"', lambda cells: cells.truth("a"), False, "true or false, without quotes"),
        ("true", lambda cells: cells.count("a", 2, 1), 1, "a whole number from 1 to 1000000"),
        ("2.5", lambda cells: cells.count("a", 2, 1), 1, "a whole number from 1 to 1000000"),
        ('"../b.csv"', lambda cells: cells.file("a", Path("brief.toml"), "a file"), None, "the name of a file in the"),
        ("3", lambda cells: cells.file("a", Path("brief.toml"), "a file"), None, "a file"),
        ("3", lambda cells: dict(cells.within("a").table), {}, "a table"),
    ],
)
def test_words_that_cannot_be(written: str, read: Callable[[Cells], Any], value: object, expected: str) -> None:
    cells = cells_of(f"a = {written}")
    assert read(cells) == value
    assert faults(cells).popitem()[1].startswith(expected)


def test_a_choice_is_read_in_whatever_case() -> None:
    cells = cells_of('kind = "Balm"\nmarkets = ["eu"]\n')
    assert (cells.choice("kind", "", ("balm",)), cells.choices("markets", ("EU", "GB"))) == ("balm", ("EU",))


def test_a_date_with_a_time_is_none() -> None:
    cells = cells_of("date = 2026-12-05\nlater = 2026-12-05T10:00:00\n")
    assert cells.date("date") == datetime.date(2026, 12, 5)
    cells.date("later")
    assert set(faults(cells)) == {"later"}


def test_an_unknown_name_is_told_in_the_words_of_those_who_know() -> None:
    class Shelf:
        def find(self, name: str) -> int | None:
            return {"salt": 3}.get(name)

        def unknown(self, name: str) -> str:
            return f"a thing on the shelf; near {name}: salt"

    cells = cells_of("")
    assert (cells.known("lines", "salt", Shelf()), cells.known("lines", "sal", Shelf())) == (3, None)
    assert faults(cells) == {"lines": "a thing on the shelf; near sal: salt"}


def test_a_document_of_another_kind_is_told_once_and_not_key_by_key() -> None:
    inspection = Inspection("plan.toml")
    Cells({"candidates": "owned", "kind": "balm", "limits": {}, "goal": {}}, inspection).only(["product", "date"])
    (fault,) = inspection.faults
    assert str(fault) == "plan.toml: This looks like a brief, by its keys candidates, goal, kind."
    few = Inspection("plan.toml")
    Cells({"limits": {}, "dates": 1}, few).only(["product", "date"])
    assert len(few.faults) == 2, "two wrong keys are two slips"
