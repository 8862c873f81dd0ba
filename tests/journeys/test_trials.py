"""A maker's trials from the first log to the next one, by the command line alone but for the versions."""

import datetime
import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from optiform.brief.file import read_brief
from optiform.cli import main
from optiform.reading.faults import BadInput, Fault
from optiform.reading.paths import DEMO
from optiform.trials import forecasts
from optiform.workshop.records import Reading, Version, VersionLine
from optiform.workshop.store import Workshop

BRIEF = str(DEMO / "brief.toml")
READ = {
    "T1": (("20 degC", ("200 g", "224 g", "190 g")), ("10 degC", ("390 g", "410 g", "350 g"))),
    "T2": (("20 degC", ("300 g", "310 g", "330 g")), ("50 degF", ("560 g", "600 g", "570 g"))),
}


@pytest.fixture
def place(logged: Path, tmp_path: Path) -> str:
    """Records of two trials and their readings, to go on with."""
    return str(shutil.copytree(logged, tmp_path, dirs_exist_ok=True))


@pytest.fixture(scope="module")
def logged(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same, to be copied."""
    tmp_path = tmp_path_factory.mktemp("logged")
    today = read_brief(Path(BRIEF)).reference
    assert today is not None
    moved = {"cetearyl alcohol": 1.0, "sweet almond oil": -1.0}
    with Workshop.open(tmp_path) as workshop:
        for name, by in (("v1", 0.0), ("v2", 1.0)):
            when = datetime.datetime(2026, 9, 1)
            made = Version(product="polish", name=name, parent="", reason="trial", created=when)
            lines = [
                VersionLine(
                    product="polish", version=name, position=k, ingredient=x.ingredient.name, phase=x.phase,
                    percent=100 * x.fraction + by * moved.get(x.ingredient.name, 0.0),
                )
                for k, x in enumerate(today.lines)
            ]  # fmt: skip
            workshop.add(made, *lines)
    for trial, version in (("T1", "v1"), ("T2", "v2")):
        words = [
            "trial",
            "log",
            trial,
            "--product",
            "polish",
            "--version",
            version,
            "--aim",
            "firmer",
            "--mass",
            "0.2 kg",
        ]
        assert main([*words, "--cooling", "35 min", "--added-at", "38 degC", "--records", str(tmp_path)]) == 0
        for at, values in READ[trial]:
            words = ["trial", "read", trial, *values, "--instrument", "push on a scale", "--geometry", "12 mm rod"]
            assert main([*words, "--age", "7 day", "--at", at, "--held", "1 day", "--records", str(tmp_path)]) == 0
    return tmp_path


def answer(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    capsys.readouterr()
    assert main([*words, "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def test_log_read_show_fit_predict_next(place: str, capsys: pytest.CaptureFixture[str]) -> None:
    shown = answer(capsys, "trial", "show", "--records", place)
    assert [trial["cooling"] for trial in shown["trials"]] == [35.0, 35.0]
    assert len(shown["readings"]) == 12
    assert {(r["temperature"], r["age"]) for r in shown["readings"]} == {(20.0, 168.0), (10.0, 168.0)}
    fit = answer(capsys, "trial", "fit", "--records", place, "--brief", BRIEF)
    assert fit["rests_on"]["readings"] == 12
    assert {"taken", "posterior", "unread"} & set(fit) == set()
    n = fit["learned"][0]
    assert n["fitted"]["high"] - n["fitted"]["low"] < n["assumed"]["high"] - n["assumed"]["low"]
    words = ["trial", "predict", str(DEMO / "today.csv"), "--brief", BRIEF, "--records", place]
    cold, warm = answer(capsys, *words, "--at", "10 degC", "--at", "20 degC")["predictions"]
    assert cold["instruments"][0]["low"] < 390 < cold["instruments"][0]["high"]
    assert warm["fitted"]["typical"] == pytest.approx(100)
    told = answer(capsys, "trial", "next", BRIEF, "--ask", "firmness at 10 degC", "--most", "175", "--records", place)
    assert told["question"]["high"] == 175
    assert len(told["proposals"]) == 3
    assert told["worth_it"] == (told["proposals"][0]["changes_the_answer"] >= 0.05)


def test_in_words(place: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    saved = tmp_path / "fit.csv"
    assert main(["trial", "show", "--records", place, "--all"]) == 0
    assert main(["trial", "fit", "--records", place, "--brief", BRIEF, "--csv", str(saved), "--all"]) == 0
    assert main(["trial", "next", BRIEF, "--ask", "firmness at 10 degC", "--most", "900", "--records", place]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "310 330" in text
    assert "2 trials, 12 readings at 10 and 20 °C" in text
    assert "Ranges hold nine times in ten" in text
    assert "No, you can stop. Now the answer is yes" in text
    assert "scatter from batch to batch is mostly assumed" in text
    assert "How you make it changes the texture as much as what is in it" in text
    assert len(saved.read_text(encoding="utf-8").splitlines()) == 3


def test_texture_takes_the_fitted_scale_and_says_so(place: str, capsys: pytest.CaptureFixture[str]) -> None:
    assumed = answer(capsys, "texture", BRIEF, "--step", "10")
    known = answer(capsys, "texture", BRIEF, "--step", "10", "--records", place)
    assert "until you log readings of your own" in assumed["rests_on"]
    assert "fitted to 2 trials" in known["rests_on"]
    assert known["today"]["firmness"][0] != assumed["today"]["firmness"][0]


@pytest.mark.parametrize(
    ("words", "place_told"),
    [
        (["next", BRIEF, "--ask", "softness", "--most", "100"], "--ask"),
        (["next", BRIEF, "--ask", "firmness at 10 degC"], "limit"),
        (["read", "T1", "many g", "--instrument", "flat probe", "--age", "24 h", "--at", "20"], "value"),
        (["read", "T1", "9", "--instrument", "spoon score", "--age", "24 h", "--at", "20"], "value"),
        (["read", "T1", "3 mm", "--instrument", "flat probe", "--age", "24 kg", "--at", "20"], "--age"),
        (["log", "T3", "--product", "polish", "--version", "v1", "--aim", "a", "--made", "soon"], "--made"),
        (
            ["log", "T3", "--product", "p", "--version", "v", "--aim", "a", "--weights", str(DEMO / "today.csv")],
            "header",
        ),
    ],
)
def test_bad_words_are_faults(
    place: str, words: list[str], place_told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    assert main(["trial", *words, "--records", place, "--json"]) == 2
    assert place_told in [fault["place"] for fault in json.loads(capsys.readouterr().out)["faults"]]


SLIP = Reading(
    trial="T1", number=9, age=168.0, temperature=20.0, instrument="push on a scale", value=190175.0, unit="g"
)


def test_a_kept_reading_that_no_jar_gives_leaves_the_other_trials_their_answers(
    place: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """An earlier version had saved it, and it cannot be taken back."""
    with Workshop.open(Path(place)) as workshop:
        workshop.add(SLIP)
    told = answer(capsys, "trial", "fit", "--records", place, "--brief", BRIEF)
    assert told["rests_on"]["readings"] == 12
    (slip,) = told["left_out"]
    assert (slip["trial"], slip["number"]) == ("T1", 9)
    assert slip["reason"] == "value “190175” is not a reading of 0.1 to 100000 g; the right one can be saved beside it"
    asked = answer(capsys, "trial", "next", BRIEF, "--ask", "firmness at 10 degC", "--most", "900", "--records", place)
    assert asked["worth_it"] in (True, False)
    assert answer(capsys, "texture", BRIEF, "--step", "10", "--records", place)["rests_on"].count("2 trials")
    saved = Path(place) / "shown.csv"
    assert main(["trial", "show", "--records", place, "--csv", str(saved)]) == 0
    assert "“190175” is not a reading of 0.1 to 100000 g" in saved.read_text(encoding="utf-8")
    assert main(["trial", "fit", "--records", place, "--brief", BRIEF, "--all"]) == 0
    assert "T1, reading 9: value “190175” is not a reading of" in " ".join(capsys.readouterr().out.split())


def test_what_no_jar_gives_is_brought_in_only_with_why_it_does_not_count(
    place: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    head = "trial,number,age,temperature,instrument,value,unit,excluded"
    files, wrong = tmp_path / "more", f"{head}\nT1,9,168,20,push on a scale,190175,g,\nT1,10,168,20,cone,3,g,\n"
    files.mkdir()
    (files / "readings.csv").write_text(wrong, encoding="utf-8")
    assert main(["stock", "import", str(files), "--records", place, "--json"]) == 2
    faults = json.loads(capsys.readouterr().out)["faults"]
    assert [fault["place"] for fault in faults] == ["row 2, column value", "row 3, column unit"]
    right = f"{head}\nT1,9,168,20,push on a scale,190175,g,a comma was forgotten\n"
    (files / "readings.csv").write_text(right, encoding="utf-8")
    assert main(["stock", "import", str(files), "--records", place]) == 0
    capsys.readouterr()
    (left,) = answer(capsys, "trial", "fit", "--records", place, "--brief", BRIEF)["left_out"]
    assert left["reason"] == "excluded: a comma was forgotten"


# -- sealed forecasts --------------------------------------------------------------------------------------------------

NEXT = {"cetearyl alcohol": 0.5, "sweet almond oil": -0.5}


def softer(tmp_path: Path) -> Path:
    """A formula between the two versions that were read, as a file."""
    today = read_brief(Path(BRIEF)).reference
    assert today is not None
    rows = [(x.ingredient.name, 100 * x.fraction + NEXT.get(x.ingredient.name, 0.0), x.phase) for x in today.lines]
    path = tmp_path / "between.csv"
    lines = ["ingredient,percent,phase", *(f'"{name}",{percent:.6f},{phase}' for name, percent, phase in rows)]
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def made_and_read(place: str, file: Path, *values: str) -> None:
    """The formula as a version, a trial of it, and its jars."""
    there = ["--records", place]
    kept = ["stock", "save", str(file), "--product", "polish", "--name", "v3", "--parent", "v1", "--reason", "between"]
    assert main([*kept, *there]) == 0
    assert main(["trial", "log", "T3", "--product", "polish", "--version", "v3", "--aim", "between", *there]) == 0
    read = ["trial", "read", "T3", *values, "--instrument", "push on a scale", "--geometry", "12 mm rod"]
    assert main([*read, "--age", "7 day", "--at", "20 degC", *there]) == 0


def forecast(place: str, file: Path, capsys: pytest.CaptureFixture[str], *at: str) -> dict[str, Any]:
    words = ["trial", "predict", str(file), "--brief", BRIEF, "--records", place]
    return answer(capsys, *words, *(word for each in at for word in ("--at", each)))


@pytest.mark.parametrize(("values", "verdict"), [(("240 g", "255 g", "250 g"), "inside"), (("900 g",), "above")])
def test_a_forecast_asked_before_a_jar_is_read_is_set_beside_the_reading(
    place: str, tmp_path: Path, values: tuple[str, ...], verdict: str, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setenv("OPTIFORM_CLOCK", "2026-11-20T09:30")
    file = softer(tmp_path)
    asked = forecast(place, file, capsys, "20 degC")
    band = asked["predictions"][0]["instruments"][0]
    (sealed,) = asked["sealed"]["forecasts"]
    assert sealed["when"] == "2026-11-20T09:30:00"
    assert (sealed["low"], sealed["high"]) == pytest.approx((band["low"], band["high"]), rel=1e-3)
    assert sealed["rests_on"].startswith("2 trials, 12 readings")
    assert "figures" in sealed["model"]
    made_and_read(place, file, *values)
    shown = answer(capsys, "trial", "show", "--records", place)["forecasts"]
    assert [(x["trial"], x["verdict"], x["jars"]) for x in shown["outcomes"]] == [("T3", verdict, len(values))]
    assert (shown["held"], shown["of"], shown["unasked"]) == (int(verdict == "inside"), 1, ["T1", "T2"])
    assert shown["outcomes"][0]["forecast"] == sealed
    main(["trial", "show", "--records", place])
    text = " ".join(capsys.readouterr().out.split())
    assert f"{int(verdict == 'inside')} of 1 forecast" in text
    assert "were meant to hold 90 % of the time" in text
    assert "Read without a forecast: T1, T2." in text


def test_what_was_read_already_is_no_forecast(place: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = softer(tmp_path)
    made_and_read(place, file, "250 g")
    asked = forecast(place, file, capsys, "20 degC")["sealed"]
    assert (asked["forecasts"], asked["words"][:13]) == ([], "This was read")
    other = forecast(place, file, capsys, "10 degC", "20 degC")["sealed"]["forecasts"]
    assert [x["temperature"] for x in other] == [10.0], "nobody has read it there"


def test_asked_again_in_the_same_state_nothing_is_sealed_twice(
    place: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = softer(tmp_path)
    assert len(forecast(place, file, capsys, "20 degC")["sealed"]["forecasts"]) == 1
    again = forecast(place, file, capsys, "20 degC")["sealed"]
    assert (again["forecasts"], "already" in again["words"]) == ([], True)
    shown = answer(capsys, "trial", "show", "--records", place)["forecasts"]
    assert len(shown["waiting"]) == 1


def test_a_later_model_changes_nothing_of_a_sealed_forecast(
    place: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    file = softer(tmp_path)
    before = forecast(place, file, capsys, "20 degC")
    made_and_read(place, file, "250 g")
    shown = answer(capsys, "trial", "show", "--records", place)["forecasts"]
    monkeypatch.setattr("optiform.trials.posterior.N_PRIOR", (6.0, 0.1))
    monkeypatch.setattr("optiform.trials.forecasts.version", lambda _: "9.9")
    forecasts.model.cache_clear()
    try:
        later = forecast(place, file, capsys, "10 degC")
        assert later["sealed"]["forecasts"][0]["model"].startswith("optiform 9.9")
        assert later["rests_on"] != before["rests_on"], "T3 counts now"
        now = answer(capsys, "trial", "show", "--records", place)["forecasts"]
    finally:
        forecasts.model.cache_clear()
    assert now["outcomes"] == shown["outcomes"]
    assert now["outcomes"][0]["forecast"] == before["sealed"]["forecasts"][0]


def test_a_forecast_of_a_later_day_than_the_reading_does_not_count(
    place: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """An import could bring one in; the days of both stand in the records."""
    file = softer(tmp_path)
    monkeypatch.setenv("OPTIFORM_CLOCK", "2026-11-20")
    forecast(place, file, capsys, "20 degC")
    monkeypatch.setenv("OPTIFORM_CLOCK", "2026-11-01")
    made_and_read(place, file, "250 g")  # read on the 8th
    shown = answer(capsys, "trial", "show", "--records", place)["forecasts"]
    assert (shown["of"], shown["unasked"]) == (0, ["T1", "T2", "T3"])


def test_records_that_cannot_be_written_give_the_prediction_and_say_that_it_is_not_sealed(
    place: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object) -> None:
        raise BadInput([Fault("records.db", "file", "read-only", "one that can be written")])

    monkeypatch.setattr("optiform.commands.trial.keep", refused)
    told = forecast(place, softer(tmp_path), capsys, "20 degC")
    assert told["predictions"][0]["instruments"]
    assert told["sealed"]["words"].startswith("No forecast was sealed, the records cannot be written")
