"""What the commands that keep something share: dates, names of ingredients, telling what was kept."""

import argparse
import datetime
from collections.abc import Sequence
from pathlib import Path

from optiform import jsonform
from optiform.catalogue import read_catalogue
from optiform.commands.common import print_json
from optiform.faults import BadInput, Fault
from optiform.workshop.kinds import Record
from optiform.workshop.records import Lot, OwnCell
from optiform.workshop.store import Workshop


def day(given: str | None, option: str) -> datetime.date | None:
    """A date from an option that may be left out."""
    if given is None:
        return None
    try:
        return datetime.date.fromisoformat(given)
    except ValueError:
        raise BadInput([Fault("command line", option, repr(given), "a date such as 2026-11-25")]) from None


def known_name(given: str, own: Sequence[Path], workshop: Workshop) -> str:
    """The name of an ingredient of the catalogue, of the maker's own files or of the workshop.

    Raises:
        BadInput: none of this name, with near ones.
    """
    catalogue = read_catalogue(own)
    if item := catalogue.find(given):
        return item.name
    kept = {cell.ingredient for cell in workshop.read(OwnCell)} | {lot.ingredient for lot in workshop.read(Lot)}
    if given in kept:
        return given
    words = f"{catalogue.unknown(given)}; or give your table that has it with --own"
    raise BadInput([Fault("command line", "INGREDIENT", repr(given), words)])


def tell(options: argparse.Namespace, words: str, *records: Record) -> None:
    """Say what was kept, as words or as one JSON object."""
    if not options.json:
        print(words)
        return
    print_json({"status": "kept", "records": [{"kind": type(x).__name__, **jsonform.data(x)} for x in records]})
