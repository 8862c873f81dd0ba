"""Design of cosmetic formulas by linear programming, for small makers.

from optiform.brieffile import read_brief
from optiform.jobs.design import design

answer = design(read_brief(path))
"""

__version__ = "0.1.0"
