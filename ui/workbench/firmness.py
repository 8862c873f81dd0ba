"""How firm formulas are, on the one scale of all pages: as the readings in the records fit it, else as assumed."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from optiform.brief.brief import Brief
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula
from optiform.properties.firmness import ASSUMED, Exponents
from optiform.reading.faults import BadInput
from optiform.trials.firm import LOOKED_AT, Firm, firm
from optiform.trials.firm import beside as firm_beside
from optiform.trials.fit import Fitted, fit
from optiform.workshop.log import Log, log_of
from workbench import shop, state, work
from workbench.work import Refused


def of(brief: Brief, formula: Formula, temperatures: Sequence[float] = LOOKED_AT) -> tuple[Firm, ...]:
    """How firm a formula is, with the reading to take of it; today's formula is 100, without one this formula."""
    reference = brief.reference or formula
    return firm(formula, reference, scale(brief, reference), temperatures)


def beside(brief: Brief, formulas: Sequence[Formula]) -> dict[str, Firm]:
    """How firm each formula is in a room, by name, where that is known; today's is 100, without one the first."""
    reference = brief.reference or formulas[0]
    return firm_beside(formulas, reference, scale(brief, reference))


def scale(brief: Brief, reference: Formula) -> Fitted | None:
    """The scale as the readings in the records fit it; None where nothing was read."""
    log = shop.within(log_of)
    if isinstance(log, Refused) or all(reading.excluded for reading in log.readings):
        return None
    return _fit(_Asked(replace(log, place=""), reference, brief.catalogue))  # sessions on the demo share one fit


def exponents(brief: Brief) -> Exponents:
    """What its limits on firmness are held by."""
    fitted = None if brief.reference is None else scale(brief, brief.reference)
    return fitted.exponents if fitted else ASSUMED


def of_bench() -> Fitted | None:
    """The scale on which today's formula is 100; None where nothing was read, or there is no such formula."""
    brief = work.brief(state.bench())
    return None if isinstance(brief, Refused) or brief.reference is None else scale(brief, brief.reference)


@dataclass(frozen=True)
class _Asked:
    """What a fit hangs on: values, which compare quickly; the catalogue is that of the reference."""

    log: Log
    reference: Formula
    catalogue: Catalogue = field(compare=False)


@lru_cache(maxsize=8)
def _fit(asked: _Asked) -> Fitted | None:
    try:
        return fit(asked.log, asked.catalogue, asked.reference)
    except BadInput:
        return None
