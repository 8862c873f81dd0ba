"""The tables of law: how they cite, when they were read, from when to when they hold."""

import datetime
import re

import pytest

from optiform.ingredients.names import canonical
from optiform.reading.tables import shipped
from optiform.rules.law import AREAS, USES, Rule, Scope, rules
from optiform.rules.markets import MARKETS, country
from tests.every import every
from tests.tables import Row, rows

DAY = datetime.timedelta(days=1)
ENTRY = r"\d+[a-z]?"
ANNEX = {"EU": rf"Annex (II|III|IV|V|VI)(/{ENTRY}| preamble| \(new entry\)|$|;)", "GB": r"Annex (V preamble|[2-6]\b)"}
#: What a reference of a market begins with, where the row states law.
ACTS = {
    "EU": r"Regulation \((EC|EU)\) \d+/\d+|REACH Annex XVII/\d+|French law \d{4}-\d+|Swiss|9th|2\dth adaptation|RAC",
    "GB": (
        r"assimilated Regulation \(EC\) 1223/2009|SI \d{4}/\d+|UK REACH Annex 17/\d+|\(No\. 2\) Regulations 2026|"
        r"Cosmetic Products (Regulation )?\(Restriction of Chemical Substances\)|HSE opinion|Annex V preamble"
    ),
    "US": r"21 CFR \d{2,3}(\.\d+)?|Public Law \d+-\d+|MoCRA s\. \d+|FDA guidance",
    "US-CA": r"California (Health and Safety Code s\. \d+|Proposition 65)",
    "US-CO": r"HB\d+-\d+",
    "US-CT": r"Public Act \d+-\d+",
    "US-MD": r"Maryland Health-General s\. \d+-\d+",
    "US-ME": r"\d+ MRSA s\. \d+",
    "US-MN": r"Minnesota Statutes s\. \d+\.\d+",
    "US-NY": r"New York ECL \d+-\d+",
    "US-OR": r"ORS \d+A\.\d+",
    "US-VT": r"\d+ V\.S\.A\. s\. \d+[a-z]",
    "US-WA": r"RCW \d+A\.\d+\.\d+|WAC \d+-\d+-\d+",
}
LAW = {"maximum", "below", "prohibited", "label", "open"}
READ = {"published", "secondary", "derived"}


@every("row", rows("limits"), ids=lambda row: row["id"])
def test_the_reference_of_a_rule_is_of_its_market(row: Row) -> None:
    if row["kind"] in LAW:
        assert re.match(ACTS[row["market"]], row["reference"])
    if "1223/2009, Annex" in row["reference"]:
        assert re.search(ANNEX[row["market"]], row["reference"])
    assert not re.search(r"\bAnnex [IVX]+/", row["reference"]) or country(row["market"]) == "EU"


LISTED = {f"{row['market']} {row['list']} {row['entry']} {row['inci'][:9]}": row for row in rows("positive_lists")}


@every("row", LISTED.values(), ids=LISTED.keys())
def test_a_row_of_a_list(row: Row) -> None:
    annex = {"preservative": ("V", "5"), "colourant": ("IV", "4"), "uv filter": ("VI", "6")}[row["list"]]
    begin, numeral = {"EU": ("Regulation", annex[0]), "GB": ("assimilated Regulation", annex[1])}[row["market"]]
    where = f"/{re.escape(row['entry'])}" if row["entry"] else ", new entry"
    assert re.match(rf"{begin} \(EC\) 1223/2009, Annex {numeral}{where}(;|$)", row["reference"])
    assert row["use"] in (*USES, "any")
    assert row["area"] == "any" or set(row["area"].split("; ")) < set(AREAS)
    assert row["evidence"] == "secondary" or row["market"] == "EU"


def test_the_list_of_preservatives_is_complete() -> None:
    """Annex V, entries 1 to 61: 5, 6, 10, 31 and 36 are struck, 8 since 2022; 40 and 41 are not in the table read."""
    entries = {row["entry"] for row in rows("positive_lists") if (row["list"], row["market"]) == ("preservative", "EU")}
    numbers = {str(number) for number in range(1, 62)} - {"5", "6", "10", "31", "36", "40", "41"}
    assert entries == numbers | {"1a", "12a"}


