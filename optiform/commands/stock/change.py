"""optiform stock receive, use, correct, packaging and save: what came, went or was made, saved as records."""

import argparse
import datetime
from collections.abc import Callable
from difflib import get_close_matches
from unicodedata import normalize

from optiform.commands import ANSWERED
from optiform.commands.arguments.fields import record
from optiform.commands.arguments.options import where
from optiform.commands.carried import carrying
from optiform.commands.common import print_json
from optiform.commands.place import open_workshop
from optiform.commands.remarks import remark
from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.formula import Basis, read_formula
from optiform.reading import clock
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.reading.sentences import sentence
from optiform.telling.json.records import saved
from optiform.telling.saved import kept_in_words
from optiform.telling.terminal import wrapped
from optiform.workshop.decisions import (
    Kept,
    Where,
    counted,
    expected_lot,
    keep,
    new_version,
    received,
    used,
    weighed_again,
)
from optiform.workshop.keeping import lines_of
from optiform.workshop.records import Lot, OwnCell, Packaging, Version, VersionLine
from optiform.workshop.store import Reader

Decision = Callable[[Reader], Kept]

OWN = "One of your own table is known with --own workshop.csv."


def run(options: argparse.Namespace) -> int:
    """Save it, and say what was saved, as words or as one JSON object."""
    place = where(options, sure="--yes")
    decision = ACTIONS[options.action](options, clock.now(), place)
    with open_workshop(options, create=options.action in FIRST) as workshop:
        kept = keep(workshop, decision, place)
    words = carrying(kept_in_words(kept), options)
    if options.json:
        print_json(saved(each for each in kept.records if not isinstance(each, VersionLine)))
    else:
        print(wrapped(f"Saved: {words}" if kept.records else f"{words}; nothing was saved"))
    return ANSWERED


def _receive(options: argparse.Namespace, now: datetime.datetime, place: Where) -> Decision:
    """A lot, and the mass that came."""
    catalogue = read_catalogue(options.own)

    def coming(kept: Reader) -> Kept:
        name, day = _known_name(options.ingredient, catalogue, kept), options.received or now.date()
        lot = record(Lot, options, ingredient=name, number=options.number or "", received=day)
        return received(kept, lot, options.kg, now, place, options.yes)

    return coming


def _use(options: argparse.Namespace, now: datetime.datetime, place: Where) -> Decision:
    """What was taken: from the lot named, or of an ingredient first expired first."""
    catalogue = read_catalogue(options.own)

    def taking(kept: Reader) -> Kept:
        what = _lot_or_name(options.lot, catalogue, kept)
        return used(kept, what, options.kg, now, options.reason, place, options.batch or "")

    return taking


def _correct(options: argparse.Namespace, now: datetime.datetime, place: Where) -> Decision:
    """The difference to what the scale says, as a movement of its own; what was written before stays as it is."""
    return lambda kept: weighed_again(kept, options.lot, options.kg, now, options.reason, place, options.yes)


def _packaging(options: argparse.Namespace, now: datetime.datetime, place: Where) -> Decision:
    """A count, and the packaging itself where it is new; of one that is kept its name is enough."""
    packaging = record(Packaging, options, kind=options.kind or "")
    return lambda kept: counted(kept, packaging, options.pieces, now, options.reason, place, options.yes)


def _save(options: argparse.Namespace, now: datetime.datetime, place: Where) -> Decision:
    """A formula file as a new version, with all its lines."""
    basis = Basis(options.basis) if options.basis else None
    reading = read_formula(options.formula, read_catalogue(options.own), basis)
    for note in reading.notes:
        remark(note)
    version = record(Version, options, parent=options.parent or "", created=now)
    lines = lines_of(version, [(x.ingredient.name, 100 * x.fraction, x.phase) for x in reading.formula.lines])
    return lambda kept: new_version(kept, version, lines, place)


ACTIONS: dict[str, Callable[[argparse.Namespace, datetime.datetime, Where], Decision]] = {
    "receive": _receive, "use": _use, "correct": _correct, "packaging": _packaging, "save": _save,
}  # fmt: skip
FIRST = ("receive", "packaging", "save")  #: that may make a workshop


# -- names -------------------------------------------------------------------------------------------------------------


def _known_name(given: str, catalogue: Catalogue, kept: Reader) -> str:
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
    raise BadInput([Fault(COMMAND_LINE, "INGREDIENT", repr(given), expected, words)])


def _lot_or_name(given: str, catalogue: Catalogue, kept: Reader) -> str:
    """The number of a lot as it is, or the name of an ingredient.

    Raises:
        BadInput: neither, with near ones of both.
    """
    known = [lot.number for lot in kept.read(Lot)]
    if given in known:
        return given
    try:
        return _known_name(given, catalogue, kept)
    except BadInput:
        expected = f"{expected_lot(given, known)}; or {catalogue.unknown(given)}"
        near = [*get_close_matches(given, known, n=1, cutoff=0.75), *catalogue.near(given)]
        meant = f" Did you mean {' or '.join(near)}?" if near else ""
        words = f"There is no lot and no ingredient “{given}”.{meant} `optiform stock` lists what is there. {OWN}"
        raise BadInput([Fault(COMMAND_LINE, "LOT|INGREDIENT", repr(given), expected, words)]) from None
