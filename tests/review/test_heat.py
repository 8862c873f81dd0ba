"""What does not bear the heat of its phase is told in a check, and once in a batch."""

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.review.answer import FormulaWarning
from optiform.review.measures import Setting
from optiform.review.report import report

KNOWN = read_catalogue().ingredients


def told(*lines: tuple[str, float, str]) -> list[FormulaWarning]:
    formula = Formula("test", tuple(Line(KNOWN[name], percent / 100, phase) for name, percent, phase in lines))
    return [x for x in report(formula, Setting()).warnings if x.rule == "heat-limit"]


def test_scent_in_the_hot_oil_is_to_be_minded_and_honey_is_noted() -> None:
    balm = ("beeswax", 20.0, "oil phase"), ("sweet almond oil", 74.0, "oil phase")
    (scent,) = told(*balm, ("lavender essential oil", 1.0, "oil phase"))
    assert (scent.about, scent.level, scent.lines) == ("heat", "mind", ("lavender essential oil",))
    assert "heated to 70 degC in the oil phase; heat limit 45 degC (custom): move it to the cool-down" in scent.text
    (honey,) = told(*balm, ("honey", 5.0, "water phase"))
    assert honey.level == "note"


def test_nothing_is_told_of_what_goes_into_the_cooling_mass_or_a_cold_one() -> None:
    balm = ("beeswax", 20.0, "oil phase"), ("sweet almond oil", 79.0, "oil phase")
    assert told(*balm, ("lavender essential oil", 1.0, "cool-down")) == []
    assert told(("sweet almond oil", 99.0, "oil phase"), ("lavender essential oil", 1.0, "oil phase")) == []


def test_where_suppliers_differ_it_is_a_note() -> None:
    """Up to 120 degC says one maker of it, custom says 45."""
    (warning,) = told(
        ("beeswax", 20.0, "oil phase"), ("sweet almond oil", 79.0, "oil phase"),
        ("phenoxyethanol + ethylhexylglycerin", 1.0, "oil phase"),
    )  # fmt: skip
    assert warning.level == "note"
    assert "45 to 120 degC, suppliers differ" in warning.text
