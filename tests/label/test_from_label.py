"""Ranges behind a declaration: by hand, against another solver, and around compositions that are known."""

import math
from collections.abc import Sequence
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
from scipy.optimize import (  # type: ignore[import-untyped, unused-ignore]
    linprog,
    root,
)

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.label.by_kind import KindPart
from optiform.label.centre import belief
from optiform.label.facts import CentreOf, UsualLeftAside
from optiform.label.from_label import LabelRanges, NoComposition, from_label
from optiform.label.list_text import Listed, parse_label, read_label
from optiform.label.prior import Prior
from optiform.program.linear import Vector
from optiform.properties.base import Mix, fractions
from optiform.reading.faults import BadInput
from optiform.review.law import rule_checks
from optiform.rules.law import Scope
from optiform.telling.facts import in_words
from tests.dates import ANY_DAY
from tests.sweeps import cases, enough, sweep

EU_RINSE = Scope("rinse-off", "body", ("EU",), ANY_DAY)
EU_LEAVE = Scope("leave-on", "body", ("EU",), ANY_DAY)
US_RINSE = Scope("rinse-off", "body", ("US",), ANY_DAY)


def ranges(answer: LabelRanges | NoComposition) -> dict[str, tuple[float, float]]:
    assert isinstance(answer, LabelRanges), answer
    return {found.inci: (round(found.low, 6), round(found.high, 6)) for found in answer.ranges}


# -- by hand -----------------------------------------------------------------------------------------------------------


def test_two_names_above_the_line() -> None:
    assert ranges(from_label(["A", "B"], EU_RINSE, 3)) == {"A": (50, 99), "B": (1, 50)}


def test_two_above_and_one_below() -> None:
    """A is least when B is as much and C is 1 %: 49.5. It is most when B is 1 % and C nothing."""
    found = from_label(["A", "B", "C"], EU_RINSE, 3)
    assert ranges(found) == {"A": (49.5, 99), "B": (1, 50), "C": (0, 1)}


def test_a_line_that_is_not_known_takes_every_place() -> None:
    """The line after A leaves A 99 to 100; after B 50 to 99."""
    found = from_label(["A", "B"], EU_RINSE)
    assert ranges(found) == {"A": (50, 100), "B": (0, 50)}
    assert isinstance(found, LabelRanges)
    assert found.first_below == (2, 3)
    assert any("not known" in in_words(note) for note in found.notes)


def test_a_stated_cap_moves_all_the_others() -> None:
    found = from_label(["A", "B", "C"], EU_RINSE, 4, caps={"a": 40})
    assert ranges(found) == {"A": (33.333333, 40), "B": (30, 40), "C": (20, 33.333333)}


def test_a_legal_maximum_counts_as_the_law_expresses_it() -> None:
    """0.5 % benzoic acid in leave-on products; the sodium salt is 0.8475 acid."""
    found = from_label(["Aqua", "Sodium Benzoate"], EU_LEAVE, 2)
    assert ranges(found)["Sodium Benzoate"][1] == pytest.approx(0.5 / 0.8475, abs=1e-6)
    assert isinstance(found, LabelRanges)
    assert any("benzoic acid" in words and "EU" in words for words in found.ranges[1].caps)


def test_a_capped_name_says_where_the_line_is_at_the_latest() -> None:
    """Phenoxyethanol has at most 1 % in the EU: Parfum, which comes after it, has no more."""
    names = ["Aqua", "A", "Phenoxyethanol", "Parfum", "B"]
    found = from_label(names, EU_RINSE)
    assert isinstance(found, LabelRanges)
    assert [each.place for each in found.ranges[3:]] == ["at most 1 %", "at most 1 %"]
    assert max(found.first_below) == 4
    assert any("From Phenoxyethanol on, each name has at most 1 % of the jar" in in_words(note) for note in found.notes)
    assert ranges(found)["Parfum"] == (0, 1)
    assert ranges(from_label(["Aqua", "A", "C", "Parfum", "B"], EU_RINSE))["Parfum"] == (0, 25)


