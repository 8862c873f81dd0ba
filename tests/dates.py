"""One day for every test that needs one, so that no test depends on the clock."""

import datetime

ANY_DAY = datetime.date(2026, 11, 25)
