"""The demo can be taken on every day: its dates lie as far from it as from the day it was written for."""

import datetime
import re
import tomllib
from pathlib import Path

import pytest

from optiform.cli import main
from optiform.reading.clock import CLOCK_VARIABLE
from optiform.reading.demo import WRITTEN, copy_demo, dated
from optiform.reading.paths import DEMO

DAYS = [WRITTEN, datetime.date(2028, 2, 29), WRITTEN + datetime.timedelta(1500)]


def files(folder: Path) -> dict[str, str]:
    return {str(x.relative_to(folder)): x.read_text(encoding="utf-8") for x in folder.rglob("*") if x.is_file()}


def dates(text: str, day: datetime.date) -> list[int]:
    """How many days each date of a text lies from a day."""
    found = re.findall(r"\d{4}-\d{2}-\d{2}", text)
    return [(datetime.date.fromisoformat(each) - day).days for each in found]


@pytest.mark.parametrize("day", DAYS)
def test_every_date_keeps_its_distance_and_nothing_else_changes(day: datetime.date, tmp_path: Path) -> None:
    copy_demo(tmp_path / "shop", day)
    shipped, copied = files(DEMO), files(tmp_path / "shop")
    assert set(copied) == set(shipped)
    for name, text in shipped.items():
        assert dates(copied[name], day) == dates(text, WRITTEN)
        assert dated(copied[name], WRITTEN + (WRITTEN - day)) == text
    assert sum(len(dates(text, WRITTEN)) for text in shipped.values()) > 100


@pytest.mark.parametrize("day", DAYS)
def test_what_is_bought_first_is_not_expired_on_the_day(
    day: datetime.date, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(CLOCK_VARIABLE, str(day))
    assert main(["demo", "--copy", str(tmp_path / "shop")]) == 0
    lots = (tmp_path / "shop" / "workshop" / "lots.csv").read_text(encoding="utf-8")
    assert f'L018,"shea butter, refined",Harrowmere Oils and Butters,B20512,{day - datetime.timedelta(226)}' in lots
    assert min(age for age in dates(lots, day) if age > 0) == 36  # the first that will expire


def test_the_brief_of_the_demo_names_no_day_so_that_its_law_is_that_of_the_day() -> None:
    assert "date" not in tomllib.loads((DEMO / "brief.toml").read_text(encoding="utf-8"))


def test_what_only_looks_like_a_date_stays() -> None:
    assert dated("B-12026-11-25, 0.2026, 2026-11", datetime.date(2030, 1, 1)) == "B-12026-11-25, 0.2026, 2026-11"
