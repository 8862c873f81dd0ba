"""Cells that a spreadsheet would run, that look guarded, and those beside them."""

from optiform.reading.tables import RUNS

_RESTS = ("", "1", " ", "=", "'", "'=", "1+1", "a,b", "a;b", 'say "x"', "\n", "x\ry", "x\r\ny", "\t", "é")

#: No to three apostrophes, then each character that a spreadsheet would run, or none, then what may follow.
CELLS = tuple(
    dict.fromkeys("'" * marks + first + rest for marks in range(4) for first in ("", *RUNS) for rest in _RESTS)
)
