"""Design of cosmetic formulas by linear programming, for small makers.

from optiform.brief.file import read_brief
from optiform.design.design import design

answer = design(read_brief(path))
"""

__version__ = "0.1.0"
