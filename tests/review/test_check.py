"""A formula that exists already, looked at for a use, a market and a date."""

import datetime
from pathlib import Path

import pytest

from optiform.brief.file import read_brief
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Basis
from optiform.reading.faults import BadInput
from optiform.review.answer import Checked, RuleCheck
from optiform.review.check import check, check_against
from optiform.review.measures import Setting
from optiform.review.report import report
from optiform.rules.law import Scope
from optiform.telling import json as jsonform
from optiform.telling.parts import Table, Telling
from optiform.telling.report import law
from tests.builders import limit

TODAY = datetime.date(2026, 11, 25)


def scope(use: str = "rinse-off", area: str = "body", *markets: str, date: datetime.date = TODAY) -> Scope:
    return Scope(use, area, markets or ("EU",), date)


def checked(
    folder: Path, lines: dict[str, float], where: Scope | None = None, own: str = "", batch: float | None = None
) -> Checked:
    """A formula of these lines, in %, filled up with water."""
    filled = {**lines, "water": 100 - sum(lines.values())}
    path = folder / "formula.csv"
    path.write_text("ingredient,percent\n" + "".join(f'"{name}",{share!r}\n' for name, share in filled.items()))
    (folder / "own.csv").write_text(own or "ingredient\n")
    return check(path, read_catalogue([folder / "own.csv"]), Setting(scope=where, batch=batch))


def rule(found: Checked, group: str) -> RuleCheck:
    (one,) = [rule for rule in found.report.rules if rule.group == group]
    return one


def warned(found: Checked, *words: str) -> list[str]:
    return [text for text in map(str, found.report.warnings) if all(word in text for word in words)]


# -- law ---------------------------------------------------------------------------------------------------------------

BENZOATE = "benzoic acid and its sodium salt"
IPBC = "diazolidinyl urea + iodopropynyl butylcarbamate"


@pytest.mark.parametrize(
    ("use", "percent", "kept"),
    # 0.8475 g of acid in 1 g of sodium benzoate: 0.58 % holds 0.4916 %, 0.6 % holds 0.5085 %
    [("leave-on", 0.58, True), ("leave-on", 0.6, False), ("rinse-off", 0.6, True), ("rinse-off", 2.96, False)],
)
def test_benzoate_counts_as_its_acid(tmp_path: Path, use: str, percent: float, kept: bool) -> None:
    found = checked(tmp_path, {"sodium benzoate": percent}, scope(use))
    one = rule(found, BENZOATE)
    assert one.content == pytest.approx(0.8475 * percent)
    assert one.limit == (0.5 if use == "leave-on" else 2.5)
    assert one.kept is kept
    assert bool(warned(found, "Over a legal limit", BENZOATE, "Annex V/1")) is not kept


def test_the_same_substance_is_summed_over_what_carries_it(tmp_path: Path) -> None:
    # each alone keeps 0.5 % of acid; the ready solution counts at its upper end, 30 % of sodium benzoate
    lines = {"sodium benzoate": 0.4, "sodium benzoate + potassium sorbate": 0.8}
    one = rule(checked(tmp_path, lines, scope("leave-on")), BENZOATE)
    assert one.content == pytest.approx(0.8475 * (0.4 + 0.8 * 0.30))
    assert not one.kept


@pytest.mark.parametrize(
    ("use", "area", "allowed"),
    [
        ("leave-on", "body", False),
        ("leave-on", "feet", False),
        ("leave-on", "face", True),
        ("rinse-off", "body", True),
        ("rinse-off", "lips", False),
    ],
)
def test_ipbc_is_not_for_leave_on_over_large_areas_nor_for_lips(
    tmp_path: Path, use: str, area: str, allowed: bool
) -> None:
    found = checked(tmp_path, {IPBC: 0.3}, scope(use, area))
    told = warned(found, "Not allowed", "iodopropynyl butylcarbamate")
    assert bool(told) is not allowed


def test_ipbc_is_counted_inside_the_blend_that_carries_it(tmp_path: Path) -> None:
    # at most 0.5 % of the blend: 0.3 % of it brings 0.0015 %
    one = rule(checked(tmp_path, {IPBC: 0.3}, scope()), "iodopropynyl butylcarbamate")
    assert one.content == pytest.approx(0.0015)
    assert (one.limit, one.kept) == (0.02, True)


PERFUME = "ingredient,phase,functions,inci\nrose blend,cool-down,fragrance,Parfum 90; Hexyl Salicylate 10\n"


