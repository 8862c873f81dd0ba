"""Amounts asked of ingredients that the same brief leaves out: one of the two has to go, and both are named."""

import re
from collections.abc import Hashable, Iterator, Mapping, Sequence
from enum import Enum, auto

from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.ingredient import Ingredient
from optiform.reading.frozen import frozen
from optiform.rules.claims import Against, against
from optiform.rules.kinds import Exclusion
from optiform.rules.law import Scope
from optiform.rules.positive import ByLaw, not_allowed


class Out(Enum):
    """Why a candidate cannot be used, where no figure says it."""

    EXCLUDED = auto()  #: by the brief
    OUT_OF_STOCK = auto()


@frozen
class NoFigure:
    """It lacks figures that are needed, of these names."""

    wanted: tuple[str, ...]


@frozen
class Unconfirmed:
    """The law has a condition on it, and no statement of its supplier is known of these."""

    papers: tuple[str, ...]


#: Why a candidate is left out: one of these, a claim (`Against`), the law (`ByLaw`), the kind (`Exclusion`), or a fact
#: of a job. telling/reasons.py has the words.
Reason = Hashable
LeftOut = tuple[str, Reason]  #: the name of an ingredient, with the reason


def clashes(
    lines: Mapping[str, object],
    left_out: Sequence[LeftOut],
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


def left_out_by(item: Ingredient, claims: Sequence[str], scope: Scope) -> Against | ByLaw | None:
    """Why a claim or the law leaves an ingredient out; None where neither does.

    Example:
        >>> from datetime import date
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> scope = Scope("leave-on", "body", ("EU",), date(2026, 11, 26))
        >>> left_out_by(read_catalogue().ingredients["beeswax"], ["vegan"], scope).claim
        'vegan'
    """
    return not_allowed(item, scope) or next((why for claim in claims if (why := against(claim, item))), None)


def key_of(why: Reason) -> str:
    """What of a brief leaves a candidate out, as faults name it: its key, with what the key says.

    Example:
        >>> key_of(Out.EXCLUDED), key_of(NoFigure(("cost",))), key_of(Against("vegan"))
        ('exclude', 'no figure for cost', 'claims vegan')
    """
    match why:
        case Out.EXCLUDED:
            return "exclude"
        case Out.OUT_OF_STOCK:
            return "stock"
        case NoFigure(wanted=wanted):
            return f"no figure for {', '.join(wanted)}"
        case Against(claim=claim):
            return f"claims {claim}"
        case Exclusion(kind=kind):
            return f"kind {kind}"
        case ByLaw(standings=points):
            return "; ".join(f"{point.market}, {point.reference}" for point in points)
    return "markets"


def _where(item: Ingredient, why: Reason, exclude: Sequence[str], catalogue: Catalogue) -> tuple[str, str]:
    """Where the brief leaves an ingredient out, and what would let it in again."""
    if why is Out.EXCLUDED:
        written = next(name for name in exclude if catalogue.find(name) is item)
        return f"exclude names {written}", f"{written} taken off exclude"
    if isinstance(why, NoFigure):
        return f'missing = "leave out" and there is {key_of(why)}', "the figure put into an own file"
    if isinstance(why, ByLaw):
        return "the law does not allow it", f"another ingredient. Law cannot be overruled ({key_of(why)})"
    back = "the claim taken off claims, or its origin put into an own file where it keeps the claim"
    claim = why.claim if isinstance(why, Against) else ""
    return f"the claim {claim} leaves it out", back


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
