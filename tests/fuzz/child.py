"""The corpus read in a process of its own, watched: `python -m tests.fuzz.child FOLDER PART` prints one JSON object.

PART is a reader, whose cases are read; `traps`, files that are none; or `sample`, some cases of every reader.

Watched are the memory of all cases and every file that is opened: writing outside the folder, or reading outside it
what is not the program's own. A case that hangs ends the process. Which one took the processor longest is told, for
whoever runs this by hand; no test asks it.
"""

import contextlib
import faulthandler
import io
import json
import os
import resource
import stat
import sys
import sysconfig
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from optiform.cli import main
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import read_formula
from optiform.label.list_text import read_label
from optiform.reading.faults import COMMAND_LINE, Fault
from tests.fuzz.corpus import BRIEF, cases
from tests.fuzz.targets import TARGETS, faults

HANGS = 60.0  # s by the clock, after which the process is ended and says where it was
CEILING = 4_000_000_000  # bytes of address space: beyond, the machine is to be kept from harm
SAMPLED = 29  # of how many cases one is in the sample
HUGE = 200_000_000  # bytes of a table that is one cell
ROOT = Path(__file__).resolve().parent.parent.parent
WRITES = {"os.mkdir", "os.rename", "os.remove", "os.rmdir", "os.link", "os.symlink", "os.truncate", "os.chmod"}


def run(folder: Path, part: str) -> dict[str, Any]:
    """Read a part; tell how many were read and refused, what broke a promise, the worst of time and memory."""
    resource.setrlimit(resource.RLIMIT_AS, (CEILING, CEILING))
    told: dict[str, Any] = {"read": 0, "refused": 0, "broken": [], "opened": [], "slowest": ["", 0.0]}
    for name, case in _cases(folder, part):
        faulthandler.dump_traceback_later(HANGS, exit=True)
        start = time.process_time()
        try:
            found = case()
        except Exception as error:  # what must not happen, whatever it is
            told["broken"].append(f"{name}: {type(error).__name__}: {str(error)[:300]}")
        else:
            told["refused" if found else "read"] += 1
            told["broken"] += [f"{name}: file {fault.file}" for fault in found if not _named(fault, folder)]
        told["slowest"] = max(told["slowest"], [name, time.process_time() - start], key=lambda pair: pair[1])
    faulthandler.cancel_dump_traceback_later()
    told["memory"] = _peak()
    return told


def _peak() -> int:
    """The most memory this process has held, in bytes. Not ru_maxrss, which begins with that of whoever started it."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return 1024 * int(next(line.split()[1] for line in status.splitlines() if line.startswith("VmHWM:")))


def _named(fault: Fault, folder: Path) -> bool:
    return fault.file.startswith((str(folder), COMMAND_LINE))


def _cases(folder: Path, part: str) -> Iterator[tuple[str, Callable[[], tuple[Fault, ...]]]]:
    if part == "traps":
        yield from _traps(folder)
        return
    sampled = part == "sample"
    for number, (name, target, content) in enumerate(cases() if sampled else cases([part])):
        if not sampled or number % SAMPLED == 0:
            yield f"{target}: {name}", lambda target=target, content=content: TARGETS[target](folder, content)  # type: ignore[misc]


def _traps(folder: Path) -> Iterator[tuple[str, Callable[[], tuple[Fault, ...]]]]:
    for trap in TRAPS:
        path = folder / trap
        yield f"table {trap}", lambda path=path: faults(lambda: read_catalogue([path]))  # type: ignore[misc]
        yield f"formula {trap}", lambda path=path: faults(lambda: read_formula(path, read_catalogue()))  # type: ignore[misc]
        yield f"label {trap}", lambda path=path: faults(lambda: read_label(path))  # type: ignore[misc]
        for key in ("own_files = [{}]", "reference = {}", "goal = {{ nearest = {} }}"):
            text = BRIEF.replace("own_files", "# ").replace("reference", "# ").replace('[goal]\nlowest = "cost"', "")
            content = (key.format(f'"{trap}"') + "\n" + text).encode(errors="replace")
            yield f"{key} {trap}", lambda content=content: TARGETS["brief"](folder, content)  # type: ignore[misc]
        into = ["stock", "--records", str(folder / "new"), "import"]
        for command in (["check"], ["design"], ["from-label"], ["ingredients", "--validate"], into):
            yield f"{command} {trap}", lambda command=command, path=path: _told([*command, str(path), "--json"])  # type: ignore[misc]


#: Names of what is no file to read.
TRAPS = ("pipe", "zero", "loop", "folder", "dangling", "huge.csv", "cell.csv", "no\udcffname.csv", "x" * 300, "a\nb")


def traps(folder: Path) -> None:
    """Put them there: a pipe nobody writes to, an endless device, a link to itself, a folder, files of 200 MB."""
    os.mkfifo(folder / "pipe")
    (folder / "zero").symlink_to("/dev/zero")
    (folder / "loop").symlink_to("loop")
    (folder / "folder").mkdir()
    (folder / "dangling").symlink_to("nowhere")
    for name, head in (("huge.csv", b""), ("cell.csv", b'ingredient,percent\n"')):
        path = folder / name
        path.write_bytes(head)
        os.truncate(path, HUGE)  # takes no room: the rest of the cell is a hole


def _told(arguments: list[str]) -> tuple[Fault, ...]:
    """The faults a command tells in JSON; its exit code must be 2 and nothing else on standard output."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(arguments)
    out.getvalue().encode()
    err.getvalue().encode("utf-8", "backslashreplace")
    document = json.loads(out.getvalue())
    assert code == 2, code
    assert document["status"] == "bad input"
    assert document["faults"]
    return tuple(Fault(**fault) for fault in document["faults"])


def watch(folder: Path, opened: list[str]) -> None:
    """Note every file that is opened where it should not be."""
    mine = (
        str(folder),
        str(ROOT),
        "/proc/self",
        f"/proc/{os.getpid()}",
        sys.prefix,
        sys.base_prefix,
        sysconfig.get_path("stdlib"),
    )

    def hook(event: str, arguments: tuple[Any, ...]) -> None:
        if event not in WRITES and event != "open":
            return
        path = os.fsdecode(arguments[0]) if isinstance(arguments[0], str | bytes | os.PathLike) else ""
        flags = arguments[2] if event == "open" and isinstance(arguments[2], int) else os.O_WRONLY
        writes = bool(flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT))
        allowed = mine[:1] if writes else mine
        if path and not os.path.realpath(path).startswith(allowed):
            opened.append(f"{event} {path}")

    sys.addaudithook(hook)


if __name__ == "__main__":
    place = Path(sys.argv[1]).resolve()
    traps(place)
    strays: list[str] = []
    watch(place, strays)
    result = run(place, sys.argv[2]) | {"opened": strays}
    assert stat.S_ISFIFO((place / "pipe").stat().st_mode)
    assert not (place / "new").exists(), "no workshop is made of what is refused"
    print(json.dumps(result))
