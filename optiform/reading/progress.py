"""How a job that takes long says how far it is."""

from collections.abc import Callable

Progress = Callable[[int, int], None]  #: called with how much of the work is done, and how much there is in all
