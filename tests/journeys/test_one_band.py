"""One formula at one temperature has one band of firmness, wherever it is told: with and without readings."""

import datetime
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from optiform.brief.file import read_brief
from optiform.brief.scaled import on_scale
from optiform.cli import main
from optiform.commands.common import by_readings
from optiform.design.answer import Designed
from optiform.design.design import design
from optiform.design.texture import Texture, TextureOption, texture
from optiform.ingredients.formula import Formula, mixed
from optiform.properties.firmness import ASSUMED, Band, firmness_band
from optiform.properties.tangent_planes import firmness
from optiform.reading.demo import copy_demo
from optiform.reading.paths import DEMO
from optiform.review.compare import compare
from optiform.review.measures import setting_of
from optiform.review.report import report
from optiform.telling import scale as trial_told
from optiform.telling import standing
from optiform.telling.compare import compared
from optiform.telling.json.check import compared as compared_json
from optiform.telling.parts import Table
from optiform.telling.terminal import terminal
from optiform.telling.texture import _bands
from optiform.telling.unsure import could_be_missed, price_of_sureness
from optiform.trials.curve import curve
from optiform.trials.firm import firm
from optiform.trials.fit import Fitted, fit
from optiform.trials.next_trial import next_trial
from optiform.trials.prediction import predict
from optiform.trials.question import Question
from optiform.workshop.exchange import import_from
from optiform.workshop.log import log_of
from optiform.workshop.store import Workshop
from tests.dates import ANY_DAY

BRIEF = read_brief(DEMO / "brief.toml")
SHOWN = (10.0, 20.0, 35.0)


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("shop")
    with Workshop.open(path) as workshop:
        import_from(workshop, DEMO / "workshop")
    return path


@pytest.fixture(scope="module")
def fitted(place: Path) -> Fitted:
    with Workshop.open(place) as workshop:
        return fit(log_of(workshop), BRIEF.catalogue, BRIEF.reference)


def words(band: Band) -> tuple[str, str, str]:
    """As a maker reads it."""
    return f"{band.typical:.0f}", f"{band.low:.0f}", f"{band.high:.0f}"


def near(one: Band, other: Band) -> bool:
    ends = (one.low, one.typical, one.high)
    return ends == pytest.approx((other.low, other.typical, other.high), rel=1e-9)


def option_of(answer: Texture) -> TextureOption:
    option = answer.courses[0] if answer.courses else answer.furthest
    assert option is not None
    return option


def first(answer: Texture) -> tuple[Formula, dict[float, Band]]:
    option = option_of(answer)
    return option.formula, dict(option.firmness)


def today() -> Formula:
    assert BRIEF.reference is not None
    return BRIEF.reference


def test_without_readings_every_place_tells_one_band() -> None:
    answer = texture(BRIEF, 10.0)
    formula, bands = first(answer)
    firms = {each.temperature: each.band for each in firm(formula, today(), None, SHOWN)}
    for at in SHOWN:
        assert near(firms[at], bands[at])
        assert firmness(today(), at, ASSUMED).of(formula) == pytest.approx(bands[at].typical, rel=1e-9)
    both = compare([today(), formula], setting_of(BRIEF), BRIEF.step)
    assert both.firmness[1] is not None
    assert near(both.firmness[1], bands[20.0])
    told, low, high = words(bands[20.0])
    assert f"{told} for {formula.name} (could be {low} to {high})" in terminal(compared(both), 200)
    assert compared_json(both)["firmness"][1]["high"] == pytest.approx(bands[20.0].high)
    (table, _) = standing.firmness(firm(formula, today(), None, SHOWN), True).parts
    assert isinstance(table, Table)
    sheet = {row[0]: row for row in _bands(answer, "option 1", option_of(answer)).rows}
    for (_, typical, could_be), at in zip(table.rows, SHOWN, strict=True):
        told, low, high = words(bands[at])
        assert (typical, could_be) == (told, f"{low} to {high}")
        assert tuple(f"{cell:.0f}" for cell in sheet[at][2:]) == (told, low, high)


def test_with_readings_every_place_tells_another_one(fitted: Fitted, place: Path) -> None:
    known = fitted.exponents
    formula, bands = first(texture(BRIEF, 10.0, known=known))
    firms = {each.temperature: each.band for each in firm(formula, today(), fitted, SHOWN)}
    drawn = {each.temperature: each for each in curve(fitted, formula, SHOWN).predicted}
    for at in SHOWN:
        asked = predict(fitted, formula, at)
        assert near(asked.after, bands[at])
        assert near(firms[at], bands[at])
        assert near(drawn[at].after, bands[at])
        assert near(drawn[at].batch, asked.batch)
        assert asked.batch.low <= asked.after.low < asked.after.high <= asked.batch.high
        assert trial_told.firm(asked.after) == "{} ({} to {})".format(*words(bands[at]))
    with Workshop.open(place) as workshop:
        trials = log_of(workshop).trials
    now = next_trial(fitted, Question(formula, 35.0, high=50.0), BRIEF, trials).now
    assert near(now.band, bands[35.0])
    loose = first(texture(BRIEF, 10.0))[1][35.0]
    assert not near(loose, bands[35.0]), "readings change it"