@pytest.mark.parametrize(
    ("date", "use", "limit"),
    [
        (datetime.date(2026, 4, 30), "leave-on", None),
        (datetime.date(2026, 5, 1), "leave-on", 0.3),
        (datetime.date(2026, 5, 1), "rinse-off", 0.5),
    ],
)
def test_a_rule_begins_on_its_day(tmp_path: Path, date: datetime.date, use: str, limit: float | None) -> None:
    found = checked(tmp_path, {"rose blend": 4.0}, scope(use, date=date), PERFUME)
    rules = [one for one in found.report.rules if one.group.startswith("hexyl salicylate")]
    assert [one.limit for one in rules] == ([] if limit is None else [limit])
    assert bool(warned(found, "Over a legal limit", "hexyl salicylate")) == (limit == 0.3)
    assert [one.content for one in rules] == ([] if limit is None else [pytest.approx(0.4)])


def test_a_market_brings_its_own_rules_and_none_brings_none(tmp_path: Path) -> None:
    lines = {"sodium benzoate": 0.6}
    both = checked(tmp_path, lines, scope("leave-on", "body", "EU", "GB"))
    assert {one.market for one in both.report.rules if one.group == BENZOATE} == {"EU", "GB"}
    assert len(warned(both, "Over a legal limit", BENZOATE)) == 2
    us = checked(tmp_path, lines, scope("leave-on", "body", "US"))
    assert not warned(us, "Over a legal limit")
    nowhere = checked(tmp_path, lines, Scope("leave-on", "body", (), TODAY))
    assert nowhere.report.rules == ()
    assert checked(tmp_path, lines).report.rules == ()


def test_a_copied_rule_says_how_it_is_known(tmp_path: Path) -> None:
    found = checked(tmp_path, {"sodium benzoate": 0.4}, scope("leave-on", "body", "EU", "GB"))
    known = {one.market: str(one.evidence) for one in found.report.rules if one.group == BENZOATE}
    assert known == {"EU": "published", "GB": "secondary"}


# -- certificates ------------------------------------------------------------------------------------------------------

CERTIFIED = "ingredient,certificate maximum 9 (%),certificate maximum 5A (%)\nfragrance oil,8.9,0.5\n"


@pytest.mark.parametrize(
    ("use", "area", "share", "kept"),
    [("rinse-off", "body", 0.6 / 8.9, True), ("leave-on", "body", 0.6 / 0.5, False)],
)
def test_a_certificate_holds_by_class_of_product(tmp_path: Path, use: str, area: str, share: float, kept: bool) -> None:
    found = checked(tmp_path, {"fragrance oil": 0.6}, scope(use, area), CERTIFIED)
    (one,) = [rule for rule in found.report.rules if rule.kind == "certificate"]
    assert one.content == pytest.approx(100 * share)
    assert one.kept is kept
    assert bool(warned(found, "Over the certificate")) is not kept
    (used,) = [one for one in found.report.rules if one.kind == "certificate"]
    told = Telling("", (law(found.report),), Table((), ())).sentences
    assert f"The fragrance uses {used.content:.3g} % of what its certificate allows" in " ".join(told)


def test_a_class_without_a_figure_is_asked_for_not_guessed(tmp_path: Path) -> None:
    found = checked(tmp_path, {"fragrance oil": 0.6}, scope("leave-on", "face"), CERTIFIED)
    assert [rule for rule in found.report.rules if rule.kind == "certificate"] == []
    assert warned(found, "fragrance oil has no certificate maximum for class 5B")


# -- what else is warned of --------------------------------------------------------------------------------------------


def test_water_without_preservative(tmp_path: Path) -> None:
    assert warned(checked(tmp_path, {"glycerin": 5.0}), "Water needs a preservative", "water 95 %")
    kept = checked(tmp_path, {"glycerin": 5.0, "phenoxyethanol + ethylhexylglycerin": 1.0})
    assert not warned(kept, "needs a preservative")


def test_water_that_comes_inside_a_surfactant_counts(tmp_path: Path) -> None:
    # 10 % of a betaine with 64 % water in an oil: 6.4 % water
    lines = {"cocamidopropyl betaine, 30 %": 10.0, "sweet almond oil": 90.0}
    assert warned(checked(tmp_path, lines), "Water needs a preservative", "water 6.4 %")
    assert not warned(checked(tmp_path, {"sweet almond oil": 100.0}), "needs a preservative")


def test_a_eutectic_pair_is_named_and_its_solid_fat_called_a_bound(tmp_path: Path) -> None:
    lines = {"coconut oil": 50.0, "cocoa butter": 50.0}
    assert warned(checked(tmp_path, lines), "coconut oil with cocoa butter", "upper bound")
    assert not warned(checked(tmp_path, {"shea butter, refined": 5.0, "cocoa butter": 95.0}), "upper bound")


