"""The draft of an ingredient list: what is summed, named, marked, and what is left to a person."""

import datetime
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from optiform.brief.file import read_brief
from optiform.cli import main
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Constituent, Evidence, Ingredient, Value
from optiform.label.declare import Declaration, declare
from optiform.label.net_content import net_content
from optiform.label.order import Entry
from optiform.reading.faults import BadInput
from optiform.rules.law import Scope
from optiform.telling.declare import declaration
from optiform.telling.drafted import content_note, due, statement
from optiform.telling.facts import in_words
from optiform.telling.terminal import terminal
from tests.builders import ingredient
from tests.dates import ANY_DAY

SHELF = read_catalogue()


def shelf(name: str) -> Ingredient:
    found = SHELF.find(name)
    assert found is not None
    return found


def drafted(
    shares: dict[Ingredient, float], market: str = "EU", use: str = "rinse-off", area: str = "body",
    date: datetime.date = ANY_DAY,
) -> Declaration:  # fmt: skip
    """The draft for these shares in %, filled up with water."""
    filled = {shelf("water"): 100 - sum(shares.values()), **shares}
    lines = tuple(Line(item, percent / 100, item.phase) for item, percent in filled.items())
    return declare(Formula("case", lines), Scope(use, area, (market,), date))


def ranged(name: str, *parts: tuple[str, float, float, float]) -> Ingredient:
    """An ingredient whose constituents have shares low, typical, high."""
    shares = [
        Constituent(inci, "", Value(low, typical, high, "%", "own", Evidence.OWN)) for inci, low, typical, high in parts
    ]
    return replace(ingredient(name, 1), constituents=tuple(shares))


def entry(found: Declaration, name: str) -> Entry:
    (one,) = [each for each in found.entries if each.name == name]
    return one


def decided(found: Declaration, *words: str) -> list[str]:
    texts = [in_words(item.fact) for item in found.decisions]
    return [text for text in texts if all(word in text for word in words)]


def to_settle(draft: Declaration) -> list[str]:
    return [in_words(fact) for fact in draft.warnings]


# -- sums and order ----------------------------------------------------------------------------------------------------


def test_equal_names_are_one_line_however_they_are_spelled() -> None:
    one, other = (ingredient(name, 1, contains={name: 100}) for name in ("Urea", "UREA"))
    found = drafted({one: 2, other: 3})
    assert found.declaration == ("Aqua", "Urea")  # the spelling of the tables, not that of the larger part
    assert entry(found, "Urea").percent == pytest.approx(5)
    assert dict(entry(found, "Urea").carriers) == pytest.approx({"Urea": 2, "UREA": 3})


def test_the_water_of_aqueous_raw_materials_is_water() -> None:
    syrup = ingredient("syrup", 1, contains={"Aqua": 30, "Sorbitol": 70})
    labelled = ingredient("juice", 1, contains={"Water": 90, "Urea": 10})
    found = drafted({syrup: 40, labelled: 10})
    assert entry(found, "Aqua").percent == pytest.approx(50 + 12 + 9)
    assert found.declaration == ("Aqua", "Sorbitol", "Urea")


def test_all_of_the_formula_is_declared() -> None:
    scrub = {shelf("emulsifying wax NF"): 6.0, shelf("cocamidopropyl betaine, 30 %"): 9.0, shelf("glycerin"): 5.0}
    assert sum(each.percent for each in drafted(scrub).entries) == pytest.approx(100)


def test_names_stand_by_weight_and_equal_weights_by_name() -> None:
    weights = {"Zeta": 3.0, "Beta": 3.0, "Eta": 5.0}
    items = {ingredient(name, 1, contains={name: 100}): share for name, share in weights.items()}
    assert drafted(items).declaration == ("Aqua", "Eta", "Beta", "Zeta")


def test_the_free_part_begins_where_it_is_marked() -> None:
    items = {ingredient(name, 1, contains={name: 100}): share for name, share in {"A": 2, "B": 1, "C": 0.5}.items()}
    assert drafted(items, "EU").free_from == 4
    assert drafted(items, "US").free_from == 3
    assert drafted({}, "EU").free_from is None


