"""Claims of a label: what stands against each in an ingredient, by its origin or its declared names."""

from dataclasses import replace

import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.rules.claims import CLAIMS, ETHOXYLATE, Against, against, known_for
from optiform.telling.facts import in_words

CATALOGUE = read_catalogue()


def why(claim: str, name: str) -> str:
    item = CATALOGUE.find(name)
    assert item is not None
    return said(against(claim, item))


def said(reason: Against | None) -> str:
    return in_words(reason) if reason else ""


@pytest.mark.parametrize(
    "inci",
    ["PEG-100 Stearate", "Ceteareth-20", "Laureth-4", "Sodium Laureth Sulfate", "Disodium Laureth Sulfosuccinate",
     "Polysorbate 60", "Poloxamer 184", "Olive Oil PEG-7 Esters", "Sodium C12-13 Pareth Sulfate"],
)  # fmt: skip
def test_names_of_polyoxyethylene_are_ethoxylates(inci: str) -> None:
    assert ETHOXYLATE.search(inci)


@pytest.mark.parametrize(
    "inci",
    ["Phenoxyethanol", "Cetearyl Alcohol", "Methyl Cocoate", "Tetrasodium Glutamate Diacetate", "Decyl Glucoside",
     "Sodium Cocoyl Isethionate", "Polyglyceryl-3 Stearate", "Dimethicone", "Theobroma Cacao Seed Butter"],
)  # fmt: skip
def test_other_names_are_none(inci: str) -> None:
    assert not ETHOXYLATE.search(inci)


def test_an_emulsifying_wax_is_told_with_what_in_it_is_ethoxylated() -> None:
    assert why("no ethoxylates", "emulsifying wax NF") == "has ethoxylates (Polysorbate 60)"
    assert why("no ethoxylates", "cetearyl alcohol") == ""


def test_natural_origin_is_nothing_synthetic_and_not_known_without_an_origin() -> None:
    assert why("natural origin", "shea butter, refined") == ""
    assert why("natural origin", "phenoxyethanol + ethylhexylglycerin") == "not natural origin"
    butter = CATALOGUE.find("shea butter, refined")
    assert butter is not None
    unknown = replace(butter, origin=(), constituents=())
    assert said(against("natural origin", unknown)) == "not known to be natural origin: no origin given"
    assert said(against("no ethoxylates", unknown)) == "not known to be no ethoxylates: no declaration given"
    assert [known_for(claim, unknown) for claim in CLAIMS] == [False] * len(CLAIMS)
