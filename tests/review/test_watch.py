"""What begins by a day: every rule with a date, each on its first day, for each formula of a folder."""

import datetime
import json
from dataclasses import replace
from pathlib import Path

import pytest

from optiform.cli import main
from optiform.ingredients.formula import Formula, Line
from optiform.review.watch import Coming, coming, watch
from optiform.rules.law import Scope, rules
from optiform.rules.markets import MARKETS
from optiform.rules.positive import changes
from optiform.telling.terminal import terminal
from optiform.telling.watch import watched
from tests.builders import ingredient
from tests.every import every

TODAY = datetime.date(2026, 11, 26)
DAY = datetime.timedelta(days=1)


def formula(inci: str, percent: float, function: str = "active") -> Formula:
    stuff = ingredient("our stuff", 1.0, function, contains={inci: 100.0})
    water = ingredient("water", 0.0, "water", contains={"Aqua": 100.0})
    lines = (Line(stuff, percent / 100, "cool-down"), Line(water, 1 - percent / 100, "water phase"))
    return Formula("cream", lines)


def begins(inci: str, percent: float, scope: Scope, until: str, function: str = "active") -> list[Coming]:
    return list(coming(formula(inci, percent, function), scope, datetime.date.fromisoformat(until)))


LATER = [rule for rule in rules() if rule.start and rule.start > TODAY]


@every("rule", LATER, ids=lambda rule: rule.id)
def test_every_rule_that_begins_later_is_told_on_its_day_and_not_before(rule: object) -> None:
    assert rule in rules()
    law = next(other for other in rules() if other is rule)
    assert law.start is not None
    use = "rinse-off" if law.use == "any" else law.use
    area = "body" if {"any", "body"} & set(law.areas) else law.areas[0]
    scope = Scope(use, area, (law.market,), TODAY)
    name, factor = next(iter(law.factors.items()))
    over = formula(name, min(100.0, 1.5 * (law.limit or 0.1) / factor))
    assert law.id in [found.id for found in coming(over, scope, law.start)]
    assert law.id not in [found.id for found in coming(over, scope, law.start - DAY)]
    begun = replace(scope, date=law.start)
    assert law.id not in [found.id for found in coming(over, begun, law.start + 365 * DAY)]


def test_a_rule_that_is_kept_is_not_told() -> None:
    scope = Scope("leave-on", "body", ("EU",), TODAY)
    assert [rule.effect for rule in begins("Benzyl Salicylate", 0.8, scope, "2027-01-01")] == ["breaks"]
    assert begins("Benzyl Salicylate", 0.6, scope, "2027-01-01") == []


def test_a_list_that_changes_is_a_rule_with_a_date() -> None:
    before = Scope("leave-on", "body", ("GB",), datetime.date(2026, 7, 1))
    found = begins("4-Methylbenzylidene Camphor", 1.0, before, "2026-07-15", "uv filter")
    assert [(str(rule.day), rule.effect) for rule in found] == [("2026-07-15", "breaks")] * 2  # the list, and Annex 2
    assert datetime.date(2026, 7, 15) in changes()


def test_the_long_list_of_allergens_is_a_rule_with_a_date() -> None:
    before = Scope("leave-on", "body", ("EU", "GB"), datetime.date(2026, 7, 1))
    (found,) = begins("Vanillin", 0.01, before, "2026-08-01")
    assert (str(found.day), found.market, found.effect) == ("2026-08-01", "EU", "label")
    assert begins("Vanillin", 0.0005, before, "2026-08-01") == []


def test_what_no_one_read_is_not_known_from_its_day() -> None:
    scope = Scope("leave-on", "body", ("EU",), TODAY)
    assert "not known" in [rule.effect for rule in begins("Alumina", 10, scope, "2027-01-01")]


def test_duties_that_begin_are_told_for_their_state_alone() -> None:
    until = datetime.date(2027, 1, 2)
    there = watch([], Scope("rinse-off", "body", ("US-OR",), TODAY), until)
    assert [duty.market for duty in there.duties] == ["US-OR", "US-OR"]
    assert watch([], Scope("rinse-off", "body", ("EU",), TODAY), until).duties == ()


def test_the_short_telling_fits_a_page() -> None:
    names = ("Benzyl Salicylate", "Zinc Gluconate", "Diazolidinyl Urea", "Boric Acid", "Triphenyl Phosphate")
    formulas = [replace(formula(name, 5.0), name=f"{name} {k}.csv") for name in names for k in range(4)]
    answer = watch(formulas, Scope("leave-on", "body", MARKETS, TODAY), datetime.date(2027, 12, 31))
    text = terminal(watched(answer, "folder").brief(), width=90)
    assert len(text.splitlines()) <= 60
    assert "break a rule that begins after 2026-11-26, up to 2027-12-31" in " ".join(text.split())


