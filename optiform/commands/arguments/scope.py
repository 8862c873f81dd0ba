"""Options that say what a formula is used for, where it is sold, and what else it is looked at for."""

from __future__ import annotations

import argparse

from optiform.commands.arguments.options import add, day, one_of, quantity, text
from optiform.commands.arguments.parts import add_own, path


def _markets() -> tuple[str, ...]:
    from optiform.rules.law import MARKETS

    return MARKETS


def _areas() -> tuple[str, ...]:
    from optiform.rules.law import AREAS

    return AREAS


def _kinds() -> tuple[str, ...]:
    from optiform.brief.brief import KINDS

    return tuple(KINDS)


MARKET = one_of("EU|GB|US", _markets, str.upper)


def add_area(parser: argparse.ArgumentParser) -> None:
    """Where on a body it is used."""
    add(parser, "--area", one_of(None, _areas), "body (default), face, hands, feet, lips, hair, eyes or baby")


def add_scope(parser: argparse.ArgumentParser) -> None:
    """What a formula is used for, and where it is sold."""
    parser.add_argument("--use", choices=["rinse-off", "leave-on"], help="default rinse-off")
    add(parser, "--market", MARKET, "legal limits of this market", action="append", default=[])
    add_area(parser)
    add(parser, "--date", day(), "date the limits are taken for (default today)")


def add_setting(parser: argparse.ArgumentParser) -> None:
    """What a formula is looked at for: a brief, or the same by options."""
    parser.add_argument("--brief", type=path, metavar="BRIEF", help="take limits, prices and use from a brief")
    add_own(parser)
    add(parser, "--kind", one_of(None, _kinds, str.casefold), "kind of product, for instance 'cream scrub'")
    add_scope(parser)
    add(parser, "--currency", text(None), "default EUR")
    add(parser, "--batch", quantity("kg"), "default 1 kg")
