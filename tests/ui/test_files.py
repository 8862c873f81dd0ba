"""Files in and out: judged together, taken as a whole, taken along, and what a session begins with."""

import copy
import datetime
import io
import zipfile
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest
from workbench import work
from workbench.bundle import packed, texts_of
from workbench.load import Taken, Waiting, gathered
from workbench.state import COSTS_FILE, MAKING_FILE, Bench, Key, demo

from optiform.commands.app import brief_of
from optiform.reading.faults import BadInput
from optiform.reading.paths import BRIEF_VARIABLE, DEMO, UI, WORKSHOP_VARIABLE

LOTION = {
    "lotion.toml": """title = "Hand lotion"
markets = ["GB"]
date = 2026-11-25
currency = "GBP"
own_files = ["tables/my.csv"]
reference = "now.csv"
candidates = "in stock"
[limits]
"oil phase" = { low = "12 %" }
""",
    "my.csv": "ingredient,price (GBP/kg),stock (kg)\nwater,0.2,50\nglycerin,3,4\nsweet almond oil,8,3\n",
    "now.csv": "ingredient,percent\nwater,80\nglycerin,5\nsweet almond oil,15\n",
}


def taken(bench: Bench, texts: dict[str, str]) -> Bench:
    found = gathered(bench, texts)
    assert isinstance(found, Taken), found
    return found.bench


def faults(bench: Bench, texts: dict[str, str]) -> str:
    found = gathered(bench, texts)
    assert isinstance(found, work.Refused), found
    return "\n".join(found.faults)


def session() -> AppTest:
    at = AppTest.from_file(str(UI / "app.py"), default_timeout=60)
    at.session_state["parts"] = "Files"
    at.run()
    assert not at.exception
    return at


def give(at: AppTest, *names: str) -> AppTest:
    at.file_uploader[0].set_value([(name, LOTION[name].encode(), "text/plain") for name in names]).run()
    assert not at.exception
    return at


def words(at: AppTest) -> str:
    shown = "\n".join(each.value for each in (*at.info, *at.error, *at.markdown, *at.caption))
    return shown.replace("\\", "")


# -- in ----------------------------------------------------------------------------------------------------------------


def test_a_brief_waits_for_its_files_one_after_the_other_and_becomes_the_bench_in_one_step() -> None:
    at = session()
    give(at, "lotion.toml")
    assert "lotion.toml needs tables/my.csv and now.csv: load them too." in words(at)
    give(at, "my.csv")
    assert "lotion.toml needs now.csv: load it too." in words(at)
    assert at.session_state[Key.BENCH] == demo()
    give(at, "now.csv")
    assert at.title[0].value == "Hand lotion"
    assert at.session_state[Key.BENCH].files.keys() == {"tables/my.csv", "now.csv"}
    assert "waiting" not in words(at)
    at.button("undo").click().run()
    assert at.title[0].value == demo().document["title"]
    assert at.session_state[Key.BENCH] == demo()


def test_all_at_once_and_the_order_does_not_matter() -> None:
    assert taken(demo(), LOTION) == taken(demo(), dict(reversed(LOTION.items())))
    assert give(session(), *LOTION).title[0].value == "Hand lotion"


def test_what_is_wrong_is_told_of_all_files_and_a_mended_one_is_enough() -> None:
    at = session()
    good = LOTION["my.csv"]
    LOTION["my.csv"] = good.replace("glycerin,3", "glycerine oil,dear")
    try:
        give(at, *LOTION)
    finally:
        LOTION["my.csv"] = good
    assert "“dear”" in words(at)
    assert "my.csv: row 3" in words(at)
    assert at.session_state[Key.BENCH] == demo()
    assert at.session_state[Key.TRAIL] is None
    assert give(at, "my.csv").title[0].value == "Hand lotion"


def test_a_file_that_waits_can_be_put_away() -> None:
    at = give(session(), "lotion.toml")
    at.button("away lotion.toml").click().run()
    assert "lotion.toml" not in words(at)
    assert not at.exception


