"""Reading how a batch is made: every fault at once, no key passed over."""

from pathlib import Path

import pytest

from optiform.batch.file import read_making
from optiform.batch.making import PRACTICE, Making, Observed
from optiform.brief.file import read_brief
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula
from optiform.reading.faults import BadInput
from optiform.reading.paths import DEMO

CATALOGUE = read_catalogue()


def today() -> Formula:
    found = read_brief(DEMO / "brief.toml").reference
    assert found is not None
    return found


TODAY = today()


def read(tmp_path: Path, text: str) -> Making:
    path = tmp_path / "making.toml"
    path.write_text(text, encoding="utf-8")
    return read_making(path, CATALOGUE, TODAY)


def faults(tmp_path: Path, text: str) -> dict[str, str]:
    """Place to what was expected."""
    with pytest.raises(BadInput) as bad:
        read(tmp_path, text)
    assert all(fault.file.endswith("making.toml") for fault in bad.value.faults)
    return {fault.place: fault.expected for fault in bad.value.faults}


def test_an_empty_file_is_common_practice(tmp_path: Path) -> None:
    assert read(tmp_path, "") == Making()
    assert read(tmp_path, "").source("hot") == PRACTICE


def test_the_demo() -> None:
    made = read_making(DEMO / "making.toml", CATALOGUE, TODAY)
    assert (made.fill, made.loss, made.retained, made.hot, made.cools_fast) == (151, 0.04, 1, 72, True)
    assert made.observed == Observed(17, 72, 58, 15)
    assert [(part.name, part.weight) for part in made.parts] == [("Juniper", 14), ("Juniper, red", 12)]
    assert made.counted
    own = made.parts[1].lines
    assert [(x.ingredient.name, x.phase) for x in own] == [
        ("fragrance oil", "cool-down"),
        ("iron oxide, red", "cool-down"),
    ]
    assert [x.fraction for x in own] == pytest.approx([0.005, 0.001])


def test_units_of_the_kitchen(tmp_path: Path) -> None:
    made = read(tmp_path, 'addition = "110 degF"\nhold = "0.5 hour"\njar = "8 oz"\nhot = 75')
    assert made.addition == pytest.approx(43.333, abs=1e-3)
    assert made.hold == pytest.approx(30)
    assert made.jar == pytest.approx(226.796, abs=1e-3)
    assert made.source("hot") != PRACTICE


def test_every_fault_at_once(tmp_path: Path) -> None:
    text = """
jar = "heavy"
loss = "60 %"
retained = -1
hot = "70 kg"
cools_fast = "yes"
stirring = 5
[cooling]
room = 20
start = 60
later = 70
after = 5
[[part]]
share = 50
[part.lines]
"moon dust" = 1
"sweet almond oil" = 2
[[part]]
name = "B"
share = 40
size = 3
instead_of = ["kaolin"]
"""
    assert set(faults(tmp_path, text)) == {
        "jar", "loss", "retained", "hot", "cools_fast", "stirring", "[cooling]", "[[part]] 1, name",
        "[[part]] 1, lines, moon dust", "[[part]] 1, lines, sweet almond oil", "[[part]] 2, size",
        "[[part]] 2, instead_of", "[[part]] share",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("= nonsense", "line 1"),
        ("part = 3", "[[part]]"),
        ("part = [1, 2]", "[[part]]"),
        ("cooling = 'slow'", "[cooling]"),
        ("[cooling]\nroom = 20", "[cooling]"),
        ("[cooling]\nroom=20\nstart=70\nlater=50\nafter=0", "[cooling] after"),
        ("[cooling]\nroom=20\nstart=70\nlater=50\nafter=9\nwind=1", "[cooling] wind"),
        ("retained = true", "retained"),
        ("retained = 1.5", "retained"),
        ("hot = nan", "hot"),
        ("hot = inf", "hot"),
        ("hot = true", "hot"),
        ("jar = 0", "jar"),
        ("jar = '150 g'\nfill = '149 g'", "fill"),
        ("hot = 40\naddition = 45", "addition"),
        ("grains_at = 80", "grains_at"),
        ("[[part]]\nname = 'A'", "[[part]] 1, share"),
        ("[[part]]\nname = ' '\njars = 1", "[[part]] 1, name"),
        ("[[part]]\nname = 'A'\njars = 0", "[[part]] 1, jars"),
        ("[[part]]\nname = 'A'\njars = 2\n[[part]]\nname = 'a'\njars = 1", "[[part]] name"),
        ("[[part]]\nname = 'A'\njars = 2\n[[part]]\nname = 'B'\nshare = 50", "[[part]]"),
        ("[[part]]\nname = 'A'\njars = 2\nlines = 3", "[[part]] 1, lines"),
        ("[[part]]\nname = 'A'\njars = 2\nlines = {'fragrance oil' = '1 g'}", "[[part]] 1, lines, fragrance oil"),
        ("[[part]]\nname = 'A'\njars = 2\nlines = {'fragrance oil' = 60, 'kaolin' = 50}", "[[part]] 1, lines"),
        ("[[part]]\nname = 'A'\njars = 2\nlines = {'fragrance oil' = 1, 'parfum' = 1}", "[[part]] 1, lines"),
        ("[[part]]\nname = 'A'\njars = 2\ninstead_of = 'fragrance oil'", "[[part]] 1, instead_of"),
        ("[[part]]\nname = 'A'\njars = 2\ninstead_of = ['water']", "[[part]] 1, instead_of"),
    ],
)
def test_hostile_files(tmp_path: Path, text: str, place: str) -> None:
    assert place in faults(tmp_path, text)


def test_no_such_file(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="there is no such file"):
        read_making(tmp_path / "none.toml", CATALOGUE, TODAY)
