"""What the commands that keep something share: dates, names of ingredients, telling what was kept."""

import argparse
import datetime
import difflib
from collections.abc import Sequence
from pathlib import Path

from optiform import jsonform
from optiform.catalogue import read_catalogue
from optiform.commands.common import print_json
from optiform.faults import BadInput, Fault
from optiform.workshop.kinds import Record
from optiform.workshop.records import Lot, OwnCell
from optiform.workshop.store import Reader


def day(given: str | None, option: str) -> datetime.date | None:
    """A date from an option that may be left out."""
    if given is None:
        return None
    try:
        return datetime.date.fromisoformat(given)
    except ValueError:
        raise BadInput([Fault("command line", option, repr(given), "a date such as 2026-11-25")]) from None


def expected_lot(given: str, known: Sequence[str]) -> str:
    """What to write instead of the number of a lot that is not kept."""
    near = difflib.get_close_matches(given, known, n=3, cutoff=0.6)
    return "the number of a lot that is kept" + (
        f"; near: {', '.join(near)}" if near else "; `optiform stock` lists them"
    )


def known_name(given: str, own: Sequence[Path], kept: Reader, place: str) -> str:
    """The name of an ingredient of the catalogue, of the maker's own files or of the workshop.

    Args:
        given: what was written.
        own: the maker's own files.
        kept: what the workshop has.
        place: which argument it was.

    Raises:
        BadInput: none of this name, with near ones.
    """
    catalogue = read_catalogue(own)
    if item := catalogue.find(given):
        return item.name
    lots = kept.read(Lot)
    if given in {cell.ingredient for cell in kept.read(OwnCell)} | {lot.ingredient for lot in lots}:
        return given
    words = f"{catalogue.unknown(given)}; or give your table that has it with --own"
    if place != "INGREDIENT":
        words = f"{expected_lot(given, [lot.number for lot in lots])}; or {words}"
    raise BadInput([Fault("command line", place, repr(given), words)])


def tell(options: argparse.Namespace, words: str, *records: Record) -> None:
    """Say what was kept, as words or as one JSON object."""
    if not options.json:
        print(words)
        return
    print_json({"status": "kept", "records": [{"kind": type(x).__name__, **jsonform.data(x)} for x in records]})