def test_the_demos_prices_stand_behind_a_brief_of_ones_own_only_when_asked() -> None:
    own = {"mine.toml": (DEMO / "brief.toml").read_text()}
    found = gathered(demo(), own)
    assert isinstance(found, Waiting)
    ((label, more),) = found.ways
    assert "the demo's workshop.csv and today.csv" in label
    assert taken(demo(), {**own, **more}).files == demo().files
    ones_own = taken(demo(), LOTION)
    assert taken(ones_own, {"lotion.toml": LOTION["lotion.toml"].replace("12 %", "13 %")}).files == ones_own.files


def test_a_table_that_the_brief_does_not_name_asks_what_it_is_for() -> None:
    text = demo().files["workshop.csv"].replace("water,4.00,", "water,40.00,")
    found = gathered(demo(), {"prices.csv": text})
    assert isinstance(found, Waiting)
    (label, more), beside = found.ways
    assert (label, beside[0]) == ("My table in place of workshop.csv", "My table beside workshop.csv")
    bench = taken(demo(), {"prices.csv": text, **more})
    assert (bench.document["own_files"], bench.files["prices.csv"]) == (["prices.csv"], text)
    assert bench.papers == demo().papers
    formula = gathered(demo(), {"new.csv": demo().files["today.csv"]})
    assert isinstance(formula, Waiting)
    assert [label for label, _ in formula.ways] == ["It is today's formula"]


def test_a_file_of_a_name_that_the_bench_has_takes_its_place() -> None:
    text = demo().files["workshop.csv"].replace("water,4.00,", "water,40.00,")
    assert taken(demo(), {"Workshop.csv": text}).files == {**demo().files, "workshop.csv": text}
    costs = demo().papers[COSTS_FILE] + "# newer\n"
    assert taken(demo(), {"my costs.toml": costs}).papers[COSTS_FILE] == costs  # known by its keys
    assert "loss" in faults(demo(), {"costs.toml": 'loss = "a lot"'})


def test_a_whole_folder_can_be_given_and_what_the_brief_does_not_name_is_left_aside() -> None:
    folder = {each.name: each.read_text() for each in DEMO.iterdir() if each.is_file()}
    found = gathered(taken(demo(), LOTION), folder)
    assert isinstance(found, Taken)
    assert found.bench == demo()
    assert "hand_polish.csv" in found.words
    assert "plan.toml" in found.words


@pytest.mark.parametrize(
    ("files", "why"),
    [
        ({"a.toml": LOTION["lotion.toml"], "b.toml": LOTION["lotion.toml"]}, "a.toml and b.toml: read 2 of a brief"),
        ({"brief.toml": "= 3"}, "brief.toml: line 1: “= 3” cannot be read"),
        ({"plan.toml": "offers = 'o.csv'"}, "plan.toml: read nothing that the bench has a use for"),
        ({**LOTION, "lotion.toml": LOTION["lotion.toml"].replace("my.csv", "../my.csv")}, "lotion.toml: own_files"),
    ],
)
def test_what_cannot_be_used_is_refused_with_its_reason(files: dict[str, str], why: str) -> None:
    assert why in faults(demo(), files)


