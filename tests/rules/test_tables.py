"""The tables of rules, ranges and physical figures keep their schema."""

import csv
import datetime
import re

import pytest

from optiform.brief.brief import KINDS
from optiform.ingredients.ingredient import FUNCTIONS, KNOWN_UNITS
from optiform.properties.registry import find_property
from optiform.properties.water_activity import TEMPERATURE
from optiform.reading.paths import DATABASE
from optiform.rules.markets import MARKETS
from tests.every import every
from tests.tables import EVIDENCE, PHASES, Row, functions, numbers, rows

COLUMNS = {
    "limits": (
        "id,group,inci,factors,limit,market,use,area,kind,only as,ph at most,statement,words,from,until,"
        "expressed as,reference,source,evidence,read on,note"
    ),
    "positive_lists": (
        "list,entry,inci,market,use,area,from,until,maximum,condition,reference,source,evidence,read on,note"
    ),
    "unlisted": "inci,list,other purpose,us,source,evidence,read on,note",
    "duties": ("id,market,title,what,figure,from,who is free,touches,words,reference,source,evidence,read on,note"),
    "usual_ranges": "kind,property,grain,low,typical,high,unit,over,needed,if used,below,above,source,evidence,note",
    "usual_use": "kind,ingredient,low,typical,high,source,evidence,note",
    "usual_instead": "kind,property,instead,low,source,evidence,note",
    "usual_choices": "kind,function,ingredients,source,evidence,note",
    "kind_excludes": "kind,what,above,reason,source,evidence,note",
    "kind_words": "called,kinds,about,source,evidence",
    "solubility": "substance,temperature,grams,source,evidence,note",
    "water_activity": ("solute,model,molality,value,molar mass,valid to,temperature,source,evidence,note"),
    "eutectics": "first,second,above share,worst,effect,source,evidence,note",
    "cautions": "id,trigger,where,text,source,evidence",
    "allergens": "name,inci,cas,list,from,leave-on,rinse-off,group,reference,source,evidence,read on,note",
    "colourants": (
        "inci,cas,ci,eu name,us name,eu reference,us reference,us certified,us eyes,us lips,us external,"
        "source,evidence,us source,us evidence,read on,note"
    ),
    "substances": "inci,cas,cas evidence,ec,ec evidence,source,evidence,note",
    "names": "spelling,inci,kind,certainty,source,evidence,note",
    "label_names": "names,eu,us,source,evidence,note",
    "label_items": "id,markets,trigger,part,about,text,source,evidence",
    "package_tolerances": "above,up to,error,unit,source,evidence,note",
}
AREAS = {"body", "face", "hands", "feet", "lips", "hair", "eyes", "baby"}
USES = {"rinse-off", "leave-on"}
GRAINS = {"insoluble", "sugar", "salt"}
UNITS = {
    "grains per 100 of base": "g per 100 g",
    "emulsifier per 100 of oil phase": "g per 100 g",
    "melted oil per 100 of solids at 35 degC": "g per 100 g",
    "number of ingredients": "count",
}
HELD = {"bar", "jar", "stick"}
SITUATIONS = {
    "always",
    "water",
    "no water",
    "no preservative with water",
    "hot phase",
    "not on lips",
    "insoluble",
    *HELD,
}
ANY_DATE = "start not known: applied at any date"


