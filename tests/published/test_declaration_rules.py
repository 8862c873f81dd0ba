"""The rules of an ingredient list, of allergen names and of net contents against the texts they come from."""

import datetime
from decimal import Decimal

import pint
import pytest

from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.label.declare import Declaration, declare
from optiform.label.net_content import GRAMS_PER_OUNCE, ML_PER_FLUID_OUNCE, net_content, tolerance
from optiform.label.order import is_free
from optiform.rules.allergens import allergens
from optiform.rules.law import Scope
from tests.builders import ingredient
from tests.dates import ANY_DAY
from tests.every import every

LAST_DAY = datetime.date(2026, 7, 31)
FIRST_DAY = datetime.date(2026, 8, 1)


def drafted(
    shares: dict[Ingredient, float], market: str = "EU", use: str = "rinse-off", date: datetime.date = ANY_DAY
) -> Declaration:
    """The draft for these shares in %, filled up with water."""
    filled = {ingredient("water", 0, "water", contains={"Aqua": 100}): 100 - sum(shares.values()), **shares}
    lines = tuple(Line(item, percent / 100, item.phase) for item, percent in filled.items())
    return declare(Formula("case", lines), Scope(use, "body", (market,), date))


def scent(**shares: float) -> Ingredient:
    """A fragrance whose supplier's list gives these shares, %."""
    figures = {f"allergen {name.replace('_', ' ')}": share for name, share in shares.items()}
    return ingredient("scent", 1, "fragrance", figures, contains={"Parfum": 100})


# -- order -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("percent", "us", "eu"),
    # 21 CFR 701.3(f)(2), quoted on a page of the FDA: not exceeding 1 % after those above 1 %.
    # Regulation (EC) 1223/2009, Art. 19(1)(g): below 1 % after those above 1 %; exactly 1 % is in neither part, and is
    # kept in order (derived).
    [(1.01, False, False), (1.00, True, False), (0.99, True, True)],
)
def test_where_the_free_order_begins(percent: float, us: bool, eu: bool) -> None:
    assert is_free(percent, "US") is us
    assert is_free(percent, "EU") is eu
    assert is_free(percent, "GB") is eu
    minor = ingredient("minor", 1, contains={"Urea": 100})
    for market, free in (("US", us), ("EU", eu)):
        (entry,) = [each for each in drafted({minor: percent}, market).entries if each.name == "Urea"]
        assert entry.free is free


def test_a_sum_that_is_one_per_cent_but_for_binary_rounding_is_one_per_cent() -> None:
    """0.1 + 0.2 + 0.7 falls short of 1 in binary fractions."""
    thirds = {ingredient(f"part {share}", 1, contains={"Urea": 100}): share for share in (0.1, 0.2, 0.7)}
    (entry,) = [each for each in drafted(thirds, "EU").entries if each.name == "Urea"]
    assert not entry.free
    assert is_free(1 - 1e-12, "EU") is False
    assert is_free(1 + 1e-12, "US") is True


# -- names -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("market", "names"),
    # Parfum: answer in the UK parliament on perfume compositions; Fragrance: 21 CFR 701.3(a), edition of 1996;
    # Aqua and Water: recalled. CI numbers: Annex IV in the Commission's database. US colour names: the FDA's table.
    [
        ("EU", ("Aqua", "Parfum", "CI 77891", "CI 77007")),
        ("GB", ("Aqua", "Parfum", "CI 77891", "CI 77007")),
        ("US", ("Water", "Fragrance", "Titanium Dioxide", "Ultramarines")),
    ],
)
def test_names_of_a_market(market: str, names: tuple[str, ...]) -> None:
    white = ingredient("white", 1, "colourant", contains={"Titanium Dioxide": 100})
    blue = ingredient("blue", 1, "colourant", contains={"Ultramarines": 100})
    found = drafted({scent(): 1, white: 3, blue: 2}, market)
    assert found.declaration == names


# -- allergens ---------------------------------------------------------------------------------------------------------


def test_the_lists_have_as_many_names_as_the_annex() -> None:
    """Counted in the Commission's database and in a regulatory note: 24 left of 26, 57 added, 81 in all."""
    eras = [entry.era for entry in allergens()]
    assert (eras.count("first"), eras.count("long"), eras.count("prohibited")) == (24, 57, 2)
    assert sum(entry.listed("EU", FIRST_DAY) for entry in allergens()) == 81


@pytest.mark.parametrize(
    ("use", "percent", "named"),
    # Annex III, third column of the entries: when its concentration exceeds 0.001 % in leave-on, 0.01 % in rinse-off.
    [
        ("leave-on", 0.001, False),
        ("leave-on", 0.00101, True),
        ("rinse-off", 0.01, False),
        ("rinse-off", 0.0101, True),
        ("rinse-off", 0.00101, False),
    ],
)
def test_an_allergen_is_named_strictly_above_the_threshold(use: str, percent: float, named: bool) -> None:
    found = drafted({scent(linalool=100 * percent): 1}, use=use)
    assert ("Linalool" in found.declaration) is named
    assert found.allergens == (("Linalool",) if named else ())
    assert found.allergen_details[0].percent == pytest.approx(percent)


