"""A maker's days with the records, on the command line: stock, lots, packaging, versions, export and import."""

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from optiform.cli import main
from optiform.reading.paths import DEMO
from optiform.workshop.records import Lot, Movement, PackagingCount, Version, VersionLine
from optiform.workshop.store import Workshop

Run = Callable[..., str]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs `optiform stock` in a folder of its own; the text it prints, or what it says on standard error."""
    monkeypatch.chdir(tmp_path)

    def stock(*words: str, code: int = 0) -> str:
        assert main(["stock", *words]) == code
        out, errors = capsys.readouterr()
        return out if code == 0 else errors

    return stock


@pytest.fixture
def demo(run: Run, demo_with_records: Path) -> Run:
    """The same with the demo's records in the current folder."""
    shutil.copytree(demo_with_records, "demo")
    Path("demo/records.db").rename("records.db")
    return run


def data(run: Run, *words: str) -> dict[str, Any]:
    found = json.loads(run(*words, "--json"))
    assert isinstance(found, dict)
    return found


def kept(kind: type[Any]) -> tuple[Any, ...]:
    with Workshop.open(".", create=False) as workshop:
        return workshop.read(kind)


def test_without_a_workshop_it_says_how_to_make_one_and_makes_none(run: Run, tmp_path: Path) -> None:
    for words in ([], ["versions"], ["receive", "glycerin", "5 kg"], ["export", "all.zip"]):
        assert "make one with the first lot, for instance `optiform stock receive glycerin '1 kg' --records .`" in run(
            *words, code=2
        )
    assert "Name a workshop" in run("--records", "elsewhere", code=2)
    assert list(tmp_path.iterdir()) == []


def test_the_demo_shows_what_is_owned_what_expires_and_what_is_short(demo: Run) -> None:
    text = demo("--all")
    assert re.search(r"^  shea butter, refined +6\.000  L018", text, re.MULTILINE)
    assert re.search(r"^  mango butter +0\.000$", text, re.MULTILINE)
    assert "Short for 4 kg of salt and oat foot polish, version today" in text
    assert "mango butter, 0.160 kg missing, none there" in " ".join(text.split())
    assert re.search(r"^  foot polish +label +18", text, re.MULTILINE)


def test_the_same_as_data(demo: Run) -> None:
    found = data(demo, "--batch", "100 kg")
    assert found["status"] == "stock"
    assert len(found["shelves"]) == 31
    (batch,) = found["batches"]
    assert batch["kg"] == 100
    assert {"ingredient": "mango butter", "needed": pytest.approx(4.0), "there": 0.0} in batch["short"]
    dated = {lot.number for lot in kept(Lot) if lot.expiry} - {"L021"}  # mango butter: nothing left
    assert {each["lot"]["number"] for each in data(demo, "--days", "100000")["expiring"]} == dated


def test_a_lot_without_its_papers_is_kept_and_what_a_recall_would_lack_is_said(run: Run) -> None:
    bare = run("receive", "glycerin", "1 kg", "--records", ".")
    assert "In a recall you would miss its supplier, supplier's lot and expiry. It has no price" in " ".join(
        bare.split()
    )
    assert "Nothing is known to expire within 60 days. note: No expiry is known of 1 lot." in " ".join(run().split())
    papers = ["--supplier", "Tarn Mill", "--supplier-lot", "T-9", "--expiry", "2999-01-01", "--price", "4 EUR/kg"]
    assert "lack" not in (known := run("receive", "glycerin", "1 kg", *papers))
    assert "No price" not in known


