"""A click on the Stock page where many movements are kept, against the same page with the demo's alone."""

import os
import statistics
import sys
import tempfile
import time
from datetime import timedelta
from itertools import islice
from pathlib import Path

from streamlit.testing.v1 import AppTest

from optiform.reading import clock
from optiform.reading.demo import copy_demo
from optiform.reading.paths import UI, WORKSHOP_VARIABLE
from optiform.workshop.exchange import import_from
from optiform.workshop.records import Lot, Movement
from optiform.workshop.store import Workshop

MOVEMENTS, CLICKS = 20_000, 15
GRAMS = (0.003, -0.003)  # kg that come into a lot and leave it again


def with_movements(place: Path, count: int) -> str:
    """A workshop with the demo's records and so many movements more, spread over its lots."""
    copy_demo(files := place / "demo", clock.today())
    with Workshop.open(place) as workshop:
        import_from(workshop, files / "workshop")
        lots = [lot.number for lot in workshop.read(Lot)]
        first = clock.now().replace(microsecond=0) - timedelta(minutes=count + 1)
        turns = ((lot, first + timedelta(minutes=k), kg) for k in range(count) for lot in lots for kg in GRAMS)
        workshop.add(*(Movement(lot=lot, when=when, kg=kg, reason="x") for lot, when, kg in islice(turns, count)))
    return str(place)


def stock_page(count: int = MOVEMENTS, clicks: int = CLICKS) -> float:
    """How many times the processor time of the demo's page a click takes, the median of interleaved clicks."""
    before = os.environ.get(WORKSHOP_VARIABLE)
    with tempfile.TemporaryDirectory() as folder:
        places = [with_movements(Path(folder, str(more)), more) for more in (0, count)]
        try:
            return _ratio(places, clicks)
        finally:
            os.environ.pop(WORKSHOP_VARIABLE)
            os.environ.update({WORKSHOP_VARIABLE: before} if before is not None else {})


def _ratio(places: list[str], clicks: int) -> float:
    pages = [_opened(place) for place in places]
    times = [[_click(*page) for page in zip(pages, places, strict=True)] for _ in range(clicks)]
    few, many = ([pair[k] for pair in times] for k in (0, 1))
    return statistics.median(many) / statistics.median(few)


def _opened(place: str) -> AppTest:
    """The page as it stands after its first run, which compiles its statements."""
    sys.path.insert(0, str(UI))
    from workbench.state import Key, demo

    page = AppTest.from_file(str(UI / "views" / "stock.py"), default_timeout=60)
    page.session_state[Key.BENCH], page.session_state["stock-tab"] = demo(), "On the shelf"
    _click(page, place)
    return page


def _click(page: AppTest, place: str) -> float:
    """One run of the page, s of this process."""
    os.environ[WORKSHOP_VARIABLE] = place
    start = time.process_time()
    page.run()
    spent = time.process_time() - start
    assert not page.exception, page.exception
    return spent


if __name__ == "__main__":
    print(f"a click on Stock, {MOVEMENTS} movements / the demo's: {stock_page():.2f} (goal 2)")
