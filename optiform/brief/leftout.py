"""Amounts asked of ingredients that the same brief leaves out: one of the two has to go, and both are named."""

import re
from collections.abc import Iterator, Mapping, Sequence

from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.ingredient import Ingredient
from optiform.rules.claims import against
from optiform.rules.law import Scope
from optiform.rules.positive import not_allowed

EXCLUDED = "excluded by the brief"
NO_FIGURE = "no figure for "
LAW = "not allowed "  #: as rules/positive.py begins its reasons


def clashes(
    lines: Mapping[str, object],
    left_out: Sequence[tuple[str, str]],
    exclude: Sequence[str],
    catalogue: Catalogue,
) -> Iterator[tuple[str, str, str]]:
    """Each line that asks for an amount of what is left out: where it stands, what was read, what is expected.

    Args:
        lines: the brief's `[lines]` as written.
        left_out: names of ingredients, each with the reason.
        exclude: the brief's `exclude` as written.
        catalogue: to find what is written.
    """
    reasons = dict(left_out)
    for name, given in lines.items():
        item = catalogue.find(name)
        if item is not None and item.name in reasons and _asks(given):
            where, back = _where(item, reasons[item.name], exclude, catalogue)
            yield f"[lines] {name}", f"{_amounts(given)}, but {where}", f"this line taken out, or {back}"


def against_words(item: Ingredient, claims: Sequence[str], scope: Scope) -> str:
    """Why a claim or the law leaves an ingredient out; empty where neither does.

    Example:
        >>> from datetime import date
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> scope = Scope("leave-on", "body", ("EU",), date(2026, 11, 26))
        >>> against_words(read_catalogue().ingredients["beeswax"], ["vegan"], scope)
        'not vegan'
    """
    return not_allowed(item, scope) or next((why for claim in claims if (why := against(claim, item))), "")


def _where(item: Ingredient, why: str, exclude: Sequence[str], catalogue: Catalogue) -> tuple[str, str]:
    """Where the brief leaves an ingredient out, and what would let it in again."""
    if why == EXCLUDED:
        written = next(name for name in exclude if catalogue.find(name) is item)
        return f"exclude names {written}", f"{written} taken off exclude"
    if why.startswith(NO_FIGURE):
        return f'missing = "leave out" and there is {why}', "the figure put into an own file"
    if why.startswith(LAW):
        return "the law does not allow it", f"another ingredient: it is {why}. Law cannot be overruled"
    back = "the claim taken off claims, or its origin put into an own file where it keeps the claim"
    return f"claims: {why}", back


def _asks(given: object) -> bool:
    """Whether a line asks for an amount, and not for none at all."""
    return any(not re.fullmatch(r"\s*0+([.,]0*)?\s*%?\s*", str(amount)) for amount in _ends(given).values())


def _amounts(given: object) -> str:
    """A line's amounts as they are written."""
    words = {"low": "at least", "high": "at most"}
    if not isinstance(given, dict):
        return f"fixed at {given}"
    return ", ".join(f"{words[side]} {amount}" for side, amount in _ends(given).items())


def _ends(given: object) -> dict[str, object]:
    ends = given if isinstance(given, dict) else {"low": given, "high": given}
    return {side: ends[side] for side in ("low", "high") if side in ends}
