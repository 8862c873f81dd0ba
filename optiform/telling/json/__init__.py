"""Answers as plain data for JSON: the contract other tools rely on, declared key by key.

A form (form.py) says an answer and what that is: `optiform schema NAME` prints the latter. What is here in name is what
other programs were written against first; the other answers have a module each.
"""

from optiform.telling.json.check import checked, compared
from optiform.telling.json.design import best, designed, impossible
from optiform.telling.json.form import Data

__all__ = ["Data", "best", "checked", "compared", "designed", "impossible"]
