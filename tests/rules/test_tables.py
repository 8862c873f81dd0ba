"""The tables of rules, ranges and physical figures keep their schema."""

import csv
import datetime
import re

import pytest

from optiform.ingredients.ingredient import FUNCTIONS, KNOWN_UNITS
from optiform.properties.registry import find_property
from optiform.properties.water_activity import TEMPERATURE
from optiform.reading.paths import DATABASE
from tests.tables import EVIDENCE, PHASES, Row, functions, numbers, rows

COLUMNS = {
    "limits": (
        "id,group,inci,factors,limit,market,use,area,kind,from,until,expressed as,reference,source,evidence,note"
    ),
    "usual_ranges": "kind,property,low,typical,high,unit,if used,below,above,source,evidence,note",
    "kind_excludes": "kind,what,above,reason,source,evidence,note",
    "solubility": "substance,temperature,grams,source,evidence,note",
    "water_activity": ("solute,model,molality,value,molar mass,valid to,temperature,source,evidence,note"),
    "eutectics": "first,second,above share,worst,effect,source,evidence,note",
    "cautions": "id,trigger,where,text,source,evidence",
    "allergens": "name,inci,cas,list,from,leave-on,rinse-off,group,reference,source,evidence,note",
    "colourants": (
        "inci,cas,ci,eu name,us name,eu reference,us reference,us certified,us eyes,us lips,us external,"
        "source,evidence,us source,us evidence,note"
    ),
    "substances": "inci,cas,cas evidence,ec,ec evidence,source,evidence,note",
    "names": "spelling,inci,kind,certainty,source,evidence,note",
    "label_names": "names,eu,us,source,evidence,note",
    "label_items": "id,markets,trigger,part,about,text,source,evidence",
    "package_tolerances": "above,up to,error,unit,source,evidence,note",
}
AREAS = {"body", "face", "hands", "feet", "lips", "hair", "eyes", "baby"}
USES = {"rinse-off", "leave-on"}
KINDS = {
    "cream scrub",
    "anhydrous emulsified scrub",
    "foaming scrub",
    "lotion",
    "body butter",
    "balm",
    "solid cleansing bar",
}
UNITS = {
    "grains per 100 of base": "g per 100 g",
    "emulsifier per 100 of oil phase": "g per 100 g",
    "melted oil per 100 of solids at 35 degC": "g per 100 g",
    "number of ingredients": "count",
}
SITUATIONS = {"always", "water", "no water", "no preservative with water", "hot phase", "not on lips", "insoluble"}
ANY_DATE = "start not known: applied at any date"