def test_a_brief_s_own_limit_on_firmness_is_on_the_scale_that_the_readings_fit(fitted: Fitted) -> None:
    """Where the limit was held by assumed exponents beside a band by fitted ones."""
    limited = BRIEF.with_limit("firmness at 35 degC", high=60.0)
    answer = texture(limited, 10.0, known=fitted.exponents)
    formula, bands = first(answer)
    held = {item.name: item for item in report(formula, setting_of(answer.brief)).measures}
    assert held["firmness at 35 degC"].value == pytest.approx(bands[35.0].typical, rel=1e-9)
    before = {item.name: item for item in report(formula, setting_of(limited)).measures}
    assert before["firmness at 35 degC"].value != pytest.approx(bands[35.0].typical, rel=0.01)
    assert on_scale(limited, ASSUMED) is limited


@pytest.mark.parametrize("at", SHOWN)
@pytest.mark.parametrize("read", [False, True])
def test_a_limit_on_firmness_has_the_band_of_all_places(fitted: Fitted, at: float, read: bool) -> None:
    """Where a limit stood without any range beside a band that reached far across it."""
    known = fitted.exponents if read else ASSUMED
    formula, bands = first(texture(BRIEF, 10.0, known=known))
    limited = on_scale(BRIEF.with_limit(f"firmness at {at:g} degC", low=20.0), known)
    held = {item.name: item for item in report(formula, setting_of(limited)).measures}[f"firmness at {at:g} degC"]
    band = bands[at]
    assert held.value == pytest.approx(band.typical, rel=1e-9)
    assert held.span == pytest.approx((band.low, band.high), rel=1e-9)


def test_a_design_says_which_limits_the_firmness_itself_could_miss() -> None:
    answer = design(BRIEF.with_limit("firmness at 35 degC", low=20.0))
    assert isinstance(answer, Designed)
    assert answer.unsure is not None
    ((demand, worst),) = answer.unsure.unguarded
    band = firmness_band(answer.report.formula, today(), 35.0)
    assert band is not None
    assert (demand.name, demand.side) == ("firmness at 35 degC", "low")
    assert worst == pytest.approx(band.low, rel=1e-6)
    assert "as firmness is only estimated: firmness at 35 degC" in could_be_missed(answer.unsure)
    assert "all but firmness" in price_of_sureness(answer.unsure, answer.brief.goal)
    assert demand not in [limit for limit, _ in answer.unsure.limits], "no price buys it"


def limited_brief(tmp_path: Path) -> str:
    """The demo with limits on firmness, beside its files."""
    place = tmp_path / "shop"
    copy_demo(place, datetime.date(2026, 11, 27))
    brief = place / "brief.toml"
    limits = "".join(f'"firmness at {at:g} degC" = {{ high = "400" }}\n' for at in SHOWN)
    brief.write_text(brief.read_text(encoding="utf-8") + limits, encoding="utf-8")
    return str(brief)


@pytest.mark.parametrize("read", [False, True])
def test_every_command_holds_a_limit_to_the_band_it_prints(
    place: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], read: bool
) -> None:
    brief, records = limited_brief(tmp_path), ["--records", str(place)] if read else []
    file = str(tmp_path / "option.csv")
    steps = said(capsys, "texture", brief, "--step", "10", "--write", file, *records)
    bands = {each["temperature"]["value"]: each for each in steps["options"][0]["firmness"]}
    checked = said(capsys, "check", file, "--brief", brief, *records)["properties"]
    beside = said(capsys, "compare", str(Path(brief).parent / "today.csv"), file, "--brief", brief, *records)
    for at in SHOWN:
        told = checked[f"firmness at {at:g} degC"]
        ends = (told["span"][0], told["value"], told["span"][1])
        assert ends == pytest.approx([bands[at][end] for end in ("low", "typical", "high")], rel=1e-4), at
    for end in ("low", "typical", "high"):
        assert beside["firmness"][1][end] == pytest.approx(bands[20][end], rel=1e-4)