def test_a_lot_comes_is_used_first_expired_first_and_is_put_right(run: Run) -> None:
    run(
        "receive",
        "Glycerol",
        "2 kg",
        "--lot",
        "B",
        "--expiry",
        "2999-06-01",
        "--price",
        "4.20 EUR/kg",
        "--records",
        ".",
    )
    run("receive", "glycerin", "500 g", "--lot", "A", "--expiry", "2999-01-01")
    run("receive", "glycerin", "9 kg", "--lot", "old", "--received", "2020-01-01", "--expiry", "2021-01-01")
    assert run("use", "glycerin", "1.2 kg", "--reason", "a trial") == "Saved: used 500 g of lot A and 700 g of lot B\n"
    assert "It must be at most 1.3 kg" in run("use", "glycerin", "1.31 kg", "--reason", "x", code=2)
    assert "It must be at most 1.3 kg, what is left in lot B" in run("use", "B", "2", "--reason", "x", code=2)
    run("use", "old", "1 kg", "--reason", "thrown away")
    assert run("correct", "B", "1250 g", "--reason", "spilt") == (
        "Saved: lot B has 1.25 kg, 50 g less than the records said\n"
    )
    assert "nothing was saved" in run("correct", "B", "1.25", "--reason", "again")
    assert [(move.lot, move.kg, move.reason) for move in kept(Movement)] == [
        ("B", 2.0, "received"), ("A", 0.5, "received"), ("old", 9.0, "received"),
        ("A", -0.5, "a trial"), ("B", pytest.approx(-0.7), "a trial"), ("old", -1.0, "thrown away"),
        ("B", pytest.approx(-0.05), "correction: spilt"),
    ]  # fmt: skip
    (lot, *_) = kept(Lot)
    assert (lot.ingredient, lot.price, lot.currency, str(lot.expiry)) == ("glycerin", 4.2, "EUR", "2999-06-01")


def test_lots_without_a_number_are_counted_by_the_day(run: Run) -> None:
    for _ in range(2):
        run("receive", "glycerin", "1 kg", "--received", "2026-11-25", "--records", ".")
    assert [lot.number for lot in kept(Lot)] == ["20261125-1", "20261125-2"]


#: What is asked, and a part of the answer.
REFUSED = [
    (["receive", "glycerine oil", "1 kg"], "known with --own workshop.csv"),
    (["receive", "glycerin", "1 m"], "is not a mass. Write a mass such as 4 kg."),
    (["receive", "glycerin", "1 kg", "--expiry", "1.2.2027"], "a date such as 2026-11-25"),
    (["receive", "glycerin", "1 kg", "--price", "4 GBP/kg"], "EUR/kg"),
    (["receive", "glycerin", "1 kg", "--lot", "L001"], "L001 is saved already"),
    (["use", "L999", "1 kg", "--reason", "x"], "no lot and no ingredient"),
    (["use", "L002", "1 g", "--reason", " "], "some words"),
    (["use", "L002", "1 g", "--reason", "x", "--batch", "B-9"], "There is no batch B-9"),
    (["correct", "L999", "1 kg", "--reason", "x"], "the number of a lot that is saved"),
    (["correct", "L002", "-1 kg", "--reason", "x"], "what is left: 0 or more"),
    (["packaging", "tin", "5", "--reason", "bought"], "for a new one also --kind"),
    (["packaging", "lid 70 mm", "-57", "--reason", "lost"], "57 cannot go, as only 56 are there"),
    (["packaging", "lid 70 mm", "0", "--reason", "lost"], "not 0"),
    (["use", "L002", "1e-300 kg", "--reason", "x"], "0.001 g or more"),
    (["receive", "glycerin", "1 kg", "--lot", ""], "--lot: nothing is written here"),
    (["receive", "glycerin", "1 kg", "--price", "-3"], "--price: “-3” is not allowed here. It must be 0 or more"),
    (["receive", "glycerin", "1 kg", "--currency", "euro"], "--currency: “euro”"),
    (["receive", "glycerin", "1 kg", "--received", "2999-01-01"], "--received: 2999-01-01"),
    (["receive", "glycerin", "-1kg"], "MASS: “-1kg” is not allowed here. It must be more than nothing"),
    (["use", "L002", "1 g", "--reason", ""], "--reason: nothing is written here"),
    (
        ["packaging", "lid 70 mm", "5", "--reason", "x", "--kind", "tub"],
        "--kind: “tub” does not go here. It must be 'lid'",
    ),
    (["versions", "soap"], "is not a product. There are: salt and oat foot polish"),
]