@pytest.mark.parametrize("table", COLUMNS)
def test_columns(table: str) -> None:
    with (DATABASE / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        header, *body = list(csv.reader(file))
    assert ",".join(header) == COLUMNS[table]
    assert body
    assert [line for line in body if len(line) != len(header)] == []
    assert [line for line in body if any(cell != cell.strip() for cell in line)] == []


@pytest.mark.parametrize("table", COLUMNS)
def test_every_figure_names_source_and_evidence(table: str) -> None:
    known = {row["id"] for row in rows("sources")}
    assert {row["source"] for row in rows(table)} <= known
    assert {row["evidence"] for row in rows(table)} <= EVIDENCE


@pytest.mark.parametrize("table", COLUMNS)
def test_no_row_promises_what_was_not_tested(table: str) -> None:
    promise = re.compile(r"\b(is|are|be|being) (safe|stable|preserved)\b|shelf life", re.IGNORECASE)
    assert [row for row in rows(table) if promise.search(" ".join(row.values()))] == []


@pytest.mark.parametrize("table", ["limits", "cautions", "label_items"])
def test_ids_are_unique(table: str) -> None:
    ids = [row["id"] for row in rows(table)]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("row", rows("limits"), ids=lambda row: row["id"])
def test_limit_row(row: Row) -> None:
    assert row["id"].startswith(row["market"] + "-")
    assert row["market"] in {"EU", "GB", "US"}
    assert row["use"] in USES | {"any"}
    assert row["area"] == "any" or set(row["area"].split("; ")) <= AREAS
    assert all((row["group"], row["expressed as"], row["reference"]))
    factors = [float(factor) for factor in row["factors"].split("; ")]
    assert len(factors) == len(row["inci"].split("; "))
    assert all(0 < factor <= 1 for factor in factors)
    assert limit_fits_kind(row["kind"], row["limit"])
    assert dates_in_order(row["from"], row["until"])


def limit_fits_kind(kind: str, limit: str) -> bool:
    """A ban has limit 0, a maximum more than 0, a row without an entry none at all."""
    match kind:
        case "no entry":
            return limit == ""
        case "prohibited":
            return limit == "0"
        case "label":
            return 0 <= float(limit) < 100
        case "maximum" | "guidance":
            return 0 < float(limit) < 100
    return False


def dates_in_order(first: str, last: str) -> bool:
    dates = [datetime.date.fromisoformat(text) for text in (first, last) if text]
    return dates == sorted(dates)


def test_rules_without_a_reading_of_the_british_text_are_recalled() -> None:
    """Rows taken over from the European text by memory say so."""
    taken = [row for row in rows("limits") if row["market"] == "GB" and row["source"] == "R-MEM"]
    assert taken
    assert {row["evidence"] for row in taken} == {"recalled"}
    assert [row["id"] for row in taken if "check the GB annex" not in row["note"]] == []


def test_a_rule_of_a_later_act_has_a_start_or_says_that_it_is_not_known() -> None:
    later = [row for row in rows("limits") if newest_year(row["reference"]) > 2009]
    assert later
    assert [row["id"] for row in later if not row["from"] and ANY_DATE not in row["note"]] == []
    assert [row["id"] for row in rows("limits") if row["from"] and ANY_DATE in row["note"]] == []


def newest_year(reference: str) -> int:
    """The latest year that a reference names, 0 where it names none. Numbers of entries are not taken for years."""
    return max(map(int, re.findall(r"(?<!\d)20[0-4]\d(?!\d)", reference)), default=0)


@pytest.mark.parametrize(
    ("reference", "year"),
    [
        ("Regulation (EC) 1223/2009, Annex V/12", 2009),
        ("Regulation (EC) 1223/2009, Annex V/57; Regulation (EU) 2016/1198", 2016),
        ("SI 2022/659", 2022),
        ("Public Law 114-114", 0),
    ],
)
def test_the_year_of_a_reference(reference: str, year: int) -> None:
    assert newest_year(reference) == year


@pytest.mark.parametrize("row", rows("usual_ranges"), ids=lambda r: f"{r['kind']}: {r['property']}")
def test_usual_range(row: Row) -> None:
    assert row["kind"] in KINDS
    assert known_property(row["property"])
    assert row["if used"] in ("", "yes")
    assert row["unit"] == UNITS.get(row["property"], "%")
    given = numbers(row, "low", "typical", "high")
    assert given
    assert given == sorted(given)
    assert given[0] >= 0
    assert row["unit"] != "%" or given[-1] <= 100
    assert all((row["below"], row["above"]))


@pytest.mark.parametrize("row", rows("kind_excludes"), ids=lambda r: f"{r['kind']}: {r['what']}")
def test_what_a_kind_is_made_without(row: Row) -> None:
    about, _, word = row["what"].partition(":")
    known = {"phase": PHASES, "function": set(FUNCTIONS), "value": set(KNOWN_UNITS)}
    assert row["kind"] in KINDS
    assert word in known[about]
    assert (about == "value") == bool(numbers(row, "above"))
    assert row["reason"]
    assert row["evidence"] in EVIDENCE


def known_property(name: str) -> bool:
    return name == "number of ingredients" or bool(find_property(name, "EUR"))


def test_every_kind_of_product_has_ranges_once() -> None:
    pairs = [(row["kind"], row["property"]) for row in rows("usual_ranges")]
    assert {kind for kind, _ in pairs} == KINDS
    assert len(pairs) == len(set(pairs))


def test_the_typical_phases_of_a_cream_scrub_add_to_the_whole() -> None:
    typical = {
        row["property"]: float(row["typical"])
        for row in rows("usual_ranges")
        if row["kind"] == "cream scrub" and row["property"] in PHASES
    }
    assert set(typical) == PHASES
    assert sum(typical.values()) == 100


def test_solubility_rises_with_temperature() -> None:
    curves: dict[str, list[tuple[float, float]]] = {}
    for row in rows("solubility"):
        point = (float(row["temperature"]), float(row["grams"]))
        curves.setdefault(row["substance"], []).append(point)
    assert set(curves) == {"sucrose", "sodium chloride", "magnesium sulfate heptahydrate"}
    for points in curves.values():
        temperatures, grams = zip(*points, strict=True)
        assert list(temperatures) == sorted(set(temperatures))
        assert list(grams) == sorted(grams)


def test_water_activity_rows() -> None:
    solutes: dict[str, list[Row]] = {}
    for row in rows("water_activity"):
        solutes.setdefault(row["solute"], []).append(row)
    for found in solutes.values():
        assert len({(row["model"], row["molar mass"], row["valid to"]) for row in found}) == 1
        assert {float(row["temperature"]) for row in found} == {TEMPERATURE}
        assert 0 < float(found[0]["valid to"]) < 100
        if found[0]["model"] == "norrish":
            assert [row["molality"] for row in found] == [""]
        else:
            assert_osmotic(found)


def assert_osmotic(found: list[Row]) -> None:
    """Rising molalities from 0 to the bound, for a salt that parts into two ions."""
    assert found[0]["solute"] in {"Sodium Chloride", "Magnesium Sulfate"}
    molalities = [float(row["molality"]) for row in found]
    assert molalities == sorted(set(molalities))
    assert molalities[0] == 0
    assert float(found[0]["value"]) == 1
    share = float(found[0]["valid to"]) / 100
    bound = 1000 * share / (1 - share) / float(found[0]["molar mass"])
    assert bound == pytest.approx(molalities[-1], abs=0.005)


def test_eutectic_pairs_are_of_different_fats() -> None:
    for row in rows("eutectics"):
        first, second = set(row["first"].split("; ")), set(row["second"].split("; "))
        assert all(first | second)
        assert not first & second
        assert row["above share"] == "" or 0 < float(row["above share"]) < 100
        assert row["effect"]


def test_fats_of_eutectics_are_ingredients_or_said_not_to_be() -> None:
    known = {row["name"] for row in rows("ingredients")}
    for row in rows("eutectics"):
        named = set(row["first"].split("; ")) | set(row["second"].split("; "))
        assert named <= known or "not in ingredients.csv" in row["note"], named - known


@pytest.mark.parametrize("row", rows("usual_ranges"), ids=lambda row: f"{row['kind']}, {row['property']}")
def test_what_is_usual_does_not_speak_of_law(row: Row) -> None:
    """The law counts the jar and certificates a fragrance; both have tables of their own that say what is kept."""
    assert not re.search(r"legal|\blaw|certificate|supplier|maximum|full preservation", row["below"] + row["above"])


@pytest.mark.parametrize("row", rows("cautions"), ids=lambda row: row["id"])
def test_caution(row: Row) -> None:
    assert row["where"] in {"making", "using", "selling"}
    assert row["text"].endswith(".")
    assert len(row["text"]) <= 200
    assert all(known_trigger(part) for part in row["trigger"].split(" & "))


def test_no_caution_calls_a_product_a_low_risk() -> None:
    """What a standard lists is told as its list, and as packed."""
    told = [row["text"] for row in rows("cautions") if "risk" in row["text"]]
    assert any("ISO 29621" in text for text in told)
    for text in told:
        assert "ISO 29621" not in text or ("lists" in text and "as packed" in text and "does not cover" in text)
        assert not re.search(r"\b(counts as|is|are) (a )?low", text)


def known_trigger(trigger: str) -> bool:
    if trigger in SITUATIONS:
        return True
    allowed = {
        "function": functions(),
        "phase": PHASES,
        "use": USES,
        "area": AREAS,
        "ingredient": {row["name"] for row in rows("ingredients")},
    }
    family, _, value = trigger.partition(":")
    if family == "inci":  # a maker's own ingredient may bring a substance that is not in the tables
        return value != ""
    return value in allowed.get(family, set())
