"""The log of trials as one value, and where it is kept."""

from pathlib import Path

from optiform.reading.frozen import frozen
from optiform.workshop.records import Reading, Trial, TrialWeight, Version, VersionLine
from optiform.workshop.store import Reader, Workshop


@frozen
class Log:
    """Versions, the trials made of them, what was weighed and what was read. `place` names where it came from."""

    place: str
    versions: tuple[Version, ...] = ()
    lines: tuple[VersionLine, ...] = ()
    trials: tuple[Trial, ...] = ()
    weights: tuple[TrialWeight, ...] = ()
    readings: tuple[Reading, ...] = ()


def records_from(place: str | Path) -> Log:
    """The log of a workshop that is there.

    Raises:
        BadInput: none there, or not readable.
    """
    with Workshop.open(place, create=False) as workshop:
        return log_of(workshop)


def log_of(workshop: Workshop) -> Log:
    """The log of an open workshop, as it was at one moment."""
    return workshop.look(lambda kept: log_from(workshop.name, kept))


def log_from(place: str, kept: Reader) -> Log:
    """The log of whoever gives the records, also in the middle of a decision."""
    return Log(
        place, kept.read(Version), kept.read(VersionLine), kept.read(Trial), kept.read(TrialWeight), kept.read(Reading)
    )
