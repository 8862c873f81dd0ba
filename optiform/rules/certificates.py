"""How much of a fragrance a supplier's certificate allows in a class of product, and what needs a certificate."""

import re
from functools import cache

import numpy as np

from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Mix, Terms
from optiform.reading.tables import shipped
from optiform.rules.law import OF_THE_OIL, Scope

PLANT = re.compile(r"\b(Oil|Extract|Balsam|Resin|Absolute)\b")  #: in the name of an allergen that is a mixture


def certificate_class(scope: Scope) -> str:
    """The class of product on a fragrance certificate that this scope falls into.

    Classes of the IFRA Standards, 51st Amendment, as the reference maps a small maker's products to them.

    Example:
        >>> from datetime import date
        >>> certificate_class(Scope("leave-on", "lips", ("EU",), date(2026, 11, 25)))
        '1'

    Source: certificate to the IFRA Standards, 51st Amendment (R-IFRA-CERT1): lips are category 1.
    """
    if scope.area in ("lips", "eyes"):
        return "1" if scope.area == "lips" else "3"
    if scope.area == "baby":
        return "5D"
    if scope.use == "rinse-off":
        return "7A" if scope.area == "hair" else "9"
    return {"face": "5B", "hands": "5C", "hair": "7B"}.get(scope.area, "5A")


def certificate_terms(mix: Mix, scope: Scope) -> Terms:
    """How much of the certificate maxima is used up: 100 sum(x_i / max_i), in %, at most 100.

    One fragrance reads directly; several may share a restricted material, so their parts are added (the cautious
    test). A fragrance without a certificate in the maker's file brings nothing here; `uncertified` names it.

    Example:
        >>> from datetime import date
        >>> from optiform.ingredients.formula import mixed
        >>> lotion = mixed({"water": 99, "lavender essential oil": 1})
        >>> scope = Scope("leave-on", "body", ("EU",), date(2026, 11, 25))
        >>> certificate_terms(Mix.of(lotion), scope).numerator.tolist()  # no certificate: nothing counts yet
        [0.0, 0.0]

    Source: none: the figures are the maker's own.
    """
    key = f"certificate maximum {certificate_class(scope).lower()}"
    values = [item.value(key) for item in mix.ingredients]
    parts = [100 / max(value.figure / 100, 1e-9) if value else 0.0 for value in values]
    return Terms.exact(np.array(parts))


def uncertified(mix: Mix, scope: Scope) -> list[str]:
    """Fragrances without a certificate maximum for this class of product, and plant oils bought as something else.

    Example:
        >>> from datetime import date
        >>> from optiform.ingredients.formula import mixed
        >>> scope = Scope("leave-on", "body", ("EU",), date(2026, 11, 25))
        >>> uncertified(Mix.of(mixed({"water": 99, "lavender essential oil": 1})), scope)
        ['lavender essential oil']

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    key = f"certificate maximum {certificate_class(scope).lower()}"
    return [item.name for item in mix.ingredients if is_scent(item) and item.value(key) is None]


def is_scent(item: Ingredient) -> bool:
    """Whether an ingredient brings a scent, whatever it is bought as: it holds what its name does not say.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> items = read_catalogue().ingredients
        >>> [is_scent(items[name]) for name in ("tea tree essential oil", "fragrance oil", "menthol", "olive oil")]
        [True, True, False, False]

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return item.has("fragrance") or any(part.inci in _scents() for part in item.constituents if part.share.most > 0)


@cache
def _scents() -> frozenset[str]:
    """Names of mixtures: fragrance, essential oils, the plant oils among the allergens, and oils judged as bought."""
    oils = {row["of"] for row in shipped("essential_oils")}
    bought = {
        name for row in shipped("limits") if row["expressed as"] in OF_THE_OIL for name in row["inci"].split("; ")
    }
    members = {name for row in shipped("allergens") for name in (row["name"], *row["inci"].split("; "))}
    return frozenset({"Parfum", "Aroma", *oils, *bought, *(name for name in members if PLANT.search(name))})
