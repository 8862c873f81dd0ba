"""The JSON of every answer, and every kind of TOML file, against its schema; by the library of the standard's authors.

A schema allows no name that it does not list, so that a field is said here or nowhere.
"""

import contextlib
import io
import json
import re
import shlex
import tomllib
from collections.abc import Iterator
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from optiform import cli
from optiform.commands.arguments.parser import commands_of
from optiform.reading.demo import copy_demo
from optiform.reading.paths import DEMO, GUIDE
from optiform.review.answer import State
from optiform.telling.json.schema import FILES, names, schema
from tests.answers import shared
from tests.dates import ANY_DAY

OFFERS = "ingredient,supplier,pack,price,currency,date\nglycerin,Tarn Mill,5,21,EUR,2026-09-30\n"
GEL = 'ingredient,percent\nwater,99\n"dmdm hydantoin, 55 %",1\n'
LOTS = "number,ingredient,left,expiry\nG-1,glycerin,3.2,2028-02-29\n"

#: Each line of a day in the demo's workshop with the schema of its answer; one after the other, in the same folder.
#: Plans before anything is saved: so other tests ask for them too (tests/answers.py).
LINES = (
    ("design", "design brief.toml --write new.csv"),
    ("design", "design tight.toml"),
    ("design", "demo"),
    ("why-not", 'design brief.toml --why-not "cocoa butter"'),
    ("why-not", "design brief.toml --why-not today.csv"),
    ("new", 'new begun.toml --kind "body butter" --market EU'),
    ("cheaper", "cheaper brief.toml"),
    ("cheaper", "cheaper tight.toml"),
    ("one-more", "design brief.toml --one-more"),
    ("one-more", "design tight.toml --one-more"),
    ("substitute", 'substitute brief.toml "mango butter" --blend 1'),
    ("texture", "texture brief.toml --step 20"),
    ("texture", "texture brief.toml --step 400"),
    ("explore", "explore brief.toml"),
    ("explore", "explore tight.toml"),
    ("explore", 'explore brief.toml --limit "active surfactant" --from 2.5 --to 4'),
    ("explore", 'explore brief.toml --prices "15 %"'),
    ("explore", "explore brief.toml --protect 1"),
    ("explore", "explore brief.toml --unlike 4"),
    ("explore", "explore brief.toml --price-lists seasons.csv"),
    ("explore", 'explore brief.toml --protect "19 lots of 20"'),
    ("weigh", "weigh brief.toml --most 13"),
    ("weigh", "weigh brief.toml --most 9"),
    ("weigh", "weigh tight.toml"),
    ("sheet", "sheet brief.toml --html sheet.html"),
    ("sheet", "sheet tight.toml --html none.html"),
    ("check", "check today.csv --brief brief.toml"),
    ("check", "check today.csv --own workshop.csv --market EU --use leave-on"),
    ("compare", "compare today.csv new.csv --brief brief.toml"),
    ("from-label", "from-label label.txt"),
    ("from-label", 'from-label label.txt --cap "Maris Sal=1 %" --one-percent 9'),
    ("ingredients", "ingredients shea"),
    ("names", "ingredients --resolve E415 glycerine nothing-such"),
    ("moved", "stock import workshop --records ."),
    ("buy", "buy plan.toml --records ."),
    ("cliffs", "buy plan.toml --records . --cliffs"),
    ("range", "range plan.toml --records ."),
    ("range", 'range plan.toml --records . --use-up "shea butter, refined"'),
    ("range", "range plan.toml --records . --common-base --costs costs.toml"),
    ("stock", "stock"),
    ("versions", "stock versions"),
    ("ahead", "check . --on 2027-12-31 --date 2026-11-26 --own workshop.csv --use leave-on --market EU --market US-WA"),
    ("saved", 'stock receive "mango butter" "3 kg"'),
    ("saved", 'stock use "sweet almond oil" "20 g" --reason "a trial"'),
    ("saved", 'stock save new.csv --product "foot polish" --name cheap --reason "a first try" --own workshop.csv'),
    ("batch", "batch --brief brief.toml --making making.toml"),
    ("batch", "batch --brief brief.toml --records . --record F-9"),
    ("saved-batch", "stock batch F-9 --jars 25"),
    ("moved", "stock export all.zip"),
    ("declare", "declare new.csv --brief brief.toml --market EU"),
    ("declare", "declare new.csv --brief brief.toml --market US"),
    ("costs", "costs new.csv --brief brief.toml --costs costs.toml"),
    ("costs", "costs today.csv --brief brief.toml --costs costs.toml --jar-cost 3.80"),
    ("buy", "buy plan.toml --offers offers.csv --lots lots.csv"),
    ("range", "range plan.toml --offers offers.csv --lots lots.csv"),
    ("trials", "trial show"),
    ("fit", "trial fit --brief brief.toml"),
    ("predict", 'trial predict new.csv --brief brief.toml --at "10 degC"'),
    ("next", 'trial next brief.toml --ask "firmness at 10 degC" --most 140'),
    ("between", "trial between brief.toml F-2 F-3 --firmness 100"),
    ("copied", "demo --copy copy"),
    ("topics", "guide"),
    ("rules", "rules"),
    ("rules", "rules carbomer-acid"),
    ("completion", "completion bash"),
    ("faults", "design none.toml"),
    ("faults", "desgin brief.toml"),
)