def test_an_ingredient_at_nothing_is_not_declared() -> None:
    assert "Urea" not in drafted({shelf("urea"): 0.0}).declaration


# -- colourants --------------------------------------------------------------------------------------------------------


def test_colourants_come_last_and_each_market_names_them() -> None:
    colours = {shelf("iron oxide, red"): 3.0, shelf("iron oxide, black"): 4.0, shelf("urea"): 1.5}
    european, american = drafted(colours), drafted(colours, "US")
    assert european.declaration == ("Aqua", "Urea", "CI 77499", "CI 77491")
    assert european.colourants_from == 3
    assert american.declaration == ("Water", "Urea", "Iron Oxides")
    assert entry(american, "Iron Oxides").percent == pytest.approx(7)


def test_a_colour_is_a_colourant_only_where_it_is_bought_as_one() -> None:
    powder = ingredient("powder", 1, "powder", contains={"Zinc Oxide": 100})
    assert drafted({powder: 5}).declaration == ("Aqua", "Zinc Oxide")
    assert drafted({shelf("zinc oxide"): 5}).declaration == ("Aqua", "CI 77947")


def test_mica_is_a_colour_additive_in_the_us_and_an_ordinary_ingredient_in_the_eu_copy() -> None:
    pearl = {shelf("mica, pearl white"): 10.0, shelf("urea"): 5.0}
    assert drafted(pearl).declaration == ("Aqua", "Mica", "Urea", "CI 77891")
    assert drafted(pearl, "US").declaration == ("Water", "Urea", "Mica", "Titanium Dioxide")


def test_an_iron_oxide_of_unknown_colour_is_asked_about() -> None:
    own = ingredient("my ochre", 1, "colourant", contains={"Iron Oxides": 100})
    found = drafted({own: 1})
    assert found.declaration == ("Aqua", "Iron Oxides")
    assert [text for text in to_settle(found) if "CI number" in text and "77492" in text]


def test_a_ci_number_in_an_own_table_finds_its_american_name() -> None:
    own = ingredient("my red", 1, "colourant", contains={"CI 77491": 100})
    assert drafted({own: 1}, "US").declaration == ("Water", "Iron Oxides")


def test_the_us_listing_for_the_area_is_looked_at() -> None:
    blue = {shelf("ultramarine blue"): 1.0}
    assert not [text for text in to_settle(drafted(blue, "US")) if "not listed" in text]
    assert [text for text in to_settle(drafted(blue, "US", area="lips")) if "Ultramarines: not listed" in text]
    assert not [text for text in to_settle(drafted(blue, "EU", area="lips")) if "not listed" in text]


def test_a_certified_colour_and_one_without_a_row_are_told() -> None:
    dye = ingredient("dye", 1, "colourant", contains={"CI 42090": 100})
    assert [text for text in to_settle(drafted({dye: 0.1}, "US")) if "certified" in text]
    assert [text for text in to_settle(drafted({shelf("charcoal powder"): 1.0})) if "Charcoal Powder" in text]


# -- allergens ---------------------------------------------------------------------------------------------------------


def test_a_fragrance_without_a_list_has_no_known_allergens() -> None:
    found = drafted({shelf("fragrance oil"): 1.0})
    assert not found.allergens_known
    assert found.without_allergen_list == ("fragrance oil",)
    assert [text for text in to_settle(found) if "not known" in text and "fragrance oil" in text]
    assert drafted({shelf("urea"): 1.0}).allergens_known


def test_parfum_in_an_own_mixture_needs_a_list_too() -> None:
    base = ingredient("scented base", 1, "emulsifier", contains={"Urea": 99, "Fragrance": 1})
    assert drafted({base: 10}).without_allergen_list == ("scented base",)