def test_the_law_is_that_of_the_market() -> None:
    caps = {
        scope.markets[0]: [words for each in answer.ranges for words in each.caps]
        for scope in (EU_RINSE, US_RINSE)
        if isinstance(answer := from_label(["Aqua", "Salicylic Acid"], scope), LabelRanges)
    }
    assert any("EU" in words for words in caps["EU"])
    assert not any("EU" in words for words in caps["US"])


def test_colourants_at_the_end_stand_in_no_order() -> None:
    found = from_label(["A", "B", "CI 77891 (Titanium Dioxide)", "Mica"], US_RINSE, 3)
    assert isinstance(found, LabelRanges)
    assert [each.place for each in found.ranges] == ["in order", "in order", "colourant", "colourant"]
    assert ranges(found)["Mica"] == (0, 98)
    assert ranges(from_label(["A", "Mica", "B"], US_RINSE, 4))["Mica"] == (1, 49.5)  # in the middle: in order


def test_what_is_prohibited_and_declared_is_told() -> None:
    found = from_label(["Aqua", "Glycerin", "Hydroquinone"], EU_RINSE, 3)
    assert isinstance(found, LabelRanges)
    assert any("Hydroquinone is declared, but not allowed" in in_words(note) for note in found.notes)
    assert ranges(found)["Hydroquinone"] == (0, 1)


def test_a_name_near_one_with_a_limit_is_told_and_not_guessed() -> None:
    found = from_label(["Aqua", "Phenoxyethanole"], EU_RINSE)
    assert isinstance(found, LabelRanges)
    assert any("if Phenoxyethanol is meant" in in_words(note) for note in found.notes)
    assert ranges(found)["Phenoxyethanole"] == (0, 50)


def test_a_name_may_be_double() -> None:
    found = from_label(["Water (Aqua)", "PHENOXYETHANOL"], EU_RINSE)
    assert ranges(found)["PHENOXYETHANOL"] == (0, 1)


def test_no_composition_names_what_clashes() -> None:
    found = from_label(["A", "B", "C"], EU_RINSE, 4, caps={"A": 30})
    assert isinstance(found, NoComposition)
    assert found.conflict == ("A at most 30 % of the jar (stated)",)
    assert found.certificate.holds
    below = from_label(["A", "B"], EU_RINSE, 1)
    assert isinstance(below, NoComposition)
    assert len(below.conflict) == 2


def test_usual_maxima_give_way_before_the_label_does() -> None:
    """Ethylhexylglycerin has no legal limit; usual maxima say far below 1 %, the stated line says at least 1 %."""
    names = ["Aqua", "Ethylhexylglycerin"]
    usual = ranges(from_label(names, EU_RINSE))["Ethylhexylglycerin"]
    assert usual[1] < 1
    stated = from_label(names, EU_RINSE, 3)
    assert isinstance(stated, LabelRanges)
    assert UsualLeftAside() in stated.notes
    assert ranges(stated)["Ethylhexylglycerin"] == (1, 50)


@pytest.mark.sweep
def test_the_usual_maximum_is_that_of_the_ingredient_that_brings_most() -> None:
    """A constituent of several ingredients may come from any of them."""
    tried = 0
    capped = [item for item in ingredients() if item.value("maximum use")]
    for place in sweep(range(len(capped))):
        item = capped[place]
        most = item.value("maximum use")
        for part in item.constituents if most else ():
            found = ranges(from_label(["Aqua", part.inci], US_RINSE)) if part.inci != "Aqua" else {}
            if most and found:
                assert found[part.inci][1] >= min(50, most.figure * part.share.figure / 100) - 1e-6, item.name
                tried += 1
    assert tried >= enough(20)