def validator(name: str) -> Draft202012Validator:
    """What checks against a schema."""
    return Draft202012Validator(schema(name), format_checker=Draft202012Validator.FORMAT_CHECKER)


def faults(name: str, document: object) -> list[str]:
    """What a document says against a schema."""
    return [f"{fault.json_path}: {fault.message[:300]}" for fault in validator(name).iter_errors(document)]


def said(line: str) -> Any:
    """The JSON that a line prints."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()), contextlib.suppress(SystemExit):
        cli.main([*shlex.split(line), "--json"])
    return json.loads(out.getvalue())


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, str, Any]]:
    """Each line with the schema of its answer and the answer."""
    folder = tmp_path_factory.mktemp("schemas") / "demo"
    copy_demo(folder, ANY_DAY)
    brief = (folder / "brief.toml").read_text(encoding="utf-8")
    tight = brief.replace('"oil phase" = { low = "22 %"', '"oil phase" = { low = "27.9 %"').replace(
        '"share of oil" = { low = "8 %" }', '"share of oil" = { low = "20 %" }'
    )
    (folder / "tight.toml").write_text(tight, encoding="utf-8")
    (folder / "offers.csv").write_text(
        "ingredient,supplier,pack,price,currency,date\nglycerin,Tarn Mill,5,21,EUR,2026-09-30\n"
    )
    (folder / "lots.csv").write_text(LOTS, encoding="utf-8")
    (folder / "seasons.csv").write_text("ingredient,winter,summer\nglycerin,3.20,9\n", encoding="utf-8")
    (folder / "gel.csv").write_text(GEL, encoding="utf-8")
    with contextlib.chdir(folder), shared():
        return [(name, line, said(line)) for name, line in LINES]


def test_every_answer_is_as_its_schema_says(answers: list[tuple[str, str, Any]]) -> None:
    wrong = {line: told[:5] for name, line, answer in answers if (told := faults(name, answer))}
    assert wrong == {}


def test_every_answer_says_its_schema_and_how_it_ended(answers: list[tuple[str, str, Any]]) -> None:
    assert {answer["schema"] for _, _, answer in answers} == {2}
    assert all(isinstance(answer["status"], str) for _, _, answer in answers)


def test_both_endings_of_an_answer_are_tried(answers: list[tuple[str, str, Any]]) -> None:
    endings = {(name, answer["status"]) for name, _, answer in answers}
    infeasible = {"design", "cheaper", "texture", "explore", "weigh", "from-label", "buy", "range", "sheet"}
    assert {name for name, status in endings if status == "infeasible"} == infeasible


def test_a_rule_that_begins_is_among_what_is_tried(answers: list[tuple[str, str, Any]]) -> None:
    (ahead,) = [answer for name, _, answer in answers if name == "ahead"]
    assert {rule["effect"] for formula in ahead["formulas"] for rule in formula["rules"]} == {"breaks"}
    assert ahead["duties"]


def test_every_schema_of_an_answer_is_tried() -> None:
    assert {name for name in names() if ".toml" not in name} == {name for name, _ in LINES}


def test_every_command_is_tried() -> None:
    commands = {line.split()[0] for name, line in LINES if name != "faults"}
    assert commands == set(commands_of(cli.parser())) - {"app", "schema"}


def test_an_answer_with_one_name_more_or_less_is_refused(answers: list[tuple[str, str, Any]]) -> None:
    for name, line, answer in answers:
        assert faults(name, {**answer, "rungs": []}), line
        assert faults(name, {key: value for key, value in answer.items() if key != "status"}), line


def test_no_old_name_stands_in_any_answer(answers: list[tuple[str, str, Any]]) -> None:
    old = re.compile(r'"(rungs|swaps|courses|rivals|binding_rows|drift)":')
    assert {
        line: old.findall(json.dumps(answer)) for _, line, answer in answers if old.search(json.dumps(answer))
    } == {}


def money(part: Any, key: str = "") -> Iterator[tuple[str, object]]:
    """Every number that stands alone under a name of money."""
    if isinstance(part, dict):
        for name, value in part.items():
            yield from money(value, name)
    elif isinstance(part, list):
        for value in part:
            yield from money(value, key)
    elif isinstance(part, int | float) and re.search(r"cost|price|saving|margin|postage|retail|wholesale|cash", key):
        yield key, part


def test_money_has_its_unit(answers: list[tuple[str, str, Any]]) -> None:
    """But where `design` and `check` said it as a number before there were schemas, and factors of price steps."""
    before = {"cost", "cost_share", "price", "tighter_price"}
    for name, line, answer in answers:
        bare = {key for key, _ in money(answer)} - {"price_lists"}
        allowed = before if {"design", "check"} & {name} or "today" in answer else set()
        if name == "costs":
            allowed = {"wholesale", "retail"}
        if name == "explore":
            allowed = {"prices"}  # slopes of a curve, with their unit beside them in price_unit
        assert bare <= allowed, line


def test_a_schema_refers_to_nothing_that_it_lacks() -> None:
    for name in names():
        Draft202012Validator.check_schema(schema(name))
        named = schema(name).get("$defs", {})
        assert set(re.findall(r'"#/\$defs/([^"]+)"', json.dumps(schema(name)))) == set(named), name


def test_every_key_of_a_file_says_what_it_holds() -> None:
    for name in FILES:
        assert [key for key, holds in schema(name)["properties"].items() if not holds.get("description")] == [], name


@pytest.mark.parametrize("name", ["brief", "making", "costs.toml", "plan"])
def test_the_files_of_the_demo_and_of_the_guide_are_as_their_schema_says(name: str) -> None:
    stem = name.removesuffix(".toml")
    shown = re.findall(rf"```toml {stem}\n(.*?)```", "".join(p.read_text() for p in GUIDE.iterdir()), flags=re.S)
    texts = [(DEMO / f"{stem}.toml").read_text(encoding="utf-8"), *shown]
    assert len(texts) >= 2
    for text in texts:
        assert faults(name, tomllib.loads(text)) == []


def test_a_brief_with_a_key_or_a_word_that_is_none_is_underlined() -> None:
    assert faults("brief", {"titel": "x"})
    assert faults("brief", {"kind": "scrubs"})
    assert faults("brief", {"goal": {"lowest": "cost", "highest": "cost"}})
    assert faults("brief", {"limits": {"oil phase": {"least": "3 %"}}})
    assert faults("brief", {"limits": {"oil phase": {"low": "3 %"}, "own column": "4"}}) == []


def test_an_editor_is_offered_the_words_for_a_property() -> None:
    offered = schema("brief")["$defs"]["property"]["anyOf"][0]["enum"]
    assert {"cost", "oil phase", "iodine value", "solid fat at 20 °C"} <= set(offered)


def test_schema_prints_one_or_lists_them(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["schema", "brief"]) == 0
    assert json.loads(capsys.readouterr().out) == schema("brief.toml")
    assert cli.main(["schema"]) == 0
    listed = capsys.readouterr().out
    assert [name for name in names() if f" {name} " not in listed] == []
    assert cli.main(["schema", "soap"]) == 2
    assert capsys.readouterr().err == "There is no schema soap. `optiform schema` lists them.\n"
    assert cli.main(["schema", "desing"]) == 2
    assert capsys.readouterr().err == "There is no schema desing. Did you mean design?\n"


def test_the_states_of_a_property_are_those_of_the_program() -> None:
    from typing import get_args

    assert schema("check")["$defs"]["measured"]["properties"]["state"]["enum"] == list(get_args(State))