def test_an_essential_oil_counts_itself_and_is_not_known_beyond() -> None:
    found = drafted({shelf("lemongrass essential oil"): 0.5})
    assert found.allergens == ("Lemongrass Oil",)
    assert not found.allergens_known
    assert decided(found, "Cymbopogon Flexuosus Oil stands as Lemongrass Oil, the name of its entry")
    assert [entry.name for entry in found.entries if "Oil" in entry.name] == ["Lemongrass Oil"]


def test_an_allergen_is_summed_over_all_that_brings_it_and_parfum_loses_nothing() -> None:
    scent = ingredient("scent", 1, "fragrance", {"allergen limonene": 0.6}, contains={"Parfum": 100})
    oil = ingredient("oil", 1, "fragrance", {"allergen d-limonene": 0.6}, contains={"Some Peel Oil": 100})
    assert drafted({scent: 1}).allergens == ()
    found = drafted({scent: 1, oil: 1})
    assert found.allergens == ("Limonene",)
    assert dict(found.allergen_details[0].carriers) == pytest.approx({"scent": 0.006, "oil": 0.006})
    assert entry(found, "Parfum").percent == pytest.approx(1)


def test_an_allergen_that_is_an_ingredient_stands_once() -> None:
    kept = {shelf("benzyl alcohol + dehydroacetic acid"): 1.0}
    found = drafted(kept)
    assert found.declaration.count("Benzyl Alcohol") == 1
    assert found.allergens == ("Benzyl Alcohol",)
    assert drafted(kept, "US").allergens == ()


def test_a_constituent_and_a_list_that_tell_of_the_same_allergen_are_not_added() -> None:
    both = ingredient("both", 1, "fragrance", {"allergen menthol": 80}, contains={"Menthol": 100})
    assert drafted({both: 1}).allergen_details[0].percent == pytest.approx(1)


def test_the_upper_end_of_a_range_counts_and_a_person_is_told() -> None:
    scent = ingredient("scent", 1, "fragrance", contains={"Parfum": 100})
    share = Value(0.5, None, 1.5, "%", "own", Evidence.OWN)
    scent = replace(scent, values={**scent.values, ("allergen coumarin", None): share})
    found = drafted({scent: 1})
    assert found.allergens == ("Coumarin",)
    assert decided(found, "Coumarin", "upper end")


def test_a_prohibited_one_is_a_warning_and_not_a_name() -> None:
    scent = ingredient("scent", 1, "fragrance", {"allergen lilial": 1}, contains={"Parfum": 100})
    found = drafted({scent: 1})
    assert found.allergens == ()
    assert [text for text in to_settle(found) if "Not allowed" in text and "Annex II/1666" in text]
    assert [
        text for text in to_settle(drafted({scent: 1}, "US")) if "is prohibited in the EU" in text and "scent" in text
    ]


def test_a_limit_on_an_allergen_is_held_against_the_suppliers_list() -> None:
    """Annex III/73: isoeugenol at most 0.02 %."""
    scent = ingredient("scent", 1, "fragrance", {"allergen isoeugenol": 3}, contains={"Parfum": 100})
    assert [text for text in to_settle(drafted({scent: 1})) if "Over a legal limit" in text and "0.02 %" in text]
    assert not [text for text in to_settle(drafted({scent: 0.6})) if "Over a legal limit" in text]


def test_what_only_the_long_list_holds_is_told_in_gb() -> None:
    scent = ingredient("scent", 1, "fragrance", {"allergen vanillin": 5}, contains={"Parfum": 100})
    assert decided(drafted({scent: 1}, "GB"), "EU's long list", "Vanillin")
    assert {each.evidence for each in drafted({scent: 1}, "GB").allergen_details} == {Evidence.SECONDARY}


def test_a_list_is_taken_as_complete_and_that_is_said() -> None:
    scent = ingredient("scent", 1, "fragrance", {"allergen coumarin": 0}, contains={"Parfum": 100})
    found = drafted({scent: 1})
    assert found.allergens_known
    assert found.allergen_details == ()
    assert decided(found, "scent", "counts as complete")


