"""Where the workshop's records are: `--records`, or the folder one stands in."""

import argparse
from pathlib import Path

from optiform.commands.remarks import remark
from optiform.reading import clock
from optiform.reading.clock import behind
from optiform.reading.faults import BadInput, Fault
from optiform.workshop.engine import FILE, file_in
from optiform.workshop.store import Workshop

HOW_TO_MAKE = (
    "a workshop here, or --records PLACE; make one with the first lot, for instance "
    "`optiform stock receive glycerin '1 kg' --records .`, the first version (`optiform stock save --help`), "
    "or a folder of CSV files (`optiform stock import --help`)"
)


def open_workshop(options: argparse.Namespace, create: bool = False) -> Workshop:
    """The workshop that `--records` names; without it, the one of the current folder.

    A clock that is behind what is kept there is told on standard error.

    Args:
        options: with `workshop`, None where it was not given.
        create: make it where `--records` names a place that has none, with the first records that are kept.

    Raises:
        BadInput: none there, with words on how to make one.
    """
    workshop = _opened(options, create)
    try:
        words = behind(workshop.latest(), clock.now())
    except BaseException:
        workshop.close()
        raise
    if words:
        remark(words)
    return workshop


def _opened(options: argparse.Namespace, create: bool) -> Workshop:
    if options.workshop:
        _refuse_broken_link(options.workshop)
        return Workshop.open(options.workshop, create, late=create)
    if file_in(Path()).is_file():
        return Workshop.open(Path(), create=False)
    raise BadInput([Fault("--records", "current folder", f"no {FILE}", HOW_TO_MAKE)])


def _refuse_broken_link(place: str) -> None:
    """A link that leads nowhere, or round to itself, is a matter of the link and not of permissions."""
    for path in (Path(place), file_in(Path(place))) if "://" not in place else ():
        if path.is_symlink() and not _leads_somewhere(path):
            words = "a link to a folder or a workshop that is there"
            raise BadInput([Fault("--records", str(path), "a link that leads nowhere or to itself", words)])


def _leads_somewhere(path: Path) -> bool:
    try:
        return path.exists()
    except OSError:  # round to itself
        return False
