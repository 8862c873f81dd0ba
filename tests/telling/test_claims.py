"""Claims of a brief, told: of which lines the supplier has to be asked."""

from dataclasses import replace

from optiform.ingredients.formula import mixed
from optiform.telling.claims import claims
from tests.kind_shelves import bare_brief

PARTS: dict[str, float] = {
    "water": 70,
    "sweet almond oil": 15,
    "stearic acid": 5,
    "glycerin": 5,
    "mixed tocopherols": 1,
    "beeswax": 4,
}


def told(*of: str) -> list[str]:
    brief = replace(bare_brief("lotion", PARTS), claims=of)
    return [sentence.text for sentence in claims(brief, mixed(PARTS))]


def test_suppliers_are_asked_of_what_its_name_leaves_open_and_not_of_what_it_says() -> None:
    out = told("vegan")
    assert out[0] == "Claim vegan: not kept by beeswax."
    assert out[1].startswith("Have the suppliers confirm vegan (")
    assert out[1].endswith(": stearic acid; glycerin; mixed tocopherols.")


def test_what_breaks_a_claim_is_not_asked_for_it_and_lines_of_the_same_claims_stand_together() -> None:
    out = told("vegan", "palm-free")
    assert "Claim palm-free: not kept by stearic acid; glycerin." in out
    assert [line.split(" (")[0] for line in out[2:]] == [
        "Have the suppliers confirm vegan",
        "Have the suppliers confirm vegan and palm-free",
    ]
    assert out[3].endswith(": mixed tocopherols.")


def test_names_that_are_declared_leave_nothing_to_ask() -> None:
    assert len(told("no ethoxylates")) == 1
