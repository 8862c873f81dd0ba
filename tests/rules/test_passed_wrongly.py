"""Plant oils are scents whatever they are bought as, and what allergen tables call one thing the limits count whole."""

import csv
import datetime
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.names import canonical
from optiform.reading.tables import shipped
from optiform.review.answer import Report
from optiform.review.facts import Unjudged
from optiform.review.measures import Setting
from optiform.review.report import report
from optiform.rules.law import AREAS, USES, Scope, rules
from tests.builders import ingredient
from tests.every import every

SCOPE = Scope("leave-on", "face", ("EU",), datetime.date(2026, 11, 26))


def looked_at(inci: str, percent: float, function: str = "active") -> Report:
    stuff = ingredient("stuff", 1.0, function, contains={inci: 100.0})
    water = ingredient("water", 0.0, "water", contains={"Aqua": 100.0})
    lines = (Line(stuff, percent / 100, "cool-down"), Line(water, 1 - percent / 100, "water phase"))
    return report(Formula("case", lines), Setting(scope=SCOPE))


@pytest.mark.parametrize(
    "oil",
    ["Eugenia Caryophyllus Bud Oil", "Melaleuca Alternifolia Leaf Oil", "Cinnamomum Zeylanicum Bark Oil", "Parfum"],
)
def test_an_essential_oil_bought_as_an_active_needs_its_certificate_too(oil: str) -> None:
    """It holds eugenol, methyl eugenol and the like, that its name does not say."""
    assert looked_at(oil, 1.0).keeps_law is None
    assert looked_at(oil, 1.0).unjudged == (Unjudged("stuff"),)


@pytest.mark.parametrize("form", ["Titanium Dioxide [nano]", "nano titanium dioxide", "CI 77891 (nano)"])
def test_a_nano_form_is_not_looked_up_under_its_substance(form: str) -> None:
    assert looked_at(form, 1.0, "colourant").keeps_law is None


def test_a_nano_form_counts_with_its_substance_all_the_same() -> None:
    assert looked_at("Zinc Oxide (nano)", 26.0, "uv filter").keeps_law is False


def test_salicylic_acid_bought_as_a_preservative_keeps_the_limit_of_preservatives() -> None:
    assert looked_at("Salicylic Acid", 0.6, "preservative").keeps_law is False
    assert looked_at("Salicylic Acid", 0.5, "preservative").keeps_law is True
    assert looked_at("Salicylic Acid", 1.5).keeps_law is None


def test_a_strong_base_is_not_known_to_keep_the_ph_that_the_law_wants() -> None:
    """The law has no maximum for it as a pH adjuster but a pH of at most 11, which 0.004 % reaches in water alone."""
    assert looked_at("Sodium Hydroxide", 6.0, "ph adjuster").keeps_law is None
    assert looked_at("Sodium Hydroxide", 0.003, "ph adjuster").keeps_law is True
    assert looked_at("Sodium Hydroxide", 6.0, "active").keeps_law is None, "whatever it is bought as"


@pytest.mark.parametrize(("percent", "kept"), [(0.02, True), (0.5, None)])
def test_a_little_of_a_base_is_settled_by_what_the_ph_is_set_for(percent: float, kept: bool | None) -> None:
    """Sorbate works up to a pH that is far below 11, and the batch sheet says to set it; a lot of lye is no setting."""
    lye = ingredient("lye", 1.0, "ph adjuster", contains={"Sodium Hydroxide": 100.0})
    sorbate = ingredient("sorbate", 1.0, "preservative", contains={"Potassium Sorbate": 100.0})
    water = ingredient("water", 0.0, "water", contains={"Aqua": 100.0})
    shares = ((lye, percent / 100, "cool-down"), (sorbate, 0.003, "cool-down"))
    rest = Line(water, 1 - sum(share for _, share, _ in shares), "water phase")
    lines = (*(Line(*part) for part in shares), rest)
    assert report(Formula("case", lines), Setting(scope=SCOPE)).keeps_law is kept