# -- another solver ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", cases(range(12), 4, 8))
def test_the_ends_are_those_of_another_solver(seed: int) -> None:
    rng = np.random.default_rng(seed)
    count = int(rng.integers(3, 9))
    above = int(rng.integers(2, count + 1))
    names = [f"name {j}" for j in range(count)]
    caps = {name: float(rng.uniform(100 / above, 90)) for name in names[:above] if rng.random() < 0.5}
    found = ranges(from_label(names, EU_RINSE, above + 1, caps))
    order = np.eye(count)[1:above] - np.eye(count)[: above - 1]
    bounds = [(1.0 if j < above else 0.0, caps.get(name, 100.0) if j < above else 1.0) for j, name in enumerate(names)]
    for j, name in enumerate(names):
        for side, sign in enumerate((1.0, -1.0)):
            other = linprog(
                sign * np.eye(count)[j],
                A_ub=order,
                b_ub=np.zeros(above - 1),
                A_eq=np.ones((1, count)),
                b_eq=[100.0],
                bounds=bounds,
            )
            assert other.status == 0
            assert found[name][side] == pytest.approx(sign * other.fun, abs=1e-5)


def centre(names: Sequence[str]) -> dict[str, float]:
    answer = from_label(names, Scope("leave-on", "body", (), ANY_DAY), kind="lotion")
    assert isinstance(answer, LabelRanges)
    return {found.inci: found.centre for found in answer.ranges}


def test_a_colourant_at_the_end_is_taken_as_little_whatever_its_place() -> None:
    assert centre(["Aqua", "Glycerin", "Phenoxyethanol", "CI 77491", "CI 77492"])["CI 77491"] < 1


def test_a_substance_with_a_legal_maximum_is_taken_to_be_about_that_at_most() -> None:
    """0.3 % of retinol is the most in the EU; by its place alone it would be 12 %."""
    assert centre(["Aqua", "Helianthus Annuus Seed Oil", "Retinol", "Phenoxyethanol"])["Retinol"] < 1


def test_without_a_market_the_centre_keeps_the_strictest_law_and_the_ranges_stay() -> None:
    """Before it was 5.9 %, and retinol 1 % with the line behind it, since no law of a market was counted."""
    answer = from_label(["Glycerin", "Phenoxyethanol", "Aqua"], Scope("leave-on", "body", (), ANY_DAY), kind="lotion")
    assert isinstance(answer, LabelRanges)
    assert answer.ranges[1].centre <= 1.0 + 1e-9
    assert answer.ranges[1].high == pytest.approx(50)
    assert centre(["Aqua", "Helianthus Annuus Seed Oil", "Retinol", "Phenoxyethanol"])["Retinol"] <= 0.05 + 1e-9


def test_the_oils_of_a_kind_have_together_about_what_is_usual_of_oils() -> None:
    """Eight oils of a lotion are no 35 %: what is usual of a part is its total, not something of each of its names."""
    oils = [item.constituents[0].inci for item in ingredients() if item.functions == ("oil",)]
    names = ["Aqua", *dict.fromkeys(oils)][:9]
    shares = centre(names)
    assert sum(shares[name] for name in names[1:]) == pytest.approx(100 - shares["Aqua"])
    assert 8 < sum(shares[name] for name in names[1:]) < 25