def test_a_shortage_in_stock_is_told_with_both_amounts(tmp_path: Path) -> None:
    own = "ingredient,stock\nglycerin,0.15 kg\n"
    assert warned(checked(tmp_path, {"glycerin": 5.0}, own=own, batch=4.0), "glycerin", "0.2 kg", "0.15 kg")
    assert not warned(checked(tmp_path, {"glycerin": 5.0}, own=own, batch=3.0), "in stock")
    assert not warned(checked(tmp_path, {"glycerin": 5.0}, own=own), "in stock")


# -- reading and briefs ------------------------------------------------------------------------------------------------


def test_the_basis_reaches_the_report(tmp_path: Path) -> None:
    path = tmp_path / "f.csv"
    path.write_text('ingredient,percent\nwater,100\n"sea salt, fine",100\n')
    found = check(path, read_catalogue(), Setting(), Basis.BASE)
    measured = {one.name: one.value for one in found.report.measures}
    assert measured["grains"] == pytest.approx(50)
    assert found.reading.basis is Basis.BASE


def test_a_formula_against_a_brief_is_told_what_it_misses(tmp_path: Path) -> None:
    (tmp_path / "b.toml").write_text(
        'candidates = ["water", "glycerin", "sodium benzoate"]\nuse = "leave-on"\nmarkets = ["EU"]\n'
        '[goal]\nlowest = "water"\n[limits]\n"humectant active" = { low = "8 %", high = "9 %" }\n'
        '"water phase" = { low = "90 %" }\n'
    )
    (tmp_path / "f.csv").write_text("ingredient,percent\nwater,94\nglycerin,5\nsodium benzoate,1\n")
    found = check_against(tmp_path / "f.csv", read_brief(tmp_path / "b.toml"))
    asked = {one.name: (one.low, one.high) for one in found.report.measures if (one.low, one.high) != (None, None)}
    assert asked == {"humectant active": (8, 9), "water phase": (90, None)}
    assert warned(found, "humectant active is 4.975 %, outside the brief's 8 to 9")
    assert warned(found, "Over a legal limit", BENZOATE)
    assert not warned(found, "water phase is")


def test_a_formula_that_cannot_be_read_is_refused(tmp_path: Path) -> None:
    (tmp_path / "f.csv").write_text("ingredient,percent\nwatr,100\n")
    with pytest.raises(BadInput, match="Did you mean water"):
        check(tmp_path / "f.csv", read_catalogue(), Setting())


APART = "Nothing here holds oil and water together"


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ({"sunflower oil": 29, "phenoxyethanol": 1}, True),
        ({"sunflower oil": 29, "cetyl alcohol": 3}, True),  # a fatty alcohol thickens and holds nothing by itself
        ({"sunflower oil": 29, "emulsifying wax NF": 6}, False),
        ({"sunflower oil": 5, "cocamidopropyl betaine, 30 %": 30}, False),
        ({"sunflower oil": 20, "stearic acid": 5}, True),
        ({"sunflower oil": 20, "stearic acid": 5, "triethanolamine": 1}, False),  # soap, made in the pot
        ({"sunflower oil": 2}, False),
        ({"sunflower oil": 98}, False),
    ],
)
def test_oil_and_water_with_nothing_that_holds_them_is_told(
    tmp_path: Path, lines: dict[str, float], told: bool
) -> None:
    assert bool(warned(checked(tmp_path, lines), APART)) == told


def test_the_words_give_both_phases_and_how_the_figure_is_known(tmp_path: Path) -> None:
    (words,) = warned(checked(tmp_path, {"sunflower oil": 29, "phenoxyethanol": 1}), APART)
    assert "(water 70 % of the jar, oil 29 % of the jar)" in words
    assert "(from memory; its amounts custom)" in words


@pytest.mark.parametrize(
    ("percent", "markets", "law"), [(0.9, ("EU",), True), (1.1, ("EU",), False), (1.1, (), None), (0.0, ("EU",), True)]
)
def test_a_script_is_told_whether_law_is_kept(
    tmp_path: Path, percent: float, markets: tuple[str, ...], law: bool | None
) -> None:
    found = checked(tmp_path, {"phenoxyethanol": percent}, Scope("rinse-off", "body", markets, TODAY))
    assert jsonform.checked(found, "EUR", 1.0)["keeps"] == {"law": law, "limits": None}


def test_a_script_is_told_whether_the_limits_of_a_brief_are_kept(tmp_path: Path) -> None:
    found = checked(tmp_path, {"sunflower oil": 30, "emulsifying wax NF": 6}).reading.formula
    for low, kept in ((20, True), (40, False)):
        looked = report(found, Setting(limits=(limit("oil phase", [], low=low),)))
        assert looked.keeps_limits is kept
    unknown = report(found, Setting(limits=(limit("cost", [], high=4),)))
    assert unknown.keeps_limits is None
