"""What stands on no list of what is allowed is not allowed, and nothing of it is proposed."""

import datetime
from dataclasses import replace
from pathlib import Path

import pytest

from optiform.brief.file import read_brief
from optiform.design.answer import Designed
from optiform.design.design import design
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.ingredients.names import canonical, resolve
from optiform.reading.faults import BadInput
from optiform.reading.tables import shipped
from optiform.review.answer import Report
from optiform.review.measures import Setting
from optiform.review.report import report
from optiform.rules.law import Scope, rules
from optiform.rules.positive import not_allowed, standings
from optiform.telling.facts import in_words
from optiform.telling.report import law_line
from tests.builders import ingredient
from tests.every import every

DAY = datetime.date(2026, 11, 26)


def scope(market: str, use: str = "rinse-off", area: str = "body", day: datetime.date = DAY) -> Scope:
    return Scope(use, area, (market,), day)


def bought_as(function: str, **shares: float) -> Ingredient:
    return ingredient("our stuff", 1.0, function, contains={name.replace("_", " "): x for name, x in shares.items()})


def judged(item: Ingredient, where: Scope) -> Report:
    water = ingredient("water", 0.0, "water", contains={"Aqua": 100.0})
    lines = (Line(item, 0.001, "cool-down"), Line(water, 0.999, "water phase"))
    return report(Formula("f", lines), Setting(scope=where))


@every(
    "function, inci, market, law",
    [
        ("preservative", "Phenoxyethanol", "EU", True),
        ("preservative", "Phenoxyethanol", "GB", True),
        ("preservative", "Linalool", "EU", False),
        ("preservative", "Linalool", "GB", False),
        ("preservative", "Linalool", "US", True),  # no list there
        ("humectant", "Linalool", "EU", True),
        ("preservative", "Caprylhydroxamic Acid", "EU", None),
        ("preservative", "caprylyl glycol", "GB", None),
        ("preservative", "Ethylhexylglycerin", "EU", None),
        ("preservative", "Glycerin", "EU", None),  # all of it is used for other purposes
        ("preservative", "Moon Dust", "EU", None),  # may stand there under another name
        ("preservative", "Sodium o-Phenylphenate", "EU", True),
        ("preservative", "Sodium o-Phenylphenate", "GB", False),
        ("uv filter", "Octocrylene", "EU", True),
        ("uv filter", "Linalool", "EU", False),
        ("uv filter", "Octocrylene", "US", None),  # makes a drug of it
        ("colourant", "CI 77491", "EU", True),
        ("colourant", "CI 77491", "US", True),
        ("colourant", "Henna", "EU", False),
        ("colourant", "Henna", "US", False),
        ("colourant", "Mica", "EU", None),
        ("colourant", "CI 99999", "EU", False),  # the list goes by these numbers, and holds all of them
        ("colourant", "C.I. 12345", "GB", False),
        ("colourant", "CI 99999", "US", False),
        ("colourant", "CI 16255", "US", False),  # listed in the EU
        ("colourant", "CI 73015", "US", False),  # for food and drugs only
        ("colourant", "D&C Red No. 99", "US", False),
        ("colourant", "D&C Red No. 39", "US", False),  # for drugs only
        ("colourant", "Moon Dust", "US", None),
        ("colourant", "Spirulina Platensis Extract", "US", None),  # has another purpose
        ("colourant", "CI 19140:1", "EU", None),  # a lake
        ("colourant", "CI 12490", "EU", True),
        ("colourant", "Mica", "US", True),
        ("colourant", "Ultramarines", "US", True),
    ],
)
def test_what_a_list_says_of_a_line(function: str, inci: str, market: str, law: bool | None) -> None:
    found = judged(bought_as(function, **{inci.replace(" ", "_"): 100.0}), scope(market))
    assert found.keeps_law is law
    if law is False:
        (words,) = [said for said in found.warnings if said.text.startswith(f"Not allowed: our stuff as a {function}")]
        assert words.level == "stop"
        assert "Annex" in words.text or "21 CFR" in words.text
    if law is None:
        assert [said for said in found.warnings if f"not known whether it is allowed as a {function} (" in said.text]


