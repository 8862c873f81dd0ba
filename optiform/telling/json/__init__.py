"""Answers as plain data for JSON: the contract other tools rely on, said field by field.

A schema for each stands beside it in telling/schemas; `optiform schema NAME` prints it. What is here in name is what
other programs were written against first; the other answers have a module each.
"""

from optiform.telling.json.basic import Data
from optiform.telling.json.check import checked, compared
from optiform.telling.json.design import best, designed, impossible

__all__ = ["Data", "best", "checked", "compared", "designed", "impossible"]
