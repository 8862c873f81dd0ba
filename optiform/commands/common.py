"""What the commands share: settings from options, files to write, JSON out."""

import argparse
import datetime
import json
import math
import re
from typing import Any

from optiform.brief.brief import KINDS, Brief
from optiform.brief.file import read_brief
from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.reading import clock
from optiform.reading.faults import BadInput, Fault, Inspection
from optiform.reading.units import parse_quantity
from optiform.review.measures import Setting, setting_of
from optiform.rules.law import AREAS, MARKETS, Scope


def setting(options: argparse.Namespace) -> tuple[Brief | None, Catalogue, Setting]:
    """What a formula is looked at for: from the brief if one is given, else from the options."""
    if options.brief:
        _refuse_both(options)
        brief = read_brief(options.brief)
        return brief, brief.catalogue, setting_of(brief)
    inspection = Inspection("command line")
    looked_for = inspection.given(lambda: scope(options), None)
    batch = inspection.given(lambda: quantity("1 kg" if options.batch is None else options.batch, "--batch", "kg"), 1.0)
    inspection.finish()
    setting = Setting(options.kind.casefold(), looked_for, (options.currency or "EUR").upper(), batch)
    return None, read_catalogue(options.own), setting


def _refuse_both(options: argparse.Namespace) -> None:
    """A brief says all this itself; an option beside it would be passed over in silence."""
    inspection = Inspection("command line")
    for name in ("own", "kind", "use", "area", "market", "date", "currency", "batch", "scale"):
        if getattr(options, name, None):
            inspection.fault(f"--{name}", "given with --brief", "one of the two: the brief says this itself")
    inspection.finish()


def scope(options: argparse.Namespace) -> Scope:
    """Use, area, markets and date from the options; every fault at once."""
    inspection = Inspection("command line")
    markets = tuple(market.upper() for market in options.market)
    for market in markets:
        if market not in MARKETS:
            inspection.fault("--market", market, f"one of: {', '.join(MARKETS)}")
    area = options.area or "body"
    if area not in AREAS:
        inspection.fault("--area", area, f"one of: {', '.join(AREAS)}")
    if getattr(options, "kind", "") and options.kind.casefold() not in KINDS:
        inspection.fault("--kind", options.kind, f"one of: {', '.join(KINDS)}")
    date = inspection.given(lambda: day(options.date, "--date"), None)
    inspection.finish()
    return Scope(options.use or "rinse-off", area, markets, date or clock.today())


def day(given: str | None, option: str) -> datetime.date | None:
    """A date from an option that may be left out."""
    if given is None:
        return None
    try:
        return datetime.date.fromisoformat(given)
    except ValueError:
        raise BadInput([Fault("command line", option, repr(given), "a date such as 2026-11-25")]) from None


def amount(given: str, option: str, unit: str, low: float = -math.inf, expected: str = "") -> float:
    """A quantity from an option, not below `low`.

    Raises:
        BadInput: no quantity in this unit, or below; `expected` then says what is wanted.
    """
    try:
        value = parse_quantity(given, unit)
    except ValueError as error:
        raise BadInput([Fault("command line", option, repr(given), str(error))]) from None
    if value < low:
        raise BadInput([Fault("command line", option, repr(given), expected)])
    return value


def quantity(given: str, option: str, unit: str) -> float:
    """A quantity of more than nothing from an option."""
    return amount(given, option, unit, math.ulp(0.0), "more than nothing")


def maybe(given: str | None, option: str, unit: str) -> float | None:
    """A quantity of more than nothing from an option that may be left out."""
    return None if given is None else quantity(given, option, unit)


def degrees(given: str | None, option: str) -> float | None:
    """A temperature in degC from an option that may be left out."""
    return None if given is None else amount(given, option, "degC")


def currency(given: str) -> str:
    """A currency in capital letters, from `--currency`."""
    if not re.fullmatch("[A-Za-z]{3}", given):
        raise BadInput([Fault("command line", "--currency", repr(given), "three letters such as EUR")])
    return given.upper()


def price(given: str | None, option: str, unit: str) -> float | None:
    """Money from an option that may be left out: nothing or more."""
    if given is None:
        return None
    return amount(given, option, unit, 0.0, "0 or more")


def print_json(data: dict[str, Any]) -> None:
    """One JSON object on standard output, and nothing else."""
    print(json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False))


def share(given: str, option: str) -> float:
    """A mass fraction from an option that gives a percentage."""
    value = amount(given, option, "%", 0.0, "0 to 100 %")
    if value > 100:
        raise BadInput([Fault("command line", option, repr(given), "0 to 100 %")])
    return value / 100