def test_a_base_that_comes_along_with_a_chelator_is_no_ph_adjuster() -> None:
    """It holds up to 2 % of sodium hydroxide, and 0.3 % of it in a lotion is nothing that a law speaks of."""
    chelator = ingredient("chelator", 1.0, "chelator", contains={"Tetrasodium Glutamate Diacetate": 40.0, "Aqua": 58.0})
    parts = (*chelator.constituents, *ingredient("lye", 1.0, "active", contains={"Sodium Hydroxide": 2.0}).constituents)
    water = ingredient("water", 0.0, "water", contains={"Aqua": 100.0})
    lines = (Line(replace(chelator, constituents=parts), 0.003, "water phase"), Line(water, 0.997, "water phase"))
    assert report(Formula("case", lines), Setting(scope=SCOPE)).keeps_law is True


@pytest.mark.parametrize("market", ["EU", "GB"])
def test_a_limit_counts_every_member_of_an_allergen_entry(market: str) -> None:
    """trans-beta-Damascone is a rose ketone. The crude resin of Peru balsam is prohibited by a rule of its own."""
    counted = {name for rule in rules() if rule.market == market and rule.hard for name in rule.factors}
    for row in shipped("allergens"):
        members = {canonical(name) for name in (row["name"], *row["inci"].split("; "))}
        assert members <= counted or not members & counted, sorted(members - counted)


#: What the law restricts in one use only, by the use that it leaves free.
ONE_USE = {
    "rinse-off": {"Cuminum Cyminum Seed Oil", "Dihydroxyacetone", "Triethanolamine", "Triisopropanolamine"},
    "leave-on": {"Cyclohexasiloxane", "Cyclopentasiloxane"},
}


@pytest.mark.parametrize("market", ["EU", "GB"])
def test_what_is_restricted_for_some_products_is_not_passed_for_the_others(market: str) -> None:
    """14 % of thioglycolic acid in what is rinsed off the hair was kept, since only what stays on had a rule."""
    scopes = [Scope(use, area, (market,), SCOPE.date) for use in USES for area in AREAS]
    here = [rule for rule in rules() if rule.market == market]
    restricted = {name for rule in here if rule.hard for name in rule.factors}
    beads = [rule for rule in here if "microparticles" in rule.group or "microbeads" in rule.group]
    grains = {name for rule in beads for name in rule.factors}
    for name in sorted(restricted - grains):
        own = [rule for rule in here if name in rule.factors and (rule.hard or rule.kind in ("open", "no entry"))]
        if any(rule.applies(scope) and rule.hard for rule in own for scope in scopes):
            bare = {scope.use for scope in scopes if not any(rule.applies(scope) for rule in own)}
            assert all(name in ONE_USE[use] for use in bare), (name, bare)


@cache
def judged() -> list[dict[str, str]]:
    """Formulas over, at and under limits, each with what its law is; parts as name, per cent, what it is bought as."""
    with (Path(__file__).parent / "judged.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@every("place", range(len(judged())))
def test_a_formula_over_a_limit_never_passes(place: int) -> None:
    row = judged()[place]
    lines, rest = [], 1.0
    for number, part in enumerate(row["parts"].split("; ")):
        name, percent, function = re.fullmatch(r"(.+) ([\d.e-]+) ([a-z ]+)", part).groups()  # type: ignore[union-attr]
        item = ingredient(f"stuff {number}", 1.0, function, contains={name: 100.0})
        lines.append(Line(item, float(percent) / 100, "cool-down"))
        rest -= float(percent) / 100
    lines.append(Line(ingredient("water", 0.0, "water", contains={"Aqua": 100.0}), rest, "water phase"))
    scope = Scope(row["use"], row["area"], tuple(row["markets"].split()), datetime.date.fromisoformat(row["day"]))
    law = report(Formula("case", tuple(lines)), Setting(scope=scope)).keeps_law
    assert (law is not True) if row["law"] == "not true" else law is (row["law"] == "true"), row
