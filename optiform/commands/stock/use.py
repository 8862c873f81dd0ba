"""optiform stock use: something was taken from a lot."""

import argparse
import datetime
from collections.abc import Iterable

from optiform.commands import ANSWERED
from optiform.commands.common import quantity
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import known_name, tell
from optiform.faults import BadInput, Fault
from optiform.workshop.records import Lot, Movement
from optiform.workshop.stock import NOTHING, Holding, draw, holdings
from optiform.workshop.store import Reader

Takes = tuple[tuple[Lot, float], ...]


def run(options: argparse.Namespace) -> int:
    """Keep what was taken: from the lot named, or of an ingredient first expired first."""
    kg = quantity(options.mass, "MASS", "kg")
    now = datetime.datetime.now()
    with open_workshop(options) as workshop:
        named = options.what in {lot.number for lot in workshop.read(Lot)}
        ingredient = "" if named else known_name(options.what, options.own, workshop, "LOT|INGREDIENT")

        def taking(kept: Reader) -> list[Movement]:
            held = holdings(kept.read(Lot), kept.read(Movement))
            takes = _from_ingredient(held, ingredient, kg, now.date()) if ingredient else _from_lot(held, options, kg)
            return [
                Movement(lot=lot.number, when=now, kg=-taken, reason=options.reason, batch=options.batch)
                for lot, taken in takes
            ]

        moves = workshop.decide(taking)
    taken = ", ".join(f"{-move.kg:g} kg of lot {move.lot}" for move in moves)
    tell(options, f"kept: {taken} used", *moves)
    return ANSWERED


def _from_lot(held: Iterable[Holding], options: argparse.Namespace, kg: float) -> Takes:
    (this,) = (holding for holding in held if holding.lot.number == options.what)
    if kg - this.kg > NOTHING:
        raise _too_much(kg, this.kg, f"lot {options.what}")
    return ((this.lot, kg),)


def _from_ingredient(held: Iterable[Holding], ingredient: str, kg: float, today: datetime.date) -> Takes:
    found = draw(held, ingredient, kg, today)
    if found.missing:
        where = f"the lots of {ingredient} that have not expired; an expired one is used by its number"
        raise _too_much(kg, kg - found.missing, where)
    return found.takes


def _too_much(kg: float, there: float, where: str) -> BadInput:
    words = f"at most {max(there, 0.0):.6g} kg, what is left in {where}"
    return BadInput([Fault("command line", "MASS", f"{kg:.6g} kg", words)])