@pytest.mark.parametrize("seed", cases(range(3), 1, 2))
def test_the_centre_with_parts_is_that_of_draws_and_a_root_finder_by_others(seed: int) -> None:
    """Compositions drawn from what is known, those in order weighed by prices that make sum and parts what they ask."""
    rng = np.random.default_rng(seed)
    count, ordered = 4, 3
    known = Prior(
        np.log(rng.uniform([20, 10, 0.7, 2], [40, 30, 1.5, 8])),
        rng.uniform(0.3, 0.8, count),
        (KindPart((math.log(30.0), 0.3), (0, 2)), KindPart((math.log(5.0), 0.5), (1, 3))),
    )
    served = np.array([[1.0, 1, 1, 1], [1, 0, 1, 0], [0, 1, 0, 1]])
    draws = np.exp(known.middle + known.spread * rng.standard_normal((1_000_000, count)))
    draws = draws[(draws < 100).all(axis=1) & all_in_order(draws[:, :ordered])]
    off_middle = np.maximum(np.log(draws) - known.middle, 0.0)  # above it the misfit is D, not a log-normal's
    thinner = (off_middle**2 / 2 - (off_middle - 1) * np.exp(off_middle) - 1) @ known.spread**-2.0

    def means(prices: Vector) -> Vector:
        logs = thinner - draws @ (prices @ served)
        weights = np.exp(logs - logs.max())
        mean: Vector = weights @ draws / weights.sum()
        return mean

    def off(prices: Vector) -> Vector:
        totals = served @ means(prices)
        wanted = [30 * np.exp(prices[1] * 30 * 0.3**2), 5 * np.exp(prices[2] * 5 * 0.5**2)]
        missed: Vector = np.log(totals / np.array([100.0, *wanted]))
        return missed

    prices = root(off, np.zeros(3)).x
    assert np.abs(off(prices)).max() < 1e-6
    mean = belief(known, ordered, np.zeros(count), np.full(count, 100.0)).mean
    assert mean.sum() == pytest.approx(100)
    assert mean == pytest.approx(means(prices), abs=0.4)


def all_in_order(draws: Vector) -> npt.NDArray[np.bool_]:
    inside = (draws[:, 1:] <= np.maximum(1.0, draws[:, :-1])).all(axis=1)
    return np.asarray(inside, dtype=np.bool_)


@pytest.mark.parametrize(
    ("names", "kind"),
    [
        ("Sodium Cocoyl Isethionate, Stearic Acid, Aqua, Cocamidopropyl Betaine, Phenoxyethanol",
         "solid cleansing bar"),
        ("Sucrose, Helianthus Annuus Seed Oil, Cetearyl Alcohol, Polysorbate 60, Phenoxyethanol",
         "anhydrous emulsified scrub"),
        ("Aqua, Helianthus Annuus Seed Oil, Polysorbate 60, Cetearyl Alcohol, Glycerin, Phenoxyethanol", "lotion"),
    ],
)  # fmt: skip
def test_a_kind_that_is_not_stated_is_the_one_that_the_list_fits_best(names: str, kind: str) -> None:
    answer, other = (from_label(names.split(", "), EU_RINSE, kind=stated) for stated in ("", kind))
    assert isinstance(answer, LabelRanges)
    assert isinstance(other, LabelRanges)
    assert CentreOf(kind) in answer.notes
    assert answer.ranges == other.ranges


def test_where_no_name_is_known_no_kind_is_taken() -> None:
    answer = from_label(["A", "B", "C"], EU_RINSE)
    assert isinstance(answer, LabelRanges)
    assert CentreOf("") in answer.notes
    shares = [one.centre for one in answer.ranges]
    assert shares[0] > 1.5 * shares[1] > 1.5 * shares[2]


@pytest.mark.parametrize("seed", cases(range(6), 2, 4))
def test_the_centre_is_a_composition_inside_all_ranges(seed: int) -> None:
    rng = np.random.default_rng(seed)
    names = [f"name {j}" for j in range(int(rng.integers(3, 10)))]
    answer = from_label(names, EU_RINSE, caps={names[0]: 60.0})
    assert isinstance(answer, LabelRanges)
    centre = [each.centre for each in answer.ranges]
    assert sum(centre) == pytest.approx(100, abs=1e-6)
    assert all(each.low - 1e-6 <= each.centre <= each.high + 1e-6 for each in answer.ranges)
    above = answer.centre_for - 1
    assert all(a >= b - 1e-6 for a, b in pairwise(centre[:above]))
    assert all(share >= 1 - 1e-6 for share in centre[:above])
    assert all(share <= 1 + 1e-6 for share in centre[above:])
    assert answer.residual < 1e-6