def test_the_members_of_a_group_are_summed_under_its_name() -> None:
    """Citral is geranial and neral (Annex III/70): 0.006 % of each is below 0.01 %, 0.012 % together above."""
    assert drafted({scent(geranial=0.6): 1}).allergens == ()
    both = drafted({scent(geranial=0.6, neral=0.6): 1})
    assert both.allergens == ("Citral",)
    assert both.allergen_details[0].percent == pytest.approx(0.012)


def test_the_rose_ketones_are_one_entry() -> None:
    """Annex III/157, eight forms under one name."""
    found = drafted({scent(**{"alpha-damascone": 0.6, "delta-damascone": 0.6}): 1})
    assert found.allergens == ("Rose Ketones",)


def test_an_oil_can_set_off_its_own_entry_and_those_of_its_constituents() -> None:
    """Annex III/360 counts lavender oils themselves; linalool has an entry of its own (III/84)."""
    oil = ingredient(
        "lavender", 1, "fragrance", {"allergen linalool": 35}, contains={"Lavandula Angustifolia Oil": 100}
    )
    assert drafted({oil: 0.5}).allergens == ("Lavandula Oil/Extract", "Linalool")


def test_the_long_list_begins_on_the_first_of_august_2026() -> None:
    """Regulation (EU) 2023/1545 as quoted: new products may follow the old list up to 31 July 2026."""
    perfume = scent(limonene=5, vanillin=5)
    assert drafted({perfume: 1}, date=LAST_DAY).allergens == ("Limonene",)
    assert set(drafted({perfume: 1}, date=FIRST_DAY).allergens) == {"Limonene", "Vanillin"}
    assert sum(entry.listed("EU", LAST_DAY) for entry in allergens()) == 24


def test_gb_keeps_the_first_list_and_the_us_has_none() -> None:
    """Trade pages of 2024 and 2025: GB had not adopted the long list; no US rule had been proposed."""
    perfume = scent(limonene=5, vanillin=5)
    assert drafted({perfume: 1}, "GB", date=FIRST_DAY).allergens == ("Limonene",)
    assert drafted({perfume: 1}, "US", date=FIRST_DAY).allergens == ()


# -- net content -------------------------------------------------------------------------------------------------------


def test_the_ounces_are_exact() -> None:
    """NIST Handbook 44, Appendix C: pound 453.592 37 g, gallon 231 cubic inches, inch 2.54 cm, all exact."""
    assert Decimal("453.59237") / 16 == GRAMS_PER_OUNCE
    assert 231 * Decimal("2.54") ** 3 / 128 == ML_PER_FLUID_OUNCE


def test_the_ounces_are_those_of_a_general_library() -> None:
    units: pint.UnitRegistry[float] = pint.UnitRegistry()
    assert units.Quantity(1, "oz").to("g").magnitude == pytest.approx(float(GRAMS_PER_OUNCE), rel=1e-12)
    assert units.Quantity(1, "US_fluid_ounce").to("mL").magnitude == pytest.approx(float(ML_PER_FLUID_OUNCE), rel=1e-12)


def test_a_pound_is_sixteen_ounces_and_no_content_is_rounded_up() -> None:
    assert net_content(Decimal("453.59237"), "g", "US").words == "16 oz (453.5 g)"
    assert net_content(Decimal(250), "g", "US").words == "8.81 oz (250 g)"  # 8.8185
    assert net_content(Decimal(200), "mL", "US").words == "6.76 fl oz (200 mL)"  # 6.7628
    assert net_content(Decimal(250), "g", "EU").words == "250 g"


@every(
    "nominal, error",
    # Directive 76/211/EEC, Annex I, 2.4, as reprinted in a table for the EU and the UK (read when collected): 9 % from
    # 5 to 50, 4.5 g to 100, 4.5 % to 200, 9 g to 300, 3 % to 500, 15 g to 1000, 1.5 % to 10 000; per cent are rounded
    # up to the next tenth.
    [
        ("5", "0.5"), ("30", "2.7"), ("50", "4.5"), ("75", "4.5"), ("100", "4.5"), ("150", "6.8"), ("175", "7.9"),
        ("200", "9"), ("250", "9"), ("300", "9"), ("400", "12"), ("500", "15"), ("750", "15"), ("1000", "15"),
        ("2000", "30"), ("10000", "150"), ("12000", "150"), ("20000", "200"),
    ],
)  # fmt: skip
def test_the_tolerable_negative_error(nominal: str, error: str) -> None:
    found = tolerance(Decimal(nominal))
    assert found is not None
    assert found.error == Decimal(error)
    assert found.first == Decimal(nominal) - Decimal(error)
    assert found.second == Decimal(nominal) - 2 * Decimal(error)


def test_below_five_grams_there_is_no_tolerance() -> None:
    """Article 19(1)(b): no nominal content is needed below 5 g or 5 ml; the table begins there."""
    assert tolerance(Decimal("4.9")) is None
    assert net_content(Decimal("4.9"), "g", "EU").tolerance is None