# -- what a person decides ---------------------------------------------------------------------------------------------


def test_an_order_that_hangs_on_a_range_names_both() -> None:
    wax = ranged("wax", ("Firstal", 40, 60, 70), ("Secondal", 30, 40, 60))
    found = drafted({wax: 10})
    assert found.declaration == ("Aqua", "Firstal", "Secondal")
    assert decided(found, "Firstal", "Secondal", "overlap")
    assert not decided(found, "Aqua", "overlap")


def test_an_order_among_free_names_is_no_question() -> None:
    wax = ranged("wax", ("Firstal", 40, 60, 70), ("Secondal", 30, 40, 60))
    assert not decided(drafted({wax: 1}), "overlap")


@pytest.mark.parametrize(("market", "told"), [("EU", True), ("US", True)])
def test_a_name_on_either_side_of_one_per_cent_is_told(market: str, told: bool) -> None:
    wax = ranged("wax", ("Firstal", 90, 95, 99), ("Secondal", 1, 5, 15))
    assert bool(decided(drafted({wax: 10}, market), "Secondal", "1 % line")) is told


def test_what_only_mixtures_bring_below_a_tenth_is_asked_about() -> None:
    found = drafted({shelf("tetrasodium glutamate diacetate, 40 %"): 0.2, shelf("urea"): 0.05})
    (asked,) = decided(found, "Brought in beside the main constituent only")
    assert "Sodium Hydroxide" in asked
    assert "Tetrasodium Glutamate Diacetate" not in asked
    assert "Urea" not in asked
    assert not decided(drafted({shelf("benzyl alcohol + dehydroacetic acid"): 0.5}), "Brought in")


@pytest.mark.parametrize(
    ("market", "wanted", "unwanted"),
    [
        ("EU", ("responsible person in the EU", "CPNP", "open-jar", "(nano)"), ("740.10", "SCPN")),
        ("GB", ("UK address", "SCPN", "open-jar"), ("740.10", "responsible person in the EU")),
        ("US", ("740.10", "adverse events", "and other ingredients", "1/16 in"), ("CPNP", "open-jar")),
    ],
)
def test_what_a_label_of_the_market_holds(market: str, wanted: tuple[str, ...], unwanted: tuple[str, ...]) -> None:
    texts = " ".join(decided(drafted({}, market)))
    assert [words for words in wanted if words not in texts] == []
    assert [words for words in unwanted if words in texts] == []


def test_the_wording_a_rule_asks_for_is_told() -> None:
    releaser = {shelf("DMDM hydantoin, 55 %"): 0.5}
    assert [text for text in map(statement, drafted(releaser).statements) if "releases formaldehyde" in text]
    assert not [text for text in map(statement, drafted(releaser, "US").statements) if "releases formaldehyde" in text]


def test_a_limit_that_is_not_kept_comes_first() -> None:
    assert [text for text in to_settle(drafted({shelf("phenoxyethanol"): 2.0})) if "Over a legal limit" in text]


def test_an_ingredient_without_names_makes_no_draft_and_each_is_told() -> None:
    bare = {ingredient("my rose water", 1): 5.0, ingredient("my clay", 1): 5.0}
    with pytest.raises(BadInput) as caught:
        drafted(bare)
    assert [fault.place for fault in caught.value.faults] == ["ingredient my rose water", "ingredient my clay"]


# -- net content -------------------------------------------------------------------------------------------------------


def test_ounces_only_where_they_are_asked_and_tolerance_only_where_it_is_law() -> None:
    european, american = (net_content(Decimal(250), "g", market) for market in ("EU", "US"))
    assert (european.ounces, american.tolerance) == (None, None)
    assert european.tolerance is not None
    assert european.tolerance.evidence is Evidence.PUBLISHED
    assert "T2" in content_note(european)
    assert "no content is needed" in content_note(net_content(Decimal(4), "g", "GB"))