@pytest.mark.parametrize("market", ["EU", "GB"])
def test_the_list_of_colours_is_complete(market: str) -> None:
    """Annex IV, entries 1 to 153 and carbon black in its nano form; what it caps has a limit."""
    rows = [row for row in shipped("positive_lists") if (row["list"], row["market"]) == ("colourant", market)]
    assert {row["entry"] for row in rows} == {*map(str, range(1, 154)), "126a"}
    capped = {name for row in rows if row["maximum"] and row["inci"] != "Silver" for name in row["inci"].split("; ")}
    limited = {name for rule in rules() if rule.market == market and rule.kind == "maximum" for name in rule.factors}
    assert capped <= limited


def test_one_listed_constituent_is_enough() -> None:
    assert list(standings(bought_as("preservative", Phenoxyethanol=10.0, Linalool=90.0), scope("EU"))) == []


def test_a_second_function_is_not_known_where_nothing_is_listed() -> None:
    booster = replace(bought_as("humectant", Linalool=100.0), functions=("humectant", "preservative"))
    (point,) = standings(booster, scope("EU"))
    assert point.allowed is None
    assert "bought first as a humectant" in in_words(point.why)


@pytest.mark.parametrize(("day", "law"), [("2026-07-14", True), ("2026-07-15", False)])
def test_a_uv_filter_is_listed_until_it_is_struck(day: str, law: bool) -> None:
    where = scope("GB", day=datetime.date.fromisoformat(day))
    filtering = bought_as("uv filter", **{"4-Methylbenzylidene_Camphor": 100.0})
    assert judged(filtering, where).keeps_law is law


@pytest.mark.parametrize(("use", "law"), [("rinse-off", True), ("leave-on", False)])
def test_a_colour_for_rinse_off_products_is_not_left_on(use: str, law: bool) -> None:
    assert judged(bought_as("colourant", CI_10006=100.0), scope("EU", use)).keeps_law is law


def test_a_colour_on_no_list_of_the_us_is_told_from_memory() -> None:
    """The list was not read whole."""
    report = judged(bought_as("colourant", CI_16255=100.0), scope("US"))
    (warning,) = [said for said in report.warnings if said.text.startswith("Not allowed")]
    assert "(US, 21 CFR 73, 74 and 82, from memory)" in warning.text
    assert "broken by our stuff as a colourant (from memory)" in law_line(report, None).text
    assert "from memory" not in law_line(judged(bought_as("colourant", CI_99999=100.0), scope("EU")), None).text
    assert [said for said in report.warnings if "nothing was looked up" in said.text] == []


def test_a_warning_from_memory_is_told_where_the_law_is_met() -> None:
    """Whether a name stands on the list of California's Proposition 65 was not read."""
    report = judged(bought_as("powder", Talc=100.0), scope("US-CA"))
    assert report.keeps_law is True
    assert "California, substances that need a warning (US-CA, from memory)" in law_line(report, None).text
    assert "from memory" not in law_line(judged(bought_as("powder", Talc=100.0), scope("US")), None).text


CERTIFIED = [
    ("D&C Red No. 36", "Red 36", "CI 12085"), ("D&C Red No. 33", "Red 33", "CI 17200"),
    ("FD&C Red No. 40", "Red 40", "CI 16035"), ("D&C Yellow No. 10", "Yellow 10", "CI 47005"),
    ("D&C Red No. 6", "Red 6", "CI 15850"), ("D&C Orange No. 5", "Orange 5", "CI 45370"),
    ("Ext. D&C Violet No. 2", "Ext. Violet 2", "CI 60730"), ("D&C Green No. 5", "Green 5", "CI 61570"),
]  # fmt: skip


@pytest.mark.parametrize("names", CERTIFIED, ids=lambda names: str(names[0]))
def test_a_certified_colour_is_listed_by_name_and_its_number_leaves_certification_open(
    names: tuple[str, ...],
) -> None:
    for name in names:
        item = bought_as("colourant", **{canonical(name): 100.0})
        assert resolve(name).certain, name
        assert [point.allowed for point in standings(item, scope("US"))] == [None] * name.startswith("CI"), name
        assert list(standings(item, scope("EU"))) == [], name


@pytest.mark.parametrize(
    ("inci", "area", "law"),
    [
        ("Carbon Black", "body", False), ("Carbon Black", "eyes", None), ("D&C Black No. 3", "lips", False),
        ("Henna", "hair", None), ("Dihydroxyacetone", "lips", False), ("Dihydroxyacetone", "body", None),
        ("Orange 4", "lips", False), ("CI 26100", "body", None), ("Red 17", "body", True), ("CI 26100", "eyes", False),
    ],
)  # fmt: skip
def test_a_colour_for_some_products_of_an_area_is_not_known_there(inci: str, area: str, law: bool | None) -> None:
    points = list(standings(bought_as("colourant", **{canonical(inci): 100.0}), scope("US", "leave-on", area)))
    assert [point.allowed for point in points] == ([] if law else [law])


