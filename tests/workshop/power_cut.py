"""The power is cut: what a disk holds at that moment, without what the kernel had still to write to it.

By hand, as root, on Linux:
    python -m tests.workshop.power_cut 200         everything said to be kept must be there
    python -m tests.workshop.power_cut 20 OFF      without waiting for the disk: loses some, or this sees nothing

A writer keeps records, and exports them, on a file system of its own in a file. It is stopped at any moment, and that
file is copied: it holds what has reached the disk, not what the kernel keeps in memory. The copy is mounted, as after
a start, and looked at. A disk that loses what it has confirmed is not tried.
"""

import os
import random
import signal
import subprocess
import sys
import tempfile
import time
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from filecmp import cmp
from pathlib import Path
from select import select
from shutil import copyfile, rmtree

from optiform.reading.faults import BadInput
from optiform.workshop import engine
from optiform.workshop.exchange import export_to
from optiform.workshop.records import Lot, Movement
from optiform.workshop.store import Workshop
from tests.workshop.samples import CAME

SIZE = 24_000_000  # bytes of the disk
LONGEST = 0.5  # seconds until the cut


def main(rounds: int, synchronous: str) -> int:
    """Cut so often; how often something was lost."""
    engine.PRAGMAS = (*engine.PRAGMAS, f"PRAGMA synchronous = {synchronous}")
    chance, lost, seen = random.Random(26), 0, 0
    with tempfile.TemporaryDirectory() as folder:
        disk, copy = Path(folder, "disk"), Path(folder, "copy")
        with disk.open("wb") as file:
            file.truncate(SIZE)
        subprocess.run(["mkfs.ext4", "-q", disk], check=True)
        for number in range(rounds):
            with mounted(disk) as there:
                said = cut(there / str(number), chance.uniform(0, LONGEST), disk, copy)
            seen += len(said)
            with mounted(copy) as there:
                wrong = missing(there / str(number), said)
            lost += bool(wrong)
            print(f"{number}: {len(said)} said, {wrong or 'all there'}", flush=True)
            with mounted(disk) as there:
                rmtree(there / str(number), ignore_errors=True)
    print(f"{rounds} cuts, {seen} times something was said to be kept, {lost} cuts lost something")
    return lost


@contextmanager
def mounted(disk: Path) -> Iterator[Path]:
    """The file system in a file."""
    with tempfile.TemporaryDirectory() as point:
        subprocess.run(["mount", "-o", "loop", disk, point], check=True)
        try:
            yield Path(point)
        finally:
            subprocess.run(["umount", point], check=True)


def cut(shop: Path, after: float, disk: Path, copy: Path) -> list[str]:
    """Let a writer begin, and copy the disk as it is a while later; what had been said by then.

    Every other time the while begins with its first word.
    """
    out, into = os.pipe()
    child = os.fork()
    if child == 0:
        keep(shop, into)
    os.close(into)
    if int(shop.name) % 2:
        select([out], [], [])
    time.sleep(after)
    os.kill(child, signal.SIGSTOP)
    os.waitpid(child, os.WUNTRACED)
    os.set_blocking(out, False)
    said = read(out)
    while not (copyfile(disk, copy) and cmp(disk, copy, shallow=False)):  # as it was at one moment
        pass
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    os.close(out)
    return said


def read(out: int) -> list[str]:
    """Every line said so far."""
    found = b""
    try:
        while piece := os.read(out, 65536):
            found += piece
    except BlockingIOError:
        pass
    return found.decode().splitlines()


def keep(shop: Path, into: int) -> None:
    """Keep lots, and export them now and then, until killed; say so each time."""
    try:
        with Workshop.open(shop, late=True) as workshop:
            for number in range(10_000):
                came = Movement(lot=f"L{number}", when=CAME.when, kg=1.0, reason="received")
                workshop.add(Lot(number=f"L{number}", ingredient="glycerin"), came)
                os.write(into, f"{number}\n".encode())
                if number % 5 == 0:
                    export_to(workshop, shop / "all.zip", force=True)
                    os.write(into, f"exported {number}\n".encode())
    except BadInput as bad:
        print(bad)
    os._exit(1)


def missing(shop: Path, said: list[str]) -> str:
    """What was said and is not there."""
    lots = [int(line) for line in said if line.isdigit()]
    exported = [int(line.removeprefix("exported ")) for line in said if not line.isdigit()]
    try:
        if lots:
            with Workshop.open(shop, create=False) as workshop:
                there = [int(lot.number[1:]) for lot in workshop.read(Lot)]
                whole = [int(move.lot[1:]) for move in workshop.read(Movement)]
            if there != whole or there != list(range(len(there))) or len(there) < len(lots):
                return f"{len(lots) - len(there)} of {len(lots)} lots are not there"
        if exported:
            with zipfile.ZipFile(shop / "all.zip") as packed:
                found = len(packed.read("lots.csv").splitlines()) - 1
            if found <= exported[-1]:
                return f"the export has {found} lots, not {exported[-1] + 1}"
    except (BadInput, OSError, zipfile.BadZipFile) as error:
        return f"{type(error).__name__}: {error}"
    return ""


if __name__ == "__main__":
    sys.exit(bool(main(int(sys.argv[1]), sys.argv[2] if len(sys.argv) > 2 else "FULL")))
