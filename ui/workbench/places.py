"""Where records lie: the maker's own, and the demo's copies; each opened for one short transaction and closed again."""

import os
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from optiform.reading.faults import BadInput
from optiform.reading.paths import BRIEF_VARIABLE, WORKSHOP_VARIABLE, data_folder
from optiform.workshop.engine import file_in
from optiform.workshop.store import Workshop
from workbench.work import Refused

T = TypeVar("T")


def named() -> str:
    """The place of records that the maker named; empty where none was."""
    return os.environ.get(WORKSHOP_VARIABLE, "")


def own() -> str:
    """Where the maker's own products are kept: the records named, else beside the brief, else the data folder."""
    brief = os.environ.get(BRIEF_VARIABLE, "")
    return named() or (str(Path(brief).parent) if brief else str(data_folder()))


def demos() -> str:
    """Where copies of the demo are kept: apart from anything of the maker's own."""
    return str(data_folder() / "demo")


def told(place: str) -> str:
    """A place in words that a person can go to; of a server without its password."""
    if "://" in place:
        return place.rpartition("@")[2]
    return str(file_in(Path(place)))


def there(place: str) -> bool:
    """Whether anything is kept there; a server is asked."""
    return "://" in place or file_in(Path(place)).is_file()


def within(place: str, work: Callable[[Workshop], T], create: bool = False) -> T | Refused:
    """Work on the records at a place, or every fault in words."""
    try:
        with Workshop.open(place, create=create, late=create) as workshop:
            return work(workshop)
    except BadInput as bad:
        return Refused(tuple(map(str, bad.faults)))
    except OSError as error:
        return Refused((f"the folder for the records: {error.strerror}",))