@every("table", COLUMNS)
def test_columns(table: str) -> None:
    with (DATABASE / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        header, *body = list(csv.reader(file))
    assert ",".join(header) == COLUMNS[table]
    assert body
    assert [line for line in body if len(line) != len(header)] == []
    assert [line for line in body if any(cell != cell.strip() for cell in line)] == []


@every("table", COLUMNS)
def test_every_figure_names_source_and_evidence(table: str) -> None:
    known = {row["id"] for row in rows("sources")}
    assert {row["source"] for row in rows(table)} <= known
    assert {row["evidence"] for row in rows(table)} <= EVIDENCE


@every("table", COLUMNS)
def test_no_row_promises_what_was_not_tested(table: str) -> None:
    promise = re.compile(r"\b(is|are|be|being) (safe|stable|preserved)\b|shelf life", re.IGNORECASE)
    assert [row for row in rows(table) if promise.search(" ".join(row.values()))] == []


@pytest.mark.parametrize("table", ["limits", "cautions", "label_items", "duties"])
def test_ids_are_unique(table: str) -> None:
    ids = [row["id"] for row in rows(table)]
    assert len(ids) == len(set(ids))


@every("row", rows("limits"), ids=lambda row: row["id"])
def test_limit_row(row: Row) -> None:
    assert row["id"].startswith(row["market"] + "-")
    assert row["market"] in MARKETS
    assert row["use"] in USES | {"any"}
    assert row["area"] == "any" or set(row["area"].split("; ")) <= AREAS
    assert all((row["group"], row["expressed as"], row["reference"]))
    factors = [float(factor) for factor in row["factors"].split("; ")]
    assert len(factors) == len(row["inci"].split("; "))
    assert all(0 < factor <= 1 for factor in factors)
    assert limit_fits_kind(row["kind"], row["limit"])
    assert dates_in_order(row["from"], row["until"])
    narrowed = (row["only as"], row["kind"])
    assert not row["ph at most"] or (narrowed == ("ph adjuster", "open") and 0 < float(row["ph at most"]) < 14)
    assert row["only as"] in ("", "preservative", "uv filter") or narrowed in (
        ("added", "prohibited"),
        ("ph adjuster", "open"),
        ("powder product", "label"),
    )


def limit_fits_kind(kind: str, limit: str) -> bool:
    """A ban has limit 0, a maximum more than 0, a row without an entry none; what is open may begin above one."""
    match kind:
        case "no entry":
            return limit == ""
        case "open":
            return limit == "" or 0 < float(limit) < 100
        case "prohibited":
            return limit == "0"
        case "label":
            return 0 <= float(limit) < 100
        case "maximum" | "below" | "guidance":
            return 0 < float(limit) < 100
    return False


def dates_in_order(first: str, last: str) -> bool:
    dates = [datetime.date.fromisoformat(text) for text in (first, last) if text]
    return dates == sorted(dates)


def test_what_the_british_text_is_inferred_to_be_is_never_called_read() -> None:
    """Rows taken over from the European text, where no instrument that was read touches the entry."""
    taken = [row for row in rows("limits") if row["market"] == "GB" and row["source"] == "L-GBTWIN"]
    assert len(taken) > 200
    assert {row["evidence"] for row in taken} == {"secondary"}


def test_a_rule_of_a_later_act_has_a_start_or_says_that_it_is_not_known() -> None:
    later = [row for row in rows("limits") if newest_year(row["reference"]) > 2009 and row["kind"] != "no entry"]
    assert later
    assert [row["id"] for row in later if not row["from"] and ANY_DATE not in row["note"]] == []
    dated = [row for row in rows("limits") if row["from"] or row["kind"] == "no entry"]  # the latter limit nothing
    assert [row["id"] for row in dated if ANY_DATE in row["note"]] == []


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


@every("row", rows("usual_ranges"), ids=lambda r: f"{r['kind']}: {r['property']}")
def test_usual_range(row: Row) -> None:
    assert row["kind"] in KINDS
    assert known_property(row["property"])
    assert row["if used"] in ("", "yes")
    assert row["needed"] in ("", "yes")
    assert not (row["if used"] and row["needed"]), "what is needed is always used"
    assert row["needed"] == "" or float(row["low"]) > 0
    assert row["grain"] in {"", *GRAINS}
    assert row["unit"] == UNITS.get(row["property"], "%")
    given = numbers(row, "low", "typical", "high")
    assert given
    assert given == sorted(given)
    assert given[0] >= 0
    assert row["unit"] != "%" or given[-1] <= 100
    assert all((row["below"], row["above"]))


@every("row", rows("kind_excludes"), ids=lambda r: f"{r['kind']}: {r['what']}")
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
    keys = [(row["kind"], row["property"], row["grain"]) for row in rows("usual_ranges")]
    assert {kind for kind, _, _ in keys} == set(KINDS)
    assert len(keys) == len(set(keys))


def test_a_property_has_no_range_beside_the_ranges_of_each_grain() -> None:
    general = {(row["kind"], row["property"]) for row in rows("usual_ranges") if not row["grain"]}
    assert not {(row["kind"], row["property"]) for row in rows("usual_ranges") if row["grain"]} & general


def test_what_a_mean_is_over_is_told_and_of_nothing_else() -> None:
    for row in rows("usual_ranges"):
        name = row["property"]
        mean = "per 100" in name or "in the base" in name or name.startswith("solid fat")
        assert bool(numbers(row, "over")) == mean, name
        assert all(0 < size < 100 for size in numbers(row, "over"))


def test_a_sugar_scrub_has_less_water_than_its_sugar_goes_into() -> None:
    """Of 50 sugar 16 water take up 33, 25 water all of it: 204 g in 100 g at 20 degC."""
    of_sugar = {row["property"]: row for row in rows("usual_ranges") if row["grain"] == "sugar"}
    water, left = float(of_sugar["water"]["high"]), float(of_sugar["undissolved sugar at 20 degC"]["low"])
    assert float(of_sugar["grains"]["high"]) - 2.04 * water >= left


@every("row", rows("usual_use"), ids=lambda r: f"{r['kind']}: {r['ingredient']}")
def test_usual_use_in_a_kind(row: Row) -> None:
    assert row["kind"] in KINDS
    assert row["ingredient"] in {item["name"] for item in rows("ingredients")}
    ends = numbers(row, "low", "typical", "high")
    assert len(ends) == 3
    assert ends == sorted(ends)
    assert 0 <= ends[0] <= ends[-1] <= 100


def test_usual_use_and_choices_stand_once() -> None:
    for table, name in (("usual_use", "ingredient"), ("usual_choices", "function")):
        keys = [(row["kind"], row[name]) for row in rows(table)]
        assert len(keys) == len(set(keys))


@every("row", rows("usual_instead"), ids=lambda r: f"{r['kind']}: {r['property']}")
def test_what_does_the_work_of_a_part_is_another_property_of_its_kind(row: Row) -> None:
    parts = {x["property"]: x["needed"] for x in rows("usual_ranges") if x["kind"] == row["kind"]}
    assert row["property"] in parts
    assert row["instead"] != row["property"]
    assert find_property(row["instead"], "EUR").name == row["instead"]
    assert 0 < float(row["low"]) < 100


@every("row", rows("usual_choices"), ids=lambda r: f"{r['kind']}: {r['function']}")
def test_what_makers_take_serves_that_function_first(row: Row) -> None:
    firsts = {item["name"]: item["functions"].split(";")[0].strip() for item in rows("ingredients")}
    names = row["ingredients"].split("; ")
    assert row["kind"] in KINDS
    assert len(names) == len(set(names))
    assert [name for name in names if firsts[name] != row["function"]] == []


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
    assert found[0]["solute"] in {"Sodium Chloride", "Magnesium Sulfate", "Sodium Bicarbonate"}
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


@every("row", rows("usual_ranges"), ids=lambda row: f"{row['kind']}, {row['property']}")
def test_what_is_usual_does_not_speak_of_law(row: Row) -> None:
    """The law counts the jar and certificates a fragrance; both have tables of their own that say what is kept."""
    assert not re.search(r"legal|\blaw|certificate|supplier|maximum|full preservation", row["below"] + row["above"])


@every("row", rows("cautions"), ids=lambda row: row["id"])
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