# -- compositions that are known ---------------------------------------------------------------------------------------


@cache
def ingredients() -> tuple[Ingredient, ...]:
    return tuple(item for item in read_catalogue().ingredients.values() if item.constituents)


def random_formula(rng: np.random.Generator) -> Formula:
    """4 to 14 ingredients, each within its usual maximum, the rest water; at most one preservative."""
    preservatives = [item for item in ingredients() if item.has("preservative")]
    others = [item for item in ingredients() if not item.has("preservative", "colourant") and item.name != "water"]
    chosen = [others[int(j)] for j in rng.choice(len(others), int(rng.integers(3, 13)), replace=False)]
    chosen.append(preservatives[int(rng.integers(len(preservatives)))])
    shares = []
    for item in chosen:
        most = item.value("maximum use")
        share = float(rng.choice([0.002, 0.02, 0.1])) * float(rng.uniform(0.3, 1))
        shares.append(min(share, most.figure / 100) if most else share)
    used = min(1.0, 0.9 / sum(shares))
    lines = [Line(item, used * share, item.phase) for item, share in zip(chosen, shares, strict=True)]
    water = next(item for item in ingredients() if item.name == "water")
    return Formula("random", (*lines, Line(water, 1 - used * sum(shares), water.phase)))


def declared(formula: Formula, rng: np.random.Generator) -> tuple[list[tuple[str, float]], int]:
    """The declaration in %, what is at or below 1 % shuffled, and how many names stand above."""
    content = [(name, 100 * share) for name, share in formula.declaration()]
    above = [pair for pair in content if pair[1] > 1]
    below = [pair for pair in content if pair[1] <= 1]
    rng.shuffle(below)
    return [*above, *below], len(above)


def lawful(formula: Formula, scope: Scope) -> bool:
    checks = rule_checks(Mix.of(formula), fractions(formula), scope)
    return all(check.kept for check in checks if check.kind in ("maximum", "prohibited"))


SCOPES = [EU_RINSE, EU_LEAVE, US_RINSE]


@pytest.mark.parametrize("stated", cases([True, False], 1))
@pytest.mark.parametrize("scope", cases(SCOPES, 1, 2), ids=["EU rinse-off", "EU leave-on", "US rinse-off"])
def test_the_true_composition_lies_in_the_ranges(scope: Scope, stated: bool) -> None:
    tried, widths = 0, []
    for seed in range(10):
        rng = np.random.default_rng(seed)
        formula = random_formula(rng)
        truth, above = declared(formula, rng)
        if not lawful(formula, scope):
            continue
        found = from_label([name for name, _ in truth], scope, above + 1 if stated else None)
        assert isinstance(found, LabelRanges), (seed, found)
        for each, (name, share) in zip(found.ranges, truth, strict=True):
            assert each.inci == name
            assert each.low - 1e-6 <= share <= each.high + 1e-6, (seed, each, share)
            widths.append(each.high - each.low)
        tried += 1
    assert tried >= 5
    assert float(np.median(widths)) < 60  # ranges that say nothing would hold the truth too


# -- reading -----------------------------------------------------------------------------------------------------------


def test_a_list_is_read_as_it_stands_on_the_pack(tmp_path: Path) -> None:
    path = tmp_path / "label.txt"
    path.write_text("Ingredients: Aqua, Glycerin,\n1,2-Hexanediol, Cetearyl\nAlcohol; Parfum.\n", encoding="utf-8")
    assert read_label(path).names == ("Aqua", "Glycerin", "1,2-Hexanediol", "Cetearyl Alcohol", "Parfum")
    assert parse_label("Aqua\nGlycerin\n").names == ("Aqua", "Glycerin")
    assert parse_label("Aqua, 2-Bromo-2-Nitropropane-1,3-Diol,").names == ("Aqua", "2-Bromo-2-Nitropropane-1,3-Diol")


