"""The log of trials as one value, and where it is kept."""

from dataclasses import dataclass
from pathlib import Path

from optiform.workshop.records import Reading, Trial, TrialWeight, Version, VersionLine
from optiform.workshop.store import Workshop


@dataclass(frozen=True)
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
    """The log of an open workshop."""
    return Log(
        workshop.name,
        workshop.read(Version),
        workshop.read(VersionLine),
        workshop.read(Trial),
        workshop.read(TrialWeight),
        workshop.read(Reading),
    )
