"""How strongly the rule on oils that oxidise speaks, by what the product is filled into and how it is used."""

from pathlib import Path

import pytest

from optiform.brief.file import read_brief
from optiform.ingredients.formula import Formula, mixed
from optiform.review.chemistry import clashes
from optiform.review.measures import Setting, setting_of
from optiform.rules.packs import PACKS, exposure
from optiform.telling.explained import matching
from optiform.telling.rules import rule

SOME = mixed({"sunflower oil": 32, "mineral oil": 48, "beeswax": 20})  # about 24 % of C18:2 and twice C18:3
SUNFLOWER = mixed({"sunflower oil": 80, "beeswax": 20})  # about 60 %


def spoken(formula: Formula, setting: Setting) -> set[tuple[str, str]]:
    rules = ("oil-needs-antioxidant", "oil-open-needs-antioxidant", "oil-better-with-antioxidant")
    return {(x.rule, x.level) for x in clashes(formula, setting) if x.rule in rules}


@pytest.mark.parametrize(
    ("pack", "use", "wet", "some", "much"),
    [
        ("", "leave-on", None, "note", "mind"),
        ("tube", "leave-on", None, "note", "mind"),
        ("jar", "rinse-off", None, "note", "mind"),
        ("jar", "rinse-off", True, "mind", "mind"),
        ("jar", "leave-on", None, "mind", "mind"),
        ("clear bottle", "rinse-off", False, "mind", "mind"),
        ("airless pump", "leave-on", None, "note", "note"),
    ],
)
def test_the_same_oil_is_judged_by_its_pack_and_use(
    pack: str, use: str, wet: bool | None, some: str, much: str
) -> None:
    setting = Setting(exposure=exposure(pack, use, wet))
    for formula, level in ((SOME, some), (SUNFLOWER, much)):
        assert {level for _, level in spoken(formula, setting)} == {level}


def test_a_brief_says_its_pack_and_what_reaches_in(tmp_path: Path) -> None:
    path = tmp_path / "brief.toml"
    path.write_text('kind = "balm"\ncandidates = ["sweet almond oil", "beeswax"]\npack = "Jar"\nwet_fingers = true\n')
    brief = read_brief(path)
    assert (brief.pack, brief.wet_fingers, brief.exposure, setting_of(brief).exposure) == ("jar", True, "open", "open")
    path.write_text('kind = "balm"\ncandidates = ["sweet almond oil", "beeswax"]\n')
    plain = setting_of(read_brief(path))
    assert (plain.exposure, plain.wet_fingers) == ("usual", None)
    path.write_text('kind = "balm"\ncandidates = ["sweet almond oil", "beeswax"]\npack = "tube"\nwet_fingers = true\n')
    assert setting_of(read_brief(path)).wet_fingers is False


def test_every_pack_has_an_exposure() -> None:
    assert {exposure(pack, "leave-on") for pack in PACKS} == {"open", "usual", "airless"}
    assert all(exposure(pack) == "open" for pack in PACKS if pack.startswith("clear"))


def test_wet_fingers_ask_for_a_preservative_where_little_water_is_free() -> None:
    brine = mixed({"sea salt, fine": 70, "water": 20, "glycerin": 10})
    levels = {
        wet: {x.level for x in clashes(brine, Setting(wet_fingers=wet)) if x.rule == "water-needs-preservative"}
        for wet in (None, False, True)
    }
    assert levels[None] == levels[False] == {"note"}
    assert levels[True] != {"note"}


def test_a_rule_says_for_which_packs_it_is() -> None:
    (own,) = matching("oil-open-needs-antioxidant")
    assert "Packs: a jar of what stays on the skin" in " ".join(rule(own, {}).sentences)