def test_what_cannot_be_kept_is_told_and_nothing_is_kept(demo: Run) -> None:
    with Workshop.open(".") as workshop:
        before = workshop.read_all()
    for words, told in REFUSED:
        assert told.casefold() in demo(*words, code=2).casefold(), words
    with Workshop.open(".") as workshop:
        assert workshop.read_all() == before


def test_what_is_no_argument_is_told_like_any_other_fault(capsys: pytest.CaptureFixture[str]) -> None:
    for words, told in (
        (
            ["packaging", "lid", "1.5", "--reason", "x"],
            "PIECES: “1.5” does not go here. Write a whole number of pieces",
        ),
        (["receive", "glycerin"], "MASS is missing."),
    ):
        with pytest.raises(SystemExit) as left:
            main(["stock", *words])
        assert left.value.code == 2
        assert told in capsys.readouterr().err


def test_a_link_to_nothing_is_told_as_a_link(run: Run, tmp_path: Path) -> None:
    (tmp_path / "round").symlink_to(tmp_path / "round")
    assert "a link that leads nowhere or to itself" in run("--records", "round", code=2)


def test_packaging_comes_and_goes(run: Run) -> None:
    new = ["--kind", "jar", "--price", "0.62", "--volume", "250 mL", "--tare", "40 g", "--records", "."]
    run("packaging", "jar 250", "48", "--reason", "bought", *new)
    assert run("packaging", "jar 250", "-3", "--reason", "broken") == "Saved: 45 pieces of jar 250 in stock now\n"
    assert [count.pieces for count in kept(PackagingCount)] == [48, -3]
    (each,) = data(run)["packaging"]
    assert (each["left"], each["packaging"]["volume"], each["packaging"]["price"]["value"]) == (45, 250.0, 0.62)


def test_a_formula_is_kept_as_a_version_with_parent_and_reason(run: Run) -> None:
    shutil.copy(DEMO / "today.csv", "today.csv")
    words = ["save", "today.csv", "--product", "polish", "--records", "."]
    run(*words, "--name", "one", "--reason", "what is sold")
    assert "Write the version it came from: one of one" in run(*words, "--name", "two", "--reason", "x", code=2)
    assert "one is saved already" in run(*words, "--name", "one", "--parent", "one", "--reason", "x", code=2)
    run(*words, "--name", "two", "--parent", "one", "--reason", "a second jar")
    assert [(version.name, version.parent) for version in kept(Version)] == [("one", ""), ("two", "one")]
    assert sum(line.percent for line in kept(VersionLine)) == pytest.approx(200.0)
    assert re.search(r"^  polish +two +one +\S+ +a second jar$", run("versions", "polish"), re.MULTILINE)
    (_, second) = data(run, "versions")["versions"]
    assert second["parent"] == "one"
    assert {"ingredient": "glycerin", "percent": pytest.approx(6.0), "phase": "water phase"} in second["lines"]


def test_an_export_taken_in_elsewhere_is_the_same_workshop(demo: Run) -> None:
    assert data(demo, "export", "all.zip")["records"]["readings"] == 24
    demo("import", "all.zip", "--records", "other")
    with Workshop.open(".") as one, Workshop.open("other") as two:
        assert one.read_all() == two.read_all()
    assert "is saved already" in demo("import", "all.zip", code=2)


def test_options_may_stand_before_the_action_or_after_it(demo: Run) -> None:
    before = json.loads(demo("--records", ".", "--json", "versions"))
    assert before == data(demo, "versions", "--records", ".")


def test_a_copy_of_the_demo_has_its_records(tmp_path: Path, run: Run) -> None:
    assert main(["demo", "--copy", "mine"]) == 0
    run("import", str(tmp_path / "mine" / "workshop"), "--records", "mine")
    assert "31 ingredients" in run("--records", "mine")