def test_a_name_from_memory_is_not_made_surer_by_its_share() -> None:
    salt = {shelf("sea salt, fine"): 40.0}
    assert entry(drafted(salt), "Maris Sal").known is Evidence.RECALLED
    assert entry(drafted(salt, "US"), "Sea Salt").shares_known is Evidence.PRACTICE
    assert entry(drafted(salt, "US"), "Sea Salt").known is Evidence.RECALLED


def test_sweet_orange_stands_once_by_the_name_of_its_entry() -> None:
    found = drafted({shelf("sweet orange essential oil"): 0.5})
    assert [name for name in found.declaration if "Citrus" in name] == ["Citrus Aurantium Peel Oil"]
    (entry,) = [entry for entry in found.entries if entry.allergen]
    assert entry.percent == pytest.approx(0.5)
    british = drafted({shelf("sweet orange essential oil"): 0.5}, "GB").declaration
    assert [name for name in british if "Citrus" in name] == ["Citrus Aurantium Dulcis Peel Oil"]


def test_plants_have_their_customary_form_in_the_us_and_its_states() -> None:
    oils = {shelf("sunflower oil, high oleic"): 5.0}
    assert "Helianthus Annuus Seed Oil" in drafted(oils).declaration
    for market in ("US", "US-VT"):
        assert "Helianthus Annuus (Sunflower) Seed Oil" in drafted(oils, market).declaration


PEROXIDE = (
    "Contains hydrogen peroxide. Avoid contact with eyes. Rinse immediately if product comes into contact with them"
)


@pytest.mark.parametrize(
    ("inci", "percent", "words"),
    [
        ("Retinyl Palmitate", 0.01, "Contains Vitamin A. Consider your daily intake before use"),
        ("Chlorobutanol", 0.1, "Contains chlorobutanol"),
        ("Glutaral", 0.06, "Contains glutaral"),
        ("DMDM Hydantoin", 0.1, "Releases formaldehyde"),
        ("Benzalkonium Chloride", 0.05, "Avoid contact with eyes"),
        ("Ammonia", 2.1, "Contains ammonia"),
        ("Hydrogen Peroxide", 0.5, PEROXIDE),
        ("o-Phenylphenol", 0.1, "Avoid contact with eyes"),
        ("Benzalkonium Bromide", 0.05, "Avoid contact with eyes"),
        ("Benzophenone-3", 1.0, "Contains Benzophenone-3"),
    ],
)
def test_the_statement_that_is_due_stands_in_the_draft_in_its_words(inci: str, percent: float, words: str) -> None:
    found = drafted({ingredient("stuff", 1.0, contains={inci: 100.0}): percent})
    assert [text for text in map(due, found.due) if text.startswith(f'"{words}"')]
    assert drafted({ingredient("stuff", 1.0, contains={"Glycerin": 100.0}): percent}).due == ()
    assert words in " ".join(terminal(declaration(found, {}).brief()).split())


@pytest.mark.parametrize("inci", ["Sodium Metabisulfite", "Sodium Sulfite", "Potassium Metabisulfite"])
@pytest.mark.parametrize("function", ["preservative", "active"])
def test_of_sulfites_the_law_asks_no_words(inci: str, function: str) -> None:
    """Annexes V/9 and III/99 have a figure each and no wording; what food law asks of sulfites is another matter."""
    assert not drafted({ingredient("stuff", 1.0, function, contains={inci: 100.0}): 0.1}).due


@pytest.mark.parametrize(("inci", "percent"), [("Ammonia", 1.9), ("Benzophenone-3", 0.5), ("Glutaral", 0.04)])
def test_a_statement_is_due_above_its_threshold_only(inci: str, percent: float) -> None:
    assert drafted({ingredient("stuff", 1.0, contains={inci: 100.0}): percent}).due == ()


def test_what_two_releasers_release_is_added_up() -> None:
    """The act speaks of the total: each alone is below 0.001 %."""
    one = ingredient("one", 1.0, contains={"DMDM Hydantoin": 100.0})
    two = ingredient("two", 1.0, contains={"2-Bromo-2-Nitropropane-1,3-Diol": 100.0})
    assert [text for text in map(due, drafted({one: 0.0006, two: 0.0006}).due) if "Releases formaldehyde" in text]
    assert drafted({one: 0.0006}).due == ()


