"""`python -m optiform`."""

import sys

from optiform.cli import main

sys.exit(main())
