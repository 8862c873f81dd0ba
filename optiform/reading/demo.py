"""The demo's files, dated for the day they are taken: whenever that is, its lots are as fresh and its trials as new."""

import datetime
import re
import shutil
from pathlib import Path

from optiform.reading.paths import DEMO

#: The day for which the demo's records were written.
WRITTEN = datetime.date(2026, 11, 25)

_DATE = re.compile(r"(?<!\d)\d{4}-\d{2}-\d{2}(?!\d)")


def dated(text: str, day: datetime.date) -> str:
    """A text of the demo with every date in it moved by the days from `WRITTEN` to `day`.

    >>> dated("L001,water,2026-11-20,2027-11-25T09:30:00", datetime.date(2028, 2, 29))
    'L001,water,2028-02-24,2029-02-28T09:30:00'
    """
    moved = day - WRITTEN
    return _DATE.sub(lambda date: str(datetime.date.fromisoformat(date[0]) + moved), text)


def copy_demo(folder: Path, day: datetime.date) -> None:
    """The demo's files in a new folder, dated for this day.

    Raises:
        OSError: the folder is there already, or cannot be written.
    """

    def copied(source: str, target: str) -> None:
        text = Path(source).read_text(encoding="utf-8")
        Path(target).write_text(dated(text, day), encoding="utf-8", newline="")

    shutil.copytree(DEMO, folder, copy_function=copied)
