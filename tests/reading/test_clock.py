"""The one clock can be set, says the machine's time else, and is told where it is set to what is no time."""

import datetime

import pytest

from optiform.cli import main
from optiform.reading import clock
from optiform.reading.clock import CLOCK_VARIABLE, behind
from optiform.reading.faults import BadInput

EVENING = datetime.datetime(2026, 11, 25, 18, 0)


def test_unset_it_is_the_machines_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(CLOCK_VARIABLE)
    before = datetime.datetime.now()
    assert before <= clock.now() <= datetime.datetime.now()
    assert before.date() <= clock.today() <= datetime.date.today()


def test_a_day_is_its_noon_and_stands_still(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(CLOCK_VARIABLE, "2028-02-29")
    assert clock.now() == clock.now() == datetime.datetime(2028, 2, 29, 12)
    assert clock.today() == datetime.date(2028, 2, 29)


def test_a_moment_is_that_moment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(CLOCK_VARIABLE, "2028-02-29T23:59:58")
    assert clock.now() == datetime.datetime(2028, 2, 29, 23, 59, 58)


@pytest.mark.parametrize(
    "told", ["tomorrow", "2027-02-29", "2027-13-01", "2027-01-01T25:00", "2027-01-01T09:00+02:00", "0001-01-01", " "]
)
def test_what_is_no_time_is_told(told: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(CLOCK_VARIABLE, told)
    with pytest.raises(BadInput, match="OPTIFORM_CLOCK") as bad:
        clock.today()
    assert f"“{told}”" in str(bad.value)
    assert "a day such as 2026-11-25" in str(bad.value)


@pytest.mark.parametrize("command", ["demo", "app"])
def test_a_command_tells_it_too(
    command: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """`app` before it serves."""
    monkeypatch.setenv(CLOCK_VARIABLE, "31.12.2027")
    assert main([command]) == 2
    assert "environment: OPTIFORM_CLOCK: “31.12.2027” is not a day. Write a day such as" in capsys.readouterr().err


def test_an_hour_that_comes_twice_is_no_clock_that_is_wrong() -> None:
    assert behind(None, EVENING) == ""
    assert behind(EVENING, EVENING + datetime.timedelta(days=1)) == ""
    assert behind(EVENING, EVENING - datetime.timedelta(hours=1)) == ""
    words = behind(EVENING, EVENING - datetime.timedelta(days=5))
    assert "says 2026-11-20 18:00" in words
    assert "a record here is of 2026-11-25 18:00" in words
