"""A maker's whole chain on a copy of the demo: designed, kept, made from lots, declared, costed, bought for, tried,
carried to another machine. What one document says of the batch, the others say too.
"""

import errno
import json
import os
import re
from pathlib import Path
from typing import Any

import pytest

from optiform.cli import main
from optiform.workshop.records import Batch, BatchLine, Lot, Movement, PackagingCount
from optiform.workshop.store import Workshop

PRODUCT = "salt and oat foot polish"
BRIEF = ("--brief", "brief.toml")


class Maker:
    """Runs commands in the folder of the shop."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self.capsys = capsys

    def says(self, *words: str, code: int = 0) -> str:
        """What a command prints; what it says on standard error where it is refused."""
        assert main(list(words)) == code, self.capsys.readouterr()
        out, errors = self.capsys.readouterr()
        return errors if code == 2 else out

    def data(self, *words: str) -> dict[str, Any]:
        found = json.loads(self.says(*words, "--json"))
        assert isinstance(found, dict)
        return found

    def stock(self) -> dict[str, float]:
        return {shelf["ingredient"]: shelf["kg"] for shelf in self.data("stock")["shelves"]}


@pytest.fixture
def maker(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Maker:
    assert main(["demo", "--copy", str(tmp_path / "shop")]) == 0
    monkeypatch.chdir(tmp_path / "shop")
    return Maker(capsys)


def kept(kind: type[Any], number: str = "") -> list[Any]:
    with Workshop.open(".", create=False) as workshop:
        return [each for each in workshop.read(kind) if not number or getattr(each, "batch", number) == number]


def test_the_whole_chain(maker: Maker) -> None:
    designed = maker.data("design", "brief.toml", "--write", "new.csv")
    checked = maker.data("check", "new.csv", *BRIEF)
    assert checked["cost"]["value"] == pytest.approx(designed["cost"]["value"], abs=1e-4)
    maker.says("stock", "import", "workshop", "--records", ".")
    before = maker.stock()

    # what is sold today needs mango butter, which is sold out: told on the sheet, and not kept
    assert "mango butter: 160 g are missing" in maker.says("batch", *BRIEF, "--records", ".")
    assert "mango butter: 160 g are missing" in maker.says("batch", *BRIEF, "--record", "Q9", code=2)
    asked = ("batch", "new.csv", *BRIEF, "--record", "Q26-050", "--maker", "EH", "--room", "19 degC")
    refused = maker.says(*asked, code=2)
    assert "optiform stock save" in refused
    assert "--version" in refused
    keep = ("--product", PRODUCT, "--name", "no mango", "--parent", "today", "--reason", "sold out")
    maker.says("stock", "save", "new.csv", *keep)
    made = maker.data(*asked, "--html", "sheet.html")
    lines = [line for phase in made["phases"] for line in phase["lines"]]
    assert made["record"]["batch"]["version"] == "no mango"
    assert "Q26-050 is saved already" in maker.says(*asked, code=2)
    page = Path("sheet.html").read_text(encoding="utf-8")
    (expiry,) = (str(lot.expiry) for lot in kept(Lot) if lot.number == "L018")
    assert all(word in page for word in ("Q26-050", "L018", expiry.replace("-", "\u2011")))

    # sheet, records and shelf agree
    after = maker.stock()
    for line in lines:
        name, grams = line["ingredient"], line["grams"]
        assert before[name] - after[name] == pytest.approx(grams / 1000, abs=1e-9)
        weighed = [each for each in kept(BatchLine, "Q26-050") if each.ingredient == name]
        assert sum(each.planned for each in weighed) == grams
    (batch,) = (each for each in kept(Batch) if each.number == "Q26-050")
    assert batch.planned == made["batch"]["weighed_g"] == sum(line["grams"] for line in lines)
    assert {move.reason for move in kept(Movement, "Q26-050")} == {"batch Q26-050"}

    # filled: a jar fewer than planned goes back to the shelf
    came = ("--actual", "3950 g", "--jars", "24", "--rejected", "1", "--deviation", "stirred long")
    told = maker.says("stock", "batch", "Q26-050", *came)
    assert "3950 g, 1.2 % less than planned" in told
    assert "Put back: 1 x" in told
    assert sum(x.pieces for x in kept(PackagingCount, "Q26-050") if x.packaging == "lid 70 mm") == -25
    assert "Put back" not in maker.says("stock", "batch", "Q26-050", *came)
    shown = maker.data("stock", "batch", "Q26-050")
    assert (shown["jars"], shown["rejected"], shown["deviation"]) == (24, 1, "stirred long")
    assert "There are: Q26-031, Q26-044, Q26-050" in maker.says("stock", "batch", "Q1", code=2)

    for market, water in (("EU", "Aqua"), ("US", "Water")):
        draft = maker.says("declare", "new.csv", *BRIEF, "--market", market)
        assert re.search(rf"Ingredients: (?:Aqua/)?{water}", draft)
    costed = maker.data("costs", "new.csv", *BRIEF, "--costs", "costs.toml", "--records", ".")
    assert {each["ingredient"]: each["stock"] for each in costed["lines"]} == {
        line["ingredient"]: pytest.approx(after[line["ingredient"]]) for line in lines
    }
    bought = maker.data("buy", "plan.toml", "--records", ".")
    drawn = {(each["lot"], each["ingredient"]): each["kg"] + each["stays"] for each in bought["shelf"]["drawn"]}
    assert drawn[next(key for key in drawn if key[1] == "xanthan gum")] == pytest.approx(after["xanthan gum"])
    for command in (("buy", "plan.toml"), ("costs", *BRIEF, "--costs", "costs.toml")):
        told = maker.says(*command, "--offers", "x.csv", "--records", ".", code=2)
        assert "this file or --records, not both" in told

    maker.says("trial", "log", "F-7", "--product", PRODUCT, "--version", "no mango", "--aim", "the new one")
    readings = ("210 g", "222 g", "--instrument", "push on a scale", "--age", "168 h", "--at", "20 degC")
    maker.says("trial", "read", "F-7", *readings, "--geometry", "flat dowel 12 mm, to 5 mm deep in 3 s")
    fitted = maker.says("trial", "fit", *BRIEF)
    assert re.search(r"Firmness fitted to 7 trials, \d+ readings at 20 and 30 °C", fitted)
    ask = ("--ask", "firmness at 10 degC", "--most", "140")
    assert "Is the firmness of today at 10 °C at most 140?" in maker.says("trial", "next", "brief.toml", *ask)

    sent = maker.data("stock", "export", "all.zip")["records"]
    assert maker.data("stock", "import", "all.zip", "--records", "other")["records"] == sent
    with Workshop.open(".") as here, Workshop.open("other") as there:
        assert here.read_all() == there.read_all()


def test_several_lots_for_a_line_and_one_that_has_expired(maker: Maker) -> None:
    maker.says("stock", "import", "workshop", "--records", ".")
    maker.says("stock", "receive", "mango butter", "0.0604 kg", "--lot", "M1", "--expiry", "2099-01-01")
    maker.says("stock", "receive", "mango butter", "2 kg", "--lot", "M2", "--expiry", "2099-02-01")
    maker.says("stock", "receive", "mango butter", "1 kg", "--lot", "M0", "--expiry", "2020-01-01")
    text = maker.says("batch", *BRIEF, "--records", ".")
    assert "mango butter 160 4.00 M1 60 g, 2099-01-01; M2 100 g, 2099-02-01" in " ".join(text.split())
    text = maker.says("batch", *BRIEF, "--records", ".", "--all")
    aside = "Not used: lot M0, 1 kg of mango butter: it expires on 2020-01-01, before the making."
    assert aside in " ".join(text.split())
    lots = {lot.number for lot in kept(Lot)}
    maker.says("batch", *BRIEF, "--record", "Q1", "--version", "less salt")
    assert [(x.lot, x.planned) for x in kept(BatchLine, "Q1") if x.ingredient == "mango butter"] == [
        ("M1", 60.0), ("M2", 100.0),
    ]  # fmt: skip
    assert {x.lot for x in kept(BatchLine, "Q1")} < lots
    (batch,) = (each for each in kept(Batch) if each.number == "Q1")
    assert batch.deviation.startswith("formula differs from the version in ")
    assert "sea salt, fine" in batch.deviation


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--maker", "EH"), "--maker goes only with --record NUMBER."),
        (("--made", "2026-11-25"), "--made goes only with --records PLACE or --record NUMBER."),
        (("--record", "Q1", "--made", "2999-01-01"), "What is saved has been made"),
        (("--record", "Q1", "--room", "19 kg"), "--room"),
        (("--record", ""), "the number of the batch"),
        (("--record", "Q1"), "`optiform stock import --help`"),
    ],
)
def test_records_that_cannot_be(maker: Maker, words: tuple[str, ...], told: str) -> None:
    assert told in maker.says("batch", *BRIEF, *words, code=2)


def test_a_page_that_cannot_be_written_keeps_no_batch(maker: Maker) -> None:
    maker.says("stock", "import", "workshop", "--records", ".")
    maker.says("stock", "receive", "mango butter", "2 kg", "--lot", "M2")
    Path("folder").mkdir()
    asked = ("batch", *BRIEF, "--record", "Q1", "--version", "less salt")
    assert "folder is a folder, and no file. Give a file name." in maker.says(*asked, "--html", "folder", code=2)
    assert kept(BatchLine, "Q1") == []
    maker.says(*asked, "--html", "a.html")


def test_a_batch_that_is_kept_is_told_and_shown_where_its_page_fails(
    maker: Maker, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path, *_: object, **__: object) -> int:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))

    maker.says("stock", "import", "workshop", "--records", ".")
    maker.says("stock", "receive", "mango butter", "2 kg", "--lot", "M2")
    monkeypatch.setattr(Path, "write_text", full)
    asked = ("batch", *BRIEF, "--version", "less salt", "--html", "a.html", "--csv", "a.csv")
    assert main([*asked, "--record", "Q1"]) == 2
    out, errors = maker.capsys.readouterr()
    assert "Weigh 4000 g" in out
    assert errors.count("No space left on device") == 2
    assert "Q1: this is a batch that is saved now" in errors
    assert kept(BatchLine, "Q1")
    assert main([*asked, "--record", "Q2", "--json"]) == 2
    (csv, page, told) = json.loads(maker.capsys.readouterr().out)["faults"]
    assert (csv["file"], page["file"], told["place"]) == ("--csv", "--html", "Q2")