@pytest.mark.parametrize("table", ["limits", "positive_lists", "unlisted", "duties", "allergens", "colourants"])
def test_every_row_has_the_day_it_was_last_read_or_says_that_it_never_was(table: str) -> None:
    for row in rows(table):
        day = row["read on"]
        assert bool(day) or row["evidence"] == "recalled", row
        assert not day or datetime.date.fromisoformat(day) <= datetime.date(2026, 11, 27)
        assert row["evidence"] in READ | {"recalled"}


def test_what_a_secondary_source_told_is_not_called_read() -> None:
    told = re.compile(
        r"(?<!start from a )secondary (source|page)|figures? read in (a|three|four|five) summar", re.IGNORECASE
    )
    for table in ("limits", "allergens"):
        assert [row for row in rows(table) if row["evidence"] == "published" and told.search(row["note"])] == []


@pytest.mark.parametrize("table", ["limits", "positive_lists", "unlisted"])
def test_names_stand_as_the_resolver_spells_them(table: str) -> None:
    """Rules are compared to the letter: a name that is resolved to another would switch its rule off."""
    names = {name for row in rows(table) for name in row["inci"].split("; ")}
    assert [(name, canonical(name)) for name in sorted(names) if canonical(name) != name] == []


def scope(rule: Rule, date: datetime.date) -> Scope:
    use = USES[0] if rule.use == "any" else rule.use
    area = AREAS[0] if "any" in rule.areas else rule.areas[0]
    return Scope(use, area, (rule.market,), date)


DATED = [rule for rule in rules() if rule.start or rule.end]


@every("rule", DATED, ids=lambda rule: rule.id)
def test_a_rule_holds_from_its_first_day_to_its_last(rule: Rule) -> None:
    if rule.start:
        assert rule.applies(scope(rule, rule.start))
        assert not rule.applies(scope(rule, rule.start - DAY))
    if rule.end:
        assert rule.applies(scope(rule, rule.end))
        assert not rule.applies(scope(rule, rule.end + DAY))


@pytest.mark.parametrize("market", MARKETS)
def test_every_market_has_rules(market: str) -> None:
    assert [rule for rule in rules() if rule.market == market]


def test_a_state_has_the_federal_law_too_and_the_country_not_that_of_a_state() -> None:
    day = datetime.date(2026, 11, 26)
    assert Scope("rinse-off", "body", ("US-VT",), day).jurisdictions == ("US", "US-VT")
    assert Scope("rinse-off", "body", ("US", "US-NY"), day).jurisdictions == ("US", "US-NY")
    assert Scope("rinse-off", "body", ("EU", "GB"), day).jurisdictions == ("EU", "GB")


def test_a_state_of_the_us_keeps_no_rule_of_another() -> None:
    day = datetime.date(2026, 11, 26)
    covered = {rule.market for rule in rules() if rule.applies(Scope("rinse-off", "body", ("US-WA",), day))}
    assert covered == {"US", "US-WA"}


def test_what_a_list_allows_has_a_limit_or_a_ban_in_every_use_and_area() -> None:
    """A listed preservative or UV filter that no rule counts could be used at any amount."""
    listed = [row for row in rows("positive_lists") if row["list"] != "colourant" and "not read" not in row["maximum"]]
    day = datetime.date(2026, 11, 26)
    open_ended = []
    for row in listed:
        for use in USES:
            for area in AREAS:
                where = Scope(use, area, (row["market"],), day)
                held = [rule for rule in rules() if rule.hard and rule.applies(where)]
                for name in row["inci"].split("; "):
                    if not any(name in rule.factors for rule in held):
                        open_ended.append((row["market"], row["entry"], name, use, area))
    assert open_ended == []


@pytest.mark.parametrize("table", ["allergens", "colourants"])
def test_an_entry_holds_the_name_that_the_resolver_makes_of_each_of_its_spellings(table: str) -> None:
    """Else a constituent, which bears that name, would not be found in it."""
    for row in rows(table):
        names = {name for column in ("name", "inci") for name in row.get(column, "").split("; ") if name}
        assert {canonical(name) for name in names} <= names


def test_no_name_is_known_from_our_own_tables() -> None:
    """Names of the catalogue were called read, by the catalogue; each has the source of the table that it came from."""
    titles = {row["id"]: row["title"].casefold() for row in shipped("sources")}
    assert not [row["inci"] for row in shipped("substances") if "ingredient_db" in titles[row["source"]]]
    recalled = [row for row in shipped("substances") if row["source"] == "N-MEM"]
    assert recalled
    assert all(row["evidence"] == "recalled" for row in recalled)
