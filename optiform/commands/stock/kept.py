"""What the commands that keep something share: names of ingredients, telling what was kept."""

import argparse
from difflib import get_close_matches
from unicodedata import normalize

from optiform.commands.common import print_json
from optiform.ingredients.catalogue import Catalogue
from optiform.reading.faults import BadInput, Fault
from optiform.reading.sentences import sentence
from optiform.telling.json.records import saved
from optiform.telling.saved import kept_in_words
from optiform.telling.terminal import wrapped
from optiform.workshop.decisions import Kept, expected_lot
from optiform.workshop.records import Lot, OwnCell
from optiform.workshop.store import Reader

OWN = "One of your own table is known with --own workshop.csv."


def known_name(given: str, catalogue: Catalogue, kept: Reader) -> str:
    """The name of an ingredient of the catalogue, of the maker's own files or of the workshop.

    Raises:
        BadInput: none of this name, with near ones.
    """
    if item := catalogue.find(given):
        return item.name
    names = {cell.ingredient for cell in kept.read(OwnCell)} | {lot.ingredient for lot in kept.read(Lot)}
    if same := next((name for name in names if normalize("NFC", name) == normalize("NFC", given)), None):
        return same
    expected = catalogue.unknown(given)
    words = f"{sentence('INGREDIENT', repr(given), expected)} {OWN}"
    raise BadInput([Fault("command line", "INGREDIENT", repr(given), expected, words)])


def lot_or_name(given: str, catalogue: Catalogue, kept: Reader) -> str:
    """The number of a lot as it is, or the name of an ingredient.

    Raises:
        BadInput: neither, with near ones of both.
    """
    known = [lot.number for lot in kept.read(Lot)]
    if given in known:
        return given
    try:
        return known_name(given, catalogue, kept)
    except BadInput:
        expected = f"{expected_lot(given, known)}; or {catalogue.unknown(given)}"
        near = [*get_close_matches(given, known, n=1, cutoff=0.75), *catalogue.near(given)]
        meant = f" Did you mean {' or '.join(near)}?" if near else ""
        words = f"There is no lot and no ingredient “{given}”.{meant} `optiform stock` lists what is there. {OWN}"
        raise BadInput([Fault("command line", "LOT|INGREDIENT", repr(given), expected, words)]) from None


def tell(options: argparse.Namespace, kept: Kept) -> None:
    """Say what was kept, as words or as one JSON object."""
    if options.json:
        print_json(saved(kept.records))
    else:
        words = kept_in_words(kept)
        print(wrapped(f"Saved: {words}" if kept.records else f"{words}; nothing was saved"))