def test_a_colour_over_what_the_us_allows_on_lips_is_over_a_limit() -> None:
    lips = scope("US", "leave-on", "lips")
    for name, least in (("D&C Orange No. 5", 5.0), ("D&C Red No. 33", 3.0), ("D&C Red No. 36", 3.0)):
        item = bought_as("colourant", **{name: 100.0})
        water = ingredient("water", 0.0, "water", contains={"Aqua": 100.0})
        for percent, kept in ((least, True), (least + 0.1, False)):
            lines = (Line(item, percent / 100, "cool-down"), Line(water, 1 - percent / 100, "water phase"))
            assert report(Formula("f", lines), Setting(scope=lips)).keeps_law is kept, name


def test_a_colour_that_the_us_lists_for_external_use_is_not_for_lips() -> None:
    assert judged(bought_as("colourant", Ultramarines=100.0), scope("US", "leave-on", "lips")).keeps_law is False


@pytest.mark.parametrize("market", ["EU", "GB", "US"])
def test_no_shipped_preservative_is_forbidden(market: str) -> None:
    items = read_catalogue().ingredients.values()
    assert [item.name for item in items if item.has("preservative") and not_allowed(item, scope(market))] == []


BRIEF = (
    'title = "t"\nkind = "lotion"\nuse = "rinse-off"\nmarkets = ["{market}"]\ndate = 2026-11-26\n'
    'usual = "warn"\nown_files = ["own.csv"]\n'
    'candidates = ["water", "glycerin", "our stuff"]\n[goal]\nlowest = "cost"\n{more}'
)


def brief(folder: Path, market: str, more: str = "") -> Path:
    (folder / "own.csv").write_text(
        "ingredient,phase,functions,inci,price (EUR/kg)\nour stuff,water phase,preservative,Linalool,0.1\n"
        "water,,,,0.5\nglycerin,,,,2\n",
        encoding="utf-8",
    )
    path = folder / "brief.toml"
    path.write_text(BRIEF.format(market=market, more=more), encoding="utf-8")
    return path


def test_a_design_leaves_out_what_no_list_allows_and_says_why(tmp_path: Path) -> None:
    asked = read_brief(brief(tmp_path, "EU"))
    assert [name for name, why in asked.left_out if "not allowed as a preservative (EU" in in_words(why)] == [
        "our stuff"
    ]
    answer = design(asked)
    assert isinstance(answer, Designed)
    assert answer.formula.fraction("our stuff") == 0
    there = read_brief(brief(tmp_path, "US"))
    assert "our stuff" in [item.name for item in there.mix.ingredients]


def test_a_line_that_asks_for_it_is_a_fault_with_the_law(tmp_path: Path) -> None:
    with pytest.raises(BadInput) as caught:
        read_brief(brief(tmp_path, "EU", '[lines]\n"our stuff" = "1 %"\n'))
    assert "cannot be overruled" in str(caught.value)
    assert "Annex V" in str(caught.value)


@pytest.mark.parametrize("name", ["Blue 1", "FD&C Blue No. 1", "CI 42090", "ci 42090", "C.I. 42090"])
@pytest.mark.parametrize("market", ["EU", "GB", "US"])
def test_a_colour_is_listed_by_every_name_of_its(name: str, market: str) -> None:
    assert list(standings(bought_as("colourant", **{name: 100.0}), scope(market))) == []


@pytest.mark.parametrize(
    ("inci", "market", "law"),
    [
        ("Henna", "EU", None), ("Henna", "GB", None), ("Henna", "US", None),
        ("Alkanna Tinctoria Root Extract", "EU", None),
        ("Guaiazulene", "EU", None), ("Guaiazulene", "US", True),  # listed there
        ("Caprylyl Glycol", "EU", True),  # has another purpose
    ],
)  # fmt: skip
def test_a_colour_on_no_list_is_not_passed_because_it_is_called_an_active(
    inci: str, market: str, law: bool | None
) -> None:
    item = ingredient("our stuff", 1.0, "active", contains={inci: 100.0})
    assert judged(item, scope(market)).keeps_law is law