# -- the command -------------------------------------------------------------------------------------------------------


def folder(path: Path) -> Path:
    (path / "own.csv").write_text("ingredient,phase,functions,inci\nsmell,cool-down,active,Benzyl Salicylate\n")
    (path / "over.csv").write_text("ingredient,percent\nsmell,0.8\nwater,99.2\n", encoding="utf-8")
    (path / "under.csv").write_text("ingredient,percent\nsmell,0.6\nwater,99.4\n", encoding="utf-8")
    (path / "odd.csv").write_text("ingredient,percent\nmoon dust,1\nwater,99\n", encoding="utf-8")
    return path


def asked(path: Path, capsys: pytest.CaptureFixture[str], *more: str) -> tuple[int, str]:
    own = ["--own", str(path / "own.csv")]
    code = main(["check", str(path), "--on", "2027-01-02", "--date", "2026-11-26", "--use", "leave-on", *own, *more])
    said = capsys.readouterr()
    return code, said.out + said.err


def test_a_folder_is_looked_at_file_by_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out = asked(folder(tmp_path), capsys, "--market", "EU", "--json")
    data = json.loads(out)
    assert code == 0
    assert {row["name"]: row["broken"] for row in data["formulas"]} == {"over.csv": True, "under.csv": False}
    assert data["others"] == ["own.csv"]
    assert [words.partition(":")[0] for words in data["not_read"]] == ["odd.csv"]


def test_the_folders_below_it_are_looked_at_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A formula in a folder of its own was passed over, and none was said to break a rule."""
    place = folder(tmp_path)
    (place / "creams" / "old").mkdir(parents=True)
    (place / ".hidden").mkdir()
    for name in ("creams/old/over.csv", ".hidden/over.csv"):
        (place / name).write_text((place / "over.csv").read_text(encoding="utf-8"), encoding="utf-8")
    lines = "product,version,position,ingredient,percent,phase\ncream,one,1,water,100,water phase\n"
    (place / "creams" / "version_lines.csv").write_text(lines, encoding="utf-8")
    (place / "over.csv").unlink()
    data = json.loads(asked(place, capsys, "--market", "EU", "--json")[1])
    assert {row["name"]: row["broken"] for row in data["formulas"]} == {
        "under.csv": False,
        str(Path("creams", "old", "over.csv")): True,
    }
    assert data["others"] == ["own.csv", str(Path("creams", "version_lines.csv"))]


def test_the_telling_names_what_breaks(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out = asked(folder(tmp_path), capsys, "--market", "EU")
    assert code == 0
    assert "1 of 2 formulas breaks a rule that begins after 2026-11-26, up to 2027-01-02: over.csv" in " ".join(
        out.split()
    )


def test_the_versions_in_the_records_of_a_folder_are_looked_at_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = folder(tmp_path)
    product = ["--product", "cream", "--records", str(place), "--own", str(place / "own.csv")]
    for name, file, parent in (("strong", "over.csv", ()), ("weak", "under.csv", ("--parent", "strong"))):
        line = ["stock", "save", str(place / file), *product, "--name", name, "--reason", "as tried", *parent]
        assert main(line) == 0
    for file in ("over.csv", "under.csv", "odd.csv"):
        (place / file).unlink()
    capsys.readouterr()
    code, out = asked(place, capsys, "--market", "EU", "--json")
    assert code == 0
    assert {row["name"]: row["broken"] for row in json.loads(out)["formulas"]} == {
        "cream, strong": True,
        "cream, weak": False,
    }
    line = ["check", str(place), "--on", "2027-01-02", "--date", "2026-11-26", "--market", "EU", "--use", "leave-on"]
    assert main([*line, "--json"]) == 0
    unknown = json.loads(capsys.readouterr().out)
    assert unknown["formulas"] == []
    assert unknown["not_read"] == [
        f"cream, {name}: smell not known; name its table with --own" for name in ("strong", "weak")
    ]


def test_a_day_that_is_past_and_a_folder_without_a_day_are_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = str(folder(tmp_path))
    assert main(["check", place, "--on", "2020-01-01", "--date", "2026-11-26"]) == 2
    assert "a later day" in capsys.readouterr().err
    assert main(["check", place]) == 2
    assert "--on" in capsys.readouterr().err