def test_the_draft_says_that_the_entry_of_sulfites_asks_for_no_words() -> None:
    found = drafted({ingredient("stuff", 1.0, contains={"Sodium Metabisulfite": 100.0}): 0.2})
    assert found.due == ()
    assert [
        text
        for text in map(statement, found.statements)
        if "sulfites" in text and "asks for no words on the label" in text
    ]


def test_a_draft_for_the_us_tells_the_duties_of_who_sells_there() -> None:
    plain = {shelf("glycerin"): 5.0}
    assert {duty.market for duty in drafted(plain, "US-NY").duties} == {"US", "US-NY"}
    assert drafted(plain, "EU").duties == ()


def test_a_draft_asks_for_no_prices(tmp_path: Path) -> None:
    (tmp_path / "own.csv").write_text("ingredient,stock (kg)\nwater,1\nglycerin,1\n", encoding="utf-8")
    (tmp_path / "cream.csv").write_text("ingredient,percent\nwater,95\nglycerin,5\n", encoding="utf-8")
    brief = tmp_path / "brief.toml"
    brief.write_text(
        'title = "t"\nkind = "lotion"\nmarkets = ["EU"]\nown_files = ["own.csv"]\ncandidates = ["water", "glycerin"]\n'
        '[goal]\nlowest = "cost"\n',
        encoding="utf-8",
    )
    with pytest.raises(BadInput):
        read_brief(brief)
    assert main(["declare", str(tmp_path / "cream.csv"), "--brief", str(brief)]) == 0


def test_the_statement_on_talc_is_for_powders_not_for_creams() -> None:
    """Annex III/59: powdery products intended for children under 3."""
    talc = ingredient("our talc", 1.0, "powder", contains={"Talc": 100.0})
    for water, oil, powder in ((80, 5, False), (0, 20, False), (0, 19, True), (0, 0, True)):
        shares = {shelf("sunflower oil"): oil, shelf("water"): water, talc: 100 - oil - water}
        lines = tuple(Line(item, percent / 100, item.phase) for item, percent in shares.items() if percent)
        draft = declare(Formula("case", lines), Scope("leave-on", "baby", ("EU",), ANY_DAY))
        assert [rule.id for rule in draft.due] == (["EU-III-59-baby"] if powder else [])


def test_the_statement_on_talc_is_due_where_it_is_not_known_what_the_rest_is() -> None:
    other = ingredient("something", 1.0, contains={"Mica": 100.0})
    lines = (Line(ingredient("our talc", 1.0, contains={"Talc": 100.0}), 0.5, ""), Line(other, 0.5, ""))
    draft = declare(Formula("case", lines), Scope("leave-on", "baby", ("GB",), ANY_DAY))
    assert [rule.id for rule in draft.due] == ["GB-III-59-baby"]


def test_the_short_draft_says_how_much_of_what_stands_behind_it_is_from_memory() -> None:
    draft = drafted({ingredient("our talc", 1.0, "powder", contains={"Talc": 100.0}): 5}, "US-CA")
    words = " ".join(terminal(declaration(draft, SHELF.sources).brief()).split())
    recalled = sum(rule.evidence is Evidence.RECALLED for rule in draft.statements)
    assert recalled == 1
    assert "that the rules of this market add (1 from memory)" in words
    assert "of whoever sells there (2 from memory)" in words
    assert "as read" not in words


def test_a_certified_colour_bears_its_us_name_on_a_us_label() -> None:
    colour = ingredient("our red", 1.0, "colourant", contains={"CI 12085": 100.0})
    assert drafted({colour: 1.0}, "US").declaration[-1] == "D&C Red No. 36"
    assert drafted({colour: 1.0}, "EU").declaration[-1] == "CI 12085"
