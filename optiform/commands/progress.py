"""Progress of long work: one line at a terminal that is written over, and gone when the work is done."""

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

Progress = Callable[[int, int], None]
BEGIN, AGAIN = 1.0, 0.25  # s: work that is shorter shows nothing; how often the line is written anew
ERASE = "\r\033[K"


@contextmanager
def progress(words: str, quiet: bool = False, clock: Callable[[], float] = time.monotonic) -> Iterator[Progress]:
    """A function that shows how much is done on standard error, where that is a terminal; else it shows nothing.

    Args:
        words: what is being counted.
        quiet: show nothing in any case.
        clock: seconds that pass.
    """
    silent, begun = quiet or not sys.stderr.isatty(), clock()
    shown: float | None = None

    def show(done: int, total: int) -> None:
        nonlocal shown
        now = clock()
        if silent or now - begun < BEGIN or (shown is not None and now - shown < AGAIN):
            return
        shown = now
        print(f"{ERASE}{words}: {done} of {total}", end="", file=sys.stderr, flush=True)

    try:
        yield show
    finally:
        if shown is not None:
            print(ERASE, end="", file=sys.stderr, flush=True)