def zipped(texts: dict[str, str]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in texts.items():
            archive.writestr(name, text)
    return out.getvalue()


@pytest.mark.parametrize(
    ("name", "content", "why"),
    [
        ("workshop.csv", b"\xff\xfe\x00", "workshop.csv: byte 0: byte 0x00 is no text"),
        ("own.csv", "é".encode() + b"\xe9", "own.csv: byte 2: byte 0xe9 is no text"),
        ("a.zip", b"PK no zip", "a.zip: File is not a zip file"),
        ("a.zip", zipped({"../brief.toml": ""}), "a.zip: files: “../brief.toml” does not go here"),
        ("a.zip", zipped({"brief.toml": " " * 5_000_001}), "more than 5000000 bytes"),
        ("a.zip", zipped({str(n): "" for n in range(61)}), "a.zip: files: “61” is too much"),
    ],
)
def test_an_upload_that_cannot_be_read_is_told(name: str, content: bytes, why: str) -> None:
    texts, told = texts_of([(name, content)])
    assert texts == {}
    assert why in "\n".join(map(str, told)).replace("'", "")


# -- out ---------------------------------------------------------------------------------------------------------------


def test_what_is_taken_along_gives_the_same_bench_again() -> None:
    document = copy.deepcopy(demo().document)
    document["limits"]["oil phase"] = {"low": 23.5}
    changed = demo().saying({**document, "exclude": [], "date": datetime.date(2026, 11, 25)})
    for bench in (demo(), changed, taken(demo(), LOTION)):
        texts, told = texts_of([("all.zip", packed(bench))])
        assert told == []
        for other in (demo(), taken(demo(), LOTION), Bench(changed.text, changed.files, {MAKING_FILE: "loss = 0"})):
            assert taken(other, texts) == bench
    assert taken(demo(), {"brief.toml": changed.text, **demo().files, **demo().papers}) == changed


def test_a_packed_folder_counts_as_the_files_in_it() -> None:
    inside = {f"lotion/{name}": text for name, text in LOTION.items()} | {"__MACOSX/lotion/._my.csv": "x"}
    texts, _ = texts_of([("lotion.zip", zipped(inside))])
    assert taken(demo(), texts) == taken(demo(), LOTION)


# -- what a session begins with ----------------------------------------------------------------------------------------


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "tables").mkdir()
    for name, text in LOTION.items():
        (tmp_path / ("tables/my.csv" if name == "my.csv" else name)).write_text(text)
    (tmp_path / COSTS_FILE).write_text((DEMO / COSTS_FILE).read_text().replace("EUR", "GBP"))
    return tmp_path


def test_a_session_begins_with_the_brief_given(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    monkeypatch.setenv(BRIEF_VARIABLE, brief_of(Path("lotion.toml")))
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    at = session()
    assert at.title[0].value == "Hand lotion"
    assert "lotion.toml itself is not changed" in words(at)
    began = at.session_state[Key.BENCH]
    assert began.papers.keys() == {COSTS_FILE}
    at.session_state["parts"] = "Limits"
    (slider,) = (each for each in at.run().select_slider if str(each.key).startswith("limit oil phase "))
    slider.set_range(14.0, 20.0).run()
    assert at.session_state[Key.BENCH] != began
    at.session_state["parts"] = "Files"
    at.run()
    at.button("load-given").click().run()
    assert at.session_state[Key.BENCH] == began
    after = {path: path.read_bytes() for path in folder.rglob("*") if path.name != "records.db" and path.is_file()}
    assert after == before


def test_a_brief_that_cannot_be_read_is_told_before_anything_is_served(folder: Path) -> None:
    (folder / COSTS_FILE).write_text('loss = "much"')
    with pytest.raises(BadInput, match=r"costs\.toml"):
        brief_of(folder / "lotion.toml")
    (folder / "now.csv").unlink()
    with pytest.raises(BadInput, match=r"now\.csv"):
        brief_of(folder / "lotion.toml")


def test_a_brief_that_went_since_is_told_beside_the_demo(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(BRIEF_VARIABLE, str(folder / "gone.toml"))
    at = session()
    assert "could not be read when this session began" in words(at)
    assert at.session_state[Key.BENCH] == demo()


def test_while_records_are_open_the_bench_says_where_its_stock_comes_from(monkeypatch: pytest.MonkeyPatch) -> None:
    assert "are not asked here" not in words(session())
    monkeypatch.setenv(WORKSHOP_VARIABLE, "/somewhere/mine")
    assert "Stock as in workshop.csv" in words(session())