def test_the_commands_print_the_same_at_35(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Where one page said 43 to 57 and another 35 to 68: today's formula in a hot room."""
    brief, records = str(DEMO / "brief.toml"), ["--records", str(place)]
    one = said(capsys, "texture", brief, "--step", "10", *records)["today"]["firmness"]
    asked = said(capsys, "trial", "predict", str(DEMO / "today.csv"), "--brief", brief, "--at", "35 degC", *records)
    next_one = said(capsys, "trial", "next", brief, "--ask", "firmness at 35 degC", "--most", "60", *records)
    (warm,) = [each for each in one if each["temperature"]["value"] == 35]
    for told in (asked["predictions"][0]["fitted"], next_one["now"]["firmness"]):
        for end in ("low", "typical", "high"):
            assert told[end] == pytest.approx(warm[end], rel=1e-6)


def said(capsys: pytest.CaptureFixture[str], *command: str) -> dict[str, Any]:
    capsys.readouterr()
    main([*command, "--json"])
    answer: dict[str, Any] = json.loads(capsys.readouterr().out)
    return answer


def test_cheaper_substitute_and_explore_tell_the_band_of_their_options(fitted: Fitted) -> None:
    formula = first(texture(BRIEF, 10.0))[0]
    for known, read in ((None, ". Your own readings narrow it."), (fitted, "mean of three jars.")):
        (told,) = standing.firmness_line(BRIEF, {"option 1": formula}, known)
        band = firmness_band(formula, today(), 20.0, known.exponents if known else ASSUMED)
        assert band is not None
        typical, low, high = words(band)
        assert f"Firmness at 20 °C, today 100: {typical} in option 1 (could be {low} to {high}" in told.text
        assert told.text.endswith(read)


def test_json_says_the_band_of_every_option_on_the_scale_of_the_readings(
    place: Path, fitted: Fitted, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Cheaper, substitute and explore, each option as its own formula stands in the answer."""
    copy_demo(tmp_path / "demo", ANY_DAY)
    monkeypatch.chdir(tmp_path / "demo")
    asked: dict[tuple[str, ...], str] = {
        ("cheaper", "brief.toml"): "options", ("substitute", "brief.toml", "mango butter", "--blend", "1"): "options",
        ("explore", "brief.toml", "--unlike", "2"): "unlike",
    }  # fmt: skip
    for command, at in asked.items():
        for more, known in (((), None), (("--records", str(place)), fitted)):
            data = said(capsys, *command, *more)
            answer = data[at] if at == "unlike" else data
            firms = {row["option"]: row["firmness"] for row in answer["firmness"]}
            for number, option in enumerate(answer["options"], 1):
                lines = {line["ingredient"]: line["percent"] for line in option["formula"]}
                (band,) = firm(mixed(lines, BRIEF.catalogue), today(), known, (20.0,))
                assert firms[f"option {number}"]["typical"] == pytest.approx(band.band.typical, rel=1e-3)
                assert firms[f"option {number}"]["high"] == pytest.approx(band.band.high, rel=1e-2)


def test_no_firmness_is_told_in_that_line_where_none_is_known_or_water_carries_the_product() -> None:
    lotion = replace(BRIEF, kind="lotion")
    assert not list(standing.firmness_line(lotion, {"option 1": today()}))
    assert not list(standing.firmness_line(replace(BRIEF, reference=None), {"option 1": today()}))
    assert not list(standing.firmness_line(BRIEF, {})), "no option, no sentence"


def firm_in_the_heat(folder: Path) -> Path:
    """The brief with a least firmness at 35 degC."""
    copied = Path(limited_brief(folder))
    text = copied.read_text(encoding="utf-8")
    copied.write_text(
        text.replace('"firmness at 35 degC" = { high = "400" }', '"firmness at 35 degC" = { low = "25" }')
    )
    return copied


def test_records_that_are_open_for_their_lots_also_hold_limits_on_firmness(
    place: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where batch, costs and range held them by what is assumed, beside a check that held them by the readings."""
    brief = ["--brief", str(firm_in_the_heat(tmp_path))]
    missed = "firmness at 35 °C is 22.22, outside the brief's least of 25"
    for records, told in (([], True), (["--records", str(place)], False)):
        assert main(["batch", *brief, "--all", *records]) == 0
        assert (missed in " ".join(capsys.readouterr().out.split())) is told


@pytest.mark.exhaustive
def test_what_costs_and_range_write_keeps_them_by_the_readings_too(
    place: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    copied = firm_in_the_heat(tmp_path)
    brief = ["--brief", str(copied)]
    costs = ["costs", *brief, "--costs", str(copied.parent / "costs.toml"), "--jar-cost", "4.55 EUR"]
    for records in ([], ["--records", str(place)]):
        file = tmp_path / f"hit-{len(records)}.csv"
        assert main([*costs, "--write", str(file), *records]) == 0
    plan = copied.parent / "plan.toml"
    assert main(["range", str(plan), "--records", str(place), "--write", str(tmp_path / "range.csv")]) == 0
    capsys.readouterr()
    for name in ("hit-2.csv", "range.csv"):
        checked = said(capsys, "check", str(tmp_path / name), *brief, "--records", str(place))["properties"]
        assert checked["firmness at 35 degC"]["value"] >= 25 * (1 - 1e-4), name


def test_records_without_readings_leave_what_is_assumed(tmp_path: Path) -> None:
    Workshop.open(tmp_path).close()
    limited = BRIEF.with_limit("firmness at 35 degC", low=25.0)
    assert by_readings(limited, str(tmp_path)) == limited
    assert by_readings(BRIEF, str(tmp_path / "nowhere")) is BRIEF