@pytest.mark.parametrize(
    "text",
    [
        "Aqua, Glycerin [+/- CI 77491, CI 77499]",
        "Aqua, Glycerin, [+/- CI 77491, CI 77499].",
        "Aqua, Glycerin (+/-) CI 77491, CI 77499",
        "Aqua; Glycerin; May contain: CI 77491; CI 77499",
        "Aqua, Glycerin. May contain (+/-): CI 77491, CI 77499.",
        "Aqua, Glycerin, \u00b1 CI 77491, CI 77499",
        "Aqua, Glycerin [Peut contenir +/-: CI 77491, CI 77499]",
        "Aqua\nGlycerin\n[+/-\nCI 77491\nCI 77499]",
    ],
)
def test_the_colours_of_shades_are_read_apart(text: str) -> None:
    assert parse_label(text) == Listed(("Aqua", "Glycerin"), ("CI 77491", "CI 77499"))


def test_what_a_label_may_contain_may_be_absent_and_moves_no_order() -> None:
    found = from_label(["A", "B"], EU_RINSE, 3, may_contain=["CI 77491"])
    assert isinstance(found, LabelRanges)
    assert ranges(found) == {"A": (1, 99), "B": (1, 50), "CI 77491": (0, 98)}
    assert [item.place for item in found.ranges] == ["in order", "in order", "colourant"]


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("", ["list"]),
        ("Ingredients:", ["list"]),
        ("Aqua, , Glycerin", ["name 2"]),
        ("Aqua, Glycerin 5 %, aqua", ["name 2", "name 3"]),
        ("Aqua, Mica, +/-", ["list"]),
        (", ".join(f"name {j}" for j in range(200)), ["list"]),
    ],
)
def test_every_fault_of_a_list_is_told(text: str, places: Sequence[str]) -> None:
    with pytest.raises(BadInput) as caught:
        parse_label(text)
    assert [fault.place for fault in caught.value.faults] == places


def test_a_file_that_is_not_there_is_a_fault(tmp_path: Path) -> None:
    with pytest.raises(BadInput):
        read_label(tmp_path / "none.txt")


def test_a_cap_on_no_declared_name_has_near_matches() -> None:
    with pytest.raises(BadInput) as caught:
        from_label(["Aqua", "Glycerin"], EU_RINSE, caps={"Glicerin": 5, "Aqua": -1})
    assert len(caught.value.faults) == 2
    assert "near: Glycerin" in caught.value.faults[0].expected


@pytest.mark.parametrize("where", [0, 4])
def test_a_line_that_is_nowhere_on_the_list_is_a_fault(where: int) -> None:
    with pytest.raises(BadInput):
        from_label(["A", "B"], EU_RINSE, where)


def test_a_list_of_nothing_is_a_fault() -> None:
    with pytest.raises(BadInput):
        from_label([], EU_RINSE)


# -- names -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["PHENOXYETHANOL", "2-Phenoxyethanol", "Phenoxy-ethanol", "122-99-6"])
def test_a_legal_maximum_holds_however_the_label_spells_the_name(name: str) -> None:
    found = from_label(["Water (Aqua)", "Glycerin", name], EU_RINSE)
    assert isinstance(found, LabelRanges)
    assert found.ranges[2].high == pytest.approx(1.0)
    assert found.ranges[2].inci == name, "the label's own words stay"


def test_a_name_that_may_be_one_with_a_maximum_is_told_and_not_counted() -> None:
    found = from_label(["Aqua", "Phenoxyethanl"], EU_RINSE)
    assert isinstance(found, LabelRanges)
    assert found.ranges[1].high == pytest.approx(50.0)
    assert any("if Phenoxyethanol is meant, its legal limit was not counted" in in_words(x) for x in found.notes)
