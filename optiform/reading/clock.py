"""The one clock: what day and what moment it is. Nothing else in the program asks the machine."""

import datetime
import os

from optiform.reading.faults import BadInput, Fault

#: Environment variable that sets the clock: a day, of which it is noon then, or a moment. The clock stands still there.
CLOCK_VARIABLE = "OPTIFORM_CLOCK"

_EXPECTED = "a day such as 2026-11-25, or a day and a time such as 2026-11-25T09:30, of the years 2000 to 2999"
_SLACK = datetime.timedelta(hours=2)  # the hour that comes twice in autumn, and some to spare


def now() -> datetime.datetime:
    """The moment by the machine's clock, or the one that `OPTIFORM_CLOCK` sets; local time, without a zone.

    Raises:
        BadInput: the variable holds neither a day nor a moment.
    """
    told = os.environ.get(CLOCK_VARIABLE, "")
    return _moment(told) if told else datetime.datetime.now()


def today() -> datetime.date:
    """The day of `now`.

    Raises:
        BadInput: as for `now`.
    """
    return now().date()


def _moment(told: str) -> datetime.datetime:
    try:
        moment = datetime.datetime.fromisoformat(f"{told}T12:00" if len(told) == len("2026-11-25") else told)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is not None or not 2000 <= moment.year <= 2999:
        raise BadInput([Fault("environment", CLOCK_VARIABLE, repr(told), _EXPECTED)])
    return moment


def behind(latest: datetime.datetime | None, now: datetime.datetime) -> str:
    """Words where a record lies after now; empty where all is well.

    Nothing is kept twice or in another order for it. But what has expired, the day in a new lot's number and the day
    of what is kept go by the clock.

    Args:
        latest: the latest moment that a record names.
        now: by the clock.
    """
    if latest is None or latest - now <= _SLACK:
        return ""
    return (
        f"The clock of this machine says {now:%Y-%m-%d %H:%M}, but a record here is of {latest:%Y-%m-%d %H:%M}. "
        "See that the clock is right before you go on: what has expired, and the day of what you keep, go by it."
    )
