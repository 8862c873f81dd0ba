"""Whether the machine's clock can be believed, beside what is kept."""

import datetime

_SLACK = datetime.timedelta(hours=2)  # the hour that comes twice in autumn, and some to spare


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
