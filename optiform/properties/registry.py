"""From a brief's words to a property."""

import re
from collections.abc import Callable, Iterable
from unicodedata import normalize

from optiform.ingredients.allergen_columns import COLUMN
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import KNOWN_UNITS, PHASES, Ingredient
from optiform.properties import cost, oil_phase, phases, surfactants, texture, volume, water_phase
from optiform.properties.base import Mix, Property, Ratio, Terms
from optiform.reading.units import parse_quantity
from optiform.reading.values import Bound

PLAIN: dict[str, Callable[[], Property]] = {
    "water": water_phase.water,
    "active surfactant": surfactants.active_surfactant,
    "humectant active": surfactants.humectant_active,
    "emulsifier per 100 of oil phase": surfactants.emulsifier_per_oil,
    "required hlb": surfactants.required_hlb,
    "hlb of the emulsifiers": surfactants.emulsifier_hlb,
    "hlb difference": surfactants.hlb_difference,
    "iodine value": oil_phase.mean_iodine_value,
    "saponification value": oil_phase.mean_saponification_value,
    "saturated share": lambda: oil_phase.fatty_acid_class("saturated"),
    "monounsaturated share": lambda: oil_phase.fatty_acid_class("monounsaturated"),
    "polyunsaturated share": lambda: oil_phase.fatty_acid_class("polyunsaturated"),
    "water activity": water_phase.water_activity,
    "grains that do not dissolve": water_phase.insoluble_grains,
    "mean grain size": phases.mean_grain_size,
    "wax as beeswax": texture.wax_as_beeswax,
    "density": volume.density,
}

AT_TEMPERATURE: dict[str, Callable[[float], Property]] = {
    "solid fat": oil_phase.solid_fat,
    "structuring solids": texture.structuring_solids,
    "solids of the oil phase": texture.oil_phase_solids,
    "melted oil per 100 of solids": texture.melted_oil,
    "undissolved grains": lambda t: water_phase.undissolved(None, t),
    "undissolved sugar": lambda t: water_phase.undissolved("sucrose", t),
    "undissolved salt": lambda t: water_phase.undissolved("sodium chloride", t),
    "undissolved epsom salt": lambda t: water_phase.undissolved("magnesium sulfate heptahydrate", t),
    "dissolved sugar": lambda t: water_phase.dissolved("sucrose", t),
    "dissolved salt": lambda t: water_phase.dissolved("sodium chloride", t),
    "dissolved epsom salt": lambda t: water_phase.dissolved("magnesium sulfate heptahydrate", t),
    "grain volume fraction": water_phase.grain_volume_fraction,
}

#: degC: solid fat is tabled from 10 to 40, and beyond the stored points it is held for 5 degC.
SOLIDS_KNOWN = (5.0, 45.0)
_SOLIDS = ("solid fat", "structuring solids", "solids of the oil phase", "melted oil per 100 of solids", "firmness")
IN_BASE = " in the base"
LONGEST = 200  #: characters of a property's name

_AT = re.compile(r"^(.+?) at (\S.*)$")
_NOT_COLUMNS = {"price", "pack price", "pack", "stock", *KNOWN_UNITS}


def find_property(
    name: str, currency: str, ingredients: Iterable[Ingredient] = (), reference: Formula | None = None
) -> Property:
    """The property that these words name.

    Args:
        name: for instance `oil phase`, `share of butter`, `solid fat at 10 degC`, `cost`, or an own column; an amount
            in the whole also as `share of butter in the base`.
        currency: of `cost`.
        ingredients: whose own columns count as properties.
        reference: the formula that `firmness at ... degC` is relative to.

    Raises:
        ValueError: saying what was expected, with near names.

    Example:
        >>> find_property("Solid fat at 68 F", "EUR").name
        'solid fat at 20 degC'
        >>> find_property("oil fase", "EUR")
        Traceback (most recent call last):
        ...
        ValueError: a property; near: oil phase

    Source: none: bookkeeping, exact.
    """
    words = " ".join(normalize("NFC", name).casefold().split())
    if len(words) > LONGEST:
        raise ValueError(f"a property, in at most {LONGEST} characters")
    if words.endswith(IN_BASE):
        whole = find_property(words.removesuffix(IN_BASE), currency, ingredients, reference)
        return phases.in_base(whole)
    if words == "cost":
        return cost.cost(currency)
    if words in PLAIN:
        return PLAIN[words]()
    if (match := _AT.match(words)) and match[1] in AT_TEMPERATURE:
        return AT_TEMPERATURE[match[1]](_temperature(match[2], match[1]))
    if match and match[1] == "firmness":
        if reference is None:
            raise ValueError("a formula of today: firmness is relative to today's formula")
        from optiform.properties.tangent_planes import firmness  # what few briefs limit is not loaded for all

        return firmness(reference, _temperature(match[2], match[1]))
    share = phases.find(words)
    if share is not None:
        return share
    columns = own_columns(ingredients)
    if words in columns:
        return own_column(words, columns[words])
    raise ValueError(_expected(words, columns))


def _temperature(text: str, model: str) -> float:
    degrees = parse_quantity(re.sub(r"\s*°?\s*([CF])$", r" deg\1", text.upper().replace("DEG", "")), "degC")
    low, high = SOLIDS_KNOWN
    if model in _SOLIDS and not low <= degrees <= high:
        raise ValueError(f"a temperature from {low:g} to {high:g} degC: beyond, {model} is not known")
    return degrees


def _expected(words: str, columns: dict[str, str]) -> str:
    known = [*PHASES, *PLAIN, *(f"{name} at 20 degC" for name in (*AT_TEMPERATURE, "firmness")), "cost", *columns]
    known += ["grains per 100 of base", "share of butter", "share of fatty alcohol and fatty acid"]
    from difflib import get_close_matches  # only for what is misspelt

    near = get_close_matches(words, known, n=3, cutoff=0.5)
    return f"a property; near: {'; '.join(near)}" if near else "a property: `optiform guide words` lists them"


def own_columns(ingredients: Iterable[Ingredient]) -> dict[str, str]:
    """The maker's own numeric columns among these ingredients, with their units.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> own_columns(read_catalogue().ingredients.values())  # the shipped tables have none
        {}

    Source: none: bookkeeping, exact.
    """
    return {
        name: value.unit
        for item in ingredients
        for (name, at), value in item.values.items()
        if at is None and name not in _NOT_COLUMNS and not name.startswith(("certificate maximum", COLUMN))
        and name != "ph window"
    }  # fmt: skip


def own_column(name: str, unit: str) -> Ratio:
    """A column of the maker's own, as an amount in the whole: sum(p_i x_i). Every ingredient in use must have it.

    Example:
        >>> own_column("scent strength", "").unit, own_column("carbon", "g/kg").unit
        ('-', 'g/kg')

    Source: none: bookkeeping, exact.
    """
    return Ratio(name, unit or "-", "whole", Bound(_column, (name,)))


def _column(mix: Mix, name: str) -> Terms:
    return Terms.known([item.value(name) for item in mix.ingredients], mix.mask(lambda item, phase: True))
