"""A process that keeps records and says which, to be killed. Loads once and forks a writer for each order it is given.

Orders on standard input, one a line, words parted by tabs:
    start PLACE PREFIX COUNT    a new writer, whose process id is printed; COUNT 0: until it is killed
    wait                        until every writer has ended; prints `ended`
Each writer prints the number of every lot once it is kept. A lot and what came of it are one addition.
"""

import datetime
import os
import sys

from optiform.reading.faults import BadInput
from optiform.workshop.records import Lot, Movement
from optiform.workshop.store import Workshop

WHEN = datetime.datetime(2026, 11, 2, 9, 30)


def say(words: str) -> None:
    """One line, in one piece, past every buffer."""
    os.write(1, f"{words}\n".encode())


def write(place: str, prefix: str, count: int) -> None:
    """Keep records until done or killed."""
    with Workshop.open(place) as workshop:
        number = 0
        while not count or number < count:
            number += 1
            lot = f"{prefix}-{number}"
            came = Movement(lot=lot, when=WHEN, kg=1.0, reason="received")
            workshop.add(Lot(number=lot, ingredient="glycerin"), came, came)
            say(lot)


def start(place: str, prefix: str, count: str) -> int:
    """A writer in a process of its own."""
    child = os.fork()
    if child == 0:
        try:
            write(place, prefix, int(count))
        except BadInput as bad:
            say(f"failed {bad}")
        finally:
            os._exit(0)
    say(f"pid {child}")
    return child


def main() -> None:
    """Follow the orders."""
    children: list[int] = []
    for line in sys.stdin:
        order, *words = line.rstrip("\n").split("\t")
        if order == "start":
            children.append(start(*words))
        else:
            for child in children:
                os.waitpid(child, 0)
            children.clear()
            say("ended")


if __name__ == "__main__":
    main()
