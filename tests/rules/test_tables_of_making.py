"""equivalents.csv, process.csv and fill_densities.csv keep their schema and name sources that there are."""

import pytest

from optiform.design.function import FAMILIES, Family
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.ingredient import FUNCTIONS, Evidence
from optiform.ingredients.phases import PHASES
from optiform.rules.fill_density import fill_densities
from optiform.rules.network import CARRIED_BY, without_network
from optiform.rules.process import process
from tests.tables import rows

SOURCES = {row["id"] for row in rows("sources")}
CATALOGUE = read_catalogue()
STAGES = {"prepare", "heat", "cool", "add", "work", "grains", "fill", "after", "ph", "look"}


@pytest.mark.parametrize("table", ["equivalents", "process", "fill_densities"])
def test_every_row_says_how_well_it_is_known(table: str) -> None:
    for row in rows(table):
        assert row["evidence"] in set(Evidence), row
        assert row["source"] in SOURCES or (row["evidence"] == Evidence.PRACTICE and not row["source"]), row


def test_a_wax_stands_for_as_much_beeswax_where_it_is_swapped_as_where_it_is_counted() -> None:
    hardening = [row for row in rows("equivalents") if row["measure"] == "hardening"]
    for row in hardening:
        counted = CATALOGUE.ingredients[row["ingredient"]].value("beeswax equivalent")
        assert counted is not None
        assert 1 / float(row["typical"]) == pytest.approx(counted.figure, rel=0.12), row["ingredient"]
    assert len(hardening) == 5


def test_equivalents_are_of_known_ingredients_once_in_a_measure_and_in_order() -> None:
    keys = [(row["measure"], row["ingredient"]) for row in rows("equivalents")]
    assert len(keys) == len(set(keys))
    measures = {_measure(family) for family in FAMILIES if _measure(family)}
    assert {measure for measure, _ in keys} == measures
    for row in rows("equivalents"):
        item = CATALOGUE.find(row["ingredient"])
        assert item is not None, row
        family = next(family for family in FAMILIES if _measure(family) == row["measure"])
        assert item.functions[0] in family.functions, row
        ends = [float(row[end]) for end in ("low", "typical", "high") if row[end]]
        assert ends == sorted(ends), row
        assert ends[0] > 0


def _measure(family: Family) -> str:
    return family.equivalent or family.figure


def test_what_goes_by_a_figure_stands_in_the_table_as_the_figure_says() -> None:
    for family in FAMILIES:
        for item in CATALOGUE.ingredients.values():
            row = family.equal(item) if family.figure else None
            assert row is None or row.strength == pytest.approx(family.strength(item), rel=1e-3), item.name


def test_processes_have_known_stages_in_a_row_and_lines_that_there_are() -> None:
    for row in rows("process"):
        assert row["stage"] in STAGES, row
        about, _, words = row["takes"].partition(":")
        assert about in ("", "phase", "function"), row
        known = PHASES if about == "phase" else FUNCTIONS
        assert not about or set(words.split(";")) <= set(known), row
    for kind in {row["kind"] for row in rows("process")}:
        numbers = [int(row["step"]) for row in rows("process") if row["kind"] == kind]
        assert numbers == list(range(1, len(numbers) + 1)), kind


def test_a_process_has_one_place_for_what_goes_into_the_cooling_mass_and_one_filling() -> None:
    for kind in {row["kind"] for row in rows("process")} - {"emulsion"}:
        stages = [step.stage for step in process(kind)]
        assert (stages.count("add"), stages.count("fill")) == (1, 1), kind


def test_densities_are_in_order() -> None:
    for kind in {row["kind"] for row in rows("fill_densities")}:
        assert all(row.low <= row.typical <= row.high for row in fill_densities(kind))


def test_what_no_network_carries_says_so_and_nothing_else_does() -> None:
    for kind in CARRIED_BY:
        assert "no firmness" in without_network(kind)
    assert without_network("cream scrub") == without_network("body butter") == ""
