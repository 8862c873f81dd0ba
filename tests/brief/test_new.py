"""A new brief as a text: read as it stands, with every key there to be taken, and whole with a shelf."""

import re
import tomllib
from pathlib import Path

import pytest

from optiform.brief.brief import KINDS
from optiform.brief.file import KEYS, brief_of, read_brief
from optiform.brief.new import SHELF, OnShelf, Start, brief_text, shelf_text, usual_shelf
from optiform.ingredients.catalogue import read_catalogue
from optiform.rules.kinds import ruled_out, use_of
from optiform.rules.usual import grain_in

CATALOGUE = read_catalogue()


def uncommented(text: str) -> str:
    """The text with every example taken."""
    return re.sub(r"^# (?=\[|\"?[\w ]+\"? = )", "", text, flags=re.MULTILINE)


def test_every_key_of_a_brief_stands_in_a_new_one() -> None:
    text = brief_text(Start("Balm", "balm", markets=("EU",)))
    assert set(tomllib.loads(uncommented(text))) == set(KEYS)


def test_what_is_not_known_counts_for_nothing() -> None:
    document = tomllib.loads(brief_text(Start("Balm", "balm", candidates=("beeswax", "olive oil"))))
    assert document == {
        "title": "Balm", "kind": "balm", "use": "leave-on", "area": "body", "currency": "EUR", "batch": "1 kg",
        "scale": "0.1 g", "candidates": ["beeswax", "olive oil"],
    }  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_usual_in_a_kind_makes_a_brief_that_can_be_read(kind: str) -> None:
    shelf = usual_shelf(kind, CATALOGUE)
    assert len(shelf) > 3
    assert [item.name for item in shelf if ruled_out(kind, item)] == []
    text = brief_text(Start(kind, kind, candidates=tuple(item.name for item in shelf), markets=("EU",)))
    brief = brief_of(Path("brief.toml"), tomllib.loads(text))
    assert (brief.kind, len(brief.mix.ingredients)) == (kind, len(shelf))
    assert (brief.scope.use, brief.scope.area) == use_of(kind)


@pytest.mark.parametrize(
    ("grain", "first"), [("salt", "sea salt, fine"), ("sugar", "sugar, caster"), ("insoluble", "ground apricot shell")]
)
def test_the_grains_of_a_shelf_are_of_the_sort_that_was_asked_for(grain: str, first: str) -> None:
    """Else a salt scrub is laid out with shell, which stands before salt among what makers take."""
    grains = [item for item in usual_shelf("cream scrub", CATALOGUE, grain) if item.phase == "grains"]
    assert {grain_in("cream scrub", {item: 1.0}) for item in grains} == {grain}
    assert [x.name for x in usual_shelf("cream scrub", CATALOGUE, grain, 1) if x.phase == "grains"] == [first]


def test_a_shelf_comes_back_as_the_own_table_of_the_brief(tmp_path: Path) -> None:
    shelf = [
        OnShelf("glycerin", 21.0, 5.0, 6.2),
        OnShelf("water"),
        OnShelf("marsh balm", 9.0, 1.0, phase="oil phase", functions="oil", inci="Olea Europaea Fruit Oil"),
        OnShelf("fragrance oil", allergens=(("linalool", 4.0),)),
    ]
    (tmp_path / SHELF).write_text(shelf_text(shelf, "EUR"), encoding="utf-8")
    (tmp_path / "brief.toml").write_text(brief_text(Start("Gel", "lotion", own_files=(SHELF,))), encoding="utf-8")
    brief = read_brief(tmp_path / "brief.toml")
    assert set(brief.catalogue.owned) == {"glycerin", "water", "marsh balm", "fragrance oil"}
    glycerin = brief.catalogue.ingredients["glycerin"]
    price, stock = glycerin.value("price"), glycerin.value("stock")
    assert price is not None
    assert stock is not None
    assert price.figure == pytest.approx(4.2)
    assert stock.figure == 6.2
    assert brief.catalogue.ingredients["marsh balm"].phase == "oil phase"


def test_what_is_made_today_stands_until_something_else_is_wished() -> None:
    document = tomllib.loads(brief_text(Start("Balm", today="today.csv", candidates=("beeswax",))))
    assert document["goal"] == {"nearest": "reference"}
    assert "kind" not in document
