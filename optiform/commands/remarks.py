"""What a command says beside its answer, on standard error: faults, notes, that it stopped."""

import os
import sys


def remark(text: str) -> None:
    """Say a sentence: as wide as the window where a person reads it, on one line where a file or a program does."""
    if sys.stderr.isatty():
        from optiform.telling.terminal import wrapped  # a run that says nothing does not load it

        text = wrapped(text, os.get_terminal_size(sys.stderr.fileno()).columns)
    print(text, file=sys.stderr)
