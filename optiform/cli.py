"""The command line: arguments in, one command picked. The command's module is imported only then, so help is quick."""

from __future__ import annotations

import argparse
import atexit
import errno
import gc
import os
import sys
from functools import cache

from optiform import __version__
from optiform.commands import ANSWERED, BAD_INPUT, CRASHED, UNPROVEN
from optiform.commands.arguments.catalogue import add_commands
from optiform.commands.arguments.parser import Parser
from optiform.commands.remarks import remark
from optiform.reading.plain import answered

TYPE_CHECKING = False  # see optiform/__init__.py
if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

TRACEBACK = "OPTIFORM_TRACEBACK"  #: environment variable; set, a crash shows where it happened
NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO)  # of a disk that is full or broken: no fault of ours
STOPPED = 130  # what a shell itself gives a command that Ctrl-C ended
SELDOM = (
    100_000  # new objects between two looks for garbage: a tenth of a command's time went into looks without a find
)
#: For NumPy's linear algebra, before it is loaded: a formula's arrays are dozens wide, and the threads that stand ready
#: for wide ones took a tenth of a command's processor time. Whoever sets the variable keeps what they set.
ONE_THREAD = ("OPENBLAS_NUM_THREADS", "1")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; without one, list them all.

    Returns the exit code: 0 answered, 1 the brief cannot be met, 2 bad input, 3 no verdict (undecided, or an answer
    that failed its own check), 4 crash: a fault of the program.
    """
    gc.set_threshold(SELDOM)
    _end_at_once()
    os.environ.setdefault(*ONE_THREAD)
    whole = parser()
    words = sys.argv[1:] if arguments is None else list(arguments)
    options = whole.parse_args(words)
    options.typed = words  # what was typed, for next steps that carry on the same answer
    if options.command is None:
        whole.print_help()
        return ANSWERED
    try:
        code = _run(options)
        sys.stdout.flush()
        return code
    except KeyboardInterrupt:
        remark("optiform: stopped")
        return STOPPED
    except BrokenPipeError:  # the reader of our output has gone; nothing is left to say
        _leave_unsaid()
        sys.stderr.close()
        return ANSWERED
    except Exception as error:  # whatever it is, it is ours, and a maker can do nothing with a traceback
        if isinstance(error, OSError) and error.errno in NO_ROOM:
            _leave_unsaid()
            where = f" for {error.filename}" if error.filename else ""
            remark(f"optiform: {error.strerror}{where}: make room, or write to another place")
            return BAD_INPUT
        return _crashed(error, options.json)


@cache  # once, however often one process runs commands
def _end_at_once() -> None:
    """At its end Python looks through all objects for garbage: some 25 ms."""
    atexit.register(gc.freeze)


def _leave_unsaid() -> None:
    """What waits to be printed goes nowhere, so that the end of the process does not try again."""
    from contextlib import suppress

    with suppress(OSError, ValueError):  # what stands for the output in a test has no number
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _run(options: argparse.Namespace) -> int:
    from optiform.reading.faults import BadInput, Unproven, printable
    from optiform.reading.run import begun

    try:
        with begun() as run:
            try:
                return _answered(options)
            finally:  # with faults too: a name may be unknown because of how its file was read
                for file, words in run.notes:
                    remark(printable(f"{file}: {words}"))
    except BadInput as bad:
        from optiform.commands.carried import carrying

        for fault in bad.faults:
            remark(carrying(str(fault), options))
        faults = [
            {"file": f.file, "place": f.place, "read": f.read, "expected": carrying(f.expected, options)}
            for f in bad.faults
        ]
        _tell(options.json, answered("bad input", faults=faults))
        return BAD_INPUT
    except Unproven as error:
        remark(f"optiform: {error.told} ({error})")
        _tell(options.json, answered(error.status, reason=f"{error.told} ({error})"))
        return UNPROVEN


def _answered(options: argparse.Namespace) -> int:
    """Run the command; where its input is bad, what is wrong with the files that it is to write is told with it."""
    from importlib import import_module

    from optiform.commands.arguments.options import read
    from optiform.commands.files import check_names
    from optiform.reading.faults import BadInput

    module = import_module(f"optiform.commands.{options.module}")
    try:
        if not hasattr(module, "READS"):  # the options itself, to tell what is wrong with them and more at once
            read(options).finish()
        return int(module.run(options))
    except BadInput as bad:
        if not getattr(options, "checked", False):
            try:
                check_names(options)
            except BadInput as more:
                raise BadInput([*bad.faults, *more.faults]) from None
        raise


def _crashed(error: Exception, as_json: bool) -> int:
    """One sentence on a fault of ours and how to report it; the traceback only where it is asked for."""
    import traceback
    from pathlib import Path

    if os.environ.get(TRACEBACK):
        traceback.print_exception(error)
    frame = traceback.extract_tb(error.__traceback__)[-1]
    where = f"{Path(frame.filename).name}, line {frame.lineno}"
    told = (
        f"a fault of the program, not of your files: {type(error).__name__}: {error} ({where}). Please report it: run "
        f"the same once more with {TRACEBACK}=1 set, and send what it prints, with the files, to whoever you have "
        f"optiform {__version__} from."
    )
    remark(f"optiform: {told}")
    _tell(as_json, answered("crash", reason=told))
    return CRASHED


def _tell(as_json: bool, data: Mapping[str, object]) -> None:
    if as_json:
        import json

        print(json.dumps(data, ensure_ascii=False, indent=1))


def parser() -> Parser:
    """The parser of all commands, in the order of the help."""
    parser = Parser(
        prog="optiform",
        description="Design cosmetic formulas before mixing: the cheapest formula that meets a brief, and why.",
    )
    parser.add_argument("--version", action="version", version=f"optiform {__version__}")
    add_commands(parser)
    return parser
