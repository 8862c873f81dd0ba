"""Misspelt keys of every kind of TOML file get the nearest key, as misspelt columns of every table do."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

from optiform.batch.file import KEYS as MAKING
from optiform.batch.file import read_making
from optiform.brief.file import KEYS as BRIEF
from optiform.brief.file import read_brief
from optiform.costs.file import KEYS as COSTS
from optiform.costs.file import read_costs
from optiform.costs.plan import KEYS as PLAN
from optiform.costs.plan import read_plan
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import read_formula
from optiform.reading.faults import BadInput
from optiform.reading.near import nearest
from optiform.workshop.supplies import read_lots, read_offers

CATALOGUE = read_catalogue()


def _making(path: Path) -> object:
    formula = path.with_name("formula.csv")
    formula.write_text("ingredient,percent\nwater,100\n")
    return read_making(path, CATALOGUE, read_formula(formula, CATALOGUE).formula)


KINDS: dict[str, tuple[Callable[[Path], object], Sequence[str]]] = {
    "brief": (read_brief, sorted(BRIEF)),
    "costs": (lambda path: read_costs(path, CATALOGUE, "EUR"), tuple(COSTS)),
    "making": (_making, tuple(MAKING)),
    "plan": (read_plan, tuple(PLAN)),
    "formula": (lambda path: read_formula(path, CATALOGUE), ("name", "lines")),
}
CASES = [(kind, key) for kind, (_, keys) in KINDS.items() for key in keys if len(key) > 3]


def faults(read: Callable[[Path], Any], path: Path, content: str) -> list[str]:
    path.write_text(content, encoding="utf-8")
    with pytest.raises(BadInput) as caught:
        read(path)
    return [f": {fault.place}: read {fault.read}, expected {fault.expected}" for fault in caught.value.faults]


@pytest.mark.parametrize(("kind", "key"), CASES, ids=[" ".join(case) for case in CASES])
def test_a_key_with_a_letter_too_many_gets_its_nearest(tmp_path: Path, kind: str, key: str) -> None:
    read, _ = KINDS[kind]
    told = faults(read, tmp_path / "file.toml", f"{key}s = 1\n")
    assert [line for line in told if f": {key}s: " in line and f"expected {key}? one of the keys: " in line]


@pytest.mark.parametrize(
    ("table", "wrong", "right"),
    [
        ("[shipping]\nshares = 1\n", "[shipping] shares", "share"),
        ("[labour]\nwages = 1\n", "[labour] wages", "wage"),
        ("[overhead]\nmonths = 1\n", "[overhead] months", "month"),
        ("[overhead]\nunit = 1\n", "[overhead] unit", "units"),
        ("[price_steps]\nretial = 2\n", "[price_steps] retial", "retail"),
        ("[channels]\nstall = { discout = 1 }\n", "[channels] stall, discout", "discount"),
        ("[one_off]\ntest = { costs = 1, units = 1 }\n", "[one_off] test, costs", "cost"),
    ],
)
def test_a_key_inside_a_table_too(tmp_path: Path, table: str, wrong: str, right: str) -> None:
    told = faults(KINDS["costs"][0], tmp_path / "costs.toml", table)
    assert [line for line in told if f": {wrong}: " in line and f"expected {right}? one of the keys: " in line]


@pytest.mark.parametrize(
    ("read", "header", "wrong", "right"),
    [
        (read_formula, "ingredient,percent,phases", "phases", "phase"),
        (read_formula, "ingredient,percents", "percents", "percent"),
        (read_formula, "ingredient,percent,gram", "gram", "grams"),
        (read_offers, "ingredient,supplier,pack,price,currency,date,shiping", "shiping", "shipping"),
        (read_offers, "ingredient,supplier,pack,price,currency,date,notes", "notes", "note"),
        (read_lots, "number,ingredient,left,expirey", "expirey", "expiry"),
        (read_lots, "number,ingredient,left,recieved", "recieved", "received"),
        (read_lots, "number,ingredient,left,supplier lot", "supplier lot", "supplier_lot"),
        (read_lots, "number,ingredient,left,prise", "prise", "price"),
    ],
)
def test_a_misspelt_column_that_was_passed_over_in_silence(
    tmp_path: Path, read: Callable[..., Any], header: str, wrong: str, right: str
) -> None:
    known = CATALOGUE if read is read_formula else [CATALOGUE]
    told = faults(lambda path: read(path, known), tmp_path / "table.csv", f"{header}\n")
    assert any(f"header: read {wrong!r}, expected {right!r}" in line for line in told), told


def test_a_name_like_none_gets_none() -> None:
    assert nearest("colour", ["price", "pack"]) == ""
    assert nearest("price", ["price", "prices"]) == ""
    assert nearest("p" * 10_000, ["price"]) == ""


@pytest.mark.parametrize(("word", "name"), [("lwo", "low"), ("hihg", "high"), ("jras", "jars"), ("pahse", "phase")])
def test_two_letters_the_other_way_round_are_the_same_word(word: str, name: str) -> None:
    assert nearest(word, ["low", "high", "jars", "phase"]) == name


def test_letters_in_another_order_are_another_word() -> None:
    assert nearest("shape", ["phase"]) == nearest("tone", ["note"]) == ""


def test_a_key_with_blanks_around_it_is_shown_with_them(tmp_path: Path) -> None:
    path = tmp_path / "brief.toml"
    path.write_text('"ph " = 5\n')
    with pytest.raises(BadInput, match='There is no key "ph "'):
        read_brief(path)


def test_a_misspelt_key_of_a_formulas_line_gets_its_nearest(tmp_path: Path) -> None:
    told = faults(KINDS["formula"][0], tmp_path / "f.toml", '[lines]\nwater = { percnt = 9, pahse = "water phase" }\n')
    for wrong, right in (("percnt", "percent"), ("pahse", "phase")):
        assert [line for line in told if f"[lines] water, {wrong}: " in line and f"expected {right}? " in line]
    (none,) = faults(KINDS["formula"][0], tmp_path / "f.toml", 'name = "x"\n')
    assert "None" not in none
